"""Clamp force, torque and fluid volumes against handbook formulas put in numbers, and what needs no book."""

import numpy as np
import pytest

from stiffcalc.mechanics import hydraulics as h

PISTONS = np.array([38.0, 42.0])


def test_disc_brake_torque():
    """Two-pad disc T = 2 mu F r (engineering reference page, looked up; evaluated): 2519.56 mm2, 25 195.6 N,
    2963 N m."""
    assert h.piston_area(PISTONS).sum() == pytest.approx(2519.56, rel=1e-5)
    force = h.clamp_force(10.0, diameters=PISTONS)
    assert force == pytest.approx(25195.6, rel=1e-5)
    torque = h.brake_torque(force, friction=0.42, effective_radius=140.0)
    assert torque / 1e3 == pytest.approx(2963.0, rel=1e-4)


def test_torque_is_the_drag_of_both_pads_at_the_radius():
    drag = h.pad_drag(25e3, friction=0.4)
    assert 2.0 * drag * 140.0 == pytest.approx(h.brake_torque(25e3, friction=0.4, effective_radius=140.0))


def test_fluid_compression():
    """60 cm3, 1.8 GPa, 10 MPa: 0.3333 cm3 (definition; evaluated)."""
    found = h.fluid_compression(60e3, pressure=10.0, bulk_modulus=1800.0)
    assert found / 1e3 == pytest.approx(0.3333, abs=5e-5)


def test_default_bulk_modulus_is_in_the_band():
    """Common practice, no source: 1.5 to 2.2 GPa for glycol fluid near 20 °C without free air."""
    assert 1500.0 <= h.BULK_MODULUS_MPa <= 2200.0


def test_opposed_pistons_of_equal_total_area_balance():
    """Fixed caliper: no net force, whatever the split of the area (statics)."""
    inboard, outboard = np.array([30.0, 40.0]), np.array([50.0])
    net = h.clamp_force(10.0, diameters=inboard) - h.clamp_force(10.0, diameters=outboard)
    assert net == pytest.approx(0.0, abs=1e-10 * 10.0 * 2000.0)


def test_force_on_a_bore_s_end_is_pressure_times_area():
    assert h.clamp_force(7.0, diameters=np.array([42.0])) == pytest.approx(7.0 * np.pi * 21.0**2, rel=1e-15)


def test_volumes_add_up():
    """What two pads take, piston by piston, is what the whole side takes; depth times area is the fluid."""
    take = {"compressibility_um_per_MPa": 8.0}
    whole = h.pad_compression(10.0, diameters=PISTONS, **take)
    parts = [h.pad_compression(10.0, diameters=PISTONS[i : i + 1], **take) for i in (0, 1)]
    assert whole == pytest.approx(sum(parts), rel=1e-15)
    assert whole == pytest.approx(0.08 * 2519.56, rel=1e-5)
    assert h.trapped_fluid(PISTONS, depth=3.0) == pytest.approx(3.0 * 2519.56, rel=1e-5)


def test_batches_of_designs():
    diameters = np.array([[38.0, 42.0], [30.0, 30.0], [44.0, 0.0]])
    found = h.clamp_force(np.array([10.0, 5.0, 1.0]), diameters=diameters)
    single = [float(h.clamp_force(p, diameters=d)) for p, d in zip((10.0, 5.0, 1.0), diameters, strict=True)]
    assert found == pytest.approx(single, rel=1e-15)
