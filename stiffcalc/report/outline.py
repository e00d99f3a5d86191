"""Front outlines of bridges, abutments as lines and lugs as rings, shared by the pictures of the body."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle

from stiffcalc.caliper.body import Body, BridgeShape
from stiffcalc.condensed import Array


def bridge_outline(bridge: BridgeShape) -> Array:
    """Front outline (N, 2) of a bridge: its arch or flat underside, and its top."""
    x = np.linspace(bridge.x0, bridge.x1, 25)
    low = np.full_like(x, bridge.y0)
    if bridge.arch is not None:
        low = np.maximum(low, np.sqrt(np.maximum(bridge.arch**2 - x**2, 0.0)))
    top = [[bridge.x1, bridge.y1], [bridge.x0, bridge.y1]]
    return np.vstack([np.column_stack([x, low]), top, [[x[0], low[0]]]])


def abutment_lines(ax: Axes, body: Body, *, label: dict[str, Any], **style: Any) -> None:
    """Abutments on the bridges' flanks, seen from the front, with their numbers beside them on the pad's side."""
    seen = {a.name.split("_")[1]: (a.x, a.y0, a.y1) for a in body.abutments}
    for number, (x, y0, y1) in seen.items():
        ax.plot([x, x], [y0, y1], solid_capstyle="butt", **style)
        side, away = ("right", -1.5) if x > 0 else ("left", 1.5)
        ax.text(x + away, (y0 + y1) / 2, f"A{number}", ha=side, va="center", **label)


def lug_rings(ax: Axes, body: Body, *, label: dict[str, Any], **style: Any) -> None:
    """Mounting lugs seen from the front, with their numbers."""
    for k, g in enumerate(body.lugs, start=1):
        for diameter in (g.diameter, g.hole):
            ax.add_artist(Circle((g.x, g.y), diameter / 2, **style))
        ax.text(g.x, g.y, f"L{k}", ha="center", va="center", **label)


def front_reach(body: Body) -> Array:
    """Corners (N, 2) of all that is seen from the front: both walls and the lugs."""
    lugs = [(g.x + s * g.diameter / 2, g.y + s * g.diameter / 2) for g in body.lugs for s in (-1.0, 1.0)]
    return np.vstack([body.inboard.outline, body.outboard.outline, *lugs])
