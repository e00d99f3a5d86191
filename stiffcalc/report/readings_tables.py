"""Readings beside a prediction as text: the terminal's table and the CSV of fits."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from stiffcalc.quantities import quantity
from stiffcalc.readings.compare import Comparison, SeriesFit
from stiffcalc.readings.kinds import title
from stiffcalc.readings.results import Correlation
from stiffcalc.report import words
from stiffcalc.report.listing import aligned
from stiffcalc.report.sheets import Cell, csv_text

HEAD = ("quantity", "measured / predicted", "95 %", "pressure, MPa", "body and bolts, °C")
SAID = ("knee, MPa (95 %)", "take-up, MPa", "hysteresis")


def terminal(c: Correlation, width: int = 100) -> str:
    """Ratios, the verdict, remarks and cautions; at most `width` columns."""
    rows = [comparison_row(q) for q in c.comparisons if q.ratio is not None]
    without = [
        f"{title(q.quantity, q.point)}: no ratio: {q.why_not}." for q in c.comparisons if q.ratio is None
    ]
    parts = [
        _wrap(f"{c.title}: readings {c.readings} of '{c.layout}' beside the {c.model}", width),
        aligned([HEAD, *rows]) if rows else "",
        "\n".join(_wrap(line, width) for line in (*without, *remarks(c))),
        _wrap(c.verdict, width),
        "\n".join(_wrap(f"Note: {n}", width) for n in c.notices),
        "\n".join(_wrap(f"Caution: {n}", width) for n in c.cautions),
    ]
    return "\n\n".join(p for p in parts if p) + "\n"


def _wrap(text: str, width: int) -> str:
    return textwrap.fill(" ".join(text.split()), width, subsequent_indent="  ")


def comparison_row(q: Comparison) -> list[str]:
    """Name, ratio, interval and where it holds."""
    name, r = title(q.quantity, q.point), q.ratio
    if r is None:
        return [name, "–", "–", "–", "–"]
    text = quantity("ratio").text
    return [
        name,
        text(r.value),
        f"{text(r.low)} to {text(r.high)}",
        f"{r.pressure[0]:.1f} to {r.pressure[1]:.1f}",
        f"{r.temperature[0]:.0f} to {r.temperature[1]:.0f}".replace("-", "−"),
    ]


def remarks(c: Correlation) -> list[str]:
    """What must be known of single fits; series with the same remark share it."""
    said: dict[str, list[str]] = {}
    for f in c.fits:
        for remark in f.remarks:
            said.setdefault(remark, []).append(f"{f.series.title} ({f.series.case})")
    return [f"{'; '.join(who)}: {remark}." for remark, who in said.items()]


def slope(f: SeriesFit, value: float) -> str:
    """A slope in the shown unit per MPa."""
    return words.number(value * f.series.kind.quantity.factor)


def doubt(f: SeriesFit, value: float) -> str:
    """What a slope or reading may be off by, in its shown unit; two digits say all that is known of it."""
    return words.number(value * f.series.kind.quantity.factor, 2)


def knee(f: SeriesFit) -> str:
    """A measured knee with its interval, or that there is none."""
    if f.found is None or f.found.bounds is None:
        return "not looked for"
    bend = f.found.line.bend
    if bend is None:
        return "none"
    text = quantity("knee").text
    return f"{text(bend.at)} ({text(bend.low)} to {text(bend.high)})"


def take_up(f: SeriesFit) -> str:
    """Where the take-up ends and how that is known."""
    if f.found is None:
        return "–"
    if not f.found.take_up:
        return "none"
    return f"{quantity('take_up').text(f.found.take_up)} {'found' if f.found.found else 'given'}"


FITS = (
    "case",
    "quantity",
    "point",
    "unit",
    "readings",
    "fitted",
    "take_up_MPa",
    "take_up",
    "slope_per_MPa",
    "slope_half_width_95",
    "degrees",
    "scatter",
    "knee_MPa",
    "knee_low_MPa",
    "knee_high_MPa",
    "slope_beyond_per_MPa",
    "predicted_slope_min_preload",
    "predicted_slope_nominal",
    "predicted_slope_max_preload",
    "predicted_knee_min_preload_MPa",
    "ratio",
    "ratio_error",
    "ratio_low_95",
    "ratio_high_95",
    "valid_from_MPa",
    "valid_to_MPa",
    "loop_area",
    "loop_share",
    "cycles",
    "why_no_ratio",
    "remarks",
)


def csv_files(c: Correlation) -> dict[str, str]:
    """File name -> CSV text: fits, and every reading beside its prediction."""
    return {
        "fits.csv": csv_text([FITS, *(_fit_row(f) for f in c.fits)]),
        "readings.csv": csv_text(_reading_rows(c)),
    }


def _fit_row(f: SeriesFit) -> list[Cell]:
    s = f.series
    line = f.found.line if f.found else None
    bend = line.bend if line else None
    slopes = [e.slope for e in f.expected]
    first = f.expected[0].bend if f.expected else None
    ratio, loop = f.ratio, f.loop
    return [
        s.case,
        s.quantity,
        s.point,
        s.kind.quantity.unit,
        len(s.value),
        int(f.kept.sum()),
        f.found.take_up if f.found else None,
        take_up(f).split(" ")[-1],
        *((line.slope, line.half_width, line.degrees, line.scatter) if line else [None] * 4),
        *((bend.at, bend.low, bend.high, bend.slope) if bend else [None] * 4),
        *((slopes[0], slopes[len(slopes) // 2], slopes[-1]) if slopes else [None] * 3),
        first.at if first else None,
        *((ratio.value, ratio.error, ratio.low, ratio.high, *ratio.pressure) if ratio else [None] * 6),
        *((loop.area, loop.share, loop.cycles) if loop else [None] * 3),
        f.why_not,
        "; ".join(f.remarks),
    ]


def _reading_rows(c: Correlation) -> Iterable[Sequence[Cell]]:
    yield (
        "case",
        "cycle",
        "direction",
        "pressure_MPa",
        "temperature_C",
        "quantity",
        "point",
        "unit",
        "value",
        "uncertainty",
        "zero",
        "fitted",
        "predicted_min_preload",
        "predicted_nominal",
        "predicted_max_preload",
    )
    for f in c.fits:
        s, kept = f.series, f.kept
        found = c.curves[s.case].at((s.quantity, s.point), s.pressure)
        for i in range(len(s.value)):
            expected = [None] * 3 if found is None else [float(found[k, i]) for k in (0, len(found) // 2, -1)]
            yield (
                s.case,
                int(s.cycle[i]),
                "up" if s.up[i] else "down",
                float(s.pressure[i]),
                float(s.temperature[i]),
                s.quantity,
                s.point,
                s.kind.quantity.unit,
                float(s.value[i]),
                None if s.uncertainty is None else float(s.uncertainty[i]),
                float(f.zero[i]),
                str(bool(kept[i])).lower(),
                *expected,
            )
