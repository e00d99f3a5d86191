"""Pockets, ribs and bosses of a half, drawn from the front."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import PathPatch, Polygon
from matplotlib.path import Path

from stiffcalc.caliper.body import HalfShape
from stiffcalc.condensed import Array


def milled_lines(ax: Axes, half: HalfShape, *, pocket: dict[str, Any], rib: dict[str, Any]) -> None:
    """Outlines of pockets, and of ribs where they stand in one; `pocket` and `rib`: how they are drawn."""
    pockets, ribs = _pockets(half), [r.outline.polyline() for r in half.shape.ribs] if half.shape else []
    for outline in pockets:
        ax.add_patch(Polygon(outline, **pocket))
    if not pockets:
        return
    hidden = PathPatch(
        Path.make_compound_path(*(Path(o, closed=False) for o in map(_closed, pockets))),
        transform=ax.transData,
        visible=False,
    )
    for outline in ribs:
        line = ax.add_patch(Polygon(outline, **rib))
        line.set_clip_path(hidden)


def _pockets(half: HalfShape) -> list[Array]:
    if half.shape is None:
        return [p.outline for p in half.pockets]
    return [p.outline.polyline() for p in half.shape.pockets]


def _closed(outline: Array) -> Any:
    return [*outline, outline[0]]
