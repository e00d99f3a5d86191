"""The opened joint: derived properties (check-values P03 to P06), robustness, and what it must refuse."""

import dataclasses

import numpy as np
import pytest
from beam_halves import beam_half, caliper, make_bridges
from scipy.optimize import minimize

from stiffcalc.condensed import add
from stiffcalc.errors import ConvergenceError
from stiffcalc.mechanics import compression
from stiffcalc.mechanics.clamp_plane import pressure_map
from stiffcalc.mechanics.faces import (
    closed_stiffness,
    face_pressure,
    face_stiffness,
    make_faces,
    open_at_most,
    open_fraction,
    pressure_range,
    separation,
    take,
)
from stiffcalc.mechanics.joint import join, load, tighten
from stiffcalc.mechanics.joint_state import JointError, UnheldError, change, forces, picked
from stiffcalc.mechanics.opening import contributions, onset, spread

PRESSURES = np.array([np.linspace(0.5, 40.0, 80)])


@pytest.fixture(scope="module")
def opened():
    """Pair, bridges, tightened state and a pressure sweep far beyond onset."""
    pair, bridges = caliper()
    tightened = tighten(pair, np.full((1, 4), 20e3))
    return pair, bridges, tightened, load(pair, tightened, PRESSURES)


def test_p03_the_tangent_stiffness_falls_and_never_rises(opened):
    pair, _, tightened, state = opened
    opening = spread(pair, change(state.response, tightened.response))[0]
    slope = np.diff(opening) / np.diff(PRESSURES[0])
    assert np.all(np.diff(slope) >= -1e-9 * slope[0])
    assert slope[-1] > 1.5 * slope[0]


def test_p03_opening_has_a_continuous_slope_at_onset():
    pair, _ = caliper()
    tightened = tighten(pair, np.full((1, 4), 20e3))
    first = onset(pair, tightened).pressure.min()
    p = first * np.array([[0.98, 0.99, 1.01, 1.02]])
    opening = spread(pair, change(load(pair, tightened, p).response, tightened.response))[0]
    before, after = opening[1] - opening[0], opening[3] - opening[2]
    assert after == pytest.approx(before, rel=1e-3)


def test_no_more_of_a_face_is_open_than_is_said_it_can_be():
    bridges = caliper()[1]
    faces = make_faces(bridges, layer=np.full(bridges.arch.shape, 25.0))
    s = np.random.default_rng(3).normal(size=(1, 500, faces.count, 3)) * [1e-2, 1e-3, 1e-3]
    share, most = open_fraction(faces, s), open_at_most(faces, s)
    assert share.min() == 0.0 and share.max() > 0.99 and (most < 0.3).any()
    assert np.all(share <= most + 1e-12)
    found = open_fraction(faces, s, beyond=0.8)
    np.testing.assert_array_equal(found[share > 0.8], share[share > 0.8])
    assert np.all((found == share) | (found == 0.0)) and (found < share).any()


def test_onset_is_where_the_first_point_leaves():
    pair, _ = caliper()
    tightened = tighten(pair, np.full((1, 4), 45e3))
    found = onset(pair, tightened)
    first = found.pressure.argmin()
    for factor, sign in ((0.9999, -1.0), (1.0001, 1.0)):
        s = load(pair, tightened, factor * found.pressure.min(axis=-1)).response.separation
        gap = separation(pair.faces, s, x=pair.faces.corner_x, y=pair.faces.corner_y)
        assert np.sign(gap[0, first].max()) == sign
    assert (found.x[0, first], found.y[0, first]) in zip(
        pair.faces.corner_x[0, first], pair.faces.corner_y[0, first], strict=True
    )


def test_the_separation_of_a_face_is_greatest_at_its_corners():
    # A plane is extreme on a set's convex hull: no point of the arch or a hole's edge may beat the corners.
    # Some of these bodies are so long that the arch runs out into the wall's bottom.
    pair, _, _ = random_calipers(200, seed=2)
    rng = np.random.default_rng(3)
    c, x_b, y_r = pair.faces.columns, pair.faces.x_b[..., None], pair.faces.y_r[..., None]
    assert (pair.faces.corner_x[..., 1] != pair.faces.corner_x[..., 0]).any()
    for s in rng.normal(size=(20, 200, 2, 3)) * [1.0, 0.05, 0.05]:
        corners = separation(pair.faces, s, x=pair.faces.corner_x, y=pair.faces.corner_y).max(axis=-1)
        inside = [separation(pair.faces, s, x=c.x + x_b, y=y + y_r).max(axis=-1) for y in (c.lo, c.hi)]
        assert np.all(np.maximum(*inside) <= corners)


def test_p04_onset_is_proportional_to_preload():
    pair, _ = caliper()
    preload = np.array([[[10e3] * 4, [20e3] * 4, [60e3] * 4]])
    found = onset(pair, tighten(pair, preload)).pressure
    assert found.shape == (1, 3, 2)
    np.testing.assert_allclose(found[0, 1:], found[0, :1] * [[2.0], [6.0]], rtol=1e-9)


def test_opening_depends_on_pressure_over_preload_only():
    # Derived: the problem is homogeneous of degree one in loads and preloads (P05, receding contact).
    pair, _ = caliper()
    p, preload = np.array([6.0, 12.0, 30.0]), np.array([20e3, 40e3, 100e3])
    states = [
        load(pair, tighten(pair, np.full((1, 4), f)), np.array([q])) for q, f in zip(p, preload, strict=True)
    ]
    shares = [open_fraction(pair.faces, s.response.separation) for s in states]
    np.testing.assert_allclose(shares[1:], [shares[0]] * 2, rtol=1e-8)
    points = np.array([s.response.points[0] for s in states])
    np.testing.assert_allclose(points[1:], points[0] * [[2.0], [5.0]], rtol=1e-8, atol=1e-12)


def test_p05_no_tension_and_contact_carries_the_bridge(opened):
    pair, bridges, _, state = opened
    s = state.response.separation
    least, most = pressure_range(pair.faces, s)
    assert least.min() >= 0 and most.min() > 0
    drawn = pressure_map(pair, bridges, picked(state.response, (slice(None), 40)), bridge=0, step=0.25)
    assert drawn.pressure.min() >= 0
    assert drawn.pressure.max() == pytest.approx(most[0, 40, 0], rel=1e-9)
    cell = (drawn.x[1] - drawn.x[0]) * (drawn.y[1] - drawn.y[0])
    edges = np.outer(ends_halved(drawn.y), ends_halved(drawn.x))
    push = (drawn.pressure * edges).sum() * cell
    assert push == pytest.approx(
        -state.response.tension[0, 40, 0, 0], rel=0.01
    )  # staircase edges of the grid
    carried = face_stiffness(pair.faces, s[0]) @ s[0][..., None]
    np.testing.assert_allclose(carried[..., 0], state.response.tension[0], rtol=1e-8, atol=1e-3)


def ends_halved(ticks):
    weight = np.ones(len(ticks))
    weight[[0, -1]] = 0.5
    return weight


def test_p06_work_along_the_sweep_is_the_gain_of_stored_energy():
    # Floors only, so that every load is at a point: integral of p A de (Simpson) against the parts' energies.
    pair, _ = caliper()
    pair = dataclasses.replace(
        pair, flexibility=dataclasses.replace(pair.flexibility, wall=np.zeros((1, 12)))
    )
    tightened = tighten(pair, np.full((1, 4), 20e3))
    p = np.linspace(0.0, 20.0, 401)
    r = load(pair, tightened, p[None]).response
    opening = (r.points[..., pair.flexibility.points.bore] * pair.bore_area).sum(axis=-1)[0]
    work = p[-1] * opening[-1] - np.trapezoid(opening, p)
    stored = stored_energy(pair, r)[0]
    assert work == pytest.approx(stored[-1] - stored[0], rel=2e-5)


def stored_energy(pair, r):
    f = forces(pair, r)
    halves = 0.5 * np.einsum("...i,dij,...j->...", f, pair.flexibility.F, f)
    own = pair.bridge_flexibility * (1 - pair.layer_share)[..., None, None]
    bridges = 0.5 * np.einsum("...ni,dnij,...nj->...", r.tension, own, r.tension)
    faces = 0.5 * (r.separation * r.tension).sum(axis=(-2, -1))
    return halves + bridges + faces + 0.5 * (r.bolt**2 * pair.bolt_flexibility).sum(axis=-1)


def test_contributions_of_the_opened_joint_sum_to_the_spread(opened):
    pair, _, tightened, state = opened
    moved = change(state.response, tightened.response)
    parts = contributions(pair, moved)
    np.testing.assert_allclose(sum(parts.values()), spread(pair, moved), rtol=1e-9)
    closed = onset(pair, tightened).pressure.min() > PRESSURES
    assert np.abs(parts["joint opening"][closed]).max() < 1e-12
    assert np.all(np.diff(parts["joint opening"][~closed]) > 0)


def test_the_same_minimum_as_a_general_purpose_minimiser():
    # scipy.optimize (BFGS) on the energy written out here from the definition, fibres on a fine grid.
    pair, _ = caliper()
    p, preload = 12.0, 20e3
    tightened = tighten(pair, np.full((1, 4), preload))
    ours = load(pair, tightened, np.array([p])).response
    energy, unpack = written_out_energy(pair, tightened.response, p=p, preload=preload)
    scale = np.tile([1e-2, 1e-4, 1e-4], 3)
    # Slopes by central differences: forward ones stop it two thousandths away, where rounding happens to lead.
    best = minimize(
        lambda u: energy(u * scale),
        np.zeros(9),
        method="BFGS",
        jac="3-point",
        options={"gtol": 1e-7, "maxiter": 2000},
    )
    s = unpack(best.x * scale)[0]
    np.testing.assert_allclose(s, ours.separation[0], rtol=1e-4, atol=1e-7)
    assert (
        energy(np.concatenate([ours.separation[0].ravel(), ours.rigid[0]])) <= energy(best.x * scale) + 1e-3
    )


def written_out_energy(pair, before, *, p, preload):
    """W(s, r) from the definition, with the faces' fibres summed over their columns cut into 400 slices."""
    half, q = pair.flexibility, slice(0, 10)
    own = np.zeros((10, 10))
    for i in range(2):
        rest = (1 - pair.layer_share[0, i]) * pair.bridge_flexibility[0, i]
        own[3 * i : 3 * i + 3, 3 * i : 3 * i + 3] = rest
    own[6:, 6:] = np.diag(pair.bolt_flexibility[0])
    H = np.linalg.inv(half.F[0, q, q] + own)
    given = p * pair.bore_area[0]
    fixed = -half.F[0, q, 10:] @ given - p * half.wall[0, q]
    fixed[6:] += before.points[0, half.points.bolt] - pair.bolt_flexibility[0] * preload
    c = pair.faces.columns
    t = (np.arange(400) + 0.5) / 400
    y = c.lo[0][..., None] + t * (c.hi - c.lo)[0][..., None]
    dA = (c.weight * (c.hi - c.lo))[0][..., None] / 400 * np.ones(400)
    x = c.x[0][..., None] * np.ones(400)

    def unpack(v):
        return v[:6].reshape(2, 3), v[6:]

    def energy(v):
        s, r = unpack(v)
        z = np.concatenate([v[:6], np.zeros(4)]) - half.R[0, q] @ r + fixed
        gap = s[:, 0, None, None] + s[:, 1, None, None] * y - s[:, 2, None, None] * x
        pressed = 0.5 * (pair.faces.foundation[0][:, None, None] * np.minimum(gap, 0) ** 2 * dA).sum()
        return 0.5 * z @ H @ z + pressed - r @ half.R[0, 10:].T @ given

    return energy, unpack


def test_an_unbolted_jointed_centre_bridge_soon_counts_for_nothing():
    # Only the end bridges' own shortening presses it; once open, the body answers as if it were not there.
    with_joint, without = (caliper(centre=c)[0] for c in ("jointed", None))
    before = [tighten(pair, np.full((1, 4), 45e3)) for pair in (with_joint, without)]
    found = onset(with_joint, before[0]).pressure[0]
    assert found[2] < 0.25 * found[:2].min()
    p = np.array([[6.0, 7.0]])
    states = [load(pair, t, p).response for pair, t in zip((with_joint, without), before, strict=True)]
    assert open_fraction(with_joint.faces, states[0].separation)[0, :, 2] == pytest.approx([1.0, 1.0])
    rise = [np.diff(spread(pair, r)[0])[0] for pair, r in zip((with_joint, without), states, strict=True)]
    assert rise[0] == pytest.approx(rise[1], rel=1e-9)


def test_load_states_are_solved_as_one_by_one(opened):
    pair, _, _, _ = opened
    preload = np.array([[[15e3] * 4, [30e3, 20e3, 10e3, 25e3]]])
    both = tighten(pair, preload)
    together = load(pair, both, np.array([[[2.0, 9.0, 20.0]]])).response
    assert together.points.shape == (1, 2, 3, 12)
    for i in range(2):
        one = tighten(pair, preload[:, i])
        for k, p in enumerate((2.0, 9.0, 20.0)):
            alone = load(pair, one, np.array([p])).response
            np.testing.assert_allclose(together.points[:, i, k], alone.points, rtol=1e-9)
    assert change(together, both.response).points.shape == (1, 2, 3, 12)


def random_calipers(count, *, seed):
    """Bodies over the whole range a designer may try: thin to thick walls, all layer depths."""
    rng = np.random.default_rng(seed)
    x0 = -rng.uniform(80, 150, count)
    width = rng.uniform(14, 45, (count, 2))
    x1 = rng.uniform(80, 150, count)
    x = np.stack([np.stack([x0, x0 + width[:, 0]], -1), np.stack([x1 - width[:, 1], x1], -1)], 1)
    top = rng.uniform(176, 200, count)
    y = np.stack([np.full((count, 2), 105.0), np.repeat(top[:, None], 2, 1)], -1)
    middle = x.mean(axis=-1)
    low = np.sqrt(np.maximum(168.0**2 - middle**2, 105.0**2))
    up = np.stack(
        [
            low + rng.uniform(0.25, 0.5, (count, 2)) * (y[..., 1] - low),
            low + rng.uniform(0.6, 0.85, (count, 2)) * (y[..., 1] - low),
        ],
        -1,
    )
    bolts = np.stack([np.repeat(middle, 2, -1), up.reshape(count, 4)], -1)
    holes = np.concatenate([bolts.reshape(count, 2, 2, 2), rng.uniform(4, 8, (count, 2, 2, 1))], -1)
    bridges = make_bridges(x, y, np.full((count, 2), 168.0), holes=holes)
    half = beam_half(
        bridges,
        bolts=bolts,
        bores=np.stack([rng.uniform(-50, 50, (count, 2)), rng.uniform(125, 145, (count, 2))], -1),
        y_beam=rng.uniform(140, 160, count),
        height=rng.uniform(60, 100, count),
        thickness=rng.uniform(15, 50, count),
    )
    pair = join(
        add(half, half),
        bridges=bridges,
        jointed=[True, True],
        layer=rng.uniform(0.05, 0.95, (count, 2)) * 61.0,
        bolt_flexibility=rng.uniform(3e-6, 4e-5, (count, 4)),
        bore_area=rng.uniform(500, 2500, (count, 2)),
    )
    return pair, rng.uniform(500, 80e3, (count, 4)), rng.uniform(0, 60, count)


def test_two_thousand_random_bodies_all_converge():
    pair, preload, pressure = random_calipers(2000, seed=11)
    tightened = tighten(pair, preload)
    state = load(pair, tightened, pressure)
    opened = open_fraction(pair.faces, state.response.separation)
    assert (opened > 0.9).sum() > 200 and (opened < 1e-9).sum() > 200  # the batch covers both ends
    assert state.checks.residual.max() < 1e-8 and state.checks.energy.max() < 1e-8
    assert state.checks.steps.max() <= 30


def test_weakly_held_faces_converge_by_damping():
    # Full Newton steps cycle in some of these: one face each on springs a millionth as stiff as itself.
    _, bridges = caliper()
    many = make_faces(bridges, layer=np.full((1, 2), 50.0))
    faces = take(many, np.zeros(4000, dtype=int), [0])
    rng = np.random.default_rng(1)
    K = closed_stiffness(faces)[:, 0]
    root = np.linalg.cholesky(K)
    springs = rng.normal(size=(4000, 3, 3))
    A = 1e-6 * root @ (springs @ springs.swapaxes(-1, -2)) @ root.swapaxes(-1, -2)
    b = 40 * (root @ rng.normal(size=(4000, 3, 1)))[..., 0]
    found = compression.equilibrium(
        compression.Problem(
            A=A,
            b=b,
            faces=faces,
            scale=40 * np.sqrt(np.einsum("dii->di", K)),
            closed=A + K,
            start=np.linalg.solve(A + K, -b[..., None])[..., 0],
        )
    )
    assert found.residual.max() < 1e-8


def test_the_faces_energy_is_convex():
    # Derived: for any two states the gradient is monotone, and the tangent has no negative eigenvalue.
    pair, _, _ = random_calipers(500, seed=5)
    rng = np.random.default_rng(8)
    a, b = rng.normal(size=(2, 500, 2, 3)) * [1e-2, 1e-3, 1e-3]
    K_a, K_b = face_stiffness(pair.faces, a), face_stiffness(pair.faces, b)
    size = np.einsum("...ii->...", closed_stiffness(pair.faces))
    assert np.all(np.linalg.eigvalsh(K_a)[..., 0] >= -1e-9 * size)
    grow = ((K_a @ a[..., None] - K_b @ b[..., None])[..., 0] * (a - b)).sum(axis=-1)
    assert np.all(grow >= 0)


def test_face_pressure_is_the_foundation_times_the_indentation():
    _, bridges = caliper()
    faces = make_faces(bridges, layer=np.full((1, 2), 50.0))
    s = np.array([[[-0.01, 0.0, 0.0], [0.01, 0.0, 0.0]]])
    p = face_pressure(faces, s, x=faces.corner_x, y=faces.corner_y)
    np.testing.assert_allclose(p[0], [[71000 / 50 * 0.01] * 6, [0.0] * 6])


def test_halves_that_nothing_holds_are_named():
    pair, bridges = caliper(2)
    loose = without_bolts(pair, bridges)
    nothing = tighten(loose, np.zeros((2, 0)))
    with pytest.raises(UnheldError, match=r"nothing holds the halves together.*design 0, 1") as caught:
        load(loose, nothing, np.array([5.0, 5.0]))
    assert caught.value.designs == (0, 1)
    assert isinstance(caught.value, ConvergenceError)
    still = load(loose, nothing, np.zeros(2)).response
    np.testing.assert_array_equal(still.points, 0.0)


def without_bolts(pair, bridges):
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
    return join(
        cut,
        bridges=bridges,
        jointed=[True, True],
        layer=0.85 * bridges.length,
        bolt_flexibility=np.zeros((len(f.F), 0)),
        bore_area=pair.bore_area,
    )


def test_bolts_that_pull_beside_the_faces_are_named():
    # Only the two bolts of one side are tightened: nothing presses the other side's face.
    pair, _ = caliper(2)
    preload = np.array([[20e3] * 4, [0.0, 0.0, 20e3, 20e3]])
    tighten(pair, preload[:1].repeat(2, axis=0))
    beside = dataclasses.replace(pair, faces=pair.faces)
    R = beside.flexibility.R.copy()
    R[1, 6:10, 1] = 250.0  # bolts far above every face
    moved = dataclasses.replace(beside, flexibility=dataclasses.replace(beside.flexibility, R=R))
    with pytest.raises(UnheldError) as caught:
        tighten(moved, preload)
    assert caught.value.designs == (1,)


def test_an_equilibrium_cut_short_is_refused(monkeypatch, opened):
    pair, _, tightened, _ = opened
    monkeypatch.setattr(compression, "MAX_STEPS", 1)
    with pytest.raises(JointError, match="did not converge") as caught:
        load(pair, tightened, np.array([30.0]))
    assert caught.value.residual > 1e-8 and caught.value.iterations == 1
    assert not isinstance(caught.value, UnheldError)
