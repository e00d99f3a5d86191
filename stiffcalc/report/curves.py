"""Pictures over line pressure: opening, and bolt force."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from stiffcalc.caliper.results import Results, VariantResult
from stiffcalc.condensed import Array
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas, choose, words
from stiffcalc.report.canvas import INK, SOFT, Picture

FRAME_DASH = (0, (3, 2))
ONSET: dict[str, Any] = {
    "marker": "o",
    "markersize": 7,
    "markerfacecolor": canvas.PAPER,
    "markeredgewidth": 1.8,
}
PRESSURE, SPREAD, FORCE = quantity("pressure"), quantity("spread"), quantity("bolt_force")


@canvas.drawn
def opening(results: Results) -> Picture:
    """Spread against pressure of all variants: headline at minimum preload, band up to maximum, frame thin, onset."""
    count = len(results.variants)
    fig = canvas.figure(canvas.WIDE, 3.25 + 0.19 * count)
    used = canvas.legend(fig, [v.name for v in results.variants])
    ax = canvas.axes(fig, 0.55, 0.45, 0.3, used + 0.42)
    ends = []
    for i, v in enumerate(results.variants):
        _opening_curve(ax, v, colour=canvas.pen(i))
        ends.append(_last(v.sweep.spread[0]) * SPREAD.factor)
    ax.set_ylim(0, 1.06 * (max(_most(v.sweep.spread) for v in results.variants) * SPREAD.factor or 1.0))
    _pressure_axis(ax, results.variants)
    for i, y in enumerate(canvas.apart(ends, gap=0.062 * ax.get_ylim()[1])):
        at: dict[str, Any] = {"xycoords": ("axes fraction", "data"), "annotation_clip": False}
        ax.annotate(str(i + 1), (1.027, y), **at, **canvas.badge_style(i))
    ax.set_ylabel(SPREAD.label)
    _line_key(ax, banded=any(len(v.sweep.spread) > 1 for v in results.variants))
    return canvas.picture(
        fig,
        "opening",
        title="Opening against pressure",
        alt="Spread in micrometres against line pressure in megapascal, one line for each variant, with onset marks. "
        + " ".join(_opening_words(i, v) for i, v in enumerate(results.variants)),
    )


def _opening_curve(ax: Axes, variant: VariantResult, *, colour: str) -> None:
    s = variant.sweep
    low, high = s.spread[0] * SPREAD.factor, s.spread[-1] * SPREAD.factor
    ax.fill_between(s.pressure, low, high, color=colour, alpha=0.22, linewidth=0)
    ax.plot(s.pressure, low, color=colour)
    ax.plot(s.pressure, s.spread_frame[0] * SPREAD.factor, color=colour, linewidth=0.9, linestyle=FRAME_DASH)
    joint = choose.first_to_open(choose.highest(variant))
    if joint is not None and 0 < joint.onset_MPa <= s.pressure[-1]:
        y = float(np.interp(joint.onset_MPa, s.pressure, low))
        ax.plot([joint.onset_MPa], [y], **ONSET, markeredgecolor=colour)


def _most(values: Array) -> float:
    """The greatest value there is; 0 where a joint never held."""
    return (
        float(np.max(values, where=np.isfinite(values), initial=-np.inf))
        if np.isfinite(values).any()
        else 0.0
    )


def _last(values: Array) -> float:
    """The last value before a joint is no longer held."""
    known = values[np.isfinite(values)]
    return float(known[-1]) if len(known) else 0.0


def _line_key(ax: Axes, *, banded: bool) -> None:
    """What the kinds of line mean, in ink, whatever the variant's colour."""
    handles: list[Artist] = [
        Line2D([], [], color=INK),
        Line2D([], [], color=INK, linewidth=0.9, linestyle=FRAME_DASH),
    ]
    words = ["minimum preload" if banded else "spread", "frame model"]
    if banded:
        handles += [
            Patch(color=INK, alpha=0.22, linewidth=0),
            Line2D([], [], **ONSET, markeredgecolor=INK, linestyle="none"),
        ]
        words += ["up to maximum preload", "onset"]
    ax.legend(
        handles, words, loc="upper left", frameon=False, fontsize=8, handlelength=2.2, borderaxespad=0.2
    )


def _opening_words(index: int, variant: VariantResult) -> str:
    case = choose.highest(variant)
    joint = choose.first_to_open(case)
    first = "" if joint is None else f", onset {words.onset(joint.onset_MPa)}"
    opened = "not held" if case.spread is None else SPREAD.with_unit(case.spread)
    at = f"{opened} at {PRESSURE.with_unit(case.pressure)}"
    return f"Variant {index + 1}: {at} ({case.model}){first}."


@canvas.drawn
def bolt_force(results: Results, variant: int) -> Picture | None:
    """Force of each bolt against pressure, a band from minimum to maximum preload; None without bolts."""
    v = results.variants[variant]
    if not v.sweep.bolt_force.shape[-1]:
        return None
    force, groups = v.sweep.bolt_force * FORCE.factor, _alike(v.sweep.bolt_force)
    fig = canvas.figure(canvas.NARROW, 3.3)
    ax = canvas.axes(fig, 0.55, 0.45, 0.82, 0.42)
    ax.set_ylim(*_force_range(results))
    ax.fill_between(
        v.sweep.pressure, force[0].min(axis=1), force[-1].max(axis=1), color=SOFT, alpha=0.13, linewidth=0
    )
    for g, dash in zip(groups, canvas.dashes(len(groups)), strict=True):
        _bolt_lines(ax, v.sweep.pressure, force[:, :, g[0]], dash=dash)
    _preload_words(ax, force[:, 0, 0])
    _bolt_labels(ax, [(_bolts(g), _last(force[0, :, g[0]]), INK) for g in groups] + _allowed(ax, v))
    _pressure_axis(ax, [v])
    ax.set_ylabel(FORCE.label)
    spans = "; ".join(f"{_bolts(g)} {_span(v.sweep.bolt_force[:, :, g[0]])}" for g in groups)
    return canvas.picture(
        fig,
        f"bolts-{variant + 1}",
        title="Bolt force against pressure, 20 °C",
        alt=f"Force of the bolts of variant {variant + 1} in kilonewton against line pressure, from minimum to maximum "
        f"preload; the dashed line is the proof load. At the highest pressure: {spans}.",
        variant=variant,
    )


def _bolt_lines(ax: Axes, pressure: Array, force: Array, *, dash: canvas.Dash) -> None:
    for row, width in zip(force, (1.8, 0.8, 1.8), strict=False):
        ax.plot(pressure, row, linewidth=width, color=INK, linestyle=dash)


def _preload_words(ax: Axes, start: Array) -> None:
    for y, word in zip(start, ("minimum", "nominal", "maximum"), strict=False):
        canvas.tag(ax, 0.0, float(y), f"{word} preload", SOFT, xytext=(4, -9), ha="left")


def _bolt_labels(ax: Axes, labels: Sequence[tuple[str, float, str]]) -> None:
    """Words in the right margin, tied to their heights (text, height, colour)."""
    low, high = ax.get_ylim()
    places = canvas.apart([y for _, y, _ in labels], gap=0.06 * (high - low))
    for (text, end, colour), y in zip(labels, places, strict=True):
        ax.annotate(
            text,
            xy=(1.0, end),
            xytext=(1.04, y),
            xycoords=("axes fraction", "data"),
            fontsize=8,
            va="center",
            textcoords=("axes fraction", "data"),
            annotation_clip=False,
            color=colour,
            arrowprops={"arrowstyle": "-", "color": SOFT, "lw": 0.7, "shrinkA": 0, "shrinkB": 0},
        )


def _allowed(ax: Axes, variant: VariantResult) -> list[tuple[str, float, str]]:
    """Draw the smallest proof load of the bolts and return its label."""
    loads = [b.proof_load for b in variant.preload_life]
    if not loads:
        return []
    y = min(loads) * FORCE.factor
    ax.set_ylim(top=max(ax.get_ylim()[1], 1.04 * y))
    ax.axhline(y, color=canvas.BAD, linewidth=1.4, linestyle=(0, (6, 2, 1.5, 2)))
    return [(f"proof {FORCE.text(min(loads))}", y, canvas.BAD)]


def _force_range(results: Results) -> tuple[float, float]:
    """The same force axis for every variant, so that pictures compare by eye."""
    all_ = [v.sweep.bolt_force * FORCE.factor for v in results.variants if v.sweep.bolt_force.size]
    low, high = -max(_most(-a) for a in all_), max(_most(a) for a in all_)
    pad = 0.08 * (high - low) + 0.5
    return max(0.0, low - pad), high + pad


def _alike(force: Array) -> list[list[int]]:
    """Bolts whose curves cannot be told apart in print (0.3 % of the largest force) share a line."""
    groups: list[list[int]] = []
    near = 3e-3 * _most(np.abs(force))
    for j in range(force.shape[-1]):
        for g in groups:
            if _most(np.abs(force[:, :, j] - force[:, :, g[0]])) < near:
                g.append(j)
                break
        else:
            groups.append([j])
    return groups


def _bolts(group: Sequence[int]) -> str:
    return ("bolt " if len(group) == 1 else "bolts ") + ", ".join(str(j + 1) for j in group)


def _span(force: Array) -> str:
    return f"{FORCE.text(_last(force[0]))} to {FORCE.with_unit(_last(force[-1]))}"


def _pressure_axis(ax: Axes, variants: Sequence[VariantResult]) -> None:
    """Pressure from zero, a grid, and on top a tick with the letter of each load case."""
    top = max(float(v.sweep.pressure[-1]) for v in variants) or 1.0  # no load case need have pressure
    ax.set_xlim(0, top)
    ax.xaxis.set_major_locator(canvas.ticks(9))
    ax.set_xlabel(PRESSURE.label)
    ax.grid(True)
    for p, text in _case_marks(variants, near=0.045 * top):
        ax.plot(
            [p, p], [1.0, 1.03], transform=ax.get_xaxis_transform(), color=SOFT, linewidth=1, clip_on=False
        )
        ax.annotate(
            text,
            (p, 1.035),
            xycoords=("data", "axes fraction"),
            fontsize=8,
            ha="center",
            va="bottom",
            color=SOFT,
        )


def _case_marks(variants: Sequence[VariantResult], *, near: float) -> list[tuple[float, str]]:
    letters = choose.case_letters(variants)
    marks: list[tuple[float, str]] = []
    for p, name in sorted({(c.pressure, c.name) for v in variants for c in v.load_cases}):
        if marks and p - marks[-1][0] < near:
            text = marks[-1][1]
            marks[-1] = (
                marks[-1][0],
                text if letters[name] in text.split(",") else f"{text},{letters[name]}",
            )
        else:
            marks.append((p, letters[name]))
    return marks
