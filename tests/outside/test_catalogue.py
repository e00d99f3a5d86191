"""Catalogue against published tables. Status of each source: `seen` was read (usually a transcription of the standard,
never the standard itself), `from memory` was not looked up.

V34 diameters, V35, V36 stress areas, V37, V38, V39 proof loads, V40 ultimate loads, V41 strengths, V42 holes,
V43 heads, V44 inch grades, V71 limiting pressures under heads.
"""

import math

import pytest

from stiffcalc import catalogue
from stiffcalc.catalogue import Thread, grade, material, thread

COARSE = ["M6x1", "M8x1.25", "M10x1.5", "M12x1.75", "M14x2"]
M16 = Thread("M16x2", 16.0, 2.0, "coarse", "test", "test")  # not in the catalogue; its formulas are the same


@pytest.mark.parametrize(
    ("name", "d2", "d3", "D1"),
    [
        # ISO 724 / ISO 68-1; coefficients seen in public engineering code
        ("M6x1", 5.350, 4.773, 4.917),
        ("M8x1.25", 7.188, 6.466, 6.647),
        ("M10x1.5", 9.026, 8.160, 8.376),
        ("M12x1.75", 10.863, 9.853, 10.106),
        ("M14x2", 12.701, 11.546, 11.835),
    ],
)
def test_v34_thread_diameters(name: str, d2: float, d3: float, D1: float) -> None:
    found = thread(name)
    assert (found.d2, found.d3, found.D1) == pytest.approx((d2, d3, D1), abs=0.001)


@pytest.mark.parametrize(
    ("name", "area"),
    [
        # ISO 898-1, coarse: seen in distributors' tables; fine: rounded values from memory
        ("M6x1", 20.1),
        ("M8x1.25", 36.6),
        ("M10x1.5", 58.0),
        ("M12x1.75", 84.3),
        ("M14x2", 115.0),
        ("M8x1", 39.2),
        ("M10x1.25", 61.2),
        ("M12x1.25", 92.1),
        ("M12x1.5", 88.1),
        ("M14x1.5", 125.0),
    ],
)
def test_v35_v36_stress_area(name: str, area: float) -> None:
    # half a unit of the third figure that the tables print: 115.44 is printed 115 and 124.55 is printed 125
    assert float(f"{thread(name).A_s:.3g}") == area


def test_v35_stress_area_of_m16() -> None:
    # ISO 898-1, seen in distributors' tables: 157 mm2; unrounded 156.7, computed elsewhere
    assert M16.A_s == pytest.approx(156.7, abs=0.05)


PROOF_LOADS_N = {  # ISO 898-1, seen in two distributors' tables
    "8.8": [11_600, 21_200, 33_700, 48_900, 66_700, 91_000],
    "10.9": [16_700, 30_400, 48_100, 70_000, 95_500, 130_000],
    "12.9": [19_500, 35_500, 56_300, 81_800, 112_000, 152_000],
}


def near(load: float, *, area: float, strength: float) -> bool:
    """True within one unit of the third figure: the standard multiplies the stress area rounded to three figures
    and prints three figures, rounding now up, now down (58.0 x 580 = 33 640 is printed 33 700)."""
    unit = 10.0 ** (math.floor(math.log10(load)) - 2)
    return abs(float(f"{area:.3g}") * strength - load) < unit


@pytest.mark.parametrize("name", PROOF_LOADS_N)
def test_v37_v38_v39_proof_loads(name: str) -> None:
    for t, load in zip([*map(thread, COARSE), M16], PROOF_LOADS_N[name], strict=True):
        assert near(load, area=t.A_s, strength=grade(name).proof_MPa), t.name


ULTIMATE_LOADS_N = {  # ISO 898-1, seen in three distributors' tables: M8, M10, M12
    "8.8": [29_200, 46_400, 67_400],
    "10.9": [38_100, 60_300, 87_700],
    "12.9": [44_600, 70_800, 103_000],
}


@pytest.mark.parametrize("name", ULTIMATE_LOADS_N)
def test_v40_ultimate_loads(name: str) -> None:
    for t, load in zip(COARSE[1:4], ULTIMATE_LOADS_N[name], strict=True):
        assert near(load, area=thread(t).A_s, strength=grade(name).ultimate_MPa), t


def test_v41_strengths_of_the_classes() -> None:
    # ISO 898-1: Rm and proof stress seen through the loads above; Rp0.2 from memory (it reproduces VDI 2230 preloads)
    found = {g.name: (g.yield_MPa, g.ultimate_MPa, g.proof_MPa) for g in catalogue.grades().values()}
    assert found["8.8"] == (640, 800, 580)
    assert found["10.9"] == (940, 1040, 830)
    assert found["12.9"] == (1100, 1220, 970)


INCH_GRADES_KPSI = {  # SAE J429: proof, yield, tensile; a university page and two fastener pages seen
    "2, to 3/4 in": (55, 57, 74),
    "5, to 1 in": (85, 92, 120),
    "5, over 1 in": (74, 81, 105),
    "8": (120, 130, 150),
}


@pytest.mark.parametrize(("inch", "name"), [("5, to 1 in", "8.8"), ("8", "10.9")])
def test_v44_inch_grades_lie_near_their_property_classes(inch: str, name: str) -> None:
    # common practice, no source: grade 5 answers to 8.8 and grade 8 to 10.9; within 5 %
    found = grade(name)
    expected = [6.894757 * v for v in INCH_GRADES_KPSI[inch]]
    assert [found.proof_MPa, found.yield_MPa, found.ultimate_MPa] == pytest.approx(expected, rel=0.05)


def test_v44_grades_in_their_order() -> None:
    # proof below yield below tensile in both systems, and proof at 0.88 to 0.97 of yield
    metric = [(g.proof_MPa, g.yield_MPa, g.ultimate_MPa) for g in catalogue.grades().values()]
    for proof, yielding, tensile in [*INCH_GRADES_KPSI.values(), *metric]:
        assert proof < yielding < tensile and 0.88 <= round(proof / yielding, 2) <= 0.97


def test_v42_clearance_holes() -> None:
    # ISO 273, seen in a reference table
    expected = {
        6: (6.4, 6.6, 7),
        8: (8.4, 9, 10),
        10: (10.5, 11, 12),
        12: (13, 13.5, 14.5),
        14: (15, 15.5, 16.5),
        16: (17, 17.5, 18.5),
    }
    for d, holes in expected.items():
        assert tuple(catalogue.clearance_hole(d, series=s) for s in ("fine", "medium", "coarse")) == holes


def test_v43_cap_screw_heads() -> None:
    # ISO 4762, seen in three tables; plain heads
    expected = {
        6: (10, 6, 5),
        8: (13, 8, 6),
        10: (16, 10, 8),
        12: (18, 12, 10),
        14: (21, 14, 12),
        16: (24, 16, 14),
    }
    for d, size in expected.items():
        head = catalogue.head(d)
        assert (head.diameter, head.height, head.key) == size


@pytest.mark.parametrize(
    ("name", "yield_MPa", "ultimate_MPa", "tolerance"),
    [
        # handbook typicals, three property tables seen
        ("2014-T6", 415, 485, 0.03),
        ("2618-T61", 370, 440, 0.03),
        ("7075-T6", 505, 572, 0.03),
        # EN 1999-1-1 table 3.2b, t <= 20 mm, web text of a national version seen
        ("6061-T6", 240, 260, 0.0),
        # EN 755-2, bar 20 to 150 mm, an extruder's data sheet seen
        ("6082-T6", 260, 310, 0.0),
        # EN 1999-1-1 table 3.3, EN AC-42100-T6 chill cast, draft text seen; 0.7 of EN 1706's 210 / 290 MPa
        ("AlSi7Mg0.3-T6", 0.7 * 210, 0.7 * 290, 1e-9),
        # EN 1563:1997, two foundry tables seen
        ("GJS-400-15", 250, 400, 0.0),
        ("GJS-450-10", 310, 450, 0.0),
        ("GJS-500-7", 320, 500, 0.0),
        ("GJS-600-3", 370, 600, 0.0),
        ("GJS-700-2", 420, 700, 0.0),
    ],
)
def test_strengths(name: str, yield_MPa: float, ultimate_MPa: float, tolerance: float) -> None:
    found = material(name)
    assert (found.yield_MPa, found.ultimate_MPa) == pytest.approx((yield_MPa, ultimate_MPa), rel=tolerance)


@pytest.mark.parametrize(
    ("name", "E_Mpsi"),
    # handbook typicals, a property table seen
    [("2014-T6", 10.6), ("2618-T61", 10.7), ("6061-T6", 10.0), ("7075-T6", 10.4), ("AlSi7Mg0.3-T6", 10.4)],
)
def test_moduli(name: str, E_Mpsi: float) -> None:
    # the table prints a tenth of a Mpsi
    assert abs(material(name).E / 6894.757 - E_Mpsi) < 0.05


@pytest.mark.parametrize(
    ("name", "pounds_per_cubic_inch", "per_fahrenheit"),
    # a stockholder's table seen
    [("2014-T6", 0.101, 12.8e-6), ("6061-T6", 0.098, 13.1e-6), ("7075-T6", 0.101, 13.1e-6)],
)
def test_density_and_expansion(name: str, pounds_per_cubic_inch: float, per_fahrenheit: float) -> None:
    found = material(name)
    assert found.density_kg_m3 == pytest.approx(pounds_per_cubic_inch * 27679.9, rel=0.005)
    assert found.expansion_per_K == pytest.approx(1.8 * per_fahrenheit, rel=0.005)


def test_iron_and_titanium_constants() -> None:
    # EN 1563:1997, two foundry tables seen: 169 / 174 / 176 GPa, 7.1 / 7.2 g/cm3
    iron = {
        n: (material(n).E / 1e3, material(n).density_kg_m3 / 1e3) for n in catalogue.materials() if "GJS" in n
    }
    assert iron["GJS-400-15"] == iron["GJS-450-10"] == iron["GJS-500-7"] == (169, 7.1)
    assert (iron["GJS-600-3"], iron["GJS-700-2"]) == ((174, 7.2), (176, 7.2))
    # MIL-HDBK-5, from memory: about 114 GPa, 4.43 g/cm3, 8.6e-6 /K
    titanium = material("Ti-6Al-4V")
    assert (titanium.E, titanium.density_kg_m3) == pytest.approx((114_000, 4430), rel=0.03)
    assert titanium.expansion_per_K == pytest.approx(8.6e-6, rel=0.03)


def test_structural_aluminium_lies_near_the_design_constants() -> None:
    # EN 1999-1-1, 3.2.5 (draft text seen): E 70 000 MPa, nu 0.3, 23e-6 /K, 2700 kg/m3; alloys lie about them
    for name in ("2014-T6", "2618-T61", "6061-T6", "6082-T6", "7075-T6", "AlSi7Mg0.3-T6"):
        found = material(name)
        assert abs(found.E / 70_000 - 1) < 0.06
        assert found.expansion_per_K == pytest.approx(23e-6, rel=0.08)
        assert found.density_kg_m3 == pytest.approx(2700, rel=0.04)


def test_v71_head_pressures_and_fatigue_strengths() -> None:
    # VDI 2230:2003 values in a distributor's catalogue seen; it also prints 900 MPa for GJL-250, which is not held here
    expected = {"6082-T6": 260, "7075-T6": 410, "AlSi7Mg0.3-T6": 380, "GJS-400-15": 700, "GJS-500-7": 900}
    expected |= {"GJS-600-3": 1000, "S355": 760, "Ti-6Al-4V": 890}
    given = {m.name: m.head_pressure_MPa for m in catalogue.materials().values() if m.head_pressure_MPa}
    assert given == expected
    # two data sheets seen: 125 MPa at 5e8 cycles, rotating bending
    assert material("2014-T6").fatigue_5e8_MPa == material("2618-T61").fatigue_5e8_MPa == 125


@pytest.mark.parametrize(
    ("name", "temperature", "yield_MPa", "ultimate_MPa"),
    [
        # Aluminum Association typicals after long exposure: from memory, so a plausibility check
        ("2014-T6", 100, 393, 438),
        ("2014-T6", 149, 241, 276),
        ("2618-T61", 149, 303, 345),
        ("2618-T61", 204, 179, 221),
        ("7075-T6", 149, 186, 214),
    ],
)
def test_hot_strengths(name: str, temperature: float, yield_MPa: float, ultimate_MPa: float) -> None:
    hot = material(name).at(temperature)
    assert (hot.yield_MPa, hot.ultimate_MPa) == pytest.approx((yield_MPa, ultimate_MPa), rel=0.05)
    assert not hot.flags
