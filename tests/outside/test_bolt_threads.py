"""Engaged threads against tables and transcriptions. Words for sources: see test_bolt_tightening.

V60 shear over tensile strength; V61 strip factors; V62 shear areas.
"""

import numpy as np
import pytest
from bolt_samples import YIELD

from stiffcalc.catalogue import thread
from stiffcalc.mechanics import thread_limits as limits
from stiffcalc.mechanics import threads as t


def test_v60_shear_over_tensile_strength_of_bolts():
    """Steel: VDI 2230 after Thomala (seen in a public code). Aged titanium: 655 / 1100 MPa, MIL-HDBK-5, from
    memory, plausibility only."""
    assert {c: t.BOLT_SHEAR_RATIO[c] for c in YIELD} == {"8.8": 0.65, "10.9": 0.62, "12.9": 0.60}
    assert t.BOLT_SHEAR_RATIO["Ti-6Al-4V"] == pytest.approx(655.0 / 1100.0, abs=0.01)


def test_v61_strip_factors():
    """VDI 2230 after Alexander; ISO/TR 16224, 4.2.3.1: anchor values seen in a public code, to 1e-4, but for
    C3(0.4), where the formula gives 1.0552 and the anchor is printed 1.0553."""
    c3, c2 = (
        t.tapped_factor(np.array([0.4, 1.0 - 1e-9, 1.0, 1.6])),
        t.bolt_factor(np.array([1.0 + 1e-9, 2.0, 1.0])),
    )
    assert c3.value == pytest.approx([1.0552, 0.8970, 0.897, 0.897], abs=1e-4)
    assert c2.value == pytest.approx([0.8973, 1.1668, 0.897], abs=1e-4)
    assert t.tapped_factor(0.39).inside == np.False_
    assert t.bolt_factor(2.3).inside == np.False_


def test_v62_shear_areas():
    """mm2 per mm of engagement, M8, M10, M12 coarse: nut 21.99, 27.49, 32.99; bolt 15.66, 19.74, 23.81
    (formula seen in a public code; evaluated)."""
    sizes = [limits.nominal(thread(n)) for n in ("M8x1.25", "M10x1.5", "M12x1.75")]
    assert [float(t.tapped_shear_area(s)) for s in sizes] == pytest.approx([21.99, 27.49, 32.99], rel=1e-3)
    assert [float(t.bolt_shear_area(s)) for s in sizes] == pytest.approx([15.66, 19.74, 23.81], rel=1e-3)


def test_dilation_factor_reaches_one_at_1_9():
    """VDI 2230, ISO/TR 16224 (seen in public codes): 3.8 s/d - (s/d)^2 - 2.61 from s/d 1.4 to 1.9, then 1."""
    found = t.dilation_factor(np.array([14.0, 16.0, 19.0, 40.0, np.inf, 13.0]), d=10.0)
    assert found.value[:5] == pytest.approx([0.75, 0.91, 1.0, 1.0, 1.0], abs=1e-12)
    assert found.inside.tolist() == [True] * 5 + [False]


BOLT_6G = {  # ISO 965 limits, class 6g: least major and pitch diameter (two web tables, looked up)
    "M6x1": (5.794, 5.212),
    "M8x1": (7.794, 7.212),
    "M8x1.25": (7.760, 7.042),
    "M10x1": (9.794, 9.212),
    "M10x1.25": (9.760, 9.042),
    "M10x1.5": (9.732, 8.862),
}
NUT_6H = {  # class 6H: largest minor and pitch diameter (a web table of ASME B1.13M, looked up)
    "M10x1": (9.153, 9.500),
    "M10x1.25": (8.912, 9.348),
    "M10x1.5": (8.676, 9.206),
    "M12x1.25": (10.912, 11.368),
    "M12x1.5": (10.676, 11.216),
    "M12x1.75": (10.441, 11.063),
    "M14x1.5": (12.676, 13.216),
    "M14x2": (12.210, 12.913),
}


@pytest.mark.parametrize("name", BOLT_6G)
def test_least_bolt_against_tables_of_6g(name):
    """0.006 mm: the tables round a tolerance of 0.2 mm to a series of preferred numbers, steps of 6 %."""
    found = limits.least_overlap(thread(name))
    assert (found.d, found.d2) == pytest.approx(BOLT_6G[name], abs=0.006)


@pytest.mark.parametrize("name", NUT_6H)
def test_widest_nut_against_tables_of_6h(name):
    """0.010 mm, for the same reason and because the standard smooths some values."""
    found = limits.least_overlap(thread(name))
    assert pytest.approx(NUT_6H[name], abs=0.010) == (found.D1, found.D2)


def test_parts_of_the_tolerance_of_m10():
    """M10-6g (a web calculator after ISO 965-1, looked up): es -32, Td 236, Td2 132 um; each to 2 %."""
    assert limits.deviation_g(1.5) == pytest.approx(0.032, rel=0.02)
    assert limits.tolerance_d(1.5) == pytest.approx(0.236, rel=0.02)
    assert limits.tolerance_d2(1.5, d=10.0) == pytest.approx(0.132, rel=0.02)


def test_hole_for_a_wire_insert():
    """M10x1.5: major 11.948, pitch 10.974 mm (DIN 8140, ASME B18.29.2M, from memory); M8x1.25 tap drills of 8.4 mm
    (a web table of DIN 8140, looked up) leave the minor diameter 8.27 within its tolerance."""
    found = limits.wire_insert(limits.nominal(thread("M10x1.5")))
    assert (found.d, found.d2, found.P) == pytest.approx((11.948, 10.974, 1.5), abs=0.001)
    small = limits.wire_insert(limits.nominal(thread("M8x1.25")))
    assert small.D1 < 8.4 < small.D1 + limits.tolerance_D1(1.25)


def test_engagement_that_breaks_the_bolt_first_agrees_with_the_guideline_s_length():
    """m = Rm A_s P / (C1 C3 tau_BM (P/2 + (d - D2) tan 30) pi d) + 0.8 P, VDI 2230 5.5/48 (public code)."""
    th, tau, bolt_tau = thread("M10x1.5"), 0.7 * 480.0, 0.62 * 1040.0
    mesh = limits.nominal(th)
    strengths = {"mesh": mesh, "tapped_shear_MPa": tau, "bolt_shear_MPa": bolt_tau}
    c3 = float(t.tapped_factor(t.strength_ratio(**strengths)).value)
    shear = 0.5 * th.P + (th.d - th.d2) * np.tan(np.pi / 6)
    m = 1040.0 * th.A_s * th.P / (c3 * tau * shear * np.pi * th.d) + 0.8 * th.P
    assert t.needed_engagement(1040.0 * th.A_s, **strengths).value == pytest.approx(m, rel=1e-9)
    found = t.stripping(m, **strengths)
    assert found.force == pytest.approx(1040.0 * th.A_s, rel=1e-9)
    assert found.force == found.tapped


STRIP_AREAS = {  # mm2 over one diameter of engagement, 6H/6g: bolt, nut
    "M6x1": (51.875, 73.145),
    "M8x1.25": (97.290, 134.63),
    "M10x1.5": (155.80, 214.77),
    "M12x1.75": (227.72, 313.41),
    "M14x2": (313.94, 434.47),
}


@pytest.mark.parametrize("name", STRIP_AREAS)
def test_least_overlap_against_a_table_of_strip_areas(name):
    """Bickford, Introduction to the Design and Behavior of Bolted Joints, 4th edition, metric thread stress and shear
    areas (a web copy, looked up). The formulas are those of FED-STD-H28/2 and ASME B1.1, appendix B, at D1 max, d2
    min, d min, D2 max. Its limits are the tables' rounded ones: 1 %."""
    mesh = limits.least_overlap(thread(name))
    found = [float(area(mesh)) * thread(name).d for area in (t.bolt_shear_area, t.tapped_shear_area)]
    assert found == pytest.approx(STRIP_AREAS[name], rel=0.01)


def test_an_insert_overlaps_least_in_its_widest_hole():
    """Hole for the coil of M10x1.5, in the range of M12x1.5: 6H leaves 10.676 - 10.376 = 0.300 mm of the minor and
    11.216 - 11.026 = 0.190 mm of the pitch diameter (table above), to 4 %."""
    drawn = limits.wire_insert(limits.nominal(thread("M10x1.5")))
    least = limits.least_insert_overlap(thread("M10x1.5"))
    assert (least.d, least.d2) == (drawn.d, drawn.d2)
    wider = (least.D1 - drawn.D1, least.D2 - drawn.D2)
    assert wider == pytest.approx((0.300, 0.190), rel=0.04)


@pytest.mark.parametrize("mesh", [limits.nominal, limits.least_overlap])
def test_engagement_in_aluminium_is_of_the_size_that_handbooks_ask_for(mesh):
    """Plausibility: hardened aluminium, screws of 8.8: 0.8 to 1.6 d (Roloff/Matek table as quoted in a
    fastener catalogue, looked up)."""
    th = thread("M8x1.25")
    needed = t.needed_engagement(
        800.0 * th.A_s, mesh=mesh(th), tapped_shear_MPa=0.7 * 310.0, bolt_shear_MPa=0.65 * 800.0
    )
    assert 0.8 < needed.value / th.d < 1.6 and needed.inside
