"""The closed joint and the glued body: derived properties (check-values P01, P02, P06 to P11, P14)."""

import dataclasses

import numpy as np
import pytest
from beam_halves import beam_half, caliper, make_bridges

from stiffcalc.condensed import add
from stiffcalc.errors import InputError
from stiffcalc.mechanics import joint_state
from stiffcalc.mechanics.bridges import section
from stiffcalc.mechanics.joint import glued, join, load, tighten
from stiffcalc.mechanics.joint_state import JointError, Response, change, forces
from stiffcalc.mechanics.opening import contributions, onset, spread

FIELDS = [f.name for f in dataclasses.fields(Response) if f.name != "cells"]  # faces stay plane here


def same(a, b, *, rtol):
    """Every field alike, judged against its own largest entry of the same kind."""
    for name in FIELDS:
        found, wanted = getattr(a, name), getattr(b, name)
        assert found.shape == wanted.shape, name
        np.testing.assert_allclose(found, wanted, rtol=rtol, atol=rtol * np.abs(wanted).max(), err_msg=name)


@pytest.mark.parametrize("preload", [30e3, 60e3])
def test_p01_a_closed_joint_is_solid_material(preload):
    pair, _ = caliper()
    tightened = tighten(pair, np.full((1, 4), preload))
    p = 0.99 * onset(pair, tightened).pressure.min() * np.ones(1)
    moved = change(load(pair, tightened, p).response, tightened.response)
    same(moved, glued(pair, p).response, rtol=1e-9)


def test_p01_the_layer_s_depth_does_not_matter_while_closed():
    deep, shallow = (glued(caliper(layer=k)[0], np.ones(1)).response for k in (0.9, 0.2))
    np.testing.assert_allclose(deep.points, shallow.points, rtol=1e-9, atol=1e-15)


def test_p02_linear_up_to_onset_and_superposition():
    pair, _ = caliper()
    tightened = tighten(pair, np.full((1, 4), 45e3))
    p = np.array([[1.0, 2.0, 3.0]])
    openings = spread(pair, change(load(pair, tightened, p).response, tightened.response))[0]
    assert openings[0] + openings[1] == pytest.approx(openings[2], rel=1e-9)
    assert openings[1] == pytest.approx(2 * openings[0], rel=1e-9)


def test_p06_work_of_the_loads_is_the_stored_energy():
    # Pressure on the floors only, so every load is at a point: sum p A e / 2 against the stored energies.
    pair, _ = caliper(centre="glued")
    r = glued(pair, np.array([7.0]), bore_wall=False).response
    f = forces(pair, r)[0]
    work = 0.5 * (f * r.points[0])[pair.flexibility.points.bore].sum()
    halves = 0.5 * f @ pair.flexibility.F[0] @ f
    bridges = 0.5 * np.einsum("ni,nij,nj->", r.tension[0], pair.bridge_flexibility[0], r.tension[0])
    bolts = 0.5 * (pair.bolt_flexibility[0] * r.bolt[0] ** 2).sum()
    assert work == pytest.approx(halves + bridges + bolts, rel=1e-9)
    assert min(halves, bridges, bolts) > 1e-4 * work


def test_p07_reciprocity_between_the_bores():
    pair, _ = caliper()
    floors = pair.flexibility.points.bore
    opening = np.array([load_one_bore(pair, i)[floors] for i in range(2)])
    assert opening[0, 1] == pytest.approx(opening[1, 0], rel=1e-10)
    assert opening[0, 0] != pytest.approx(opening[1, 1], rel=1e-3)


def load_one_bore(pair, bore):
    """Movements of the points under 1 N on one floor."""
    one = np.zeros_like(pair.bore_area)
    one[:, bore] = 1.0
    alone = dataclasses.replace(pair, bore_area=one)
    return glued(alone, np.ones(1), bore_wall=False).response.points[0]


def mirrored(designs=1):
    """A body that is its own mirror image in x = 0."""
    rep = np.ones((designs, 1))
    bridges = make_bridges([[[-110, -78], [78, 110]]], [[[105, 190]] * 2], [[168.0] * 2])
    half = beam_half(
        bridges,
        bolts=np.zeros((1, 0, 2)),
        bores=np.array([[[-30.0, 135], [30, 135]]]),
        y_beam=np.array([147.5]),
        height=np.array([85.0]),
        thickness=np.array([30.0]),
    )
    return join(
        add(half, half),
        bridges=bridges,
        jointed=[False, False],
        layer=np.zeros((1, 2)),
        bolt_flexibility=np.zeros((1, 0)),
        bore_area=1385.0 * np.ones((1, 2)) * rep,
    )


def test_p08_a_symmetric_body_opens_symmetrically():
    r = glued(mirrored(), np.ones(1)).response
    left, right = r.tension[0]
    np.testing.assert_allclose(left * [1, 1, -1], right, rtol=1e-10)
    assert r.points[0, -1] == pytest.approx(r.points[0, -2], rel=1e-10)


def test_p09_a_tie_can_only_reduce_the_opening():
    without, with_one = (caliper(jointed=False, centre=c)[0] for c in (None, "glued"))
    a, b = (spread(p, glued(p, np.ones(1), bore_wall=False).response)[0] for p in (without, with_one))
    assert b < 0.95 * a


@pytest.mark.parametrize("scale", [0.5, 3.0])
def test_p10_geometric_similarity(scale):
    small, _ = caliper()
    large, _ = caliper(scale=scale)
    before = [tighten(p, np.full((1, 4), 20e3 * k**2)) for p, k in ((small, 1.0), (large, scale))]
    a, b = (load(p, t, np.array([12.0])) for p, t in zip((small, large), before, strict=True))
    assert onset(small, before[0]).pressure.min() < 12.0
    np.testing.assert_allclose(spread(large, b.response), scale * spread(small, a.response), rtol=1e-9)
    np.testing.assert_allclose(b.response.bolt, scale**2 * a.response.bolt, rtol=1e-9)
    tension = a.response.tension * scale ** np.array([2, 3, 3])
    np.testing.assert_allclose(b.response.tension, tension, rtol=1e-9, atol=1e-9 * np.abs(tension).max())


def test_p11_modulus_scaling():
    soft, _ = caliper()
    stiff, _ = caliper(E=2 * 71000.0, E_bolt=2 * 205000.0)
    states = [load(p, tighten(p, np.full((1, 4), 20e3)), np.array([12.0])).response for p in (soft, stiff)]
    np.testing.assert_allclose(spread(stiff, states[1]), 0.5 * spread(soft, states[0]), rtol=1e-9)
    np.testing.assert_allclose(states[1].bolt, states[0].bolt, rtol=1e-9)


def test_p14_reactions_balance_the_loads():
    pair, _ = caliper()
    tightened = tighten(pair, np.full((1, 4), 20e3))
    for p in (2.0, 15.0):
        f = forces(pair, load(pair, tightened, np.array([p])).response)[0]
        reach = np.abs(pair.flexibility.R[0]).T @ np.abs(f)
        assert np.all(np.abs(pair.flexibility.R[0].T @ f) <= 1e-9 * reach.max())


def test_hand_made_body_of_rigid_walls():
    # Two flat bridges, rigid walls, two bores on one line a distance h below the bridges' axis: by statics
    # each bridge carries N = P and Mx = -P h, so the bores open by (L/E) (P/A + P h^2 / Ix).
    b, d, L, h, P = 20.0, 18.0, 61.0, 45.0, 13854.0
    bridges = make_bridges([[[-90, -70], [70, 90]]], [[[172, 190]] * 2], [[0.0, 0.0]])
    bores = np.array([[[-30.0, 181 - h], [30, 181 - h]]])
    half = beam_half(
        bridges,
        bolts=np.zeros((1, 0, 2)),
        bores=bores,
        y_beam=np.array([150.0]),
        height=np.array([85.0]),
        thickness=np.array([30.0]),
    )
    none = np.zeros_like(half.F)
    rigid = dataclasses.replace(half, F=none, wall=np.zeros_like(half.wall), parts={"wall": none})
    pair = join(
        rigid,
        bridges=bridges,
        jointed=[False, False],
        layer=np.zeros((1, 2)),
        bolt_flexibility=np.zeros((1, 0)),
        bore_area=np.full((1, 2), P / 10.0),
    )
    r = glued(pair, np.array([10.0])).response
    stretch, bending = L / 71000 * P / (b * d), L / 71000 * P * h**2 / (b * d**3 / 12)
    assert spread(pair, r)[0] == pytest.approx(stretch + bending, rel=1e-12)
    parts = contributions(pair, r)
    assert parts["bridge stretch"][0] == pytest.approx(stretch, rel=1e-12)
    assert parts["bridge bending"][0] == pytest.approx(bending, rel=1e-12)
    np.testing.assert_allclose(r.tension[0], [[P, -P * h, 0.0]] * 2, rtol=1e-12, atol=1e-6)


def test_bridge_stretch_is_that_of_the_section_about_its_centroid():
    # Castigliano: sum N n L / (E A) with n the tension under a unit load, A the true section's area.
    pair, bridges = caliper(centre="glued")
    r = glued(pair, np.array([3.0])).response
    unit = glued(pair, 1.0 / pair.bore_area.sum(axis=-1), bore_wall=False).response
    tie = bridges.length / (bridges.E * section(bridges).area)
    wanted = (unit.tension[..., 0] * tie * r.tension[..., 0]).sum()
    assert contributions(pair, r)["bridge stretch"][0] == pytest.approx(wanted, rel=1e-9)


def test_contributions_of_the_glued_body_sum_to_the_spread():
    pair, _ = caliper(3, centre="glued")
    r = glued(pair, np.array([[1.0, 5.0]] * 3)).response
    parts = contributions(pair, r)
    np.testing.assert_allclose(sum(parts.values()), spread(pair, r), rtol=1e-9)
    assert set(parts) == {
        "wall bending", "wall twist", "wall shear", "floor", "bore wall pressure",
        "bridge stretch", "bridge bending", "bolt stretch", "joint opening",
    }  # fmt: skip
    np.testing.assert_allclose(parts["joint opening"], 0.0, atol=1e-15)


def test_every_solve_reports_its_errors():
    checks = glued(caliper()[0], np.array([[0.0, 8.0]])).checks
    for error in (checks.residual, checks.equilibrium, checks.energy):
        assert error.shape == (1, 2)
        assert np.all((error >= 0) & (error < 1e-12))


@pytest.mark.parametrize("entry", [0, -1])
def test_a_wrong_solve_does_not_pass(monkeypatch, entry):
    # A force off by a millionth breaks equilibrium and compatibility, a rigid rotation only the latter.
    right = joint_state.closed_answer

    def wrong(*given):
        answer = right(*given)
        answer[:, entry] *= 1 + 1e-6
        return answer

    monkeypatch.setattr(joint_state, "closed_answer", wrong)
    with pytest.raises(JointError, match="did not converge"):
        glued(caliper()[0], np.ones(1))


def test_unlike_halves_add_and_unlike_points_are_refused():
    thick, thin = caliper(thickness=36.0)[0].flexibility, caliper(thickness=24.0)[0].flexibility
    both = add(thick, thin)
    np.testing.assert_allclose(both.F, thick.F + thin.F)
    np.testing.assert_allclose(sum(both.parts.values()), both.F, rtol=1e-12)
    with pytest.raises(InputError, match="halves"):
        add(thick, mirrored().flexibility)
    with pytest.raises(InputError, match="halves"):
        add(thick, dataclasses.replace(thick, R=thick.R + 0.05))


@pytest.mark.parametrize("layer", [0.0, -5.0, 61.0, float("nan")])
def test_a_layer_that_makes_no_sense_is_refused(layer):
    with pytest.raises(InputError, match="joint layer"):
        caliper(layer=layer / 61.0)


def test_a_flexibility_unlike_its_transpose_is_refused():
    pair, bridges = caliper()
    skew = pair.flexibility.F.copy()
    skew[0, 0, 4] *= 1.01
    with pytest.raises(InputError, match="transpose"):
        join(
            dataclasses.replace(pair.flexibility, F=skew),
            bridges=bridges,
            jointed=[True, True],
            layer=0.85 * bridges.length,
            bolt_flexibility=pair.bolt_flexibility,
            bore_area=pair.bore_area,
        )
