"""The opened body, exaggerated: both walls seen from below (opening along the cut) and from the side (tilt)."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from stiffcalc.caliper.body import Body, HalfShape
from stiffcalc.caliper.results import Results, VariantResult
from stiffcalc.condensed import Array
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas
from stiffcalc.report.canvas import INK, METAL, METAL_EDGE, NARROW, SOFT, Picture
from stiffcalc.report.outline import bridge_outline

OPENING, PRESSURE, TILT = quantity("opening"), quantity("pressure"), quantity("tilt_middle")
WORDS = 1.3  # inches kept for the words beside the side view
LEAST = 1e-6  # mm; what opens less does not open, but for rounding
DRAWN = 9.0  # mm on the body by which the most opened half moves in the drawing


@canvas.drawn
def deformed(results: Results, variant: int) -> Picture | None:
    """Plan and side view with openings exaggerated by one stated, round factor, the same for every variant.

    None where no load case holds.
    """
    v = results.variants[variant]
    if not len(v.shape.cut_x):
        return None
    factor = _exaggeration(results)
    fig, plan, side = _two_views(v.body)
    _plan(plan, v, factor)
    _side(side, v, factor)
    fig.text(
        0.5,
        1 - 0.02 / fig.get_size_inches()[1],
        f"movements drawn {factor:g} times too large, half of the opening each side",
        ha="center",
        va="top",
        fontsize=8,
        color=SOFT,
    )
    s, mid = v.shape, _middle(v)
    lead, centre, trail = (OPENING.with_unit(float(s.cut_opening[k])) for k in (0, mid, -1))
    return canvas.picture(
        fig,
        f"deformed-{variant + 1}",
        title="Opened body, exaggerated",
        alt=f"Variant {variant + 1} from below and from the side at {PRESSURE.with_unit(s.pressure)}, movements drawn "
        f"{factor:g} times too large. Opening {lead} at the leading end, {centre} in the middle, {trail} at the "
        "trailing end.",
        variant=variant,
    )


def _exaggeration(results: Results) -> float:
    """Round factor (1, 2 or 5 times a power of ten) that moves the most opened half by at most DRAWN; 1 unopened."""
    most = max(float(np.abs(v.shape.cut_opening).max(initial=0.0)) for v in results.variants)
    raw = 2 * DRAWN / most if most > LEAST else 1.0
    decade = 10.0 ** np.floor(np.log10(raw))
    return float(max(s * decade for s in (1, 2, 5) if s * decade <= raw))


def _middle(v: VariantResult) -> int:
    return int(np.argmin(np.abs(v.shape.cut_x)))


def _along(v: VariantResult, factor: float) -> tuple[Array, Array]:
    """Stations x over the whole wall and the drawn movement of one half there; straight on beyond the last cuts."""
    s, ends = v.shape, v.body.outboard.outline[:, 0]
    a, b = s.cut_opening, s.cut_x
    first = a[0] + (a[1] - a[0]) / (b[1] - b[0]) * (ends.min() - b[0])
    last = a[-1] + (a[-1] - a[-2]) / (b[-1] - b[-2]) * (ends.max() - b[-1])
    x = np.concatenate([[ends.min()], b, [ends.max()]])
    return x, factor / 2 * np.concatenate([[first], a, [last]])


def _depth(body: Body) -> float:
    return body.half_gap + max(body.inboard.thickness, body.outboard.thickness) + DRAWN + 4


def _two_views(body: Body) -> tuple[Figure, Axes, Axes]:
    """Plan above; side below, smaller where the words beside it need the room."""
    low, high = body.outboard.outline.min(axis=0), body.outboard.outline.max(axis=0)
    depth = _depth(body)
    scale = (NARROW - 0.65) / float(high[0] - low[0] + 10)
    above, between, below = 0.25, 0.62, 0.42
    side_w = min(scale * 2 * depth, NARROW - 0.55 - WORDS)
    plan_h, side_h = scale * 2 * depth, side_w / (2 * depth) * float(high[1] - low[1] + 24)
    fig = canvas.figure(NARROW, above + plan_h + between + side_h + below)
    plan = canvas.axes(fig, 0.55, below + side_h + between, 0.1, above)
    side = canvas.axes(fig, 0.55, below, NARROW - 0.55 - side_w, above + plan_h + between)
    plan.set_xlim(low[0] - 5, high[0] + 5)
    plan.set_ylim(-depth, depth)
    side.set_xlim(-depth, depth)
    side.set_ylim(low[1] - 12, high[1] + 12)
    plan.set_xlabel("x, tangential, mm (trailing end →)", labelpad=1)
    plan.set_ylabel("z, axial, mm (outboard ↑)")
    side.set_xlabel("z, axial, mm (outboard →)", labelpad=1)
    side.set_ylabel("y, radial, mm")
    return fig, plan, side


def _plan(ax: Axes, v: VariantResult, factor: float) -> None:
    s, body = v.shape, v.body
    stations, move = _along(v, factor)
    for b in body.bridges:
        x = np.linspace(b.x0, b.x1, 9)
        z = body.half_gap + np.interp(x, stations, move)
        ax.add_artist(
            Polygon(
                np.vstack([np.column_stack([x, z]), np.column_stack([x, -z])[::-1]]),
                fc=METAL,
                ec=METAL_EDGE,
                lw=0.9,
            )
        )
        if b.jointed:
            ax.plot([b.x0, b.x1], [0, 0], color=INK, lw=1.2)
    for half, sign in ((body.outboard, 1.0), (body.inboard, -1.0)):
        _wall(ax, half, stations, body.half_gap, move, sign)
    ax.axhline(0, color=SOFT, lw=0.8, ls=(0, (8, 2, 2, 2)))
    for k, side in ((0, 1), (_middle(v), 0), (len(s.cut_x) - 1, -1)):
        reach = body.half_gap + factor / 2 * float(s.cut_opening[k])
        _gap_arrow(ax, float(s.cut_x[k]), reach, float(s.cut_opening[k]), side)


def _wall(ax: Axes, half: HalfShape, x: Array, gap: float, move: Array, sign: float) -> None:
    """One wall in plan: where it was (dotted), where it is, and its bores."""
    still = np.array([[x[0], gap], [x[-1], gap], [x[-1], gap + half.thickness], [x[0], gap + half.thickness]])
    moved = np.vstack(
        [np.column_stack([x, gap + move]), np.column_stack([x, gap + half.thickness + move])[::-1]]
    )
    ax.add_artist(Polygon(moved * [1, sign], fc=METAL, ec=INK, lw=1.2))
    ax.add_artist(Polygon(still * [1, sign], fc="none", ec=SOFT, lw=0.8, ls=(0, (1.5, 2))))
    for bore in half.bores:
        xs = np.linspace(bore.x - bore.diameter / 2, bore.x + bore.diameter / 2, 9)
        z = gap + np.interp(xs, x, move)
        floor = z + half.thickness - half.floor
        cup = np.vstack([np.column_stack([xs, z]), np.column_stack([xs, floor])[::-1]])
        ax.add_artist(Polygon(cup * [1, sign], fc=canvas.PAPER, ec=METAL_EDGE, lw=0.9))


def _gap_arrow(ax: Axes, x: float, reach: float, opening: float, side: int) -> None:
    """A double arrow across the gap with the opening beside it: to the right (1), on it (0) or to the left (-1)."""
    ax.annotate(
        "",
        (x, reach),
        (x, -reach),
        arrowprops={
            "arrowstyle": "<|-|>",
            "color": INK,
            "lw": 1.0,
            "shrinkA": 0,
            "shrinkB": 0,
            "mutation_scale": 9,
        },
    )
    sign = "+" if opening > 0 else ""
    canvas.tag(
        ax,
        x,
        0,
        sign + OPENING.with_unit(opening),
        xytext=(5 * side, 0),
        ha=("center", "left", "right")[side],
    )


def _side(ax: Axes, v: VariantResult, factor: float) -> None:
    """The cut at the middle: each wall moved and tilted by half; the bridge beside it behind."""
    body, s, k = v.body, v.shape, _middle(v)
    low, high = float(body.outboard.outline[:, 1].min()), float(body.outboard.outline[:, 1].max())
    end = min(body.bridges, key=lambda b: abs(b.x0 + b.x1))
    under = float(bridge_outline(end)[:-3, 1].min())
    g = body.half_gap
    ax.add_artist(
        Polygon(
            [[-g, under], [g, under], [g, end.y1], [-g, end.y1]],
            fc=METAL,
            ec=METAL_EDGE,
            lw=0.9,
            ls=(0, (4, 2)),
        )
    )
    for half, sign in ((body.outboard, 1.0), (body.inboard, -1.0)):
        z = np.array([body.half_gap, body.half_gap + half.thickness])
        still = np.array([[z[0], low], [z[1], low], [z[1], high], [z[0], high]])
        moved = still + _rigid(
            still, factor * s.cut_opening[k] / 2, factor * s.cut_slope[k] / 2, (z.mean(), s.y_m)
        )
        ax.add_artist(Polygon(moved * [sign, 1], fc=METAL, ec=INK, lw=1.2))
        ax.add_artist(Polygon(still * [sign, 1], fc="none", ec=SOFT, lw=0.8, ls=(0, (1.5, 2))))
    ax.axvline(0, color=SOFT, lw=0.8, ls=(0, (8, 2, 2, 2)))
    _side_words(ax, v, k)


def _side_words(ax: Axes, v: VariantResult, cut: int) -> None:
    s = v.shape
    tilt = next((c.tilt_middle for c in v.load_cases if c.pressure == s.pressure), None)
    words = [
        f"cut at x = {s.cut_x[cut]:.0f} mm",
        f"opening {OPENING.with_unit(float(s.cut_opening[cut]))}",
        "tilt not published\n(frame model only)" if tilt is None else f"tilt {TILT.with_unit(tilt)}",
    ]
    place: dict[str, Any] = {"xycoords": "axes fraction", "xytext": (8, 0), "textcoords": "offset points"}
    ax.annotate("\n".join(words), (1, 0.62), va="center", annotation_clip=False, linespacing=1.5, **place)


def _rigid(points: Array, shift: float, turn: float, about: tuple[float, float]) -> Array:
    """Movement in (z, y) of points of a wall that opens by `shift` and turns by `turn` = d(shift)/dy, small angles."""
    z, y = points[:, 0] - about[0], points[:, 1] - about[1]
    return np.column_stack([shift + turn * y, -turn * z])
