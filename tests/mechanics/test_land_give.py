"""Give of faces with voids: means over true extents, mirrors, what stands for the section's pressure."""

import numpy as np
import pytest
from beam_halves import make_bridges
from scipy.integrate import dblquad

from stiffcalc.mechanics import land_give as lands
from stiffcalc.mechanics.elastic_faces import _potential
from stiffcalc.mechanics.face_cells import cut_faces
from stiffcalc.mechanics.land_give import _hole_mirror, _kernel, _mean_inverse, _Metal, land_give
from stiffcalc.mechanics.voids import Void

LAND = np.array([(-15.0, 4.0), (12.0, 2.0), (15.0, 24.0), (3.0, 38.0), (-14.0, 33.0)])
HOLES = [(-5.0, 12.0, 8.0), (4.0, 26.0, 8.0)]


def face(voids, *, arch=0.0, columns=8, rows=10):
    bridges = make_bridges([[[-16.0, 16.0]]], [[[0.1, 40.1]]], [[arch]], holes=[[HOLES]])
    return cut_faces(bridges, jointed=[0], voids=voids, columns=columns, rows=rows)


def rectangles(*each):
    """Pieces given as (x, y, width, height)."""
    x, y, width, height = np.array(each, dtype=float).T
    count = np.arange(len(x))
    return _Metal(x, y, width, height, width * height, count, count >= 0)


def means(metal):
    return _mean_inverse(np.subtract.outer(metal.x, metal.x), np.subtract.outer(metal.y, metal.y), metal)


def test_a_square_s_own_mean_is_the_textbook_s():
    # Mean of 1/r over both points of a unit square: 4 (ln(1 + sqrt 2) + (1 - sqrt 2) / 3) (from memory; it is also the
    # square's own potential coefficient of even charge in moment methods).
    own = 4.0 * (np.log(1 + np.sqrt(2)) + (1 - np.sqrt(2)) / 3)
    assert means(rectangles((0, 0, 1, 1)))[0, 0] == pytest.approx(own, rel=1e-12)
    assert own == pytest.approx(lands.SQUARE, abs=1e-3)


@pytest.mark.parametrize(
    "other", [(3.0, 1.0, 2.0, 1.0), (4.0, 5.0, 1.5, 4.0), (15.0, 2.0, 2.0, 4.0), (0.5, 9.0, 4.0, 0.5)]
)
def test_means_are_those_of_general_quadrature(other):
    # Love's potential of one rectangle (tested elsewhere) averaged over the other by scipy.integrate.dblquad.
    x, y, w, h = other
    mean, _ = dblquad(
        lambda v, u: float(_potential(np.array(u), np.array(v), width=np.array(2.0), height=np.array(3.0))),
        x - w / 2,
        x + w / 2,
        y - h / 2,
        y + h / 2,
        epsabs=1e-9,
    )
    found = means(rectangles((0, 0, 2.0, 3.0), other))
    np.testing.assert_allclose(found, found.T, rtol=1e-12)
    assert found[0, 1] == pytest.approx(mean / (w * h), rel=1e-3)


def test_a_wide_hole_s_wall_is_a_flat_side_s_mirror():
    # Pieces 2 and 5 mm before the wall of a hole so large that it is flat: image as far behind it.
    metal = rectangles((2.0, 0.0, 0.1, 0.1), (5.0, 3.0, 0.1, 0.1))
    far = 1e5
    wall = _hole_mirror(metal, -far, 0.0, far) + far / np.outer(*2 * (np.hypot(metal.x + far, metal.y),))
    np.testing.assert_allclose(wall, [[1 / 4, 1 / np.hypot(7, 3)], [1 / np.hypot(7, 3), 1 / 10]], rtol=1e-3)


def test_a_hole_far_away_adds_next_to_nothing():
    # As its radius cubed over the distance to the fourth: a dipole seen twice.
    metal = rectangles((100.0, 0.0, 1.0, 1.0), (0.0, 80.0, 1.0, 1.0))
    own = np.diag(_hole_mirror(metal, 0.0, 0.0, 5.0))
    np.testing.assert_allclose(own, 5.0**3 / np.array([100.0, 80.0]) ** 4, rtol=0.01)


@pytest.mark.parametrize("arch", [0.0, 20.0])
@pytest.mark.parametrize("seed", range(5))
def test_whatever_touches_the_give_is_positive(seed, arch):
    rng = np.random.default_rng(seed)
    angle = np.sort(rng.uniform(0, 2 * np.pi, 6))
    radius = rng.uniform(0.3, 1.0, 6)
    outline = np.column_stack([16 * radius * np.cos(angle), 20 + 20 * radius * np.sin(angle)])
    cells = face([Void(outline, outside=bool(seed % 2))], arch=arch, columns=12, rows=16)
    metal = lands._metal(cells)
    values = np.linalg.eigvalsh(_kernel(metal, cells))
    assert values[0] > 1e-4 * values[-1]
    found = land_give(cells, np.zeros((192, 0)))
    alive = np.flatnonzero(cells.area[0, 0] > 0.0)
    own = np.linalg.eigvalsh(found.give[np.ix_(alive, alive)])
    assert own[0] > -1e-12 * own[-1]
    np.testing.assert_allclose(found.give, found.give.T, atol=1e-12 * own[-1])


def test_what_stands_for_the_section_has_its_resultants():
    cells = face([Void(LAND, outside=True)])
    arm = cells.arm[0, 0]
    uneven = np.zeros((80, 1))
    uneven[[12, 13, 22, 23], 0] = 1.0, -1.0, -1.0, 1.0
    uneven -= cells.plane[0, 0] @ (arm.T @ uneven)
    found = land_give(cells, uneven)
    np.testing.assert_allclose(arm.T @ found.plane, np.eye(3), atol=1e-9 * np.abs(arm).max())
    np.testing.assert_allclose(arm.T @ found.pressing, 0.0, atol=1e-9 * np.abs(arm).max())
    # Where all of a cell touches, nothing stands for its force but itself, to what its neighbours take over.
    assert found.pressing[[12, 13], 0] == pytest.approx(uneven[[12, 13], 0], abs=0.2)


def test_where_all_touches_the_section_stands_for_itself(monkeypatch):
    monkeypatch.setattr(lands, "APART", 0.0)
    everywhere = Void(np.array([(-99.0, -99.0), (99.0, -99.0), (99.0, 99.0), (-99.0, 99.0)]), outside=True)
    cells = face([everywhere])
    found = land_give(cells, np.zeros((80, 0)))
    np.testing.assert_allclose(found.plane, cells.plane[0, 0], atol=1e-8 * np.abs(cells.plane).max())
    assert np.abs(found.give @ found.plane).max() < 1e-8 * np.abs(found.give).max()
    assert not cells.relieved


def test_finer_cells_move_a_closed_land_by_less_than_a_hundredth_of_the_face():
    # Give of the plane with every touching cell held to it: the land's own flexibility. Two grids against a third.
    def own(columns, rows):
        cells = face([Void(LAND, outside=True)], columns=columns, rows=rows)
        found = land_give(cells, np.zeros((columns * rows, 0)))
        alive = np.flatnonzero(cells.area[0, 0] > 0.0)
        arm = cells.arm[0, 0, alive]
        K = np.block([[found.give[np.ix_(alive, alive)], arm], [arm.T, np.zeros((3, 3))]])
        return -np.linalg.inv(K)[-3:, -3:]

    coarse, fine, finest = own(8, 10), own(16, 20), own(24, 30)
    assert coarse[0, 0] == pytest.approx(finest[0, 0], rel=0.1)
    assert fine[0, 0] == pytest.approx(finest[0, 0], rel=0.05)
    assert coarse[1, 1] == pytest.approx(finest[1, 1], rel=0.1)
