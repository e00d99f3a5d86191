"""Dowels and friction against standards and handbooks. Words for sources: see test_bolt_tightening."""

import pytest
from bolt_samples import INCH, KPSI, LBF

from stiffcalc.mechanics import dowels

INCH_PINS = {  # single shear load, lbf, ASME B18.8.2-2000, steel (a distributor's table, looked up)
    1 / 8: 1600,
    3 / 16: 3600,
    1 / 4: 6400,
    5 / 16: 10000,
    3 / 8: 14350,
    1 / 2: 25500,
    3 / 4: 57000,
    1.0: 102000,
}
METRIC_PINS = {  # single shear strength, kN, ASME B18.8.5M (a distributor's table, looked up)
    3: 7.4,
    4: 13.2,
    5: 20.6,
    6: 29.7,
    8: 52.5,
    10: 82.5,
    12: 119.0,
    16: 211.0,
    20: 330.0,
}


@pytest.mark.parametrize("inches", INCH_PINS)
def test_shear_load_of_inch_dowels(inches):
    """The table is 130 kpsi over the section, rounded: 1.5 %."""
    found = dowels.pin_capacity(diameter=inches * INCH, depth=100.0, shear_MPa=130 * KPSI, bearing_MPa=1e9)
    assert found / LBF == pytest.approx(INCH_PINS[inches], rel=0.015)


@pytest.mark.parametrize("d", METRIC_PINS)
def test_shear_load_of_metric_dowels(d):
    """1050 MPa over the section; two planes bear twice the load (the table's second column)."""
    load = METRIC_PINS[d] * 1e3
    assert dowels.pin_shear(load, diameter=d) == pytest.approx(1050.0, rel=0.008)
    assert dowels.pin_shear(2 * load, diameter=d, planes=2) == dowels.pin_shear(load, diameter=d)


def test_pressure_of_a_pin_on_its_hole():
    """Kent's Mechanical Engineers' Handbook, 12th ed. (seen on a public page): p = F/(d s). By hand: 12 kN on two
    pins of 8 mm, 10 mm deep, are 75 MPa, and 119 MPa of shear."""
    assert dowels.pin_bearing(12e3, diameter=8.0, depth=10.0, pins=2) == pytest.approx(75.0, rel=1e-12)
    assert dowels.pin_shear(12e3, diameter=8.0, pins=2) == pytest.approx(119.37, rel=1e-4)


def test_friction_of_a_clamp_plane():
    """Coulomb by hand: 40 kN, mu 0.12, two interfaces: 9600 N."""
    assert dowels.slip_capacity(40e3, friction=0.12, interfaces=2) == pytest.approx(9600.0)
    assert dowels.needed_clamp(9600.0, friction=0.12, interfaces=2) == pytest.approx(40e3)
    # and a torque of 60 N m at 25 mm is another 2400 N
    needed = dowels.needed_clamp(9600.0, friction=0.12, interfaces=2, torque=60e3, radius=25.0)
    assert needed == pytest.approx(50e3)
    band = dowels.slip_band(30e3, 48e3, friction=(0.10, 0.18))
    assert (band.low, band.high) == pytest.approx((3000.0, 8640.0))
