"""Pictures of a search for pockets: the depth field with the rectangles that follow it, and what a cutter leaves."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.patches import Circle, Polygon, Rectangle
from matplotlib.patheffects import withStroke

from stiffcalc.condensed import Array
from stiffcalc.explore.pocket_results import HalfField, Pockets
from stiffcalc.quantities import percent, quantity
from stiffcalc.report import canvas
from stiffcalc.report.canvas import MAP_INK, MAP_PAPER, Picture

HALO = [withStroke(linewidth=2.6, foreground=MAP_PAPER, alpha=0.6)]
WIDE = canvas.WIDE  # no wider: words of a wider picture are too small to read on a narrow screen
LEFT, RIGHT, BOTTOM, TOP = 0.5, 0.1, 1.05, 0.1
CUTS = {
    "field": "The depth that costs least, and the pockets that follow it",
    "cut": "What a cutter leaves of the free field",
}


@canvas.drawn
def depths(found: Pockets, index: int, which: str) -> Picture:
    """The outer face of one half seen from the front: depth in colour, `which` of `CUTS`; pockets by number."""
    h, q = found.halves[index], quantity("pocket.depth")
    low, high = h.outline.min(axis=0) - 4.0, h.outline.max(axis=0) + 4.0
    scale = (WIDE - LEFT - RIGHT) / (high[0] - low[0])
    fig = canvas.figure(WIDE, BOTTOM + TOP + scale * (high[1] - low[1]))
    ax = canvas.axes(fig, LEFT, BOTTOM, RIGHT, TOP)
    ax.set_xlim(low[0], high[0])
    ax.set_ylim(low[1], high[1])
    ax.set_xlabel("x, tangential, mm (trailing end →)", labelpad=1)
    ax.set_ylabel("y, radial, mm")
    field: Array = getattr(h, which)
    norm = Normalize(0.0, float(h.allowed.max()))
    ax.pcolormesh(h.x, h.y, field, cmap=canvas.FIELD, norm=norm, rasterized=True)
    _lines(ax, h)
    if which == "field":
        _pockets(ax, h)
    canvas.colour_bar(fig, norm, q.label, bottom=0.36)
    return canvas.picture(fig, f"{which}-{index + 1}", title=CUTS[which], alt=_words(h, which, field))


def _lines(ax: Axes, h: HalfField) -> None:
    """Wall, feet, bores and what bears under heads."""
    ax.add_patch(Polygon(h.outline, fc="none", ec=MAP_INK, lw=1.2))
    for foot in h.feet:
        ax.add_patch(Polygon(foot, fc="none", ec=MAP_INK, lw=1.0, ls=(0, (4, 2)), path_effects=HALO))
    for x, y, diameter in h.bores:
        ax.add_patch(Circle((x, y), diameter / 2, fc="none", ec=MAP_INK, lw=1.2, path_effects=HALO))
    for x, y, diameter in h.heads:
        ax.add_patch(Circle((x, y), diameter / 2, fc="none", ec=MAP_INK, lw=1.0, ls=(0, (1, 1.2))))


def _pockets(ax: Axes, h: HalfField) -> None:
    for i, b in enumerate(h.boxes, start=1):
        size = (b.x[1] - b.x[0], b.y[1] - b.y[0])
        ax.add_patch(Rectangle((b.x[0], b.y[0]), *size, fc="none", ec=canvas.BAD, lw=2.0, path_effects=HALO))
        middle = (0.5 * sum(b.x), 0.5 * sum(b.y))
        canvas.tag(ax, *middle, f"{i}", MAP_INK, fontsize=9)


def _words(h: HalfField, which: str, field: Array) -> str:
    q = quantity("pocket.depth")
    share = float(np.mean(field[h.allowed > 0.0] > 0.5 * h.allowed[h.allowed > 0.0]))
    text = (
        f"Outer face of {'each half' if h.side == 'both' else f'the {h.side} half'}: depth from 0 to "
        f"{q.with_unit(float(field.max()))}, more than half of what is allowed over {percent(share)} of where it is; "
        "feet of bridges dashed, heads dotted."
    )
    return text if which == "cut" else f"{text} {len(h.boxes)} numbered rectangles."


@canvas.drawn
def search(found: Pockets) -> Picture:
    """Spread saved against the even wall, step by step."""
    q = quantity("pocket.less")
    fig = canvas.figure(canvas.WIDE, 2.6)  # as high as the words of its axis are long
    ax = canvas.axes(fig, 0.55, 0.42, 0.15, 0.12)
    values = np.array([1.0 - s.value for s in found.steps]) * q.factor
    ax.plot(np.arange(1, len(values) + 1), values, color=canvas.pen(0), marker="o", markersize=3)
    ax.set_xlabel("step of the search")
    ax.set_ylabel(q.label)
    ax.xaxis.set_major_locator(canvas.ticks())
    ax.grid(True, axis="y")
    last = q.with_unit(1.0 - found.steps[-1].value)
    return canvas.picture(
        fig,
        "search",
        title="Search for the field",
        alt=f"Spread less than the even wall's over {len(values)} steps, {last} in the end.",
    )


def pictures(found: Pockets) -> list[Picture]:
    """Every half twice, then the search."""
    each = [depths(found, i, which) for i in range(len(found.halves)) for which in CUTS]
    return [*each, search(found)]
