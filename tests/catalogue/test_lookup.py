"""The catalogue: every row sourced, names found or refused with the nearest, curves that never extrapolate."""

import math
from importlib.resources import files

import pytest

from stiffcalc import catalogue
from stiffcalc.catalogue import Curve, grade, material, rows, thread
from stiffcalc.catalogue.rows import nearest
from stiffcalc.errors import InputError

DATA = sorted(
    p.name for p in files("stiffcalc.catalogue").joinpath("data").iterdir() if p.name.endswith(".csv")
)


@pytest.mark.parametrize("file", DATA)
def test_every_row_has_a_source_and_a_status(file: str) -> None:
    found = rows.rows(file)
    assert found
    for row in found:
        assert None not in row and None not in row.values(), f"columns do not fit in {dict(row)}"
        assert row["source"].strip() and row["status"] in ("looked up", "from memory"), dict(row)


def test_each_material_is_complete_and_plausible() -> None:
    for name, m in catalogue.materials().items():
        assert m.name == name and m.description and m.source
        assert 0 < m.yield_MPa < m.ultimate_MPa and 0 < m.nu < 0.5
        assert 60e3 < m.E < 220e3 and 2e3 < m.density_kg_m3 < 8e3 and 5e-6 < m.expansion_per_K < 25e-6
        for key, curve in m.curves.items():
            mean = key == "expansion_per_K"  # mean from 20 °C on; the plain value is that of 20 to 100 °C
            plain = curve.at(100.0 if mean else 20.0)[0]
            assert plain == pytest.approx(getattr(m, key)), f"{name}: {key} at its plain temperature"
            assert list(curve.temperature_C) == sorted(set(curve.temperature_C))
            # yield, ultimate and modulus never rise with temperature, expansion never falls
            assert list(curve.value) == sorted(curve.value, reverse=not mean), f"{name}: {key}"


def test_values_from_memory_are_named() -> None:
    assert "nu" in material("GJS-500-7").from_memory and "E" not in material("GJS-500-7").from_memory
    assert "yield_MPa over temperature" in material("7075-T6").from_memory
    assert material("7075-T6").status == "partly from memory"
    assert "strength over temperature" in grade("12.9").from_memory
    assert "strength over temperature" not in grade("Ti-6Al-4V").from_memory
    assert "yield_MPa" in grade("12.9").from_memory and "ultimate_MPa" not in grade("12.9").from_memory


def test_what_a_grades_strengths_are_speaks_of_no_other_grade() -> None:
    grades = catalogue.grades()
    for name, g in grades.items():
        assert not [other for other in grades if other != name and other in g.basis], name


@pytest.mark.parametrize(
    ("look_up", "nearest"),
    [
        (lambda: material("7075T6"), 'write "7075-T6"'),
        (lambda: material("gjs-500"), 'write "GJS-500-7"'),
        (lambda: material("xyzzy"), "take one of the known"),
        (lambda: thread("M10x1.4"), 'write "M10x1.5"'),
        (lambda: thread("M11"), "M1"),
        (lambda: grade("12.8"), 'write "12.9"'),
        (lambda: catalogue.clearance_hole(11.0), "6, 8, 10, 12, 14, 16"),
        (lambda: catalogue.clearance_hole(10.0, series="close"), "fine, medium, coarse"),
        (lambda: catalogue.head(math.nan), "6, 8, 10, 12, 14, 16"),
        (lambda: catalogue.tables("thread"), 'write "threads"'),
    ],
)
def test_unknown_names_are_refused_with_the_nearest(look_up: object, nearest: str) -> None:
    with pytest.raises(InputError, match=nearest):
        look_up()  # type: ignore[operator]


def test_a_thread_may_be_written_in_several_ways() -> None:
    assert {thread(n).name for n in ("M10x1.5", "M10", "m10 X 1.5", "M10×1.50")} == {"M10x1.5"}
    assert thread("M10x1.25").series == "fine"


def test_a_curve_passes_through_its_points_and_is_straight_between() -> None:
    curve = Curve((20.0, 100.0, 200.0), (10.0, 8.0, 2.0), "test", "test")
    assert [curve.at(t) for t in (20.0, 60.0, 100.0, 150.0)] == [(10, True), (9, True), (8, True), (5, True)]
    assert curve.at(201.0) == (2.0, False)
    assert curve.at(-40.0) == (10.0, False)
    assert curve.at(15.0) == (10.0, True), "a curve from room temperature covers the room band"


AIMS = ("least mass", "least spread", "highest onset", "best worst margin")


@pytest.mark.parametrize(
    ("word", "known", "found"),
    [
        ("lightest", AIMS, None),
        ("pocket", ("port", "bore", "wall"), None),
        ("mass", AIMS, "least mass"),
        ("worst margin", AIMS, "best worst margin"),
        ("end", ("leading end", "trailing end"), None),  # of both
        ("lest mass", AIMS, "least mass"),
        ("seal_mm", ("diameter_mm", "seal_diameter_mm"), "seal_diameter_mm"),
        ("depth", ("depth_mm", "x_mm"), "depth_mm"),
        ("depht", ("depth_mm", "x_mm"), "depth_mm"),
        ("", AIMS, None),
    ],
)
def test_the_nearest_name_is_near_or_none(word: str, known: tuple[str, ...], found: str | None) -> None:
    assert nearest(word, known) == found


def test_beyond_the_data_the_nearest_value_is_given_and_flagged() -> None:
    alloy = material("2014-T6")
    assert alloy.at(20.0).flags == () and alloy.at(150.0).flags == ()
    hot = alloy.at(260.0)
    assert hot.yield_MPa == alloy.at(204.0).yield_MPa
    assert [f for f in hot.flags if "yield_MPa" in f and "true value is lower" in f]
    assert [f for f in hot.flags if " E " in f]
    cold = [f for f in alloy.at(-20.0).flags if "nearest end" in f]
    assert cold and not [f for f in cold if "lower" in f], "colder metal is stronger and stiffer"


def test_without_a_curve_the_room_value_is_flagged_away_from_room_temperature() -> None:
    iron = material("GJS-500-7")
    assert iron.at(25.0).flags == ()
    assert len(iron.at(120.0).flags) == 3 and iron.at(120.0).yield_MPa == iron.yield_MPa


def test_bolts_lose_strength_when_hot() -> None:
    factor, flag = grade("10.9").strength_factor(150.0)
    assert 0.9 < factor < 1.0 and not flag
    assert grade("10.9").strength_factor(400.0)[1]
    assert grade("Ti-6Al-4V").strength_factor(150.0)[1]
    assert grade("Ti-6Al-4V").strength_factor(20.0) == (1.0, "")


@pytest.mark.parametrize("name", ["8.8", "10.9", "12.9", "Ti-6Al-4V"])
def test_bolts_soften_and_expand_more_when_hot(name: str) -> None:
    bolt = grade(name)
    assert bolt.E_at(20.0) == (bolt.E, "") and bolt.expansion_at(100.0) == (bolt.expansion_per_K, "")
    assert bolt.E_at(-40.0)[0] > bolt.E > bolt.E_at(150.0)[0] > bolt.E_at(250.0)[0]
    assert bolt.expansion_at(-20.0)[0] < bolt.expansion_per_K < bolt.expansion_at(200.0)[0]
    assert "nearest end" in bolt.E_at(-60.0)[1] and "nearest end" in bolt.expansion_at(400.0)[1]


def test_expansion_and_modulus_of_aluminium_reach_into_the_cold() -> None:
    for key in ("E", "expansion_per_K"):
        assert material("2014-T6").value_at(key, -20.0)[1] == ""
        assert material("2014-T6").value_at(key, -60.0)[1]


@pytest.mark.parametrize("kind", ["materials", "threads", "grades"])
def test_tables_are_rectangular_text_with_sources(kind: str) -> None:
    header, lines = catalogue.tables(kind)
    assert header[-1] == "source" and len(lines) == len(getattr(catalogue, kind)())
    for line in lines:
        assert len(line) == len(header) and all(isinstance(cell, str) and cell for cell in line)


def test_embedding_by_roughness_and_load() -> None:
    assert catalogue.embedding(9.9).face_um == 2.5 and catalogue.embedding(10.0).face_um == 3.0
    assert (
        catalogue.embedding(40.0).face_um == 4.0
        and catalogue.embedding(0.0, load="transverse").face_um == 3.0
    )
    for rz in (160.0, -1.0, math.nan):
        with pytest.raises(InputError, match=r"roughness: found Rz .*; allowed: 0 to below 160 um"):
            catalogue.embedding(rz)
    with pytest.raises(InputError, match="axial, transverse"):
        catalogue.embedding(10.0, load="sideways")
