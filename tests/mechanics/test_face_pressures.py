"""What joint faces show in a solved state: pressure anywhere, maps, ranges, what has opened, what changes."""

import dataclasses

import numpy as np
import pytest
from beam_halves import caliper, elastic

from stiffcalc.mechanics.clamp_plane import (
    lost_share,
    open_fraction,
    pressure_at,
    pressure_map,
    pressure_range,
    swing,
)
from stiffcalc.mechanics.faces import face_pressure
from stiffcalc.mechanics.joint import load, tighten
from stiffcalc.mechanics.joint_state import picked
from stiffcalc.mechanics.voids import Void

PRELOAD = np.full((1, 4), 30e3)
RELIEF = Void(np.array([(-104.0, 158.0), (-97.0, 148.0), (-88.0, 166.0), (-95.0, 170.0)]), face=0)
PRESSURES = np.array([[2.0, 8.0, 14.0]])


@pytest.fixture(scope="module", params=[(), (RELIEF,)], ids=["whole", "relieved"])
def solved(request):
    """Pair, bridges, its first face's voids, tightened and loaded states."""
    pair, bridges = caliper(centre="glued")
    pair = elastic(pair, bridges, voids=request.param)
    tightened = tighten(pair, PRELOAD)
    return pair, bridges, request.param, tightened.response, load(pair, tightened, PRESSURES).response


@pytest.fixture(scope="module")
def finer():
    """As `solved`, on cells twice as fine."""
    pair, bridges = caliper()
    pair = elastic(pair, bridges, columns=16, rows=20)
    return pair, bridges, load(pair, tighten(pair, PRELOAD), PRESSURES).response


def test_finer_cells_show_the_same_pressures(finer):
    fine, bridges, loaded = finer
    coarse = elastic(*caliper())
    states = (load(coarse, tighten(coarse, PRELOAD), PRESSURES).response, loaded)
    x, y = np.random.default_rng(2).uniform([82, 150], [106, 186], (200, 2)).T
    a, b = (
        pressure_at(pair, bridges, r, bridge=1, x=x, y=y)[0]
        for pair, r in zip((coarse, fine), states, strict=True)
    )
    assert np.abs(a - b)[0].max() < 0.06 * a[0].max()  # closed
    assert np.abs(a - b).mean() < 0.02 * a.max()  # open: peaks beside the gap and at holes are the cells' own
    shares = [open_fraction(pair, r) for pair, r in zip((coarse, fine), states, strict=True)]
    np.testing.assert_allclose(shares[0], shares[1], atol=0.06)


def even(pair, response, pressure):
    """The response with that pressure on every cell."""
    return dataclasses.replace(response, cells=pressure * pair.clamp.cells.area.reshape(1, -1))


def test_even_pressure_is_even_everywhere_holes_included(solved):
    pair, bridges, voids, tight, _ = solved
    state = even(pair, tight, 7.0)
    x, y = np.random.default_rng(0).uniform([78, 130], [110, 190], (300, 2)).T
    np.testing.assert_allclose(pressure_at(pair, bridges, state, bridge=1, x=x, y=y), 7.0)
    drawn = pressure_map(pair, bridges, state, bridge=0, voids=voids)
    np.testing.assert_allclose(drawn.pressure[drawn.metal], 7.0)
    assert not drawn.pressure[~drawn.metal].any() and (~drawn.metal).sum() > 100
    low, high = pressure_range(pair, state)
    np.testing.assert_allclose([low[0], high[0]], [[7.0, 7.0, 0.0]] * 2)  # the centre bridge has no joint


@pytest.mark.parametrize("bridge", [0, 1])
@pytest.mark.parametrize("state", [0, 1, 2])
def test_a_map_s_integral_is_the_force_on_the_face(solved, bridge, state):
    # Linear between the middles of cells, on a grid with staircase edges: a few per cent.
    pair, bridges, voids, _, loaded = solved
    own = voids if bridge == 0 else ()
    one = picked(loaded, (slice(None), state))
    drawn = pressure_map(pair, bridges, one, bridge=bridge, voids=own, step=0.25)
    cell = (drawn.x[1] - drawn.x[0]) * (drawn.y[1] - drawn.y[0])
    edges = np.outer(ends_halved(drawn.y), ends_halved(drawn.x))
    push = -one.tension[0, bridge, 0]
    assert push > 5e3
    assert (drawn.pressure * edges).sum() * cell == pytest.approx(push, rel=0.03)
    assert drawn.pressure.min() >= 0.0


def ends_halved(ticks):
    weight = np.ones(len(ticks))
    weight[[0, -1]] = 0.5
    return weight


def test_pressure_at_the_middle_of_a_whole_cell_is_that_cell_s(solved):
    pair, bridges, _, _, loaded = solved
    cells, face = pair.clamp.cells, 1
    whole = cells.area[0, face] > 0.999 * cells.width[0, face] * cells.height[0, face]
    k = np.flatnonzero(whole)
    assert len(k) > 40
    # a cell's metal has its centroid a little beside the grid's middle under the arch
    x, y = cells.x[0, face, k], cells.y[0, face, k]
    found = pressure_at(pair, bridges, loaded, bridge=1, x=x, y=y)[0]
    on_cells = loaded.cells[0].reshape(3, 2, -1)[:, face] / np.where(
        cells.area[0, face] > 0, cells.area[0, face], 1
    )
    np.testing.assert_allclose(found, on_cells[:, k], atol=0.03 * on_cells.max())
    assert found.shape == (3, len(k))


def test_what_has_opened_grows_with_pressure_and_is_counted_in_area(solved):
    pair, _, _, tight, loaded = solved
    share = open_fraction(pair, loaded)[0]
    assert share.shape == (3, 3) and not share[:, 2].any()
    assert np.all(np.diff(share[:, :2], axis=0) >= 0) and share[2, :2].min() > 0.2 > share[0, :2].max()
    cells = pair.clamp.cells
    open_area = np.where(loaded.cells[0, 2] == 0.0, cells.area.reshape(-1), 0.0)
    np.testing.assert_allclose(share[2, 0], open_area[: cells.x.shape[2]].sum() / cells.area[0, 0].sum())
    lost = lost_share(pair, tight, loaded)[0]
    before = open_fraction(pair, tight)[0]
    np.testing.assert_allclose(1 - lost[:, :2], ((1 - share) / (1 - before))[:, :2], rtol=1e-9)
    assert not lost[:, 2].any()


def test_the_range_brackets_the_faces_mean(solved):
    pair, _, _, _, loaded = solved
    low, high = (v[0, :, :2] for v in pressure_range(pair, loaded))
    mean = -loaded.tension[0, :, :2, 0] / pair.clamp.cells.area[0].sum(axis=-1)
    assert np.all(low < mean) and np.all(mean < high)
    assert np.all(low[2] == 0.0) and low[0].min() > 0.0


def test_swing_is_the_largest_change_and_where_it_is(solved):
    pair, bridges, _, tight, loaded = solved
    found = swing(pair, tight, loaded)
    assert not found.pressure[..., 2].any() and np.isnan(found.x[..., 2]).all()
    assert np.all(np.diff(found.pressure[0, :, :2], axis=0) > 0)
    at = {"bridge": 1, "x": found.x[0, 2, 1:2], "y": found.y[0, 2, 1:2]}
    before = pressure_at(pair, bridges, tight, **at)[0]
    after = pressure_at(pair, bridges, loaded, **at)[0, 2]
    assert abs(after - before) == pytest.approx(found.pressure[0, 2, 1], rel=0.15)
    nothing = swing(pair, tight, picked(loaded, (slice(None), slice(0, 1))))
    assert nothing.pressure.shape == (1, 1, 3)


def test_faces_that_move_as_planes_answer_by_their_own_bed():
    pair, bridges = caliper()
    state = load(pair, tighten(pair, PRELOAD), PRESSURES).response
    x, y = np.random.default_rng(1).uniform([78, 150], [110, 190], (20, 2)).T
    found = pressure_at(pair, bridges, state, bridge=1, x=x, y=y)[0]
    points = (np.broadcast_to(v, (1, 2, 20)) for v in (x, y))
    wanted = face_pressure(pair.faces, state.separation, **dict(zip("xy", points, strict=True)))
    np.testing.assert_array_equal(found, wanted[0, :, 1])
    assert found.shape == (3, 20)


def test_elastic_and_plane_faces_agree_while_closed_but_for_the_bolts():
    # Bolts press unevenly, more between them, yet what they add has no force.
    pair, bridges = caliper()
    both = [pair, elastic(pair, bridges)]
    states = [load(q, tighten(q, np.full((1, 4), 60e3)), np.array([2.0])).response for q in both]
    assert open_fraction(both[1], states[1]).max() == 0.0
    maps = [pressure_map(q, bridges, r, bridge=0) for q, r in zip(both, states, strict=True)]
    total = [m.pressure.sum() for m in maps]
    assert total[1] == pytest.approx(total[0], rel=0.01)
    near = np.hypot(*np.meshgrid(maps[0].x + 94.0, maps[0].y - 167.0)) < 8.0
    assert maps[1].pressure[near].mean() > 1.02 * maps[0].pressure[near].mean()


def test_faces_that_move_as_planes_are_asked_the_same_questions():
    pair, _ = caliper(centre="glued")
    tightened = tighten(pair, PRELOAD)
    loaded = load(pair, tightened, PRESSURES).response
    lost = lost_share(pair, tightened.response, loaded)[0]
    closed = open_fraction(pair, tightened.response)[0]
    assert not closed.any() and not lost[0].any(), "closed at 2 MPa"
    assert np.all(lost[2, :2] > 0.01) and not lost[:, 2].any(), (
        "open at 14 MPa; the centre bridge has no joint"
    )
    np.testing.assert_allclose(lost, open_fraction(pair, loaded)[0])
    found = swing(pair, tightened.response, loaded)
    assert found.pressure.shape == (1, 3, 3)
    before, after = (
        face_pressure(pair.faces, r.separation, x=pair.faces.corner_x, y=pair.faces.corner_y)
        for r in (tightened.response, picked(loaded, (slice(None), 1)))
    )
    np.testing.assert_allclose(found.pressure[0, 1, :2], np.abs(after - before)[0, :2].max(axis=-1))
    assert set(found.y[0, 1, :2]) <= set(pair.faces.corner_y[0, :2].ravel())
