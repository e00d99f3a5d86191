"""Pictures of a sweep: mass against spread with the front, keys of the best designs side by side, what governs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.explore.pareto import front
from stiffcalc.explore.sweep_results import SweepResult
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas
from stiffcalc.report.canvas import INK, METAL_EDGE, OK, SOFT, Picture

MOST_POINTS = 1200  # of each kind in a picture; beyond, nobody tells them apart
MOST_HOVERS = 300
MOST_LINES = 40  # feasible designs behind the best ones
MOST_BARS = 8
MOST_WRITTEN = 5  # entries of a list that are written at their axis
ROW = 0.5  # inches between two axes of the parallel view
FEW = 40  # letters of a check beside its bar
LEGEND = (
    "ringed: on the front of mass, spread and worst margin",
    "line: unbeaten in mass and spread · hollow: a check is not met",
)
LEGEND_OF_NONE = (
    "hollow: a check is not met, here by every design",
    "no front, no line: both are of designs that meet every check",
)


def some(rows: NDArray[np.intp], most: int) -> NDArray[np.intp]:
    """At most so many of the rows, evenly taken."""
    return rows if len(rows) <= most else rows[np.linspace(0, len(rows) - 1, most).astype(np.intp)]


def shown(result: SweepResult, column: str, key: str, rows: NDArray[np.intp]) -> Array:
    """A column in the unit it is shown in."""
    found: Array = np.asarray(result.columns[column], dtype=float)[rows] * quantity(key).factor
    return found


@canvas.drawn
def mass_against_spread(result: SweepResult) -> Picture:
    """Feasible designs coloured by worst margin, the others hollow; a line through those unbeaten in the two.

    Where none is feasible the hollow ones are coloured: how far from it they are.
    """
    kg, opens = quantity("mass.total"), quantity("spread")
    met = np.asarray(result.columns["feasible"], dtype=bool)
    feasible, others = some(np.flatnonzero(met), MOST_POINTS), result.solved
    others = some(others[~met[others]], MOST_POINTS)
    fig = canvas.figure(canvas.WIDE, 4.0)
    ax = canvas.axes(fig, 0.6, 1.05, 0.2, 0.5)
    norm = _norm(_margins(result, np.flatnonzero(met) if met.any() else result.solved))
    _points(ax, result, feasible, others, norm)
    edge = lower_left(result)
    ax.plot(*_at(result, edge), "-", color=INK, linewidth=1.1)
    rows = some(result.front, MOST_HOVERS)
    ax.plot(*_at(result, rows), "o", ms=5, mfc="none", mec=INK, mew=0.8, linestyle="none")
    _limits(ax, result, np.concatenate([feasible, others]))
    _own(ax, result)
    _legend(fig, feasible=bool(met.any()))
    ax.grid(True)
    ax.set_xlabel(f"{kg.label}, frame")
    ax.set_ylabel(f"{opens.label}, frame")
    if norm is not None:
        canvas.colour_bar(fig, norm, f"{quantity('worst_margin').label}, frame", bottom=0.42)
    drawn = canvas.picture(
        fig,
        "mass-spread",
        title="Mass against spread",
        alt=f"Mass against spread of {result.tally.evaluated} evaluated designs, {result.tally.feasible} of them "
        f"feasible, {len(result.front)} on the front. {result.verdict}",
    )
    places = np.stack(_at(result, rows), axis=-1)
    return canvas.hovering(drawn, fig, ax, places, [said(result, int(row)) for row in rows])


def _points(
    ax: Axes,
    result: SweepResult,
    feasible: NDArray[np.intp],
    others: NDArray[np.intp],
    norm: Normalize | None,
) -> None:
    """Feasible designs filled, the others hollow; coloured those that `norm` is of."""
    if len(feasible) or norm is None:
        ax.plot(*_at(result, others), "o", ms=2.4, mfc="none", mec=METAL_EDGE, mew=0.5, linestyle="none")
        colour = _margins(result, feasible)
        ax.scatter(*_at(result, feasible), c=colour, cmap=canvas.FIELD, norm=norm, s=13, linewidths=0)
        return
    edges = canvas.FIELD(norm(_margins(result, others)))
    ax.scatter(*_at(result, others), s=11, facecolors="none", edgecolors=edges, linewidths=1.0)


def _at(result: SweepResult, rows: NDArray[np.intp]) -> tuple[Array, Array]:
    return shown(result, "mass_kg", "mass.total", rows), shown(result, "spread_mm", "spread", rows)


def _margins(result: SweepResult, rows: NDArray[np.intp]) -> Array:
    return shown(result, "worst_margin", "worst_margin", rows)


def _norm(values: Array) -> Normalize | None:
    """Colours from zero on for all but the best twentieth; below zero up to the nearest for all but the worst one.

    A few far ones do not take all the colours. None without a margin to show.
    """
    found = values[np.isfinite(values)]
    if not len(found):
        return None
    low, high = (
        (0.0, np.quantile(found, 0.95)) if found.max() >= 0 else (np.quantile(found, 0.05), found.max())
    )
    return Normalize(float(low), float(high) if high > low else float(low) + 1.0)


def lower_left(result: SweepResult) -> NDArray[np.intp]:
    """Feasible designs unbeaten in mass and spread alone, lightest first."""
    met = np.flatnonzero(result.columns["feasible"])
    mass, spread = _at(result, met)
    kept = met[front(np.stack([mass, spread], axis=-1))]
    return kept[np.argsort(np.asarray(result.columns["mass_kg"])[kept], kind="stable")]


def _limits(ax: Axes, result: SweepResult, rows: NDArray[np.intp]) -> None:
    """All feasible designs, of the others all but the widest-open tenth."""
    _, spread = _at(result, rows)
    _, met = _at(result, np.flatnonzero(result.columns["feasible"]))
    spread = spread[np.isfinite(spread)]
    if len(spread) > 20:
        low, high = spread.min(), max(float(np.quantile(spread, 0.9)), met.max(initial=0.0))
        ax.set_ylim(low - 0.06 * (high - low), high + 0.06 * (high - low))
    ax.margins(x=0.05)
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_locator(canvas.ticks())


def _own(ax: Axes, result: SweepResult) -> None:
    """The best and the layout as drawn, by name."""
    named = "best" if result.tally.feasible else "nearest"
    marks = [(b.mass_kg, b.frame.spread, named, "s", 15) for b in result.best[:1]]
    if result.own is not None:
        marks.append((result.own.mass_kg, result.own.frame.spread, "as drawn", "D", -15))
    for mass, spread, words, mark, away in marks:
        if spread is None:
            continue
        x, y = mass * quantity("mass.total").factor, spread * quantity("spread").factor
        ax.plot([x], [y], mark, ms=7, mfc="none", mec=canvas.SERIES[1], mew=1.6)
        right = x < np.mean(ax.get_xlim())
        canvas.tag(ax, x, y, words, xytext=(9 if right else -9, away), ha="left" if right else "right")


def _legend(fig: Figure, *, feasible: bool) -> None:
    w, h = fig.get_size_inches()
    for i, text in enumerate(LEGEND if feasible else LEGEND_OF_NONE):
        fig.text(0.12 / w, 1 - (0.14 + 0.17 * i) / h, text, va="center", fontsize=7.5)


def said(result: SweepResult, row: int) -> str:
    """One design in words."""
    c = result.columns
    figures = (
        quantity("mass.total").with_unit(float(c["mass_kg"][row])),
        f"spread {quantity('spread').with_unit(float(c['spread_mm'][row]))}",
        f"worst margin {quantity('worst_margin').with_unit(float(c['worst_margin'][row]))}",
    )
    keys = (f"{k.name} = {v}" for k, v in zip(result.plan.keys, result.words(row), strict=True))
    return f"design {int(c['design'][row])}: {', '.join(figures)}; {'; '.join(keys)}"


@dataclass(frozen=True)
class Scale:
    """One axis of the parallel view: what stands on it, from 0 to 1."""

    name: str
    place: Array  # of the rows drawn
    marks: tuple[tuple[float, str], ...]


@canvas.drawn
def parallel(result: SweepResult) -> Picture:
    """Keys and figures of the best designs, each on an axis of its own; thin: the next best feasible ones."""
    ranks = np.asarray(result.columns["rank"], dtype=np.int64)
    order = np.argsort(np.where(ranks > 0, ranks, len(ranks) + 1), kind="stable")
    met = np.asarray(result.columns["feasible"], dtype=bool)
    behind = np.array([r for r in order if met[r]][:MOST_LINES], dtype=np.intp)
    best = np.array([b.design - 1 for b in result.best], dtype=np.intp)
    rows = np.concatenate([behind, best])
    scales = [*_keys(result, rows), *_figures(result, rows)]
    top = 0.1 + 0.19 * len(best)
    fig = canvas.figure(canvas.WIDE, top + 0.25 + ROW * len(scales))
    ax = canvas.axes(fig, 0.3, 0.05, 0.3, top)
    for i in range(len(behind)):
        ax.plot([s.place[i] for s in scales], range(len(scales)), color=METAL_EDGE, linewidth=0.5)
    for i in range(len(best) - 1, -1, -1):
        places = [s.place[len(behind) + i] for s in scales]
        dash = canvas.dashes(len(best))[i]
        ax.plot(places, range(len(scales)), color=canvas.pen(i), linestyle=dash, marker="o", ms=3.5)
    for level, scale in enumerate(scales):
        _axis(ax, level, scale)
    ax.set(xlim=(-0.02, 1.02), ylim=(len(scales) - 0.5, -0.45))
    ax.set_axis_off()
    canvas.legend(fig, [f"design {b.design}" for b in result.best])
    return canvas.picture(
        fig,
        "parallel",
        title="Keys of the best designs",
        alt=f"Keys and figures of {len(best)} best designs and of the {len(behind)} best feasible ones by the frame.",
    )


def _keys(result: SweepResult, rows: NDArray[np.intp]) -> list[Scale]:
    scales = []
    for i, key in enumerate(result.plan.keys):
        taken = np.asarray(result.columns[f"key_{i + 1}"], dtype=float)[rows]
        if not key.levels:
            ends = ((0.0, f"{key.low:g}"), (1.0, f"{key.high:g}"))
            scales.append(Scale(key.name, (taken - key.low) / (key.high - key.low), ends))
            continue
        last = max(1, len(key.levels) - 1)
        every = range(len(key.levels)) if len(key.levels) <= MOST_WRITTEN else (0, last)
        marks = tuple((p / last, canvas.shorten(key.levels[p].label, 60 // (len(every) + 1))) for p in every)
        scales.append(Scale(key.name, taken / last, marks))
    return scales


def _figures(result: SweepResult, rows: NDArray[np.intp]) -> list[Scale]:
    scales = []
    for column, key in (("mass_kg", "mass.total"), ("spread_mm", "spread"), ("worst_margin", "worst_margin")):
        q, values = quantity(key), np.asarray(result.columns[column], dtype=float)[rows]
        sound = values[np.isfinite(values)]
        low, high = (sound.min(), sound.max()) if len(sound) else (0.0, 1.0)
        place = (values - low) / (high - low) if high > low else np.full(len(values), 0.5)
        ends = (
            ((0.0, q.text(float(low))), (1.0, q.text(float(high))))
            if high > low
            else ((0.5, q.text(float(low))),)
        )
        scales.append(Scale(f"{q.label}, frame", place, ends))
    return scales


def _axis(ax: Axes, level: int, scale: Scale) -> None:
    """A line across, its name above its middle, marks below it."""
    ax.plot([0, 1], [level, level], color=SOFT, linewidth=0.8, zorder=1)
    canvas.tag(ax, 0.5, level, canvas.shorten(scale.name, 44), xytext=(0, 8), fontsize=7.5)
    for place, text in scale.marks:
        ax.plot([place], [level], "|", color=SOFT, ms=6)
        side = "left" if place < 0.1 else "right" if place > 0.9 else "center"
        canvas.tag(ax, place, level, text, SOFT, xytext=(0, -9), ha=side, fontsize=7)


@canvas.drawn
def governs(result: SweepResult) -> Picture:
    """Which check has the worst margin, in how many designs; filled: feasible ones."""
    bars = result.governs[:MOST_BARS]
    fig = canvas.figure(canvas.WIDE, 0.75 + 0.42 * max(1, len(bars)))
    ax = canvas.axes(fig, 0.15, 0.4, 0.3, 0.3)
    for i, (name, every, met) in enumerate(bars):
        ax.barh([i], [every], height=0.36, color=canvas.METAL, edgecolor=METAL_EDGE, linewidth=0.6)
        ax.barh([i], [met], height=0.36, color=OK)
        ax.annotate(
            canvas.shorten(name, 58),
            (0, i),
            xytext=(1, 10),
            textcoords="offset points",
            fontsize=7.5,
            va="center",
        )
    ax.set_ylim(len(bars) - 0.65, -0.72)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.xaxis.set_major_locator(canvas.ticks(6))
    ax.set_xlabel("designs whose worst margin it is")
    w, h = fig.get_size_inches()
    fig.text(
        0.12 / w,
        1 - 0.14 / h,
        "filled: of the feasible designs; outlined: of all evaluated",
        va="center",
        fontsize=7.5,
    )
    listed: Sequence[str] = [f"{name}: {every}, feasible {met}" for name, every, met in bars]
    return canvas.picture(
        fig, "governs", title="What governs", alt=f"Checks with the worst margin. {'; '.join(listed)}."
    )
