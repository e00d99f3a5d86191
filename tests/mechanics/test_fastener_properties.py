"""Properties of preloaded bolts that need no book: balance, limits, trends, refusals."""

import numpy as np
import pytest

from stiffcalc.catalogue import thread
from stiffcalc.mechanics import bearing, dowels, endurance, settling
from stiffcalc.mechanics import fasteners as f
from stiffcalc.mechanics import joint_diagram as j
from stiffcalc.mechanics import tightening as t

M10 = thread("M10x1.5")
MU = np.linspace(0.06, 0.20, 15)
TIGHTEN = {"thread": M10, "head_mean": 13.5}


# Tightening


def test_preload_and_torque_are_inverse():
    torque = t.torque(30e3, friction_thread=MU, friction_head=0.11, **TIGHTEN)
    back = t.preload(torque, friction_thread=MU, friction_head=0.11, **TIGHTEN)
    assert back == pytest.approx(30e3, rel=1e-14)


def test_torque_and_equivalent_stress_grow_with_friction():
    torque = t.torque(30e3, friction_thread=MU, friction_head=MU, **TIGHTEN)
    shear = t.tightening_shear(30e3, thread=M10, friction_thread=MU)
    stress = f.service_stress(30e3, shear=shear, thread=M10)
    assert np.all(np.diff(torque) > 0) and np.all(np.diff(stress) > 0)


def test_permissible_preload_falls_with_friction():
    assert np.all(np.diff(t.assembly_preload(940.0, thread=M10, friction_thread=MU)) < 0)


def test_utilisation_and_assembly_preload_are_inverse():
    force = t.assembly_preload(940.0, thread=M10, friction_thread=MU, utilisation=0.8)
    found = t.utilisation(force, yield_MPa=940.0, thread=M10, friction_thread=MU)
    assert found == pytest.approx(0.8, rel=1e-14)


def test_assembly_preload_uses_the_yield_it_is_given():
    """Von Mises at that preload, with the plastic section (3/4 of the elastic shear), is 0.9 of yield."""
    force = t.assembly_preload(940.0, thread=M10, friction_thread=0.12)
    shear = 0.75 * t.tightening_shear(force, thread=M10, friction_thread=0.12)
    assert f.service_stress(force, shear=shear, thread=M10, torsion_left=1.0) == pytest.approx(0.9 * 940.0)


def test_the_shank_is_twisted_by_what_the_thread_takes():
    """tau = M_G / (pi dS^3/16), M_G the pitch's and the thread's share of the torque."""
    parts = t.torque_parts(30e3, friction_thread=0.14, friction_head=0.1, **TIGHTEN)
    section = np.pi / 16 * (4 * M10.A_s / np.pi) ** 1.5
    tau = t.tightening_shear(30e3, thread=M10, friction_thread=0.14)
    assert tau == pytest.approx(parts.thread_torque / section, rel=1e-12)


def test_without_friction_the_torque_is_work_over_the_angle():
    """F P / (2 pi)."""
    free = {"friction_thread": 0.0, "friction_head": 0.0, **TIGHTEN}
    assert t.torque_exact(30e3, **free) == pytest.approx(30e3 * M10.P / (2 * np.pi), rel=1e-12)


@pytest.mark.parametrize("scatter", [1.0, 1.4, 1.6, 2.5])
def test_interval_has_its_ratio_and_its_mean(scatter):
    interval = t.preload_interval(np.array([20e3, 45e3]), scatter=scatter)
    assert interval.max / interval.min == pytest.approx(scatter, rel=1e-14)
    assert 0.5 * (interval.max + interval.min) == pytest.approx(interval.nominal, rel=1e-14)


def test_interval_of_no_bolts_is_empty():
    assert t.preload_interval(np.zeros(0), scatter=np.zeros(0)).max.shape == (0,)


def test_interval_after_a_loss():
    settled = t.preload_interval(np.array([20e3]), scatter=1.6).less(1000.0)
    assert settled.nominal == pytest.approx(19e3)
    assert settled.max - settled.min == pytest.approx(20e3 * 1.2 / 2.6)


@pytest.mark.parametrize("scatter", [0.99, np.nan, -1.0])
def test_a_tightening_factor_below_one_is_refused(scatter):
    with pytest.raises(ValueError, match=f"tightening factor: found {scatter:g}; allowed: at least 1"):
        t.preload_interval(np.array([20e3, 20e3]), scatter=np.array([1.6, scatter]))


@pytest.mark.parametrize("band", [(0.2, 0.1), (np.nan, 0.1), (0.1, np.nan)])
def test_a_friction_band_upside_down_is_refused(band):
    with pytest.raises(ValueError, match="friction band"):
        dowels.slip_band(30e3, 40e3, friction=band)


@pytest.mark.parametrize("share", [-0.1, 1.0, np.nan])
def test_an_uncertainty_that_is_no_share_is_refused(share):
    with pytest.raises(ValueError, match="preload uncertainty"):
        t.aerospace_interval(30e3, uncertainty=share)


@pytest.mark.parametrize("forces", [[30e3], [30e3, np.nan]])
def test_a_torque_test_of_one_bolt_or_a_missing_figure_is_refused(forces):
    with pytest.raises(ValueError, match="torque test"):
        t.torque_test(np.array(forces))


# Working load


FACTORS = np.array([0.0, 0.1, 0.35, 1.0])


def test_bolt_force_starts_at_the_preload_and_the_joint_balances():
    load = np.linspace(0.0, 60e3, 241)[:, None]
    bolt = j.bolt_force(20e3, load=load, factor=FACTORS)
    clamp = j.residual_clamp(20e3, load=load, factor=FACTORS)
    assert bolt[0] == pytest.approx(20e3, rel=1e-15)
    assert bolt - clamp == pytest.approx(np.broadcast_to(load, bolt.shape), rel=1e-12)


def test_after_separation_the_bolt_carries_all():
    opens = j.separation_load(20e3, factor=FACTORS[:3])
    assert opens == pytest.approx(20e3 / (1 - FACTORS[:3]), rel=1e-15)
    assert j.residual_clamp(20e3, load=opens, factor=FACTORS[:3]) == pytest.approx(0.0, abs=1e-9)
    assert j.bolt_force(20e3, load=1.5 * opens, factor=FACTORS[:3]) == pytest.approx(1.5 * opens, rel=1e-14)


def test_the_needed_preload_leaves_the_clamp():
    needed = j.needed_preload(3e3, load=8e3, factor=FACTORS)
    assert j.residual_clamp(needed, load=8e3, factor=FACTORS) == pytest.approx(3e3, rel=1e-14)


def test_load_factor_is_a_share_and_vanishes_with_its_introduction():
    stiffness = np.array([1e-8, 1e-6, 1e-4])
    factor = j.load_factor(3e-6, plates=stiffness)
    assert np.all((factor > 0) & (factor < 1))
    none = j.load_factor(3e-6, plates=stiffness, introduction=0.0)
    assert j.bolt_force(20e3, load=5e3, factor=none) == pytest.approx(20e3, rel=1e-15)


def test_bolt_and_clamp_share_a_load_by_their_springs():
    """Two springs in parallel, moved together by x: bolt takes x/delta_S, clamp loses x/delta_P."""
    bolt, plates, load = 3e-6, 0.7e-6, 5e3
    x = load / (1 / bolt + 1 / plates)
    factor = j.load_factor(bolt, plates=plates)
    assert j.bolt_force(20e3, load=load, factor=factor) == pytest.approx(20e3 + x / bolt, rel=1e-14)
    assert j.residual_clamp(20e3, load=load, factor=factor) == pytest.approx(20e3 - x / plates, rel=1e-14)
    assert j.alternating_force(load, factor=factor) == pytest.approx(0.5 * x / bolt, rel=1e-14)


# Endurance


def test_mean_stress_rules_at_their_ends():
    """Fully reversed where nothing precedes it and the swing is about zero; nothing left at the ultimate; Gerber
    above Goodman."""
    start = np.linspace(0.0, 999.0, 50)
    goodman = endurance.goodman_amplitude(160.0, start=start, ultimate=1000.0)
    gerber = endurance.gerber_amplitude(160.0, start=start, ultimate=1000.0)
    assert np.all(gerber > goodman) and np.all(np.diff(goodman) < 0) and np.all(np.diff(gerber) < 0)
    assert goodman / 160.0 + (start + goodman) / 1000.0 == pytest.approx(1.0, rel=1e-12)
    assert gerber / 160.0 + ((start + gerber) / 1000.0) ** 2 == pytest.approx(1.0, rel=1e-9)
    assert endurance.goodman_amplitude(160.0, start=-160.0, ultimate=1000.0) == pytest.approx(160.0)
    assert endurance.goodman_amplitude(160.0, start=1000.0, ultimate=1000.0) == 0.0


def test_finite_life_falls_to_the_endurance():
    cycles = np.array([1e4, 1e5, 1e6, 2e6])
    for slope in (endurance.ROLLED_BEFORE, endurance.ROLLED_AFTER):
        borne = endurance.finite_life(50.0, cycles=cycles, slope=slope).value
        assert np.all(np.diff(borne) < 0) and borne[-1] == 50.0
        assert borne[0] == pytest.approx(50.0 * 200.0 ** (1 / slope), rel=1e-12)


# Head, settling, dowels


def test_a_washer_spreads_until_its_rim():
    face = bearing.washer_face(16.0, thickness=np.array([0.0, 1.0, 2.5, 6.0]), washer=20.0)
    assert face == pytest.approx([16.0, 17.6, 20.0, 20.0], rel=1e-14)
    bare = bearing.head_pressure(30e3, outer=16.0, hole=11.0)
    assert np.all(np.diff(bearing.head_pressure(30e3, outer=face[:3], hole=11.0)) < 0)
    assert bearing.head_pressure(30e3, outer=face[0], hole=11.0) == bare


@pytest.mark.parametrize("washer", [15.9, np.nan])
def test_a_washer_smaller_than_the_head_is_refused(washer):
    with pytest.raises(ValueError, match="washer diameter: found"):
        bearing.washer_face(16.0, thickness=2.0, washer=washer)


@pytest.mark.parametrize("hole", [16.0, 17.0, np.nan])
def test_a_hole_as_wide_as_the_head_is_refused(hole):
    with pytest.raises(ValueError, match="head pressure"):
        bearing.head_pressure(30e3, outer=16.0, hole=hole)


def test_settling_adds_places_and_loses_less_in_softer_joints():
    places = {"thread_um": 3.0, "face_um": 2.5, "interface_um": 1.5}
    tapped, through = settling.embedding_amount(**places, faces=np.array([1.0, 2.0]), interfaces=1.0)
    assert (tapped, through) == (7.0, 9.5)
    losses = settling.embedding_loss(7.0, bolt=np.array([2e-6, 4e-6, 8e-6]), plates=1e-6)
    assert losses == pytest.approx(7e-3 / np.array([3e-6, 5e-6, 9e-6]), rel=1e-14)


@pytest.mark.parametrize("share", [-0.01, 1.01, np.nan])
def test_creep_that_is_no_share_is_refused(share):
    with pytest.raises(ValueError, match="creep: found"):
        settling.creep_loss(30e3, share=share)
    assert settling.creep_loss(30e3, share=0.05) == pytest.approx(1500.0)


JOINT = {"bolt": 5e-6, "plates": 1.5e-6}


def test_heat_leaves_the_preload_where_nothing_changes():
    same = settling.preload_at_temperature(30e3, lengthening=0.0, **JOINT)
    assert same == pytest.approx(30e3, rel=1e-14)
    softer = settling.preload_at_temperature(
        30e3, lengthening=0.0, bolt_E_ratio=0.9, plates_E_ratio=0.9, **JOINT
    )
    assert softer == pytest.approx(27e3, rel=1e-14)


def test_heat_is_settling_turned_round_and_stops_at_zero():
    grown = np.array([-1.0, -0.05, 0.0, 0.05])
    found = settling.preload_at_temperature(30e3, lengthening=grown, **JOINT)
    lost = settling.embedding_loss(-1e3 * grown, **JOINT)
    assert found[1:] == pytest.approx(30e3 - lost[1:], rel=1e-12)
    assert found[0] == 0.0


@pytest.mark.parametrize("bad", [0.0, -0.1, np.nan])
def test_moduli_and_resiliences_that_are_none_are_refused(bad):
    for key in ("bolt_E_ratio", "plates_E_ratio"):
        with pytest.raises(ValueError, match="E\\(T\\)"):
            settling.preload_at_temperature(30e3, lengthening=0.0, **JOINT, **{key: bad})
    with pytest.raises(ValueError, match="resilience"):
        settling.preload_at_temperature(30e3, lengthening=0.0, bolt=0.0, plates=bad)
    with pytest.raises(ValueError, match="embedding"):
        settling.embedding_amount(thread_um=np.nan, face_um=3.0, interface_um=2.0)


def test_dowels_and_friction_are_not_added():
    assert dowels.transverse_capacity(4e3, dowels=9e3) == 9e3
    assert dowels.transverse_capacity(np.array([4e3, 12e3]), dowels=9e3).tolist() == [9e3, 12e3]


def test_the_weaker_of_shear_and_bearing_limits_a_dowel():
    depth = np.array([2.0, 6.0, 20.0, 40.0])
    found = dowels.pin_capacity(diameter=8.0, depth=depth, shear_MPa=400.0, bearing_MPa=300.0, pins=2)
    assert found[:2] == pytest.approx(2 * 300.0 * 8.0 * depth[:2], rel=1e-12)
    assert found[2:] == pytest.approx(2 * 400.0 * 16 * np.pi, rel=1e-12)
    spigot = dowels.pin_capacity(diameter=20.0, bore=16.0, depth=50.0, shear_MPa=400.0, bearing_MPa=300.0)
    assert spigot == pytest.approx(400.0 * np.pi * (100.0 - 64.0), rel=1e-12)
