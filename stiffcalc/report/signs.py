"""The drawing of axes and signs: the same for every study."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyArrowPatch, Polygon

from stiffcalc.report import canvas
from stiffcalc.report.canvas import INK, METAL, METAL_EDGE, PAPER, SERIES, SOFT, WIDE, Picture

Point = tuple[float, float]
AXIS, MOVE = SERIES[0], SERIES[1]


@canvas.drawn
def axes_and_signs() -> Picture:
    """Front, plan and side view of a plain caliper with the axes and the positive opening, tilt, yaw and bow."""
    fig = canvas.figure(WIDE, 5.15)
    _front(_view(fig.add_axes((0.0, 0.56, 1.0, 0.44)), (-118, 118), (70, 178)))
    _plan(_view(fig.add_axes((0.0, 0.02, 0.6, 0.52)), (-80, 80), (-100, 62)))
    _side(_view(fig.add_axes((0.6, 0.02, 0.4, 0.52)), (-64, 64), (-112, 84)))
    return canvas.picture(
        fig,
        "axes",
        title="Axes and signs",
        alt="Three views of a caliper. Seen from outboard: x is tangential, positive toward the trailing end for "
        "forward rotation; y radial, positive away from the rotor's axis; z axial, positive outboard, toward the "
        "reader. From below: opening is positive apart; yaw is positive where the trailing end opens more; bow is the "
        "opening in the middle beyond the line through the ends. From the side: tilt is positive where the top opens "
        "more; usually it is negative, the pad side opening more.",
    )


def _view(ax: Axes, x: Point, y: Point) -> Axes:
    ax.set(xlim=x, ylim=y)
    ax.set_aspect("equal")
    ax.axis("off")
    return ax


def _over(usual: dict[str, Any], style: dict[str, Any]) -> dict[str, Any]:
    return usual | style


def _metal(ax: Axes, points: Sequence[Point], **style: Any) -> None:
    ax.add_artist(Polygon(np.array(points), **_over({"fc": METAL, "ec": INK, "lw": 1.1}, style)))


def _arrow(
    ax: Axes,
    start: Point,
    end: Point,
    colour: str,
    *,
    style: str = "-|>",
    bend: float = 0.0,
    width: float = 1.6,
) -> None:
    ax.add_artist(
        FancyArrowPatch(
            start,
            end,
            arrowstyle=style,
            mutation_scale=11,
            color=colour,
            lw=width,
            shrinkA=0,
            shrinkB=0,
            connectionstyle=f"arc3,rad={bend}",
        )
    )


def _word(
    ax: Axes, x: float, y: float, text: str, colour: str = INK, ha: str = "center", **style: Any
) -> None:
    ax.text(x, y, text, color=colour, ha=ha, va="center", **_over({"fontsize": 8.5}, style))


def _front(ax: Axes) -> None:
    """From outboard, toward the mid-plane: z points at the reader."""
    _word(ax, -116, 172, "seen from outboard", SOFT, "left")
    a = np.linspace(0.86, np.pi - 0.86, 60)
    ax.plot(128 * np.cos(a), 128 * np.sin(a), color=SOFT, lw=1.0, ls=(0, (4, 2)))
    _metal(ax, [(-62, 88), (62, 88), (62, 148), (-62, 148)])
    for x in (-26, 26):
        ax.add_artist(Circle((x, 108), 17, fc=PAPER, ec=METAL_EDGE, lw=1.0))
    _arrow(ax, (0, 118), (52, 118), AXIS)
    _word(ax, 55, 118, "x", AXIS, "left", fontweight="bold")
    _arrow(ax, (0, 118), (0, 162), AXIS)
    _word(ax, 4, 163, "y", AXIS, "left", fontweight="bold")
    ax.add_artist(Circle((0, 118), 3.6, fc=PAPER, ec=AXIS, lw=1.4))
    ax.add_artist(Circle((0, 118), 1.0, fc=AXIS, ec="none"))
    _word(ax, -6, 125, "z", AXIS, "right", fontweight="bold")
    _word(ax, -4, 78, "z toward the reader", AXIS, fontsize=7.5)
    _word(ax, -66, 140, "leading end", INK, "right")
    _word(ax, 66, 140, "trailing end", INK, "left")
    _arrow(ax, (-103, 76), (-72, 106), MOVE, bend=-0.12)
    _word(ax, -116, 112, "forward\nrotation", MOVE, "left", linespacing=1.2)
    _word(ax, 117, 112, "rotor's edge", SOFT, "right")


def _plan(ax: Axes) -> None:
    """From below: with x to the right and z up, y points away from the reader.

    A thin line is the opened inner face, the block the unloaded wall.
    """
    _word(ax, -78, 58, "from below", SOFT, "left")
    x = np.linspace(-58, 58, 41)
    bow = 9 + 9 * np.cos(np.pi * x / 150) + 0.055 * x
    for sign in (1, -1):
        _metal(ax, [(-58, sign * 16), (58, sign * 16), (58, sign * 36), (-58, sign * 36)])
        ax.plot(x, sign * (16 + bow - 6), color=MOVE, lw=1.6)
    for x0 in (-58, 46):
        _metal(ax, [(x0, -16), (x0 + 12, -16), (x0 + 12, 16), (x0, 16)], ec=METAL_EDGE)
    _arrow(ax, (0, -27.5), (0, 27.5), MOVE, style="<|-|>")
    _word(ax, 4, 0, "opening +", MOVE, "left")
    _arrow(ax, (-72, -62), (-50, -62), AXIS)
    _word(ax, -48, -62, "x", AXIS, "left", fontweight="bold")
    _arrow(ax, (-72, -62), (-72, -40), AXIS)
    _word(ax, -72, -34, "z", AXIS, fontweight="bold")
    ax.plot([-44, 72], [-88, -88], color=SOFT, lw=0.8)
    ax.plot([-44, 72], [-78, -66], color=MOVE, lw=1.2, ls=(0, (4, 2)))
    u = np.linspace(0, 1, 41)
    ax.plot(-44 + 116 * u, -78 + 12 * u + 17 * np.sin(np.pi * u), color=MOVE, lw=1.6)
    _arrow(ax, (14, -72), (14, -55), MOVE, style="<|-|>", width=1.2)
    _word(ax, 19, -64, "bow +", MOVE, "left")
    _word(ax, 14, -80, "yaw +", MOVE)
    _word(ax, 14, -95, "opening along x; dashed: line through the ends", SOFT, fontsize=7)


def _side(ax: Axes) -> None:
    """Along x, from the leading end: outboard right."""
    _word(ax, -62, 78, "from the leading end", SOFT, "left")
    for sign in (1, -1):
        _metal(ax, [(sign * 18, -50), (sign * 40, -50), (sign * 40, 50), (sign * 18, 50)])
        tilted = [(18, -50), (40, -54), (54, 47), (32, 51)]
        _metal(ax, [(sign * px, py) for px, py in tilted], fc="none", ec=MOVE, lw=1.5)
    _metal(ax, [(-18, 22), (18, 22), (18, 50), (-18, 50)], ec=METAL_EDGE)
    ax.plot([0, 0], [-62, 58], color=SOFT, lw=0.8, ls=(0, (8, 2, 2, 2)))
    for sign in (1, -1):
        _arrow(ax, (sign * 30, 58), (sign * 50, 55), MOVE, bend=-0.25 * sign)
    _word(ax, 0, 66, "tilt +", MOVE)
    _arrow(ax, (0, -84), (30, -84), AXIS)
    _word(ax, 34, -84, "z", AXIS, "left", fontweight="bold")
    _arrow(ax, (0, -84), (0, -66), AXIS)
    _word(ax, -6, -70, "y", AXIS, "right", fontweight="bold")
    _word(ax, 0, -101, "usual: tilt negative,\nthe pad side opens more", SOFT, linespacing=1.2, fontsize=7)
