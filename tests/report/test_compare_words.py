"""Layouts at equal mass in words: what is not met is named, dimensions are rounded, tables line up."""

import csv
import html
import io
import math
import re
from dataclasses import replace
from typing import Any

import pytest

from stiffcalc.explore.bolt_results import Figures
from stiffcalc.explore.compare_limits import beyond, missed
from stiffcalc.explore.compare_results import CompareResult, Curve, Free, Limit, Point
from stiffcalc.report import compare_page, compare_plots, compare_tables, compare_words

STOP = "(stop)"
USED = Limit("mass", "2.00 kg", None)
SPREAD = Limit("spread", f"spread {STOP}, not met", -0.25)
MASS = Limit("mass", f"mass with bolts and pistons {STOP}, not met", -0.1)
STRESS = Limit("stress", f"nominal stress, wall {STOP}, not met", -0.3)
NEAR = Limit("bolt", f"stress amplitude, bolt 1 {STOP}", 0.01)
FREE = (
    Free("wall, mm", ("caliper.wall.thickness_mm",), "20", "40", choices=False),
    Free("inner end", ("caliper.bridge[2].x_mm[1]", "minus caliper.bridge[1].x_mm[2]"), "5", "9", False),
    Free("preload, N", ("caliper.bolt[1].preload_N",), "30000", "50000", choices=False),
    Free("bore, mm", ("caliper.bore[1].diameter_mm",), "34.925", "38.1", choices=True),
)
KEYS = ("25.5746", "6.00451", "41874.4", "34.925")


def point(mass: float, spread: float, *limits: Limit, **changes: Any) -> Point:
    bad = [x for x in limits if x.margin is not None and x.margin < 0.0]
    what, margin = (bad[0].what.removesuffix(", not met"), bad[0].margin) if bad else ("onset", 0.1)
    fields: dict[str, Any] = {
        "budget": mass,
        "mass": mass,
        "keys": KEYS,
        "changes": {"caliper.wall.thickness_mm": 25.5746},
        "figures": Figures(spread, math.inf, margin or 0.0, what, None, len(bad), 5, ()),
        "spread": spread,
        "spread_frame": spread,
        "spread_searched": spread,
        "stiffness_kN_per_mm": 100.0,
        "stiffness_per_mass": 30.0,
        "limits": limits,
        "meets": True,
        "within": not bad,
        "scatter": None,
        "note": "",
    }
    return Point(**(fields | changes))


HEAVIER = point(1.0, 0.41, STRESS, SPREAD, meets=False, note="nearest: misses a check")
POINTS = (
    HEAVIER,
    point(2.0, 0.4, SPREAD, NEAR, USED),
    point(3.0, 0.2, USED),
    point(4.0, 0.1, MASS, NEAR),
    None,
)
CURVE = Curve("one", "one piece", False, 0.0, FREE, 100, 0, 3, None, None, POINTS)


def result(**changes: Any) -> CompareResult:
    fields: dict[str, Any] = {
        "title": "t",
        "note": "invented",
        "sha256": "0" * 64,
        "version": "0",
        **dict.fromkeys(("cautions", "defaults_used", "notices", "assumptions", "limited"), ()),
        "verdict": "v",
        "model": "front view",
        "case": "stop",
        "case_pressure": 8.0,
        "spread_limit": 0.3,
        "mass_limit": 3.6,
        "seed": 1,
        "effort": "quick",
        "targets": (1.0, 2.0, 3.0, 4.0, 5.0),
        "masses": (1.0, 2.0, 3.0, 4.0, 5.0),
        "curves": (CURVE,),
        "gaps": (),
        "crossings": (),
        "inputs": {},
    }
    return CompareResult(**(fields | changes))


def rows() -> dict[str, list[str]]:
    """The table of designs on the page: row name -> cells as read."""
    page = compare_page.render(result(), accuracy="a")
    table = re.findall(r"<table.*?</table>", page.split('id="designs"')[1], re.DOTALL)[0]
    found = {}
    for row in re.findall(r"<tr>.*?</tr>", table, re.DOTALL):
        name, *cells = (html.unescape(re.sub("<.*?>", "", c)) for c in re.findall(r"<t[hd].*?</t[hd]>", row))
        found[name] = cells
    return found


def test_masses_stand_across_and_figures_down() -> None:
    found = rows()
    assert found["within"] == [f"{m}.00\u00a0kg" for m in range(1, 6)]
    assert found["spread, µm"] == ["410", "400", "200", "100", "–"]
    assert found["total mass, kg"][-1] == "–"


def test_a_layout_without_a_clamp_plane_has_no_onset() -> None:
    assert rows()["onset pressure, MPa"][:4] == ["–"] * 4
    assert (
        compare_words.onset(replace(CURVE, two_piece=True), HEAVIER) == "∞"
    )  # bolted, and nothing opens in range
    own = replace(
        HEAVIER, figures=replace(HEAVIER.figures, onset_MPa=9.5)
    )  # of a bridge bolted into one piece
    assert compare_words.onset(CURVE, own) == "9.5"


def test_dimensions_are_rounded_where_read_and_whole_in_files() -> None:
    """Lengths to 0.01 mm, others to four digits; a choice of a list stands as the study names it."""
    found = rows()
    assert [found[f.name][0] for f in FREE] == ["25.57", "6.00", "41\u202f870", "34.925"]
    assert "wall, mm = 25.57;" in compare_plots.said(CURVE, POINTS[1])
    whole = list(csv.DictReader(io.StringIO(compare_tables.csv_file(result()))))
    assert [whole[0][f.name] for f in FREE] == list(KEYS)
    assert result().to_dict()["layouts"][0]["points"][0]["free"]["wall, mm"] == "25.5746"  # type: ignore[index]


def test_the_check_with_the_worst_margin_is_named() -> None:
    found = rows()
    assert found["worst margin, %"] == ["✕ −30.0 not met", "✕ −25.0 not met", "10.0", "✕ −10.0 not met", "–"]
    named = ["nominal stress, wall", "spread", "onset", "mass with bolts and pistons", "–"]
    assert [c.removesuffix(f" {STOP}") for c in found["check with that margin"]] == named
    assert f"worst margin −25.0\u00a0% of spread {STOP}" in compare_plots.said(CURVE, POINTS[1])
    whole = csv.DictReader(io.StringIO(compare_tables.csv_file(result())))
    assert [r["not_met"] for r in whole] == ["stress; spread", "spread", "", "mass"]
    printed = compare_tables.terminal(result())
    assert "spread limit not met, bolt, mass" in printed and "mass limit not met, bolt" in printed
    assert "(nearest: misses a check) stress not met," in printed


def test_limits_of_the_study_alone_are_said_in_words() -> None:
    own, nearest = compare_words.notes(result(), CURVE)
    assert own.replace("\u00a0", " ") == (
        "Not met are the study's own limits alone: spread (300 µm) within 2.00 kg; mass (3.600 kg) within 4.00 kg. "
        "The curve explores them; every other check is met there."
    )
    assert nearest.replace("\u00a0", " ") == (
        "Within 1.00 kg no design meets every check; shown is the nearest: misses a check; not met: stress, spread "
        "limit."
    )
    page = html.unescape(compare_page.render(result(), accuracy="a"))
    assert page.index(own) < page.index("one: one piece") and nearest in page
    assert " ".join(own.split()) in " ".join(compare_tables.terminal(result()).split())
    fine = Curve("x", "", False, 0.0, FREE, 1, 0, 1, None, None, POINTS[2:3] * 5)
    assert compare_words.notes(result(), fine) == ()


def test_both_limits_and_mass_that_the_study_adds_count() -> None:
    """The check weighs what is drawn; the study's limit is compared with what it adds too."""
    heavy = point(4.0, 0.4, SPREAD)
    curve = Curve("x", "", False, 0.0, FREE, 1, 0, 1, None, None, (heavy, heavy, None, None, None))
    said = compare_words.notes(result(), curve)
    assert "spread (300 µm) and mass (3.600 kg) within 4.00 and 4.00 kg." in said[0].replace("\u00a0", " ")
    assert compare_words.not_met(result(), heavy) == ("spread", "mass")
    assert compare_words.not_met(result(spread_limit=None, mass_limit=None), heavy) == ("spread",)


@pytest.mark.parametrize(
    ("spread", "mass", "past"),
    [(0.3, 3.6, ()), (0.31, 3.6, ("spread",)), (0.3, 3.7, ("mass",)), (0.31, 3.7, ("spread", "mass"))],
)
def test_a_limit_reached_is_not_passed(spread: float, mass: float, past: tuple[str, ...]) -> None:
    assert beyond(spread=spread, mass=mass, spread_limit=0.3, mass_limit=3.6) == past
    assert beyond(spread=spread, mass=mass, spread_limit=None, mass_limit=None) == ()


def test_missed_limits_are_checks_alone() -> None:
    assert missed((USED, NEAR, STRESS, MASS)) == (STRESS, MASS)


def test_terminal_figures_end_where_their_heading_ends() -> None:
    lines = compare_tables.terminal(result()).split("\n")
    at = next(i for i, line in enumerate(lines) if line.startswith("mass_kg"))
    for word, shown in (("mass_kg", "3.000"), ("spread_µm", "200"), ("margin_%", "10.0")):
        end = lines[at].index(word) + len(word)
        assert lines[at + 3][:end].endswith(shown)


MASSES = (1.0, 1.235, 2.0, 3.0, 4.0, 5.0)


def begun() -> CompareResult:
    """A layout that begins at a mass of its own, beside one that has no design there."""
    begin = point(1.235, 0.45, NEAR, USED)
    one = Curve("one", "one piece", False, 0.0, FREE, 9, 0, 3, 2.0, 1.9, (HEAVIER, None, *POINTS[1:]))
    two = Curve("two", "two-piece", True, 0.0, FREE, 9, 0, 3, 1.2341, 1.1, (HEAVIER, begin, *POINTS[1:]))
    return result(masses=MASSES, curves=(one, two))


def test_where_a_layout_begins_is_a_column_of_its_own_table_alone() -> None:
    page = html.unescape(compare_page.render(begun(), accuracy="a"))
    one, two = re.findall(r"<caption>(?:one|two): .*?</table>", page, re.DOTALL)
    assert "1.235\u00a0kg (lightest)" in two and "1.235" not in one
    assert "2.00\u00a0kg (lightest)" in one and one.count("<th") == two.count("<th") - 1
    assert "1.234\u00a0kg: bolt, mass" in page  # among the limits, by its exact mass
    printed = compare_tables.terminal(begun())
    assert printed.count("lightest; bolt, mass") == 1


def test_files_say_which_point_is_the_lightest() -> None:
    rows = list(csv.DictReader(io.StringIO(compare_tables.csv_file(begun()))))
    found = [(r["layout"], r["mass_allowed_kg"]) for r in rows if r["lightest"] == "true"]
    assert found == [("one", "2"), ("two", "1.235")]
    answer: Any = begun().to_dict()
    assert answer["target_masses_kg"] == [1.0, 2.0, 3.0, 4.0, 5.0] and answer["masses_kg"] == list(MASSES)
    assert [c["lightest_kg"] for c in answer["layouts"]] == [2.0, 1.2341]
    assert answer["layouts"][0]["points"][1] is None
    assert compare_tables.study_names(begun())[0] == (1.235, "at_1.235_kg.toml")


def test_a_layout_that_meets_the_lightest_mass_asked_for_is_said_to_begin_there_or_below() -> None:
    met = Curve("one", "one piece", False, 0.0, FREE, 9, 0, 3, None, 0.9, POINTS[1:2] * 5)
    none = Curve("two", "two-piece", True, 0.0, FREE, 9, 0, 3, None, None, (HEAVIER,) * 5)
    page = html.unescape(compare_page.render(result(curves=(met, none)), accuracy="a"))
    table = re.findall(r"<caption>Active limits.*?</table>", page, re.DOTALL)[0]
    cells = [re.sub("<.*?>", "", c) for c in re.findall(r"<td.*?</td>", table, re.DOTALL)]
    assert "at most 1.00 kg" in cells and "none" in cells


def test_the_curves_begin_with_a_mark_of_their_own() -> None:
    """A hollow mark for each layout, and one more in the key; none where nothing was looked for."""

    def hollow(of: CompareResult) -> int:
        return compare_plots.spread(of).svg.count("var(--paper,")

    plain = replace(begun(), curves=tuple(replace(c, lightest=None) for c in begun().curves))
    assert hollow(begun()) - hollow(plain) == 3
