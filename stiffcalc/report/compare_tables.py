"""Layouts at equal mass as text: a table for the terminal, every point as CSV."""

from __future__ import annotations

import textwrap

from stiffcalc.explore.compare_results import CompareResult, Curve, Point, kg
from stiffcalc.quantities import quantity
from stiffcalc.report import compare_words
from stiffcalc.report.listing import aligned
from stiffcalc.report.sheets import Cell, csv_text


def terminal(result: CompareResult, width: int = 100) -> str:
    """Spread of every layout at every mass with its limits, the verdict and the cautions; at most `width` columns.

    Raises ValueError for a width below 80.
    """
    if width < 80:
        raise ValueError(f"a table needs 80 columns, {width} were given")
    blocks = [
        _wrap(f"{result.title}: layouts at equal mass", width),
        _wrap(counted(result), width),
        *(_curve(result, c, width) for c in result.curves),
        _wrap(result.verdict, width),
        "\n".join(_wrap(said, width) for said in result.limited),
        "\n".join(_wrap(f"Note: {n}", width) for n in (*result.notices, *result.assumptions)),
        "\n".join(_wrap(f"Caution: {c}", width) for c in result.cautions),
    ]
    return "\n\n".join(blocks) + "\n"


def counted(result: CompareResult) -> str:
    """How much was looked at."""
    each = "; ".join(
        f"{c.name} {c.evaluated}, {c.refused} of them cannot be had, {c.asked} answered by the {result.model}"
        for c in result.curves
    )
    return (
        f"{sum(c.evaluated for c in result.curves)} designs (effort {result.effort}, seed {result.seed}): {each}. "
        f"Spread of {result.case}, {result.case_pressure:g} MPa, at minimum preload."
    )


def _wrap(text: str, width: int) -> str:
    return textwrap.fill(" ".join(text.split()), width, subsequent_indent="  ")


HEAD = ("mass_kg", "spread_µm", "frame_µm", "k/m", "onset_MPa", "margin_%")


def _curve(result: CompareResult, c: Curve, width: int) -> str:
    points = [p for i in result.shown(c) if (p := c.points[i]) is not None]
    table = aligned([list(HEAD), *(_row(c, p) for p in points)]).split("\n")
    said = ["limited by", *(f"{_begins(c, p)}{limited(p)}" for p in points)]
    lines = (_cut(f"{row}  {words}", width) for row, words in zip(table, said, strict=True))
    notes = (_wrap(n, width) for n in compare_words.notes(result, c))
    return "\n".join([_wrap(f"{c.name} ({c.pieces})", width), *lines, *notes])


def _cut(line: str, width: int) -> str:
    """A line cut with an ellipsis; the page has all of it."""
    return line if len(line) <= width else line[: width - 1].rstrip() + "…"


def _row(c: Curve, p: Point) -> list[str]:
    return [
        quantity("mass.total").text(p.mass).rjust(len(HEAD[0])),
        quantity("spread").text(p.spread),
        quantity("spread").text(p.spread_frame),
        quantity("stiffness_per_mass").text(p.stiffness_per_mass),
        compare_words.onset(c, p),
        quantity("worst_margin").text(p.figures.worst_margin),
    ]


def limited(p: Point) -> str:
    """Names of what limits a point."""
    named = compare_words.limited(p)
    return named if p.meets else f"({p.note}) {named}"


def _begins(c: Curve, p: Point) -> str:
    """What stands before the limits of a layout's lightest."""
    return "lightest; " if p is c.begin else ""


def csv_file(result: CompareResult) -> str:
    """One row for each layout and mass, stored units."""
    names = list(dict.fromkeys(f.name for c in result.curves for f in c.free))
    head = [
        "layout",
        "mass_allowed_kg",
        "mass_kg",
        "lightest",
        "meets_checks",
        "within_limits",
        "spread_mm",
        "spread_frame_mm",
        "spread_searched_mm",
        "stiffness_kN_per_mm",
        "stiffness_kN_per_mm_per_kg",
        "onset_MPa",
        "worst_margin",
        "governs",
        "not_met",
        "u_model_mm",
        "u_preload_friction_mm",
        "u_modulus_mm",
        "limits",
        *names,
    ]
    return csv_text(
        [head, *(_line(result, c, p, names) for c in result.curves for p in c.points if p is not None)]
    )


def _line(result: CompareResult, c: Curve, p: Point, names: list[str]) -> list[Cell]:
    own = dict(zip((f.name for f in c.free), p.keys, strict=True))
    s = p.scatter
    return [
        c.name,
        p.budget,
        p.mass,
        str(p is c.begin).lower(),
        str(p.meets).lower(),
        str(p.within).lower(),
        p.spread,
        p.spread_frame,
        p.spread_searched,
        p.stiffness_kN_per_mm,
        p.stiffness_per_mass,
        p.figures.onset_MPa,
        p.figures.worst_margin,
        p.figures.governs,
        "; ".join(compare_words.not_met(result, p)),
        *((None, None, None) if s is None else (s.model, s.preload, s.modulus)),
        "; ".join(f"{limit.kind}: {limit.what}" for limit in p.limits),
        *(own.get(n) for n in names),
    ]


def study_names(result: CompareResult) -> list[tuple[float, str]]:
    """Masses at which some layout meets its checks, and the name of the study file of each."""
    there = [
        m for i, m in enumerate(result.masses) if any((p := c.points[i]) and p.meets for c in result.curves)
    ]
    return [(m, f"at_{kg(m)}_kg.toml") for m in there]
