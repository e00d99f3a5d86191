"""Corrected figures beside raw ones: terminal, CSV, and a section of the page."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from stiffcalc.quantities import quantity
from stiffcalc.readings.beside import Beside, Row
from stiffcalc.readings.kinds import KINDS, title
from stiffcalc.report import blocks
from stiffcalc.report.blocks import Html, element
from stiffcalc.report.listing import aligned
from stiffcalc.report.sheets import Cell, csv_text

HEAD = ("load case", "figure", "raw", "corrected", "95 %, or why not")
SAID = "Raw figures stand as they are; corrected ones hold for the layout that was read, inside its readings' range."


def _subject(b: Beside) -> str:
    c = b.correction
    return f"Corrected by readings {c.readings} of '{c.layout}'"


def _cells(row: Row) -> list[str]:
    """Load case, figure, raw, corrected with its interval, or why not."""
    q = KINDS[row.quantity].quantity
    name = f"{title(row.quantity, row.point)}, {q.shown}"
    if row.corrected is None:
        return [row.case, name, q.text(row.raw), "not applicable", row.why_not]
    return [
        row.case,
        name,
        q.text(row.raw),
        q.text(row.corrected),
        f"{q.text(row.low)} to {q.text(row.high)}",
    ]


def terminal(b: Beside, width: int = 100) -> str:
    """What fits the correction as a table, the rest by reason; at most `width` columns where names allow."""
    fits = [_cells(r) for r in b.rows if r.corrected is not None]
    why: dict[str, list[Row]] = {}
    for row in b.rows:
        if row.corrected is None:
            why.setdefault(row.case, []).append(row)
    lines = [SAID, *(_left_out(case, rows) for case, rows in why.items()), *b.notices]
    wrapped = [textwrap.fill(line, width, subsequent_indent="  ") for line in lines]
    at = " (preload minimum)" if b.tightened else ""
    return "\n".join((f"{_subject(b)}{at}", *([aligned([HEAD, *fits])] if fits else []), *wrapped))


def _left_out(case: str, rows: Sequence[Row]) -> str:
    """Figures of a load case that the correction does not reach, with the first reason."""
    first = rows[0]
    others = f" ({len(rows) - 1} more figures likewise)" if len(rows) > 1 else ""
    return f"Not applicable: {case}, {title(first.quantity, first.point)}: {first.why_not}{others}."


def csv_file(b: Beside) -> str:
    """Every figure: raw, corrected, interval at 95 %, or why not; stored units."""
    head = [
        "variant",
        "load_case",
        "quantity",
        "point",
        "unit",
        "raw",
        "corrected",
        "low_95",
        "high_95",
        "why_not",
    ]
    return csv_text([head, *(_line(r) for r in b.rows)])


def _line(r: Row) -> Sequence[Cell]:
    unit = KINDS[r.quantity].quantity.unit
    return [r.variant, r.case, r.quantity, r.point, unit, r.raw, r.corrected, r.low, r.high, r.why_not]


def section(b: Beside) -> Html:
    """The section of the page."""
    c, ratio = b.correction, quantity("ratio")
    by = [f"{title(e.quantity, e.point)} × {ratio.text(e.ratio.value)}" for e in c.entries]
    return element(
        "section",
        element("h2", "Corrected by readings", id="corrected"),
        element("p", f"{_subject(b)}, {c.model}: {'; '.join(by)}. {SAID}", class_="prose"),
        blocks.table(
            "Raw figures and corrected ones", list(HEAD), [_cells(r) for r in b.rows], class_="numbers matrix"
        ),
        *([blocks.bullets(b.notices, class_="notices")] if b.notices else []),
        aria_labelledby="corrected",
    )
