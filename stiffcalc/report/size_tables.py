"""A sizing as text: a table for the terminal, and its history as CSV."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from stiffcalc.explore.size_results import Held, Sized, SizeResult, Step, Unmet
from stiffcalc.explore.size_words import limit_words
from stiffcalc.quantities import quantity
from stiffcalc.report.listing import aligned
from stiffcalc.report.section_tables import title
from stiffcalc.report.sheets import Cell, csv_text

SHOWN = 8
HEAD = ("dimension", "low_mm", "high_mm", "start_mm", "sized_mm", "held")
LIMIT_HEAD = ("limit", "start_%", "sized_%")
NO_START = "not asked"


def terminal(found: SizeResult, width: int = 100) -> str:
    """Dimensions, the most used limits, the peaks on fresh meshes, unmet checks, verdict and cautions."""
    parts = [
        _wrap(f"{found.title}: sections of '{found.layout}' sized for least mass", width),
        aligned([HEAD, *(dimension_line(d) for d in found.dimensions)]),
        aligned([LIMIT_HEAD, *(limit_line(h) for h in found.limits[:SHOWN])]),
        "\n".join(_wrap(line, width) for line in peaks(found)),
        "\n".join(_wrap(line, width) for line in (unmet_line(u, found.model) for u in found.unmet[:SHOWN])),
        _wrap(found.verdict, width),
        "\n".join(_wrap(f"Note: {n}", width) for n in found.notices),
        "\n".join(_wrap(f"Caution: {c}", width) for c in found.cautions),
    ]
    return "\n\n".join(p for p in parts if p) + "\n"


def dimension_line(d: Sized) -> tuple[str, ...]:
    """One dimension; where it starts elsewhere than drawn, both are named."""
    q = quantity("size.end")
    start = q.text(d.start) if d.start == d.drawn else f"{q.text(d.start)} (drawn {q.text(d.drawn)})"
    more = f" (and {len(d.paths) - 1} more)" if len(d.paths) > 1 else ""
    return f"{d.paths[0]}{more}", f"{d.low:g}", f"{d.high:g}", start, q.text(d.end), d.bound or "–"


def limit_line(h: Held) -> tuple[str, str, str]:
    """One limit, its use at the start and at the end."""
    end = f", {h.limit.preload}" if h.limit.preload else ""
    use = quantity("size.use")
    return f"{limit_words(h.limit)}{end}", use.text(h.start_use), use.text(h.end_use)


def peaks(found: SizeResult) -> list[str]:
    """What each sized section's peak rests on: an adaptive mesh made for it alone."""
    return [
        f"{title(s)}, fillet as sized, section alone: {s.trust.sentence}"
        for s in found.after
        if s.trust is not None
    ]


def unmet_line(u: Unmet, model: str) -> str:
    """One check that is not met."""
    q = quantity("margin")
    start = NO_START if u.start_margin is None else q.with_unit(u.start_margin)
    return f"not met by the {model}: {u.what}, '{u.case}', margin {q.with_unit(u.margin)} (start: {start})"


def worst_words(s: Step) -> str:
    """The limit used most in a step."""
    return "refused by the study's rules or the joint" if s.worst is None else limit_words(s.worst)


def csv_file(found: SizeResult) -> str:
    """A row a design asked about."""
    paths = [f"{d.paths[0]}" for d in found.dimensions]
    head = ["round", "kind", *paths, quantity("size.mass").column, "worst_use", "worst", "notes"]
    return csv_text([head, *_rows(found)])


def _rows(found: SizeResult) -> Iterator[list[Cell]]:
    for s in found.history:
        yield [s.round, kind(s), *s.x, s.mass, s.worst_use, worst_words(s), "; ".join(s.notes)]


def kind(s: Step) -> str:
    """What a step is."""
    return "round" if s.checked else "step" if s.iterate else "trial"


def _wrap(text: str, width: int) -> str:
    return textwrap.fill(" ".join(text.split()), width, subsequent_indent="  ", break_on_hyphens=False)
