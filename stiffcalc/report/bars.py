"""Bar pictures: contributions to the spread, margins, mass and stiffness per mass."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from stiffcalc.caliper.results import CaseResult, Results
from stiffcalc.quantities import Quantity, quantity
from stiffcalc.report import canvas, choose
from stiffcalc.report.canvas import INK, SOFT, Picture

PART, SPREAD, MARGIN = quantity("contributions"), quantity("spread"), quantity("margin")
ROW = 0.145  # inches a bar
GROUP_GAP = 0.09
LINE = 60  # characters that fit the width of a picture
SECOND_LINE = 0.16  # inches, of the masses' label
PARTS = {  # of the mass: how a bar shows them
    "body": ("full", ""),
    "bolts": ("hatched", "//////"),
    "pistons": ("crossed", "xxxxx"),
    "fittings": ("ruled", "-----"),
}
MARGINS_SHOWN, MARGIN_END = 10, 1.5  # bars longer than the axis end in a tip; their number is printed in full


@canvas.drawn
def contributions(results: Results) -> Picture:
    """What the spread is made of, a group of bars for each part and a bar for each variant, in µm."""
    cases = [choose.headline(v) for v in results.variants]
    names = list(dict.fromkeys(k for c in cases for k in c.contributions))
    groups = [*names, "sum = spread"]
    count = len(cases)
    step = ROW * count + GROUP_GAP
    fig = canvas.figure(canvas.WIDE, 0.6 + 0.19 * count + step * len(groups))
    used = canvas.legend(fig, [v.name for v in results.variants])
    ax = canvas.axes(fig, 1.25, 0.42, 0.45, used + 0.1)
    for g, name in enumerate(groups):
        for i, c in enumerate(cases):
            value = c.spread if name == groups[-1] else c.contributions.get(name)
            if value is not None:
                _value_bar(ax, g * step + ROW * i, value, PART, canvas.pen(i))
    rows = np.arange(len(groups)) * step + ROW * (count - 1) / 2
    _rows(ax, rows, groups, bottom=len(groups) * step - GROUP_GAP)
    ax.axhline((len(groups) - 1) * step - GROUP_GAP / 2 - ROW / 2, color=SOFT, linewidth=0.8)
    ax.axvline(0, color=SOFT, linewidth=0.8)
    all_ = [v for c in cases for v in (c.spread or 0.0, *c.contributions.values())]
    low, high = min(0.0, *all_) * PART.factor, (max(all_) or 1.0) * PART.factor
    ax.set_xlim(low - 0.13 * (high - low) if low < 0 else 0, high)
    ax.set_xlabel(f"{PART.label}, {_at_pressure(cases)}")
    return canvas.picture(
        fig,
        "contributions",
        title="What the spread is made of",
        alt="Contributions to the spread in micrometres. "
        + " ".join(f"Variant {i + 1}: {_parts_in_words(c)}." for i, c in enumerate(cases)),
    )


def _at_pressure(cases: list[CaseResult]) -> str:
    pressures = {c.pressure for c in cases}
    p = quantity("pressure")
    return (
        f"at {p.with_unit(pressures.pop())}" if len(pressures) == 1 else "at each variant's service pressure"
    )


def _parts_in_words(case: CaseResult) -> str:
    parts = ", ".join(f"{k} {PART.text(v)}" for k, v in case.contributions.items())
    return f"{parts}; spread {SPREAD.with_unit(case.spread)}"


def _value_bar(ax: Axes, y: float, value: float, q: Quantity, colour: str) -> None:
    x = value * q.factor
    right = x >= 0 or not q.text(value).startswith("−")
    ax.barh(y, x, height=0.8 * ROW, color=colour, linewidth=0)
    ax.annotate(
        q.text(value),
        (x, y),
        xytext=(3 if right else -3, 0),
        textcoords="offset points",
        fontsize=8,
        ha="left" if right else "right",
        va="center",
        annotation_clip=False,
    )


def _rows(ax: Axes, at: np.ndarray, words: list[str], *, bottom: float) -> None:
    """Words at the rows of a bar picture whose y axis counts inches downward."""
    ax.set_ylim(bottom - ROW / 2, -ROW / 2 - 0.04)
    ax.set_yticks([])
    left = ax.get_position().x0 * canvas.WIDE * 72
    for y, word in zip(at, words, strict=True):
        ax.annotate(
            canvas.shorten(word, 20),
            (0, y),
            xycoords=("axes fraction", "data"),
            xytext=(8 - left, 0),
            textcoords="offset points",
            va="center",
            annotation_clip=False,
        )
    ax.spines["left"].set_visible(False)
    ax.grid(True, axis="x")


@canvas.drawn
def margins(results: Results, variant: int) -> Picture:
    """The worst margin of each check, worst first; bars of checks not met point left, are hatched and say so."""
    found = choose.worst_of_each(results, variant=variant)[:MARGINS_SHOWN]
    step, letters = 0.37, choose.case_letters(results.variants)
    fig = canvas.figure(canvas.NARROW, 0.55 + step * max(1, len(found)))
    ax = canvas.axes(fig, 0.1, 0.42, 0.62, 0.08)
    low = max(-1.0, min([0.0, *(f.check.margin for f in choose.findings(results))]))
    ax.set_xlim(1.25 * low * MARGIN.factor if low < 0 else 0, MARGIN_END * MARGIN.factor)
    ax.set_ylim(step * max(1, len(found)), 0)
    for i, f in enumerate(found):
        _margin_row(ax, step * i, f, letter=letters[f.case.name])
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.set_xlabel(f"{MARGIN.label} (allowed over actual, less one)")
    missed = sum(not f.check.met for f in found)
    listed = "; ".join(f"{f.check.what} {MARGIN.with_unit(f.check.margin)}" for f in found[:3])
    return canvas.picture(
        fig,
        f"margins-{variant + 1}",
        title="Margins, worst first",
        alt=f"Margins of variant {variant + 1} in percent, worst first. {missed} not met. Worst: {listed}.",
        variant=variant,
    )


def _margin_row(ax: Axes, y: float, f: choose.Finding, *, letter: str) -> None:
    c = f.check
    x, end = c.margin * MARGIN.factor, ax.get_xlim()[1]
    bar = y + 0.255
    shown = min(x, end)
    ax.plot([0, 0], [bar - 0.09, bar + 0.09], color=INK, linewidth=1.0)
    if c.met:
        ax.barh(bar, shown, height=0.12, color=canvas.OK, linewidth=0)
    else:
        ax.barh(
            bar, shown, height=0.12, facecolor="none", edgecolor=canvas.BAD, hatch="//////", linewidth=1.0
        )
    if x > end:
        ax.plot([end], [bar], marker=">", markersize=7, color=canvas.OK, clip_on=False)
    word = MARGIN.with_unit(c.margin)
    ax.annotate(
        word if c.met else f"{word} ✕ not met",
        (max(shown, 0.0), bar),
        xytext=(7 if x > end else 4, 0),
        textcoords="offset points",
        fontsize=8,
        va="center",
        color=INK if c.met else canvas.BAD,
        fontweight="normal" if c.met else "bold",
        annotation_clip=False,
    )
    full, brief = f"{c.what} · {f.case.name}", f"{canvas.shorten(c.what, LINE - 4)} · {letter}"
    ax.annotate(
        full if len(full) <= LINE else brief,
        (0, y + 0.1),
        xycoords=("axes fraction", "data"),
        fontsize=8,
        va="center",
        annotation_clip=False,
    )


@canvas.drawn
def mass(results: Results) -> Picture:
    """Mass by part, stiffness and stiffness per mass, a bar a variant."""
    count = len(results.variants)
    cases = [choose.headline(v) for v in results.variants]
    panel = ROW * 1.3 * count + 0.62
    fig = canvas.figure(canvas.WIDE, 0.12 + 0.19 * count + 3 * panel + SECOND_LINE)
    used = canvas.legend(fig, [v.name for v in results.variants])
    rows: list[tuple[Quantity, list[float | None]]] = [
        (quantity("mass.total"), [v.mass.total for v in results.variants]),
        (quantity("stiffness_kN_per_mm"), [c.stiffness_kN_per_mm for c in cases]),
        (quantity("stiffness_per_mass"), [c.stiffness_per_mass for c in cases]),
    ]
    for k, (q, values) in enumerate(rows):
        top = used + 0.1 + k * panel + (SECOND_LINE if k else 0.0)
        ax = _panel(fig, top=top, height=panel - 0.52, count=count)
        for i, v in enumerate(values):
            _panel_bar(ax, i, v, q, results.variants[i].mass if k == 0 else None)
        ax.set_xlim(0, max((v for v in values if v is not None), default=1.0) * q.factor)
        ax.set_xlabel(q.label + (f":\n{_parts(results)}" if k == 0 else ""))
    words = " ".join(
        f"Variant {i + 1}: " + ", ".join(q.with_unit(values[i]) for q, values in rows) + "."
        for i in range(count)
    )
    return canvas.picture(
        fig,
        "mass",
        title="Mass, stiffness, stiffness per mass",
        alt=f"Bars of mass, stiffness and stiffness per mass. {words}",
    )


def _parts(results: Results) -> str:
    """What the masses are made of, and how the bars show it."""
    there = [k for k in PARTS if any(getattr(v.mass, k) for v in results.variants)]
    return ", ".join(f"{k} ({PARTS[k][0]})" for k in there)


def _panel(fig: Figure, *, top: float, height: float, count: int) -> Axes:
    ax = canvas.axes(fig, 0.3, fig.get_size_inches()[1] - top - height, 0.7, top)
    ax.set_ylim(count - 0.5, -0.5)
    ax.set_yticks(range(count), [str(i + 1) for i in range(count)])
    ax.tick_params(axis="y", length=0)
    ax.grid(True, axis="x")
    return ax


def _panel_bar(ax: Axes, row: int, value: float | None, q: Quantity, parts: object) -> None:
    start, width = 0.0, (value or 0.0) * q.factor
    for name, (_, hatch) in PARTS.items() if parts is not None else ():
        part = getattr(parts, name) * q.factor
        ax.barh(
            row,
            part,
            left=start,
            height=0.66,
            hatch=hatch,
            linewidth=0.8,
            edgecolor=canvas.pen(row),
            facecolor="none" if hatch else canvas.pen(row),
        )
        start += part
    if parts is None:
        ax.barh(row, width, height=0.66, color=canvas.pen(row), linewidth=0)
    ax.annotate(
        q.text(value),
        (width, row),
        xytext=(4, 0),
        textcoords="offset points",
        fontsize=8,
        va="center",
        annotation_clip=False,
    )


@canvas.drawn
def mass_against_spread(results: Results) -> Picture:
    """Where each variant stands between light and stiff: numbered marks, total mass against spread."""
    count = len(results.variants)
    cases = [choose.headline(v) for v in results.variants]
    fig = canvas.figure(canvas.WIDE, 2.75 + 0.19 * count)
    used = canvas.legend(fig, [v.name for v in results.variants])
    ax = canvas.axes(fig, 0.6, 0.45, 0.35, used + 0.15)
    kg = quantity("mass.total")
    held = {i: c.spread * SPREAD.factor for i, c in enumerate(cases) if c.spread is not None}
    x = [v.mass.total * kg.factor for v in results.variants]
    ax.set_xlim(*_around(x, least=0.2))
    ax.set_ylim(*_around(list(held.values()) or [0.0], least=20.0))
    _numbered(ax, [x[i] for i in held], held)
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_locator(canvas.ticks())
    ax.grid(True)
    ax.set_xlabel(kg.label)
    ax.set_ylabel(f"{SPREAD.label}, {_at_pressure(cases)}")
    canvas.tag(ax, 0, 0, "lighter and stiffer ↙", SOFT, xycoords="axes fraction", xytext=(4, 8), ha="left")
    words = " ".join(
        f"Variant {i + 1}: {kg.with_unit(v.mass.total)}, {SPREAD.with_unit(c.spread)}."
        for i, (v, c) in enumerate(zip(results.variants, cases, strict=True))
    )
    return canvas.picture(
        fig, "mass-spread", title="Mass against spread", alt=f"Total mass against spread. {words}"
    )


def _numbered(ax: Axes, x: list[float], held: Mapping[int, float]) -> None:
    """A mark for each variant (index -> height), tied to its number in the right margin."""
    low, high = ax.get_ylim()
    places = canvas.apart(list(held.values()), gap=0.085 * (high - low))
    for a, (i, b), at in zip(x, held.items(), places, strict=True):
        ax.plot([a], [b], marker="o", markersize=6, color=canvas.pen(i), linestyle="none")
        line = {"arrowstyle": "-", "color": canvas.pen(i), "lw": 0.8, "shrinkA": 0, "shrinkB": 0}
        where: dict[str, Any] = {"textcoords": ("axes fraction", "data"), "annotation_clip": False}
        ax.annotate(str(i + 1), (a, b), xytext=(1.04, at), arrowprops=line, **where, **canvas.badge_style(i))


def _around(values: list[float], *, least: float) -> tuple[float, float]:
    """Axis limits with room around the values, at least `least` wide: a hair's breadth must not look like a gulf."""
    low, high = min(values), max(values)
    half = max(0.75 * (high - low), least / 2)
    return max(0.0, (low + high) / 2 - half), (low + high) / 2 + half
