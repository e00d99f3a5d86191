"""Pictures of layouts at equal mass: spread, and stiffness per mass, against total mass."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from stiffcalc.explore.compare_results import CompareResult, Curve, Point
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas, compare_words
from stiffcalc.report.canvas import BAD, INK, Picture

FRAME_DASH = (0, (3, 2))
MARK = 5.0
HOLLOW: Any = {
    "marker": "o",
    "ms": MARK + 2.0,
    "mfc": canvas.PAPER,
    "mew": 1.6,
    "linestyle": "none",
    "zorder": 4,
}


def met(curve: Curve) -> list[Point]:
    """Points that meet their checks, each design once, lightest first."""
    found = {p.mass: p for p in curve.points if p is not None and p.meets}
    return [found[m] for m in sorted(found)]


@canvas.drawn
def spread(result: CompareResult) -> Picture:
    """Spread against mass of every layout, the model that counts as points, the frame dashed; begins and limits."""
    q = quantity("spread")
    fig, ax = _axes(result, top=0.57)
    for i, c in enumerate(result.curves):
        points = met(c)
        mass, value = [p.mass for p in points], [p.spread * q.factor for p in points]
        error = [2.0 * q.factor * _own(p) for p in points]
        ax.errorbar(
            mass, value, yerr=error, color=canvas.pen(i), marker="o", ms=MARK, elinewidth=0.9, capsize=2
        )
        if result.model != "frame":
            frame = [np.nan if p.spread_frame is None else p.spread_frame * q.factor for p in points]
            ax.plot(mass, frame, color=canvas.pen(i), linewidth=0.9, linestyle=FRAME_DASH)
        _begin(ax, i, c, lambda p: p.spread * q.factor)
    _range(ax, result, lambda p: p.spread * q.factor)
    _limits(ax, result)
    for cross in result.crossings:
        ax.plot(
            [cross.crossing_mass],
            [_height(result, cross.first, cross.crossing_mass)],
            "x",
            color=INK,
            ms=7,
            zorder=5,
        )
    _key(fig, result)
    ax.set_ylabel(q.label)
    drawn = canvas.picture(
        fig,
        "spread-mass",
        title=f"Spread against total mass, {result.case}, {result.case_pressure:g} MPa",
        alt=f"Spread in micrometres against total mass, one line for each layout. {result.verdict}",
    )
    return _hovering(drawn, fig, ax, result, lambda p: p.spread * q.factor)


@canvas.drawn
def stiffness(result: CompareResult) -> Picture | None:
    """Stiffness per mass against mass; None where no case has pressure."""
    q = quantity("stiffness_per_mass")
    if all(p.stiffness_per_mass is None for c in result.curves for p in met(c)):
        return None
    fig, ax = _axes(result, top=0.15)
    for i, c in enumerate(result.curves):
        points = [p for p in met(c) if p.stiffness_per_mass is not None]
        ax.plot(
            [p.mass for p in points], [_stiff(p) for p in points], color=canvas.pen(i), marker="o", ms=MARK
        )
        _begin(ax, i, c, _stiff)
    _range(ax, result, _stiff)
    ax.set_ylabel(q.label)
    drawn = canvas.picture(
        fig,
        "stiffness-mass",
        title="Stiffness per mass against total mass",
        alt="Clamp force over spread and mass against total mass, one line for each layout.",
    )
    return _hovering(drawn, fig, ax, result, _stiff)


def _begin(ax: Axes, i: int, c: Curve, value: Callable[[Point], float]) -> None:
    """A hollow mark where a layout begins: nothing lighter meets every check."""
    if c.begin is not None:
        ax.plot([c.begin.mass], [value(c.begin)], color=canvas.pen(i), **HOLLOW)


def _stiff(p: Point) -> float:
    return np.nan if p.stiffness_per_mass is None else p.stiffness_per_mass


def _own(p: Point) -> float:
    """What of a spread's uncertainty does not fall out of a difference of layouts of one metal, mm."""
    return 0.0 if p.scatter is None else float(np.hypot(p.scatter.model, p.scatter.preload))


def _axes(result: CompareResult, *, top: float) -> tuple[Figure, Axes]:
    count = len(result.curves)
    fig = canvas.figure(canvas.WIDE, 3.0 + top + 0.19 * count)
    used = canvas.legend(fig, [c.name for c in result.curves])
    ax = canvas.axes(fig, 0.6, 0.45, 0.35, used + top)
    ax.set_xlabel(quantity("mass.total").label)
    ax.grid(True)
    return fig, ax


def _range(ax: Axes, result: CompareResult, value: Callable[[Point], float]) -> None:
    """All points from zero up, and the layouts' numbers beside the last ones."""
    drawn = [(i, points[-1]) for i, c in enumerate(result.curves) if (points := met(c))]
    every = [value(p) for c in result.curves for p in met(c)]
    ax.set_xlim(result.masses[0] - _pad(result), result.masses[-1] + _pad(result))
    ax.set_ylim(0.0, 1.12 * max((v for v in every if np.isfinite(v)), default=1.0))
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_locator(canvas.ticks())
    heights = canvas.apart([value(p) for _, p in drawn], gap=0.065 * ax.get_ylim()[1])
    for (i, _), y in zip(drawn, heights, strict=True):
        ax.annotate(
            str(i + 1),
            (1.03, y),
            xycoords=("axes fraction", "data"),
            annotation_clip=False,
            **canvas.badge_style(i),
        )


def _pad(result: CompareResult) -> float:
    return 0.06 * (result.masses[-1] - result.masses[0])


def _limits(ax: Axes, result: CompareResult) -> None:
    """The study's limits of spread and mass, where they lie in the picture."""
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    dash = (0, (5, 2))
    if (
        result.spread_limit is not None
        and low < (y := result.spread_limit * quantity("spread").factor) < high
    ):
        ax.axhline(y, color=BAD, linewidth=1.0, linestyle=dash)
        canvas.tag(ax, right, y, "limit of the spread", BAD, xytext=(-4, 7), ha="right", fontsize=7.5)
    if result.mass_limit is not None and left < result.mass_limit < right:
        ax.axvline(result.mass_limit, color=BAD, linewidth=1.0, linestyle=dash)
        canvas.tag(
            ax, result.mass_limit, high, "limit of the mass", BAD, xytext=(-4, -8), ha="right", fontsize=7.5
        )


def _height(result: CompareResult, name: str, mass: float) -> float:
    points = next(met(c) for c in result.curves if c.name == name)
    return (
        float(np.interp(mass, [p.mass for p in points], [p.spread for p in points]))
        * quantity("spread").factor
    )


def _key(fig: Figure, result: CompareResult) -> None:
    """What the kinds of line mean, in ink, whatever the layout's colour."""
    handles = [Line2D([], [], color=INK, marker="o", ms=MARK)]
    said = [f"{result.model}, bar: ± 2 u without the moduli"]
    if result.model != "frame":
        handles.append(Line2D([], [], color=INK, linewidth=0.9, linestyle=FRAME_DASH))
        said.append("frame")
    if any(c.begin is not None for c in result.curves):
        handles.append(Line2D([], [], color=INK, **HOLLOW))
        said.append("lightest")
    if result.crossings:
        handles.append(Line2D([], [], color=INK, marker="x", linestyle="none", ms=7))
        said.append("crossing")
    _, h = fig.get_size_inches()
    top = 1.0 - (0.06 + 0.19 * len(result.curves) + 0.02) / h
    fig.legend(
        handles,
        said,
        loc="upper left",
        bbox_to_anchor=(0.015, top),
        frameon=False,
        fontsize=7.5,
        ncols=2,
        handlelength=2.0,
        columnspacing=1.2,
    )


def _hovering(
    drawn: Picture, fig: Figure, ax: Axes, result: CompareResult, value: Callable[[Point], float]
) -> Picture:
    found = [(p.mass, value(p), said(c, p)) for c in result.curves for p in met(c) if np.isfinite(value(p))]
    places = np.array([(x, y) for x, y, _ in found]).reshape(-1, 2)
    return canvas.hovering(drawn, fig, ax, places, [words for _, _, words in found])


def said(curve: Curve, p: Point) -> str:
    """One point in words."""
    figures = (
        quantity("mass.total").with_unit(p.mass),
        f"spread {quantity('spread').with_unit(p.spread)}",
        f"worst margin {quantity('worst_margin').with_unit(p.figures.worst_margin)} of {p.figures.governs}",
        f"limited by {compare_words.limited(p)}",
    )
    free = (f"{f.name} = {compare_words.dimension(f, v)}" for f, v in zip(curve.free, p.keys, strict=True))
    return f"{curve.name}: {', '.join(figures)}; {'; '.join(free)}"
