"""Drawn bodies as text: a table for the terminal, and CSV."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from stiffcalc.explore.uncertainty_results import Band, Chance, UncertaintyResult
from stiffcalc.quantities import quantity
from stiffcalc.report.listing import aligned
from stiffcalc.report.sheets import Cell, csv_text

SHOWN = 12


def terminal(found: UncertaintyResult, width: int = 100) -> str:
    """Bands, the least likely checks, what the scatter comes from; at most `width` (80 or more) columns.

    Raises ValueError for a width below 80.
    """
    if width < 80:
        raise ValueError(f"a table needs 80 columns, {width} were given")
    parts = [
        _wrap(f"{found.title}: what scatter does to '{found.layout}'", width),
        _wrap(tally(found), width),
        aligned(
            [
                ["", "here", "5_%", "50_%", "95_%", "deviation"],
                *(band_line(n, k, b) for n, k, b in bands(found)),
            ]
        ),
        aligned(
            [["probability of being met", "95_%_interval", "margin_%"], *map(chance_line, _shown(found))]
        ),
        _wrap(found.verdict, width),
        "\n".join(_wrap(f"Drawn: {a}", width) for a in found.assumptions),
        "\n".join(_wrap(f"Note: {n}", width) for n in found.notices),
        "\n".join(_wrap(f"Caution: {c}", width) for c in found.cautions),
    ]
    return "\n\n".join(p for p in parts if p) + "\n"


def tally(found: UncertaintyResult) -> str:
    """How many bodies, by which model, and what became of them."""
    loose = f"; {found.loose} do not hold, and meet no check" if found.loose else ""
    return f"{found.samples} bodies, seed {found.seed}, {found.model}{loose}."


def bands(found: UncertaintyResult) -> Iterable[tuple[str, str, Band]]:
    """Name, quantity and band of each figure."""
    yield f"spread at {found.case_pressure:g} MPa, µm", "spread", found.spread
    yield "mass, kg", "mass.total", found.mass


def band_line(name: str, key: str, b: Band) -> list[str]:
    """One band in shown units."""
    q = quantity(key)
    return [name, *(q.text(v) for v in (b.here, b.low, b.median, b.high)), deviation(key, b)]


def deviation(key: str, b: Band) -> str:
    """With a digit more than the figure's."""
    q = quantity(key)
    return f"{b.deviation * q.factor:.{(q.digits or 0) + 1}f}"


def _shown(found: UncertaintyResult) -> list[Chance]:
    return [found.every, *found.chances[:SHOWN]]


def chance_line(c: Chance) -> list[str]:
    """Probability and check, interval, margin at the layout itself."""
    p = quantity("chance.probability")
    name = c.what if not c.case else f"{c.what} ({c.case})"
    interval = f"{p.text(c.low)} to {p.text(c.high)}"
    return [
        f"{p.text(c.probability):>5} %  {textwrap.shorten(name, 62, placeholder='…')}",
        interval,
        quantity("margin").text(c.margin),
    ]


def csv_files(found: UncertaintyResult) -> dict[str, str]:
    """File name -> CSV text, stored units."""
    return {
        "uncertainty_curve.csv": csv_text(_curve(found)),
        "uncertainty_checks.csv": csv_text(_checks(found)),
    }


def _curve(found: UncertaintyResult) -> Iterable[Sequence[Cell]]:
    yield ["pressure_MPa", "spread_mm", "spread_5_percent_mm", "spread_50_percent_mm", "spread_95_percent_mm"]
    for p, here, band in zip(found.pressure, found.curve, found.curve_band.T, strict=True):
        yield [float(p), float(here), *map(float, band)]


def _checks(found: UncertaintyResult) -> Iterable[Sequence[Cell]]:
    yield ["load_case", "id", "what", "margin", "met", "bodies", "probability", "low", "high"]
    for c in (found.every, *found.chances):
        yield [c.case, c.id, c.what, c.margin, c.met, c.bodies, c.probability, c.low, c.high]


def _wrap(text: str, width: int) -> str:
    return textwrap.fill(" ".join(text.split()), width, subsequent_indent="  ")
