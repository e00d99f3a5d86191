"""Cells of joint faces: metal against polygons (shapely) and the exact columns, reliefs, what is read as pressure."""

import numpy as np
import pytest
import shapely
from beam_halves import make_bridges

from stiffcalc.mechanics.bridges import area_matrix
from stiffcalc.mechanics.cell_pressure import mean_pressure
from stiffcalc.mechanics.face_cells import COLUMNS, DEAD, ROWS, cut_faces
from stiffcalc.mechanics.voids import Void, inside

HOLES = [(94.0, 156.0, 11.0), (94.0, 178.0, 11.0)]
RELIEF = np.array([(80.0, 150.0), (90.0, 146.0), (92.0, 166.0), (84.0, 170.0)])


def arched(count=1):
    """A bridge over an arch with two holes, and a flat one without (padded with holes of no diameter)."""
    x, y = [[78.0, 110.0], [-12.0, 12.0]], [[105.0, 190.0], [172.0, 190.0]]
    holes = [HOLES, [(0.0, 180.0, 0.0)] * 2]
    return make_bridges(
        *(np.tile(v, (count, *[1] * np.ndim(v))) for v in (x, y, [168.0, 0.0])), holes=[holes] * count
    )


def outline(low=0.0, high=1.0, left=78.0, right=110.0):
    """Of the arched face between two shares of its height and two x."""
    x = np.linspace(left, right, 400)
    under = np.sqrt(168.0**2 - x**2)
    side = [np.column_stack([x, under + share * (190.0 - under)]) for share in (low, high)]
    return shapely.Polygon(np.vstack([side[0], side[1][::-1]]))


def holes():
    return shapely.union_all([shapely.Point(x, y).buffer(d / 2, quad_segs=200) for x, y, d in HOLES])


def test_areas_and_centroids_of_cells_are_shapelys():
    # Sampled 6 x 6 a cell: a sample's box is 2.8 % of a cell. A cell with next to no metal carries nothing.
    cells = cut_faces(arched(), jointed=[0])
    box = 32.0 / COLUMNS
    for i, j in np.ndindex(COLUMNS, ROWS):
        left = 78.0 + i * box
        true = outline(j / ROWS, (j + 1) / ROWS, left, left + box).difference(holes())
        k = i * ROWS + j
        size = cells.width[0, 0, k] * cells.height[0, 0, k]
        dead = cells.area[0, 0, k] == 0.0
        assert cells.area[0, 0, k] == pytest.approx(true.area, abs=(0.03 + DEAD * dead) * size)
        if cells.area[0, 0, k] > 0.3 * size:
            assert (cells.x[0, 0, k], cells.y[0, 0, k]) == pytest.approx(true.centroid.coords[0], abs=0.3)


def test_moments_of_a_face_are_those_of_the_exact_columns():
    bridges = arched()
    cells = cut_faces(bridges, jointed=[0, 1])
    exact = area_matrix(bridges)
    # what a sampled hole misses, at the lever of the holes
    for face, error in ((0, 3e-3), (1, 1e-12)):
        first = (cells.area[0, face, :, None] * cells.arm[0, face]).sum(axis=0)
        levers = exact[0, face, 0, 0] * np.array([1.0, 20.0, 16.0])
        np.testing.assert_allclose(first / levers, exact[0, face, 0] / levers, atol=error)


def test_cells_stand_in_rows_of_equal_x():
    cells = cut_faces(arched(), jointed=[1])
    x, y = (v[0, 0].reshape(COLUMNS, ROWS) for v in (cells.x, cells.y))
    np.testing.assert_allclose(x[:, 0], -12.0 + 3.0 * (np.arange(COLUMNS) + 0.5))
    np.testing.assert_allclose(x, x[:, :1] * np.ones(ROWS))
    np.testing.assert_allclose(y[0], 172.0 + 1.8 * (np.arange(ROWS) + 0.5))
    np.testing.assert_allclose(cells.area, 3.0 * 1.8)


def test_a_hole_that_swallows_a_cell_leaves_it_dead_and_in_its_place():
    bridges = make_bridges([[[0.0, 32.0]]], [[[0.1, 40.1]]], [[0.0]], holes=[[[(16.0, 20.0, 16.0)]]])
    cells = cut_faces(bridges, jointed=[0])
    dead = ~cells.alive[0]
    assert 0 < dead.sum() < 12
    assert not cells.section[0, 0, dead].any() and not cells.relieved
    assert np.all(np.hypot(cells.x - 16.0, cells.y - 20.1)[0, 0, dead] < 8.0)
    whole = cells.width * cells.height
    assert np.all(cells.area[0, 0, ~dead] > DEAD * whole[0, 0, ~dead])


@pytest.mark.parametrize("seed", range(4))
def test_bolt_holes_are_never_taken_for_reliefs(seed):
    # A corner of metal too small for a cell belongs to the hole.
    rng = np.random.default_rng(seed)
    middle = np.stack(
        [rng.uniform(8, 24, (60, 1, 2)), rng.uniform(8, 32, (60, 1, 2)), rng.uniform(4, 14, (60, 1, 2))], -1
    )
    bridges = make_bridges(
        np.tile([0.0, 32.0], (60, 1, 1)), np.tile([0.1, 40.1], (60, 1, 1)), np.zeros((60, 1)), holes=middle
    )
    assert not cut_faces(bridges, jointed=[0]).relieved


def test_a_relief_takes_contact_and_leaves_the_section():
    plain, relieved = (cut_faces(arched(), jointed=[0, 1], voids=v) for v in ((), (Void(RELIEF),)))
    assert relieved.relieved and not plain.relieved
    np.testing.assert_array_equal(relieved.section, plain.section)
    lost = outline().difference(holes()).intersection(shapely.Polygon(RELIEF)).area
    assert (plain.area - relieved.area)[0, 0].sum() == pytest.approx(lost, rel=0.02)
    np.testing.assert_array_equal(relieved.area[0, 1], plain.area[0, 1])


def test_a_land_is_what_touches_and_of_one_face_only():
    land = Void(RELIEF, face=0, outside=True)
    plain, cells = (cut_faces(arched(), jointed=[0, 1], voids=v) for v in ((), (land,)))
    kept = outline().difference(holes()).intersection(shapely.Polygon(RELIEF)).area
    assert cells.area[0, 0].sum() == pytest.approx(kept, rel=0.02)
    np.testing.assert_array_equal(cells.area[0, 1], plain.area[0, 1])


def test_a_face_knows_its_grid():
    assert cut_faces(arched(), jointed=[0, 1]).grid == (COLUMNS, ROWS)
    assert cut_faces(arched(), jointed=[1], columns=5, rows=7).grid == (5, 7)


def test_a_batch_is_cut_as_its_designs_one_by_one():
    rng = np.random.default_rng(0)
    ends = np.sort(rng.uniform(70, 120, (5, 1, 2)), axis=-1) + np.array([-5.0, 5.0])
    top = np.stack([np.full((5, 1), 105.0), rng.uniform(180, 200, (5, 1))], -1)
    hole = np.stack([ends.mean(axis=-1), 0.3 * 168 + 0.7 * top[..., 1], rng.uniform(5, 10, (5, 1))], -1)[
        :, :, None
    ]
    together = cut_faces(
        make_bridges(ends, top, np.full((5, 1), 168.0), holes=hole), jointed=[0], voids=[Void(RELIEF)]
    )
    for d in range(5):
        one = make_bridges(ends[d : d + 1], top[d : d + 1], np.full((1, 1), 168.0), holes=hole[d : d + 1])
        alone = cut_faces(one, jointed=[0], voids=[Void(RELIEF)])
        own = together.of(np.array([d]))
        for name in ("x", "y", "area", "section", "width", "height", "x_edges", "y_edges", "arm"):
            np.testing.assert_allclose(getattr(own, name), getattr(alone, name), rtol=1e-12, err_msg=name)
        np.testing.assert_array_equal(own.extents.holes, alone.extents.holes)
        for kind in ("touching", "relieved"):
            for name, values in vars(getattr(alone.extents, kind)).items():
                found = getattr(getattr(own.extents, kind), name)
                np.testing.assert_allclose(found, values, rtol=1e-9, err_msg=f"{kind} {name}")


def test_points_in_a_polygon_are_shapelys():
    rng = np.random.default_rng(4)
    for corners in (3, 5, 12):
        star = rng.uniform(0.2, 1.0, corners)[:, None] * np.column_stack(
            [f(2 * np.pi * np.arange(corners) / corners) for f in (np.cos, np.sin)]
        )
        x, y = rng.uniform(-1, 1, (2, 500))
        np.testing.assert_array_equal(
            inside(star, x=x, y=y), shapely.contains_xy(shapely.Polygon(star), x, y)
        )


@pytest.mark.parametrize("voids", [(), (Void(RELIEF),)])
def test_even_pressure_is_read_as_even_across_holes_and_strips(voids):
    cells = cut_faces(arched(), jointed=[0, 1], voids=voids)
    force = np.stack([5.0 * cells.area, 0.0 * cells.area], axis=1)  # two load states
    found = mean_pressure(cells, force)
    np.testing.assert_allclose(found[:, 0], 5.0, rtol=1e-12)
    np.testing.assert_array_equal(found[:, 1], 0.0)


def test_a_strip_is_read_with_its_neighbour():
    # A strip takes a whole cell's force on a fraction of its area; together they have the mean pressure of both.
    bridges = make_bridges([[[0.0, 32.0]]], [[[0.1, 40.1]]], [[0.0]])
    cut = np.array(
        [(-1.0, 0.0), (14.9, 0.0), (14.9, 41.0), (-1.0, 41.0)]
    )  # leaves a quarter of the fourth column
    cells = cut_faces(bridges, jointed=[0], voids=[Void(cut)])
    strip, whole = 3 * ROWS, 4 * ROWS
    assert cells.area[0, 0, strip] == pytest.approx(cells.area[0, 0, whole] / 3, rel=0.4)
    force = np.zeros((1, 1, COLUMNS * ROWS))
    force[0, 0, [strip, whole]] = 30.0, 10.0
    found = mean_pressure(cells, force)[0, 0]
    both = 40.0 / (cells.area[0, 0, strip] + cells.area[0, 0, whole])
    assert found[[strip, whole]] == pytest.approx(both)


def test_holes_counted_by_runs_are_holes_counted_by_points():
    # A void beside every face takes nothing, but has all points looked at one by one.
    beside = Void(np.array([(500.0, 500.0), (501.0, 500.0), (501.0, 501.0)]))
    by_runs, by_points = (cut_faces(arched(3), jointed=(0,), voids=v) for v in ((), (beside,)))
    for name in ("x", "y", "area", "section"):
        np.testing.assert_allclose(getattr(by_points, name), getattr(by_runs, name), rtol=1e-12)
    assert (by_runs.area < 0.999 * (by_runs.width * by_runs.height)).any()


def test_split_cells_are_read_as_the_cells_they_make_up():
    voids = [Void(RELIEF, 0)]
    usual, split = (cut_faces(arched(2), jointed=[0, 1], voids=voids, split=k) for k in (1, 2))
    assert split.grid == (2 * COLUMNS, 2 * ROWS) and split.read.grid == usual.grid
    assert usual.read is usual
    box = usual.width * usual.height
    np.testing.assert_allclose(split.read.area, usual.area, atol=(0.05 + DEAD) * box.max())
    np.testing.assert_allclose(split.read.height, usual.height, rtol=2e-3)
    both = (usual.area > 0.5 * box) & (split.read.area > 0.5 * box)
    for name in ("x", "y"):
        near = np.abs(getattr(split.read, name) - getattr(usual, name))[both]
        assert near.max() < 0.2
    force = np.random.default_rng(0).uniform(size=(2, 3, 2, 4 * COLUMNS * ROWS))
    np.testing.assert_allclose(split.merged(force).sum(axis=-1), force.sum(axis=-1))
    first = force[..., [0, 1, 2 * ROWS, 2 * ROWS + 1]].sum(axis=-1)
    np.testing.assert_allclose(split.merged(force)[..., 0], first)


def test_even_pressure_on_split_cells_is_read_as_even():
    cells = cut_faces(arched(), jointed=[0, 1], voids=[Void(RELIEF)], split=2)
    found = mean_pressure(cells.read, cells.merged(5.0 * cells.area))
    np.testing.assert_allclose(found, 5.0, rtol=1e-12)


def test_extents_have_the_metal_s_area_place_and_shape():
    # A whole cell is its box; a triangle's rectangle has its second moments, b^2 / 18 (6 x 6 samples: a tenth).
    bridges = make_bridges([[[0.0, 32.0]]], [[[0.1, 40.1]]], [[0.0]])
    corner = np.array([(8.0, 8.1), (12.0, 8.1), (8.0, 12.1)])
    cells = cut_faces(bridges, jointed=[0], voids=[Void(corner)])
    metal, k = cells.extents, 2 * ROWS + 2  # x 8 to 12, y 8.1 to 12.1
    size = (metal.touching.width[0, 0, 0], metal.touching.height[0, 0, 0])
    assert size == pytest.approx((4.0, 4.0), rel=1e-9)
    assert metal.relieved.area[0, 0, k] == pytest.approx(8.0, rel=0.2)
    total = metal.relieved.area[0, 0, k] + metal.touching.area[0, 0, k]
    assert total == pytest.approx(16.0, rel=1e-12)
    assert metal.relieved.x[0, 0, k] == pytest.approx(8.0 + 4.0 / 3, abs=0.15)
    assert metal.relieved.width[0, 0, k] == pytest.approx(4.0 * np.sqrt(12 / 18), rel=0.1)
