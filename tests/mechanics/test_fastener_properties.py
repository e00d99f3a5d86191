"""Properties of preloaded bolts that need no book: balance, limits, trends, refusals."""

import numpy as np
import pytest

from stiffcalc.catalogue import thread
from stiffcalc.mechanics import fasteners as f
from stiffcalc.mechanics import threads as t

M10 = thread("M10x1.5")
MU = np.linspace(0.06, 0.20, 15)
TIGHTEN = {"thread": M10, "head_mean": 13.5}


def test_preload_and_torque_are_inverse():
    torque = f.torque(30e3, friction_thread=MU, friction_head=0.11, **TIGHTEN)
    assert f.preload(torque, friction_thread=MU, friction_head=0.11, **TIGHTEN) == pytest.approx(
        30e3, rel=1e-14
    )


def test_torque_and_equivalent_stress_grow_with_friction():
    torque = f.torque(30e3, friction_thread=MU, friction_head=MU, **TIGHTEN)
    stress = f.service_stress(
        30e3, shear=f.tightening_shear(30e3, thread=M10, friction_thread=MU), thread=M10
    )
    assert np.all(np.diff(torque) > 0) and np.all(np.diff(stress) > 0)


def test_permissible_preload_falls_with_friction():
    assert np.all(np.diff(f.assembly_preload(940.0, thread=M10, friction_thread=MU)) < 0)


def test_assembly_preload_uses_the_yield_it_is_given():
    """Von Mises at that preload, with the plastic section (3/4 of the elastic shear), is 0.9 of yield."""
    force = f.assembly_preload(940.0, thread=M10, friction_thread=0.12)
    shear = 0.75 * f.tightening_shear(force, thread=M10, friction_thread=0.12)
    assert f.service_stress(force, shear=shear, thread=M10, torsion_left=1.0) == pytest.approx(0.9 * 940.0)


@pytest.mark.parametrize("scatter", [1.0, 1.4, 1.6, 2.5])
def test_interval_has_its_ratio_and_its_mean(scatter):
    interval = f.preload_interval(np.array([20e3, 45e3]), scatter=scatter)
    assert interval.max / interval.min == pytest.approx(scatter, rel=1e-14)
    assert 0.5 * (interval.max + interval.min) == pytest.approx(interval.nominal, rel=1e-14)


def test_interval_after_a_loss():
    settled = f.preload_interval(np.array([20e3]), scatter=1.6).less(1000.0)
    assert settled.nominal == pytest.approx(19e3)
    assert settled.max - settled.min == pytest.approx(20e3 * 1.2 / 2.6)


@pytest.mark.parametrize("scatter", [0.99, np.nan, -1.0])
def test_a_tightening_factor_below_one_is_refused(scatter):
    with pytest.raises(ValueError, match="tightening factor"):
        f.preload_interval(20e3, scatter=scatter)


FACTORS = np.array([0.0, 0.1, 0.35, 1.0])


def test_bolt_force_starts_at_the_preload_and_the_joint_balances():
    load = np.linspace(0.0, 60e3, 241)[:, None]
    bolt = f.bolt_force(20e3, load=load, factor=FACTORS)
    clamp = f.residual_clamp(20e3, load=load, factor=FACTORS)
    assert bolt[0] == pytest.approx(20e3, rel=1e-15)
    assert bolt - clamp == pytest.approx(np.broadcast_to(load, bolt.shape), rel=1e-12)


def test_after_separation_the_bolt_carries_all():
    opens = f.separation_load(20e3, factor=FACTORS[:3])
    assert opens == pytest.approx(20e3 / (1 - FACTORS[:3]), rel=1e-15)
    assert f.residual_clamp(20e3, load=opens, factor=FACTORS[:3]) == pytest.approx(0.0, abs=1e-9)
    assert f.bolt_force(20e3, load=1.5 * opens, factor=FACTORS[:3]) == pytest.approx(1.5 * opens, rel=1e-14)


def test_load_factor_is_a_share_and_vanishes_with_its_introduction():
    stiffness = np.array([1e-8, 1e-6, 1e-4])
    factor = f.load_factor(3e-6, plates=stiffness)
    assert np.all((factor > 0) & (factor < 1))
    none = f.load_factor(3e-6, plates=stiffness, introduction=0.0)
    assert f.bolt_force(20e3, load=5e3, factor=none) == pytest.approx(20e3, rel=1e-15)


def test_screw_in_segments_is_the_plain_bar_when_areas_agree():
    area = 0.25 * np.pi * 100.0
    whole = f.bolt_flexibility(10.0, area, grip=60.0, E=205e3, free_thread=20.0)
    assert whole == pytest.approx(f.bar_flexibility(60.0 + 9.0, area=area, E=205e3), rel=1e-14)


def test_longer_and_thinner_screws_are_softer():
    grip = np.linspace(20.0, 120.0, 11)
    assert np.all(np.diff(f.bolt_flexibility(10.0, M10.A_s, grip=grip, E=205e3)) > 0)
    free = np.linspace(0.0, 60.0, 7)
    assert np.all(np.diff(f.bolt_flexibility(10.0, M10.A_s, grip=60.0, free_thread=free, E=205e3)) > 0)


def test_slip_capacity_counts_interfaces():
    assert f.slip_capacity(40e3, friction=0.12, interfaces=2) == pytest.approx(9600.0)


STRIP = {"thread": M10, "bolt_shear_MPa": 0.6 * 1220.0}


def test_the_weaker_thread_strips_first():
    """R_S tells which; near R = 1 the two forces meet."""
    tau = np.linspace(150.0, 1100.0, 40)
    found = t.stripping(15.0, tapped_shear_MPa=tau, **STRIP)
    decided = np.abs(found.ratio - 1.0) > 0.01
    assert np.array_equal((found.tapped < found.bolt)[decided], (found.ratio < 1.0)[decided])
    soft = found.ratio < 0.9  # the published fits dip by 0.1 % around R = 1
    assert np.all(np.diff(found.force[soft]) > 0)


def test_a_strong_tapped_part_strips_the_bolt():
    """C2 C1 tau_BS A_S m with C1 = 1, R_S about 1.6."""
    found = t.stripping(15.0, tapped_shear_MPa=850.0, **STRIP)
    c2 = t.bolt_factor(found.ratio).value
    assert found.ratio > 1.5 and found.force == found.bolt
    assert found.bolt == pytest.approx(c2 * 0.6 * 1220.0 * t.bolt_shear_area(M10) * (15.0 - 1.2), rel=1e-12)


def test_the_run_in_carries_nothing():
    found = t.stripping(np.array([0.5, 1.2, 1.3, 2.4]), tapped_shear_MPa=300.0, **STRIP)
    assert found.force[:2].tolist() == [0.0, 0.0]
    assert found.force[3] / found.force[2] == pytest.approx(1.2 / 0.1, rel=1e-12)


def test_a_near_edge_weakens_the_tapped_part():
    near = t.stripping(15.0, tapped_shear_MPa=300.0, width=16.0, **STRIP)
    far = t.stripping(15.0, tapped_shear_MPa=300.0, **STRIP)
    assert near.force / far.force == pytest.approx(0.91, rel=1e-12)
    assert near.inside and not t.stripping(15.0, tapped_shear_MPa=300.0, width=13.0, **STRIP).inside
