"""The joint with faces that give way cell by cell: derived properties (check-values P01 to P06, P10, P11, P14, P17)."""

import dataclasses

import numpy as np
import pytest
from beam_halves import caliper, elastic, make_bridges

from stiffcalc.condensed import Flexibility, Outputs, Points
from stiffcalc.mechanics import complementarity
from stiffcalc.mechanics.clamp_plane import open_fraction
from stiffcalc.mechanics.elastic_faces import heads_give
from stiffcalc.mechanics.joint import glued, join, load, tighten
from stiffcalc.mechanics.joint_state import JointError, Response, UnheldError, change, forces, picked
from stiffcalc.mechanics.opening import contributions, onset, spread
from stiffcalc.mechanics.voids import Void
from stiffcalc.mechanics.warming import warmed

PRELOAD = np.full((1, 4), 20e3)
SWEEP = np.array([np.linspace(0.25, 40.0, 160)])
RELIEF = Void(np.array([(-104.0, 158.0), (-97.0, 148.0), (-88.0, 166.0), (-95.0, 170.0)]))
FIELDS = [f.name for f in dataclasses.fields(Response)]


def body(designs=1, *, voids=(), **options):
    return elastic(*caliper(designs, **options), voids=voids)


@pytest.fixture(scope="module")
def opened():
    """Pair, tightened state and a pressure sweep far beyond onset."""
    pair = body()
    tightened = tighten(pair, PRELOAD)
    return pair, tightened, load(pair, tightened, SWEEP)


def same(a, b, *, rtol, names=FIELDS):
    """Every field alike, judged against its largest entry; separations, zero while closed, against the points'."""
    for name in names:
        found, wanted = getattr(a, name), getattr(b, name)
        assert found.shape == wanted.shape, name
        size = np.abs(b.points if name == "separation" else wanted).max()
        np.testing.assert_allclose(found, wanted, rtol=rtol, atol=rtol * size, err_msg=name)


@pytest.mark.parametrize("voids", [(), (RELIEF,)])
@pytest.mark.parametrize("preload", [30e3, 60e3])
def test_p01_a_closed_joint_is_solid_material(preload, voids):
    pair = body(voids=voids)
    tightened = tighten(pair, np.full((1, 4), preload))
    p = 0.99 * onset(pair, tightened).pressure.min() * np.ones(1)
    assert p > 1.0
    moved = change(load(pair, tightened, p).response, tightened.response)
    same(moved, glued(pair, p).response, rtol=1e-9)


def test_p01_without_reliefs_it_is_the_body_in_one_piece():
    # The plane faces' closed body is a third way to the same figures: no cell in it.
    plane, _ = caliper(layer=0.5)
    names = [n for n in FIELDS if n not in ("cells", "separation")]
    same(glued(body(), np.ones(1)).response, glued(plane, np.ones(1)).response, rtol=1e-9, names=names)


def test_p02_linear_up_to_onset_and_superposition():
    pair = body()
    tightened = tighten(pair, np.full((1, 4), 45e3))
    p = np.array([[1.0, 2.0, 3.0]])
    assert onset(pair, tightened).pressure.min() > 3.0
    r = change(load(pair, tightened, p).response, tightened.response)
    one, two, three = (picked(r, (slice(None), i)) for i in range(3))
    same(Response(**{n: getattr(one, n) + getattr(two, n) for n in FIELDS}), three, rtol=1e-9)


def test_p03_the_tangent_stiffness_falls_and_never_rises(opened):
    pair, tightened, state = opened
    opening = spread(pair, change(state.response, tightened.response))[0]
    slope = np.diff(opening) / np.diff(SWEEP[0])
    assert np.all(np.diff(slope) >= -1e-9 * slope[0])
    assert slope[-1] > 1.5 * slope[0]


def test_onset_is_where_the_first_cell_leaves():
    pair = body()
    tightened = tighten(pair, np.full((1, 4), 45e3))
    found = onset(pair, tightened)
    face = int(found.pressure.argmin())
    clamp = pair.clamp.cells
    place = (clamp.x[0, face] == found.x[0, face]) & (clamp.y[0, face] == found.y[0, face])
    assert place.sum() == 1
    for factor, left in ((0.9999, 0), (1.0001, 1)):
        P = load(pair, tightened, factor * found.pressure.min(axis=-1)).response.cells[0].reshape(2, -1)
        gone = (P[face] == 0.0) & (clamp.area[0, face] > 0.0)
        assert gone.sum() == left
        assert not left or gone[place].all()


def test_p04_onset_is_proportional_to_preload():
    pair = body()
    found = onset(pair, tighten(pair, np.array([[[10e3] * 4, [20e3] * 4, [60e3] * 4]]))).pressure
    np.testing.assert_allclose(found[0, 1:], found[0, :1] * [[2.0], [6.0]], rtol=1e-9)


def test_p05_receding_contact_does_not_depend_on_the_loads_magnitude():
    pair = body()
    states = [
        load(pair, tighten(pair, np.full((1, 4), f)), np.array([p])).response
        for p, f in ((6.0, 20e3), (12.0, 40e3), (30.0, 100e3))
    ]
    shares = [open_fraction(pair, r) for r in states]
    assert 0.2 < shares[0].max() < 0.8
    for r, share, k in zip(states[1:], shares[1:], (2.0, 5.0), strict=True):
        np.testing.assert_array_equal(share, shares[0])
        np.testing.assert_allclose(r.cells, k * states[0].cells, rtol=1e-8, atol=1e-3)
        np.testing.assert_allclose(r.points, k * states[0].points, rtol=1e-8, atol=1e-12)


def test_p05_cells_press_only_where_they_touch_and_stand_clear_where_they_do_not(opened):
    # Both conditions and the balance below are all that the minimum of a convex energy asks: it is the solution.
    pair, _, state = opened
    for k in (3, 40, 100, 159):
        r = state.response
        P, gap = r.cells[0, k], gaps(pair, r, k)
        alive = pair.clamp.cells.alive[0]
        size = np.abs(r.points[0, k]).max()
        assert P.min() >= 0.0
        assert np.abs(gap[alive & (P > 0)]).max() < 1e-8 * size
        assert gap[alive & (P == 0)].min(initial=0.0) >= -1e-8 * size


def gaps(pair, r, k):
    """Openings of the cells: plane's separation and what departing from the bolts' pattern moves them by."""
    clamp = pair.clamp
    plane = np.einsum("nca,na->nc", clamp.cells.arm[0], r.separation[0, k, list(pair.jointed)])
    depart = (r.cells[0, k] - clamp.pressing[0] @ r.bolt[0, k]).reshape(plane.shape)
    return (plane + np.einsum("nij,nj->ni", clamp.give[0], depart)).ravel()


def test_cells_carry_their_bridges_and_dead_ones_nothing(opened):
    pair, _, state = opened
    cells = pair.clamp.cells
    P = state.response.cells[0].reshape(-1, *cells.x.shape[1:])
    carried = -np.einsum("nca,knc->kna", cells.arm[0], P)
    np.testing.assert_allclose(carried, state.response.tension[0], rtol=1e-8, atol=1e-2)
    assert (~cells.alive).any() and not state.response.cells[0][:, ~cells.alive[0]].any()


def test_p06_work_along_the_sweep_is_the_gain_of_stored_energy():
    # Floors only, so that every load is at a point: integral of p A de (trapezium) against the parts' energies.
    pair = body()
    half = pair.flexibility
    pair = dataclasses.replace(pair, flexibility=dataclasses.replace(half, wall=np.zeros_like(half.wall)))
    tightened = tighten(pair, PRELOAD)
    p = np.linspace(0.0, 20.0, 401)
    r = load(pair, tightened, p[None]).response
    opening = (r.points[..., half.points.bore] * pair.bore_area).sum(axis=-1)[0]
    work = p[-1] * opening[-1] - np.trapezoid(opening, p)
    stored = stored_energy(pair, r)
    assert work == pytest.approx(stored[-1] - stored[0], rel=2e-5)


def stored_energy(pair, r):
    f = forces(pair, r)[0]
    halves = 0.5 * np.einsum("ki,ij,kj->k", f, pair.flexibility.F[0], f)
    bridges = 0.5 * np.einsum("kni,nij,knj->k", r.tension[0], pair.bridge_flexibility[0], r.tension[0])
    depart = (r.cells[0] - r.bolt[0] @ pair.clamp.pressing[0].T).reshape(len(f), 2, -1)
    faces = 0.5 * np.einsum("kni,nij,knj->k", depart, pair.clamp.give[0], depart)
    return halves + bridges + faces + 0.5 * (r.bolt[0] ** 2 * pair.bolt_flexibility).sum(axis=-1)


@pytest.mark.parametrize("scale", [0.5, 3.0])
def test_p10_geometric_similarity(scale):
    small = body()
    large = elastic(*caliper(scale=scale), height=60.0 * scale)
    a, b = (
        load(pair, tighten(pair, PRELOAD * k**2), np.array([12.0])).response
        for pair, k in ((small, 1.0), (large, scale))
    )
    assert open_fraction(small, a).max() > 0.2
    np.testing.assert_allclose(spread(large, b), scale * spread(small, a), rtol=1e-8)
    np.testing.assert_allclose(b.cells, scale**2 * a.cells, rtol=1e-8, atol=1e-3)


def test_p11_modulus_scaling():
    soft, stiff = body(), body(E=2 * 71000.0, E_bolt=2 * 205000.0)
    a, b = (load(pair, tighten(pair, PRELOAD), np.array([12.0])).response for pair in (soft, stiff))
    np.testing.assert_allclose(spread(stiff, b), 0.5 * spread(soft, a), rtol=1e-9)
    np.testing.assert_allclose(b.cells, a.cells, rtol=1e-8, atol=1e-3)


def test_a_warm_pair_answers_as_one_joined_with_the_warm_moduli():
    hot = body(E=0.93 * 71000.0, E_bolt=0.97 * 205000.0)
    by_factor = warmed(
        body(), body=np.full(1, 0.93), bridges=np.full((1, 2), 0.93), bolts=np.full((1, 4), 0.97)
    )
    p = np.array([[2.0, 9.0, 20.0]])
    a, b = (load(pair, tighten(pair, PRELOAD), p).response for pair in (by_factor, hot))
    same(a, b, rtol=1e-8)


def test_p14_reactions_balance_the_loads(opened):
    pair, _, state = opened
    f = forces(pair, state.response)[0]
    reach = np.abs(pair.flexibility.R[0]).T @ np.abs(f).T
    assert np.all(np.abs(pair.flexibility.R[0].T @ f.T) <= 1e-9 * reach.max(axis=0))
    for error in (state.checks.residual, state.checks.equilibrium, state.checks.energy):
        assert error.max() < 1e-10


def test_contributions_of_the_opened_joint_sum_to_the_spread(opened):
    pair, tightened, state = opened
    moved = change(state.response, tightened.response)
    parts = contributions(pair, moved)
    np.testing.assert_allclose(sum(parts.values()), spread(pair, moved), rtol=1e-9)
    closed = onset(pair, tightened).pressure.min() > SWEEP
    assert closed.any() and np.abs(parts["joint opening"][closed]).max() < 1e-12
    assert np.all(np.diff(parts["joint opening"][~closed]) > 0)


def four_bolts(preload, *, bolt=8.0e-6):
    """One rectangular face between rigid walls, four bolts about its middle and a bore on its axis."""
    places = [(x, y) for x in (-8.0, 8.0) for y in (116.0, 144.0)]
    bridges = make_bridges(
        [[[-15.0, 15.0]]], [[[100.0, 160.0]]], [[0.0]], holes=[[[(*q, 9.0) for q in places]]]
    )
    at = [(1.0, y, -x) for x, y in [*places, (0.0, 130.0)]]
    rigid = Flexibility(
        points=Points(bridges=1, bolts=4, bores=1),
        F=np.zeros((1, 8, 8)),
        R=np.array([[(1.0, 130.0, 0.0), (0, 1, 0), (0, 0, 1), *at]]),
        wall=np.zeros((1, 8)),
        outputs=Outputs(O=np.zeros((1, 0, 8)), wall=np.zeros((1, 0)), R=np.zeros((1, 0, 3))),
        parts={},
    )
    plane = join(
        rigid,
        bridges=bridges,
        jointed=[True],
        layer=np.array([[25.0]]),
        bolt_flexibility=np.full((1, 4), bolt),
        bore_area=np.array([[1000.0]]),
    )
    pair = elastic(plane, bridges)
    clamp = plane.bridge_flexibility[0, 0, 0, 0]
    return pair, tighten(pair, np.full((1, 4), preload / 4)), clamp / (clamp + bolt / 4)


def test_p17_bolt_force_from_preload_to_separation():
    # Joint diagram of any machine-design text: B = F_V + Phi P while all of the face presses; B + clamp = P always.
    # The face leaves cell by cell where its bolt presses least; once all are gone the bolt carries everything.
    pair, tightened, phi = four_bolts(30000.0)
    first = onset(pair, tightened).pressure[0, 0]
    separation = 30.0 / (1 - phi)
    assert 0.2 * separation < first < separation
    p = np.array(
        [[0.0, 0.5 * first, 0.999 * first, 0.5 * (first + separation), 1.2 * separation, 2 * separation]]
    )
    state = load(pair, tightened, p).response
    B = state.bolt[0].sum(axis=-1)
    np.testing.assert_allclose(B[:3], 30000.0 + phi * 1000.0 * p[0, :3], rtol=1e-10)
    np.testing.assert_allclose(B[4:], 1000.0 * p[0, 4:], rtol=1e-10)
    # 1e-10 of the preload where both are nothing
    np.testing.assert_allclose(B + state.tension[0, :, 0, 0], 1000.0 * p[0], rtol=1e-10, atol=1e-10 * 30000.0)
    share = np.diff(B) / np.diff(1000.0 * p[0])
    assert share.min() > 0.0 and np.all(np.diff(share[:4]) >= -1e-9) and share.max() < 1.05
    np.testing.assert_array_equal(open_fraction(pair, state)[0, [0, 2, 4, 5], 0], [0.0, 0.0, 1.0, 1.0])


def test_heads_stay_with_their_bolts(opened):
    # A bolt follows B = F0 + (e - e0) / flexibility with the heads' movement in the face's give counted.
    pair, tightened, state = opened
    at = pair.flexibility.points.bolt
    r, before = state.response, tightened.response
    sunk = (
        heads_give(pair.clamp, cells=r.cells, bolt=r.bolt)
        - heads_give(pair.clamp, cells=before.cells, bolt=before.bolt)[:, None]
    )
    stretched = r.points[..., at] - before.points[:, None, at] + sunk
    np.testing.assert_allclose(stretched, pair.bolt_flexibility * (r.bolt - 20e3), rtol=1e-6, atol=1e-12)
    assert np.abs(sunk).max() > 1e-4  # else this would show nothing


def test_an_unbolted_centre_bridge_opens_and_counts_for_nothing():
    with_joint, without = (elastic(*caliper(centre=c)) for c in ("jointed", None))
    p = np.array([[6.0, 7.0]])
    states = [load(pair, tighten(pair, np.full((1, 4), 45e3)), p).response for pair in (with_joint, without)]
    np.testing.assert_array_equal(open_fraction(with_joint, states[0])[0, :, 2], 1.0)
    rise = [np.diff(spread(pair, r)[0])[0] for pair, r in zip((with_joint, without), states, strict=True)]
    assert rise[0] == pytest.approx(rise[1], rel=1e-8)


def test_a_solid_centre_bridge_takes_part_without_cells():
    glued_one, without = (elastic(*caliper(centre=c)) for c in ("glued", None))
    assert glued_one.clamp.cells.x.shape[1] == 2
    p = np.array([[4.0, 20.0]])
    a, b = (
        spread(pair, change(load(pair, t, p).response, t.response))[0]
        for pair in (glued_one, without)
        for t in [tighten(pair, PRELOAD)]
    )
    assert np.all(a < 0.95 * b)


def test_designs_and_load_states_are_solved_as_one_by_one():
    pair = body(3, thickness=[24.0, 30.0, 38.0])
    preload = np.array([[[15e3] * 4, [30e3, 20e3, 10e3, 25e3]]] * 3)
    p = np.array([[[2.0, 9.0, 20.0]]])
    both = tighten(pair, preload)
    together = load(pair, both, np.repeat(p, 3, 0)).response
    assert together.cells.shape == (3, 2, 3, 160)
    for d, thickness in enumerate((24.0, 30.0, 38.0)):
        one = body(thickness=thickness)
        for i in range(2):
            tight = tighten(one, preload[:1, i])
            for k, pressure in enumerate(p[0, 0]):
                alone = load(one, tight, np.array([pressure])).response
                np.testing.assert_allclose(together.points[d, i, k], alone.points[0], rtol=1e-8, atol=1e-12)
                np.testing.assert_allclose(together.cells[d, i, k], alone.cells[0], rtol=1e-7, atol=1e-3)


def off_the_faces(pair, *, design):
    """Bolts of one design moved far above every face."""
    R = pair.flexibility.R.copy()
    R[design, pair.flexibility.points.bolt, 1] = 250.0
    return dataclasses.replace(pair, flexibility=dataclasses.replace(pair.flexibility, R=R))


@pytest.mark.parametrize("forces", [[20e3] * 4, [0.0, 0.0, 20e3, 20e3], [1.0, 2e3, 5e4, 3e3]])
def test_bolts_that_pull_beside_the_faces_are_named(forces):
    preload = np.array([[20e3] * 4, forces])
    with pytest.raises(UnheldError, match="nothing holds the halves together") as caught:
        tighten(off_the_faces(body(2), design=1), preload)
    assert caught.value.designs == (1,)


def test_bolts_of_one_side_hold_both_halves_while_statics_allows_it():
    # The old sign of an unheld joint, many steps, must not be taken for it: this one is held.
    state = tighten(body(), np.array([[0.0, 0.0, 20e3, 20e3]]))
    assert state.checks.residual.max() < 1e-12


def test_halves_without_bolts_are_named_and_stand_still_without_pressure():
    pair = body(2)
    keep = np.r_[0:6, 10:12]
    f = pair.flexibility
    cut = dataclasses.replace(
        f,
        points=dataclasses.replace(f.points, bolts=0),
        F=f.F[:, keep][:, :, keep],
        R=f.R[:, keep],
        wall=f.wall[:, keep],
        outputs=dataclasses.replace(f.outputs, O=f.outputs.O[:, :, keep]),
        parts={k: v[:, keep][:, :, keep] for k, v in f.parts.items()},
    )
    clamp = dataclasses.replace(pair.clamp, pressing=pair.clamp.pressing[..., :0])
    loose = dataclasses.replace(pair, flexibility=cut, bolt_flexibility=np.zeros((2, 0)), clamp=clamp)
    nothing = tighten(loose, np.zeros((2, 0)))
    with pytest.raises(UnheldError) as caught:
        load(loose, nothing, np.array([5.0, 5.0]))
    assert caught.value.designs == (0, 1)
    np.testing.assert_array_equal(load(loose, nothing, np.zeros(2)).response.points, 0.0)


def test_an_equilibrium_cut_short_is_refused_by_its_own_name(monkeypatch, opened):
    pair, tightened, _ = opened
    monkeypatch.setattr(complementarity, "STEPS", 2)
    with pytest.raises(JointError, match="did not converge") as caught:
        load(pair, tightened, np.array([30.0]))
    assert not isinstance(caught.value, UnheldError)
    assert caught.value.residual > 1e-6 and caught.value.iterations == 2


def test_nan_is_an_error_not_an_answer():
    pair = body()
    with pytest.raises(JointError):
        tighten(pair, np.array([[20e3, np.nan, 20e3, 20e3]]))


def test_random_bodies_all_settle():
    # Walls thin to thick, bolts slack to strong, far beyond onset.
    rng = np.random.default_rng(6)
    count = 40
    pair = body(count, thickness=rng.uniform(15, 50, count))
    tightened = tighten(pair, rng.uniform(500, 80e3, (count, 4)))
    state = load(pair, tightened, rng.uniform(0, 60, count))
    share = open_fraction(pair, state.response)
    assert (share > 0.7).sum() > 5 and (share == 0).sum() > 2
    assert state.checks.residual.max() < 1e-10 and state.checks.steps.max() < 30
