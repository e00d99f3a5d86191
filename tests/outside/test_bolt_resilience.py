"""Resilience of bolts and plates against textbooks and finite elements. Words for sources: see test_bolt_tightening.

V51, V52, V53 frusta and bolt stiffness of Shigley's examples; V64 bolt by segments; V65 cone; V67 both methods agree.
"""

import numpy as np
import pytest

from stiffcalc.catalogue import thread
from stiffcalc.mechanics import resilience as r
from stiffcalc.mechanics.joint_diagram import load_factor

TAN_30 = np.tan(np.pi / 6.0)
# Inches, kip and kpsi/1000 make stiffnesses in Mlbf/in. Cone of 30 degrees from a washer face of 1.5 d, hole d.
HALF_INCH = {"outer": 0.75, "hole": 0.5, "tangent": TAN_30}


def test_v51_member_stiffness_steel_on_cast_iron():
    """Shigley, Mechanical Engineering Design, 9th ed., example 8-2a (geometry looked up; values from memory and
    evaluated): 30.80, 285.5 and 14.15 Mlbf/in in series are 9.378; layers 0.595 in steel, 0.75 in cast iron."""
    slices = {  # length, diameter it starts from, modulus
        30.80: (0.595, 0.750, 30.0),
        285.5: (0.0775, 1.437, 14.5),
        14.15: (0.6725, 0.750, 14.5),
    }
    give = 0.0
    for printed, (length, start, E) in slices.items():
        one = r.frustum(length, outer=start, hole=0.5, tangent=TAN_30) / E
        assert 1.0 / one == pytest.approx(printed, rel=0.003)
        give += one
    assert 1.0 / give == pytest.approx(9.378, rel=0.003)
    layers = r.plates([0.595, 0.75], E=[30.0, 14.5], **HALF_INCH)
    assert layers.shape == (2,)
    assert 1.0 / layers.sum() == pytest.approx(9.378, rel=0.0005)


def test_v52_member_stiffness_both_steel_and_the_exponential_fit():
    """Example 8-2b, c: 14.64 Mlbf/in by frusta; E d A exp(B d/l) = 14.92 with A = 0.78715, B = 0.62873 (table 8-8,
    constants looked up), a fit to finite elements: 2 % apart."""
    frusta = 1.0 / r.plates(1.345, E=30.0, **HALF_INCH).sum()
    assert frusta == pytest.approx(14.64, rel=0.003)
    fit = 30.0 * 0.5 * 0.78715 * np.exp(0.62873 * 0.5 / 1.345)
    assert fit == pytest.approx(14.92, rel=0.003)
    assert frusta == pytest.approx(fit, rel=0.025)


def test_v52_bolt_stiffness_half_inch():
    """Example 8-2d: 3.69 Mlbf/in of 0.25 in shank and 1.095 in thread (from memory, and evaluated)."""
    give = r.bar(0.25, area=0.1963, E=30.0) + r.bar(1.095, area=0.1599, E=30.0)
    assert 1.0 / give == pytest.approx(3.69, rel=0.003)
    parts = r.bolt(0.5, root_area=0.1599, shank=0.25, free_thread=1.095, E=30.0, anchor_E=30.0)
    assert 1.0 / (parts.shank + parts.free_thread) == pytest.approx(3.69, rel=0.003)


def test_v53_cap_screw_joint():
    """Example 8-5 (looked up): 5/8 in-11 cap screw, washer 1/16 and cover 5/8 of steel, cast-iron base; the book
    slices at mid-grip, 46.46, 197.43 and 32.39 Mlbf/in, k_m 17.40, k_b 6.78, C 0.280."""
    cone = {"outer": 0.9375, "hole": 0.625, "tangent": TAN_30}
    slices = r.plates([0.5, 0.1875, 0.3125], E=[30.0, 30.0, 16.0], **cone)
    assert 1.0 / slices == pytest.approx([46.46, 197.43, 32.39], rel=0.002)
    members = r.plates([1 / 16, 5 / 8, 0.3125], E=[30.0, 30.0, 16.0], **cone).sum()
    assert 1.0 / members == pytest.approx(17.40, rel=0.002)
    bolt = r.bar(1.0, area=0.226, E=30.0)
    assert 1.0 / bolt == pytest.approx(6.78, rel=0.002)
    assert load_factor(bolt, plates=members) == pytest.approx(0.280, rel=0.002)


def m10_hexagon():
    root = r.circle(thread("M10x1.5").d3)
    return r.bolt(
        10.0,
        root_area=root,
        shank=15.0,
        free_thread=15.0,
        E=205e3,
        head=r.HEXAGON_HEAD,
        anchor=r.NUT,
        anchor_E=205e3,
    )


def test_v64_hexagon_bolt_by_segments():
    """VDI 2230 Part 1, substitute lengths seen in public code: head 0.5 d, 15 mm shank, 15 mm thread, engaged 0.5 d
    on the root, nut 0.4 d on the nominal area: 3.3563e-6 mm/N to 0.1 % (evaluated)."""
    assert m10_hexagon().total == pytest.approx(3.3563e-6, rel=1e-3)


CONE = {"outer": 16.0, "limit": 60.0}


def test_v65_full_cone_of_a_through_bolt():
    """VDI 2230 Part 1 (formula seen in public code): d_W 16, d_h 11, l_K 30, D_A 60 mm: tan phi 0.56216, limit
    diameter 32.865 mm, delta_P 4.9726e-7 mm/N; with V64 Phi_K = 0.1290, with n = 0.5 0.0645; to 0.1 %."""
    tangent = r.cone_tangent(30.0, **CONE)
    assert tangent == pytest.approx(0.56216, rel=1e-5)
    assert r.limit_diameter(30.0, outer=16.0, tangent=tangent) == pytest.approx(32.865, abs=5e-4)
    plates = r.plates(30.0, E=205e3, hole=11.0, tangent=tangent, **CONE).sum()
    assert plates == pytest.approx(4.9726e-7, rel=1e-4)
    by_guideline = 2 * np.log((16 + 11) * (32.865 - 11) / ((16 - 11) * (32.865 + 11)))
    assert plates == pytest.approx(by_guideline / (205e3 * np.pi * 11 * 0.56216), rel=1e-4)
    bolt = m10_hexagon().total
    assert load_factor(bolt, plates=plates) == pytest.approx(0.1290, rel=1e-3)
    assert load_factor(bolt, plates=plates, introduction=0.5) == pytest.approx(0.0645, rel=1e-3)


def test_v65_cone_and_sleeve_by_the_guideline_s_own_formula():
    """VDI 2230 Part 1 (formula seen in a public code), D_A 24 mm, above d_W and below the limit, through, tapped:
    {2/(w d_h tan) ln[...] + 4/(D_A^2 - d_h^2) [l_K - (D_A - d_W)/(w tan)]} / (E pi)."""
    for w, tapped in ((1.0, False), (2.0, True)):
        tan = r.cone_tangent(30.0, outer=16.0, limit=24.0, tapped=tapped)
        assert r.limit_diameter(30.0, outer=16.0, tangent=tan, tapped=tapped) > 24.0
        cone = 2 / (w * 11 * tan) * np.log((16 + 11) * (24 - 11) / ((16 - 11) * (24 + 11)))
        sleeve = 4 / (24**2 - 11**2) * (30 - (24 - 16) / (w * tan))
        found = r.plates(30.0, E=205e3, outer=16.0, hole=11.0, limit=24.0, tangent=tan, tapped=tapped).sum()
        assert found == pytest.approx((cone + sleeve) / (205e3 * np.pi), rel=1e-12)


def test_v65_cone_of_a_tapped_joint():
    """VDI 2230 Part 1 (formula seen in four public codes): 0.348 + 0.013 ln(60/16) + 0.193 ln(30/16), by hand
    0.348 + 0.01718 + 0.12132 = 0.48651."""
    assert r.cone_tangent(60.0, outer=16.0, limit=30.0, tapped=True) == pytest.approx(0.48651, abs=1e-5)


def test_v67_the_cone_with_30_degrees_is_two_frusta():
    """Algebra: with tan phi = tan 30°, d_h = d, d_W = 1.5 d the guideline's cone is Shigley's pair of frusta, V52's
    14.638 Mlbf/in: 0.5774 pi E d / (2 ln[5 (0.5774 l + 0.5 d)/(0.5774 l + 2.5 d)]), Shigley eq. 8-22."""
    found = 1.0 / r.plates(1.345, E=30.0, **HALF_INCH).sum()
    by_book = TAN_30 * np.pi * 30 * 0.5
    by_book /= 2 * np.log(5 * (TAN_30 * 1.345 + 0.25) / (TAN_30 * 1.345 + 1.25))
    assert found == pytest.approx(by_book, rel=1e-12)
    assert found == pytest.approx(14.638, rel=0.0005)
    half = r.frustum(1.345 / 2, outer=0.75, hole=0.5, tangent=TAN_30) / 30
    assert found == pytest.approx(0.5 / half, rel=1e-12)
