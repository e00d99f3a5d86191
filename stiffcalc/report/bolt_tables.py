"""A matrix of bolts as text: the best ten for the terminal, every combination as CSV, a row as a study's variant."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from stiffcalc.explore.bolt_results import BoltMatrix, Figures, Row
from stiffcalc.explore.bolt_verdict import reasons
from stiffcalc.quantities import quantity
from stiffcalc.report.listing import aligned
from stiffcalc.report.sheets import Cell, csv_text
from stiffcalc.study.schema import Bolt

SHOWN = 10
PLACED = {True: "as drawn", False: "placed"}


def pattern(row: Row) -> str:
    """Bolts in each bridge: 2+2."""
    return "+".join(map(str, row.pattern)) or str(row.count)


def shift(value: float) -> str:
    """A row shift with its sign; 0 without."""
    text = f"{value:+g}".replace("-", "−")
    return "0" if value == 0 else text


def both(row: Row, key: str) -> str:
    """A figure of the frame and, where it ran, the front view: 193/203."""
    models = [row.frame] if row.front_view is None else [row.frame, row.front_view]
    return "/".join(quantity(key).text(getattr(m, key)) for m in models if m)


def governs(row: Row) -> str:
    """What has the worst margin, by the model that the figures come from."""
    return row.figures.governs if row.figures else "no equilibrium"


def terminal(matrix: BoltMatrix, width: int = 100) -> str:
    """The best ten, the study's own bolts, the verdict and the cautions; at most `width` (80 or more) columns.

    Raises ValueError for a width below 80.
    """
    if width < 80:
        raise ValueError(f"a table needs 80 columns, {width} were given")
    best = [r for r in matrix.rows if r.rank is not None][:SHOWN]
    rows = best if any(r.own for r in best) else [*best, matrix.own]
    blocks = [
        _wrap(f"{matrix.title}: bolts of '{matrix.layout}'", width),
        _wrap(tally(matrix), width),
        _table(rows, width) if best else "",
        _wrap(matrix.verdict, width),
        _wrap(matrix.tightening, width),
        "\n".join(_wrap(f"Note: {n}", width) for n in matrix.notices),
        "\n".join(_wrap(f"Caution: {c}", width) for c in matrix.cautions),
    ]
    return "\n\n".join(b for b in blocks if b) + "\n"


def tally(matrix: BoltMatrix) -> str:
    """How many were tried and what became of them."""
    ranked = [r for r in matrix.rows if r.figures]
    refused = [r for r in matrix.rows if not r.figures]
    meeting = sum(r.figures is not None and r.figures.unmet == 0 for r in ranked)
    why = f" ({reasons(refused)})" if refused else ""
    return (
        f"{len(matrix.rows)} combinations: {len(ranked)} evaluated, {meeting} of them meet every check; "
        f"{len(refused)} refused{why}. Aim: {matrix.aim}. Figures: frame/front view."
    )


def _wrap(text: str, width: int, indent: str = "") -> str:
    return textwrap.fill(
        " ".join(text.split()), width, initial_indent=indent, subsequent_indent=indent or "  "
    )


def _table(rows: Sequence[Row], width: int) -> str:
    head = ["rank", "bolts", "thread", "grade", "shift_mm", "mass_kg", "spread_µm", "onset_MPa", "margin_%"]
    lines = aligned([head, *(_cells(r) for r in rows)]).split("\n")
    under = [_wrap(_under(r), width, indent=" " * 6) for r in rows]
    return "\n".join([lines[0], *(x for pair in zip(lines[1:], under, strict=True) for x in pair)])


def _cells(row: Row) -> list[str]:
    return [
        quantity("rank").text(row.rank),
        pattern(row),
        row.thread,
        row.grade,
        shift(row.row_shift),
        quantity("mass.total").text(row.mass.total if row.mass else None),
        *(both(row, key) for key in ("spread", "onset_MPa", "worst_margin")),
    ]


def _under(row: Row) -> str:
    own = "the study's own bolts, " if row.own else ""
    fatigue = both(row, "fatigue_margin")
    torque = quantity("torque_Nm").with_unit(row.torque_Nm)
    return f"{own}{arrangement(row)}; {torque}; bolt fatigue {fatigue} %; governs: {governs(row)}"


def arrangement(row: Row) -> str:
    """How the bolts stand: one text where all bridges are alike, else one for each."""
    return ", ".join(dict.fromkeys(row.arrangement))


FIGURES = ("spread", "onset_MPa", "worst_margin", "governs", "fatigue_margin", "unmet", "checks")


def csv_file(matrix: BoltMatrix) -> str:
    """Every combination, refused ones with their reason; a header with units, stored units throughout."""
    own = [] if any(r.own for r in matrix.rows) else [matrix.own]
    return csv_text([_header(), *(_line(r) for r in (*matrix.rows, *own))])


def _header() -> list[str]:
    figures = [k if k == "governs" else quantity(k).column for k in FIGURES]
    return [
        "rank",
        "rank_frame",
        "own",
        "count",
        "pattern",
        "placed",
        "thread",
        "grade",
        quantity("row_shift").column,
        "arrangement",
        "places_mm",
        quantity("preload_nominal").column,
        quantity("torque_Nm").column,
        quantity("mass.total").column,
        quantity("mass.bolts").column,
        *(f"frame_{f}" for f in figures),
        *(f"front_view_{f}" for f in figures),
        "refused",
        "notes",
    ]


def _line(row: Row) -> list[Cell]:
    places = "; ".join(f"{b.x:.3f} {b.y:.3f}" for b in row.bolts)
    tight = [row.preload_nominal, row.torque_Nm] if row.bolts else [None, None]
    return [
        row.rank,
        row.rank_frame,
        str(row.own).lower(),
        row.count,
        pattern(row) if row.pattern else "",
        PLACED[row.drawn],
        row.thread,
        row.grade,
        row.row_shift,
        "; ".join(row.arrangement),
        places,
        *tight,
        row.mass.total if row.mass else None,
        row.mass.bolts if row.mass else None,
        *_figures(row.frame),
        *_figures(row.front_view),
        row.refused.text if row.refused else "",
        "; ".join(row.notes),
    ]


def _figures(found: Figures | None) -> Iterable[Cell]:
    return (getattr(found, k) if found else None for k in FIGURES)


def variant(row: Row, *, name: str) -> str:
    """The row's bolts as a [[variant]] of the study file, to be assessed beside the base."""
    bolts = "\n".join(f"  {_bolt(b)}," for b in row.bolts)
    return f'[[variant]]\nname = "{name}"\n\n[variant.set]\n"caliper.bolt" = [\n{bolts}\n]\n'


def _bolt(b: Bolt) -> str:
    """One bolt as an inline table, every key stated."""
    washer = f"{{ diameter_mm = {b.washer_diameter or 0.0:.10g}, thickness_mm = {b.washer_thickness:.10g} }}"
    values = {
        "x_mm": f"{b.x:.4f}",
        "y_mm": f"{b.y:.4f}",
        "thread": f'"{b.thread}"',
        "grade": f'"{b.grade}"',
        "torque_Nm": None if b.torque_Nm is None else f"{b.torque_Nm:.3f}",
        "preload_N": None if b.preload_N is None else f"{b.preload_N:.1f}",
        "friction": f"{b.friction_thread:.10g}",
        "friction_head": f"{b.friction_head:.10g}",
        "scatter": f"{b.scatter:.10g}",
        "washer": washer if b.washer_diameter is not None else None,
        "engagement_mm": f"{b.engagement:.10g}",
        "hole_mm": f"{b.hole:.10g}",
        "roughness": f'"{b.roughness}"',
        "creep_loss_percent": f"{100.0 * b.creep_loss:.10g}",
        "thread_rolled": f'"{b.rolled}"',
        "insert": str(b.insert).lower(),
        "tapped_depth_mm": None if b.tapped_depth is None else f"{b.tapped_depth:.10g}",
    }
    return "{ " + ", ".join(f"{k} = {v}" for k, v in values.items() if v is not None) + " }"
