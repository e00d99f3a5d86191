"""Sections as text: which surface is nearest its limit, a table for the terminal, every load case as CSV."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from stiffcalc.caliper.results import worst_first
from stiffcalc.caliper.section_results import OwnCase, SectionCase, SectionResult, SectionResults, Surface
from stiffcalc.quantities import quantity
from stiffcalc.report import words
from stiffcalc.report.listing import aligned
from stiffcalc.report.sheets import Cell, csv_text

FIGURES = ("yield_%", "fatigue_%")
HEAD = (
    "bridge",
    "load case",
    "fillet/rest_MPa",
    *FIGURES,
    "hole/rest_MPa",
    *FIGURES,
)  # rest: without pressure
NAMED = 3  # sharp corners named, the others are counted
SURFACES = {"fillet": "fillet", "hole": "edge of a bolt hole", "worst": "own section"}
COLUMNS = ("stress", "section_stress", "rest", "z", "y", "error", "yield_MPa", "yield_margin", "amplitude", "mean",
           "endurance", "fatigue_margin")  # fmt: skip
END_COLUMNS = ("N", "Mx", "bridge_N", "bridge_Mx", "bridge_My", "bolts", "bolts_section", "rotation",
               "rotation_closed")  # fmt: skip


@dataclass(frozen=True)
class Judged:
    """One surface in one load case against one limit."""

    where: str  # "leading end" or the own section's name
    kind: str  # a key of SURFACES
    case: str
    limit: str  # "yield" or "fatigue"
    margin: float
    actual: float  # MPa
    allowed: float


def judged(results: SectionResults) -> list[Judged]:
    """Every surface that a limit applies to, worst margin first."""
    return sorted(_judged(results), key=lambda j: worst_first(j.margin))


def _judged(results: SectionResults) -> Iterator[Judged]:
    for where, kind, case, s in surfaces(results):
        if s.judged:
            yield Judged(where, kind, case.name, "yield", s.yield_margin, max(s.stress, s.rest), s.yield_MPa)
        if s.fatigue_margin is not None and s.endurance is not None:
            yield Judged(where, kind, case.name, "fatigue", s.fatigue_margin, s.amplitude, s.endurance)


def surfaces(results: SectionResults) -> Iterator[tuple[str, str, SectionCase | OwnCase, Surface]]:
    """Every surface of every load case: where, kind, case."""
    for section in results.sections:
        for case in section.load_cases:
            for kind, s in (("fillet", case.fillet), ("hole", case.hole)):
                if s is not None:
                    yield title(section), kind, case, s
    for own in results.own:
        for own_case in own.load_cases:
            yield own.name, "worst", own_case, own_case.worst


def title(section: SectionResult) -> str:
    """Bridge, and side where both halves differ."""
    return section.bridge if section.side == "inboard" else f"{section.bridge}, {section.side}"


def verdict(results: SectionResults) -> str:
    """The surface nearest to its limit, how many miss theirs, and corners that have no peak."""
    found = judged(results)
    sharp = [title(s) for s in results.sections if s.trust is not None and not s.trust.exists]
    said = (
        [f"No peak stress exists at the sharp corner of {', '.join(sharp)}: give a fillet."] if sharp else []
    )
    if found:
        w = found[0]
        share = quantity("margin").with_unit(w.margin)
        sign = "" if share.startswith("−") else "+"
        what = "amplitude" if w.limit == "fatigue" else "stress"
        missed = sum(not j.margin >= 0 for j in found)
        said.append(
            f"Nearest to its limit: {SURFACES[w.kind]}, {w.where}, in '{w.case}': {what} {w.actual:.0f} MPa of "
            f"{w.allowed:.0f} MPa allowed ({w.limit}), margin {sign}{share}; {missed} of {len(found)} limits not met."
        )
    return " ".join(said) or "No fillet and no bolt hole to look at."


def terminal(results: SectionResults, width: int = 100) -> str:
    """Every section and load case, what each figure rests on, the verdict and the cautions."""
    blocks = [
        _wrap(f"{results.title}: sections of '{results.layout}'", width),
        aligned([HEAD, *_rows(results)]),
        "\n".join(_wrap(line, width) for line in trusts(results)),
        _wrap(verdict(results), width),
        "\n".join(_wrap(f"Note: {n}", width) for n in results.notices),
        "\n".join(_wrap(f"Caution: {c}", width) for c in results.cautions),
    ]
    return "\n\n".join(b for b in blocks if b) + "\n"


def _wrap(text: str, width: int) -> str:
    return textwrap.fill(text, width=width, subsequent_indent="    ", break_on_hyphens=False)


def _rows(results: SectionResults) -> Iterator[tuple[str, ...]]:
    for section in results.sections:
        for case in section.load_cases:
            yield (title(section), case.name, *_cells(case.fillet), *_cells(case.hole))
    for own in results.own:
        for own_case in own.load_cases:
            yield (own.name, own_case.name, *_cells(own_case.worst), *_cells(None))


def _cells(s: Surface | None) -> tuple[str, str, str]:
    if s is None:
        return "–", "–", "–"
    margin = quantity("surface.yield_margin").text(s.yield_margin if s.judged else None)
    return (
        f"{quantity('surface.stress').text(s.stress)}/{quantity('surface.rest').text(s.rest)}",
        margin,
        quantity("surface.fatigue_margin").text(s.fatigue_margin),
    )


def trusts(results: SectionResults) -> list[str]:
    """What each section's figures rest on, in one line."""
    lines = []
    for section in results.sections:
        said = [f"fillet, section alone: {section.trust.sentence}"] if section.trust else []
        if section.hole_change is not None:
            change = quantity("section.hole_change").with_unit(section.hole_change)
            said.append(f"stress at the holes moved by {change} from a mesh of twice the sides")
        if section.onset is not None:
            o = section.onset
            said.append(
                f"first loss of contact at {opening(o.section)} (joint: {opening(o.joint)}, without My "
                f"{opening(o.joint_without_My)})"
            )
        said += [corners(section)] if section.sharp_corners else []
        lines.append(f"{title(section)}: {'; '.join(said)}")
    return [*lines, *(f"{own.name}: {own.trust.sentence}" for own in results.own)]


def corners(section: SectionResult) -> str:
    """One sentence about sharp corners of pockets and bores in the metal shown; empty where there are none."""
    places = [f"({z:.4g}, {y:.4g})" for z, y in section.sharp_corners]
    if not places:
        return ""
    more = f" and {len(places) - NAMED} more" if len(places) > NAMED else ""
    return (
        f"sharp re-entrant corners of pockets or bores at (z, y) = {', '.join(places[:NAMED])} mm{more}: no peak "
        "stress exists there, colours near them grow as the mesh is refined, and no limit is asked of them"
    )


def opening(pressure: float) -> str:
    """An onset pressure in words."""
    return "gapes when tightened" if pressure <= 0 else words.onset(pressure)


def csv_file(results: SectionResults) -> str:
    """A row a section, load case and end of the preload; empty where a figure does not exist."""
    head = ["section", "side", "load_case", "kind", "pressure_MPa", "body_C", "preload"]
    head += [quantity(f"cut.{k}").column for k in END_COLUMNS]
    head += [f"{kind}_{quantity(f'surface.{k}').column}" for kind in ("fillet", "hole") for k in COLUMNS]
    return csv_text([head, *_csv_rows(results)])


def _csv_rows(results: SectionResults) -> Iterator[list[Cell]]:
    for section in results.sections:
        for case in section.load_cases:
            start: list[Cell] = [
                section.bridge,
                section.side,
                case.name,
                case.kind,
                case.pressure,
                case.body_C,
            ]
            surfaces_of = [*_surface(case.fillet), *_surface(case.hole)]
            for end in case.ends:
                yield [*start, end.preload, *(getattr(end, k) for k in END_COLUMNS), *surfaces_of]
    for own in results.own:
        for c in own.load_cases:
            own_start: list[Cell] = [own.name, "", c.name, c.kind, c.pressure, c.body_C, ""]
            yield [*own_start, *[None] * len(END_COLUMNS), *_surface(c.worst), *_surface(None)]


def _surface(s: Surface | None) -> list[Cell]:
    if s is None:
        return [None] * len(COLUMNS)
    values = [getattr(s, k) for k in COLUMNS]
    return [None if v is None or (isinstance(v, float) and math.isnan(v)) else v for v in values]
