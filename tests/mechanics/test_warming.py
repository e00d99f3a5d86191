"""Heat, settling and re-tightening of the bolted pair: derived checks on beam halves."""

import numpy as np
import pytest
from beam_halves import caliper

from stiffcalc.mechanics.joint import load, tighten
from stiffcalc.mechanics.settling import embedding_loss, preload_at_temperature
from stiffcalc.mechanics.warming import lengthening, warmed

FORCE = np.full((1, 4), 40e3)
NONE = np.zeros(1)


def warm(pair, *, body=1.0, bolts=1.0):
    return warmed(pair, body=np.full(1, body), bridges=np.full((1, 2), body), bolts=np.full((1, 4), bolts))


def shortening(pair):
    """mm/N by which the grips shorten when all bolts pull alike, read from tightening alone."""
    heads = [
        tighten(pair, F * np.ones((1, 4))).response.points[..., pair.flexibility.points.bolt]
        for F in (39e3, 41e3)
    ]
    return (heads[0] - heads[1]) / 2e3


def test_a_warm_pair_answers_as_one_joined_with_the_warm_moduli():
    # Rebuilt from the beam's own formulas with the moduli multiplied; bore walls' pressure and outputs with it.
    cold, _ = caliper()
    hot, _ = caliper(E=0.93 * 71000.0, E_bolt=0.97 * 205000.0)
    p = np.array([[2.0, 9.0, 20.0]])
    a, b = (load(pair, tighten(pair, FORCE), p).response for pair in (warm(cold, body=0.93, bolts=0.97), hot))
    for name in vars(a):
        assert getattr(a, name) == pytest.approx(getattr(b, name), rel=1e-8, abs=1e-9), name


def test_even_heat_of_one_material_changes_nothing():
    pair, _ = caliper()
    grip = np.array([34.0, 61.0, 14.0])
    u = lengthening(grip=grip, grip_strain=np.full(3, 11.5e-4), bolt_strain=np.array(11.5e-4))
    assert np.abs(u).max() == 0.0
    tight = tighten(pair, FORCE)
    found = load(warm(pair), tight, NONE, lengthening=u, tightened_with=pair.bolt_flexibility).response
    assert found.bolt == pytest.approx(FORCE, rel=1e-9)
    assert found.points == pytest.approx(tight.response.points, abs=1e-9)


def test_bolts_of_equal_modulus_loss_keep_their_share():
    # Everything softer by one factor, nothing expanding: the same misfit gives force in that proportion.
    pair, _ = caliper()
    found = load(
        warm(pair, body=0.9, bolts=0.9), tighten(pair, FORCE), NONE, tightened_with=pair.bolt_flexibility
    )
    assert found.response.bolt == pytest.approx(0.9 * FORCE, rel=1e-9)


def test_lengthening_follows_the_two_springs():
    # dF = u / (delta_S + delta_P), the definition of embedding loss in VDI 2230 (V68), delta_P read from tightening.
    pair, _ = caliper()
    u = np.full((1, 4), -8e-3)
    drop = load(pair, tighten(pair, FORCE), NONE, lengthening=u).response.bolt - FORCE
    # all bolts of one kind move together, so the mean over them is what two springs give
    expected = embedding_loss(8.0, bolt=pair.bolt_flexibility.mean(), plates=shortening(pair).mean())
    assert drop.mean() == pytest.approx(-expected, rel=2e-3)
    assert np.all(drop < 0.0)


def test_heat_in_one_closed_formula():
    # VDI 2230's preload at temperature, delta_P read from tightening, on four like bolts.
    pair, _ = caliper()
    hot = warm(pair, body=0.95, bolts=0.98)
    u = lengthening(
        grip=np.array([109.0]), grip_strain=np.array([23e-6 * 80]), bolt_strain=np.array(11.5e-6 * 70)
    )
    found = load(
        hot, tighten(pair, FORCE), NONE, lengthening=u, tightened_with=pair.bolt_flexibility
    ).response.bolt
    expected = preload_at_temperature(
        40e3,
        bolt=pair.bolt_flexibility.mean(),
        plates=shortening(pair).mean(),
        lengthening=u,
        bolt_E_ratio=0.98,
        plates_E_ratio=0.95,
    )
    assert found.mean() == pytest.approx(expected, rel=2e-3)


def test_tightening_anew_to_the_hot_force_is_the_hot_state():
    pair, _ = caliper()
    hot = warm(pair, body=0.95)
    state = load(
        hot, tighten(pair, FORCE), NONE, lengthening=0.05, tightened_with=pair.bolt_flexibility
    ).response
    anew = tighten(hot, state.bolt).response
    assert anew.points == pytest.approx(state.points, abs=1e-9)
    assert anew.separation == pytest.approx(state.separation, abs=1e-9)
