"""Pictures of readings beside a prediction: each quantity over pressure, and all of them against the prediction."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from stiffcalc.condensed import Array
from stiffcalc.quantities import quantity
from stiffcalc.readings.compare import SeriesFit
from stiffcalc.readings.kinds import title
from stiffcalc.readings.lines import Line
from stiffcalc.readings.results import Correlation
from stiffcalc.report import canvas
from stiffcalc.report.canvas import INK, SOFT, Picture

FIT_DASH = (0, (5, 2))
MARKS = ("o", "s", "^", "D", "v", "P", "X", "p")
WIDE_BAR = 2.0  # standard uncertainties drawn each way
NEAR = 10.0  # %, lines beside the diagonal
PRESSURE = quantity("pressure")
READING: dict[str, Any] = {"linestyle": "none", "markersize": 3.6, "elinewidth": 0.8}


@canvas.drawn
def overlay(c: Correlation, name: str, point: str) -> Picture:
    """Readings of one quantity, zeroed, over pressure, with their fitted line and the prediction's preload band."""
    fits = [f for f in c.fits if (f.series.quantity, f.series.point) == (name, point)]
    kind = fits[0].series.kind.quantity
    fig = canvas.figure(canvas.WIDE, 3.2 + 0.19 * len(fits))
    used = canvas.legend(fig, [f"{f.series.case}, {c.temperature[f.series.case]:.0f} °C" for f in fits])
    ax = canvas.axes(fig, 0.62, 0.45, 0.14, used + 0.44)
    for i, f in enumerate(fits):
        _prediction(ax, c, f, colour=canvas.pen(i))
    for i, f in enumerate(fits):
        _readings(ax, f, colour=canvas.pen(i))
    ax.set_xlim(0, 1.02 * max(float(f.series.pressure.max()) for f in fits))
    ax.xaxis.set_major_locator(canvas.ticks(9))
    ax.set_xlabel(PRESSURE.label)
    ax.set_ylabel(f"{title(name, point)}, {kind.shown}")
    ax.grid(True)
    _key(ax, banded=any(len(f.expected) > 1 for f in fits))
    return canvas.picture(
        fig,
        f"overlay-{name}-{point}".replace(" ", "-"),
        title=title(name, point).capitalize(),
        alt=f"{title(name, point)} in {kind.shown} over line pressure, measured and predicted. "
        + " ".join(_in_words(f) for f in fits),
    )


def _prediction(ax: Axes, c: Correlation, f: SeriesFit, *, colour: str) -> None:
    curves, factor = c.curves[f.series.case], f.series.kind.quantity.factor
    found = curves.values.get((f.series.quantity, f.series.point))
    if found is not None:
        ax.fill_between(
            curves.pressure, found[0] * factor, found[-1] * factor, color=colour, alpha=0.22, linewidth=0
        )
        ax.plot(curves.pressure, found[0] * factor, color=colour, linewidth=1.2)


def _readings(ax: Axes, f: SeriesFit, *, colour: str) -> None:
    s, factor = f.series, f.series.kind.quantity.factor
    value = (s.value - f.zero) * factor
    dropped = s.up & (s.pressure < f.found.take_up) if f.found else np.zeros_like(s.up)
    bars = None if s.uncertainty is None else WIDE_BAR * s.uncertainty * factor
    for chosen, face, alpha in (
        (s.up & ~dropped, colour, 1.0),
        (~s.up, canvas.PAPER, 0.75),
        (dropped, "none", 0.45),
    ):
        ax.errorbar(
            s.pressure[chosen],
            value[chosen],
            None if bars is None else bars[chosen],
            marker="x" if chosen is dropped else "o",
            color=colour,
            markerfacecolor=face,
            alpha=alpha,
            **READING,
        )
    if f.found is not None:
        _fitted(ax, f.found.line, f, factor)


def _fitted(ax: Axes, line: Line, f: SeriesFit, factor: float) -> None:
    x = f.series.pressure[f.kept]
    ends = np.array([x.min(), *([line.bend.at] if line.bend else []), x.max()])
    ax.plot(ends, line.at(ends) * factor, color=INK, linewidth=1.1, linestyle=FIT_DASH)
    if line.bend is not None:
        y = float(line.at(np.array(line.bend.at))) * factor
        ax.plot([line.bend.low, line.bend.high], [y, y], color=INK, linewidth=1.4, marker="|", markersize=6)
        ax.plot([line.bend.at], [y], color=INK, marker="D", markersize=4.5, markerfacecolor=canvas.PAPER)


def _key(ax: Axes, *, banded: bool) -> None:
    """What the marks mean, in ink, in two columns above the axes."""
    mark: dict[str, Any] = {"linestyle": "none", "markersize": 4, "color": INK}
    handles: list[tuple[Artist, str]] = [
        (Line2D([], [], marker="o", **mark), f"measured up, ±{WIDE_BAR:g} u"),
        (Line2D([], [], marker="o", markerfacecolor=canvas.PAPER, **mark), "measured down"),
        (Line2D([], [], marker="x", **mark), "take-up, dropped"),
        (Line2D([], [], color=INK, linewidth=1.1, linestyle=FIT_DASH), "fitted, knee"),
        (Line2D([], [], color=INK, linewidth=1.2), "predicted" + (", min. preload" if banded else "")),
    ]
    if banded:
        handles.append((Patch(color=INK, alpha=0.22, linewidth=0), "to max. preload"))
    ax.legend(
        *zip(*handles, strict=True),
        loc="lower left",
        bbox_to_anchor=(-0.12, 1.0),
        ncols=3,
        frameon=False,
        fontsize=7.5,
        handlelength=1.6,
        columnspacing=1.0,
        borderaxespad=0.3,
    )


def _in_words(f: SeriesFit) -> str:
    if f.found is None:
        return f"{f.series.case}: {f.why_not}."
    bend = f.found.line.bend
    knee = "no knee" if bend is None else f"knee at {PRESSURE.with_unit(bend.at)}"
    ratio = f.why_not if f.ratio is None else f"{f.ratio.value:.2f} times the predicted"
    return f"{f.series.case}: {ratio}, {knee}."


@canvas.drawn
def parity(c: Correlation) -> Picture:
    """Measured against predicted at nominal preload, each as a share of its series' largest prediction."""
    groups = [(q, _pairs(c, q.quantity, q.point)) for q in c.comparisons]
    drawn = [(q, p) for q, p in groups if len(p[0])]
    columns = 2
    rows = -(-(len(drawn) + 1) // columns)
    fig = canvas.figure(canvas.WIDE, 3.75 + 0.19 * rows)
    ax = canvas.axes(fig, 0.62, 0.45, 0.14, 0.2 + 0.19 * rows)
    top = max((float(np.nanmax(np.concatenate(p))) for _, p in drawn), default=100.0) * 1.04
    ends = np.array([0.0, top])
    ax.fill_between(
        ends,
        ends * (1 - NEAR / 100),
        ends * (1 + NEAR / 100),
        color=SOFT,
        alpha=0.13,
        linewidth=0,
        label=f"within {NEAR:g} %",
    )
    ax.plot(ends, ends, color=INK, linewidth=1.0)
    for i, (q, (expected, measured)) in enumerate(drawn):
        style: dict[str, Any] = {"color": canvas.pen(i), "linestyle": "none", "markersize": 4, "alpha": 0.85}
        ax.plot(expected, measured, marker=MARKS[i % len(MARKS)], label=title(q.quantity, q.point), **style)
    ax.set_xlim(0, 104)
    ax.set_ylim(0, top)
    ax.set_xlabel("predicted, nominal preload, % of the largest")
    ax.set_ylabel("measured, % of the largest predicted")
    ax.grid(True)
    ax.legend(
        loc="lower left",
        bbox_to_anchor=(-0.12, 1.0),
        ncols=columns,
        frameon=False,
        fontsize=8,
        handlelength=1.0,
        borderaxespad=0.3,
    )
    said = [
        f"{title(q.quantity, q.point)}: {_ratio(q.ratio.value if q.ratio else None, q.why_not)}."
        for q in c.comparisons
    ]
    return canvas.picture(
        fig,
        "parity",
        title="Measured against predicted",
        alt="Measured over predicted values of every quantity, as shares of the largest predicted. "
        + " ".join(said),
    )


def _ratio(value: float | None, why_not: str) -> str:
    return why_not if value is None else f"{value:.2f} times the predicted"


def _pairs(c: Correlation, name: str, point: str) -> tuple[Array, Array]:
    """Expected and measured shares, %, of the readings that lines were fitted to."""
    expected, measured = [np.empty(0)], [np.empty(0)]
    for f in c.fits:
        if (f.series.quantity, f.series.point) != (name, point) or not f.expected:
            continue
        values = c.curves[f.series.case].at((name, point), f.series.pressure[f.kept])
        assert values is not None
        nominal = values[len(values) // 2]
        largest = nominal[np.nanargmax(np.abs(nominal))]
        if largest:
            expected.append(100 * nominal / largest)
            measured.append(100 * (f.series.value - f.zero)[f.kept] / largest)
    return np.concatenate(expected), np.concatenate(measured)
