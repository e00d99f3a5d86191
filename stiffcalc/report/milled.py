"""Pockets, ribs and bosses of a half, drawn from the front: as lines, and as a plan shaded by depth."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, PathPatch, Polygon
from matplotlib.path import Path

from stiffcalc.caliper.body import Body, HalfShape
from stiffcalc.condensed import Array
from stiffcalc.milling import WallShape, slabs
from stiffcalc.report import canvas
from stiffcalc.report.canvas import INK, METAL, METAL_EDGE, PAPER, SOFT, WIDE, Picture
from stiffcalc.report.outline import bridge_outline

DOTS = (0, (1, 1.5))
ROOM = 5.0  # mm round the wall


def milled_lines(ax: Axes, half: HalfShape, *, colour: str) -> None:
    """Edges of what is milled from the outer face, dotted: of pockets, and of ribs where they stand in one."""
    style: dict[str, Any] = {"fc": "none", "ec": colour, "lw": 0.9, "ls": DOTS}
    pockets = _pockets(half)
    for outline in pockets:
        ax.add_artist(Polygon(outline, **style))
    for outline in _ribs(half) if pockets else ():
        ax.add_artist(Polygon(outline, **style)).set_clip_path(_within(ax, pockets))


def _within(ax: Axes, outlines: list[Array]) -> PathPatch:
    """What lies in one of some outlines, as something to clip by."""
    paths = (Path(np.vstack([o, o[:1]]), closed=True) for o in outlines)
    return PathPatch(Path.make_compound_path(*paths), transform=ax.transData, visible=False)


def _pockets(half: HalfShape) -> list[Array]:
    if half.shape is None:
        return [p.outline for p in half.pockets]
    return [p.outline.polyline() for p in half.shape.pockets]


def _ribs(half: HalfShape) -> list[Array]:
    return [r.outline.polyline() for r in half.shape.ribs] if half.shape else []


@canvas.drawn
def plan(body: Body) -> Picture:
    """The outboard half of real shape from outboard, darker where more is milled, depths in mm."""
    half = body.outboard
    assert half.shape is not None
    (x0, y0), (x1, y1) = half.outline.min(axis=0) - ROOM, half.outline.max(axis=0) + ROOM
    scale = (WIDE - 0.1) / (x1 - x0)
    fig = canvas.figure(WIDE, scale * (y1 - y0) + 0.1)
    ax = canvas.axes(fig, 0.05, 0.05, 0.05, 0.05)
    ax.set(xlim=(x0, x1), ylim=(y0, y1))
    ax.axis("off")
    ax.add_artist(Polygon(half.outline, fc=METAL, ec="none"))
    _shade(ax, half.shape)
    ax.add_artist(Polygon(half.outline, fc="none", ec=INK, lw=1.2))
    for bridge in body.bridges:
        ax.add_artist(Polygon(bridge_outline(bridge), fc="none", ec=SOFT, lw=0.8, ls=(0, (4, 2))))
    for bore in half.bores:
        circle = Circle((bore.x, bore.y), bore.diameter / 2, fc="none", ec=SOFT, lw=0.8, ls=(0, (4, 2)))
        ax.add_artist(circle)
    for bolt in body.bolts:
        ax.add_artist(Circle((bolt.x, bolt.y), bolt.hole / 2, fc=PAPER, ec=INK, lw=0.8))
    said = list(_labels(half.shape))
    for x, y, depth in said:
        canvas.tag(ax, x, y, f"{depth:g}", INK, fontsize=7.5)
    depths = ", ".join(f"{d:g}" for d in sorted({d for _, _, d in said}))
    return canvas.picture(
        fig,
        "shape",
        title="Wall of real shape",
        alt=f"A wall seen from outboard: its outline, what is milled from its outer face ({depths} mm deep), ribs and "
        "bosses left standing, bores and bridges behind it dashed.",
    )


def _shade(ax: Axes, shape: WallShape) -> None:
    """Pockets darker with their depth, over them the ribs, lowest first, as dark as what is milled above them."""
    deepest = max(p.depth for p in shape.pockets)
    for pocket in shape.pockets:
        line = pocket.outline.polyline()
        ax.add_artist(Polygon(line, fc=METAL_EDGE, ec="none", alpha=_dark(pocket.depth / deepest)))
        for rib in sorted(shape.ribs, key=lambda r: r.height):
            left, own = max(pocket.depth - rib.height, 0.0), rib.outline.polyline()
            faces = [Polygon(own, fc=METAL, ec=SOFT, lw=0.6)]
            faces += [Polygon(own, fc=METAL_EDGE, ec="none", alpha=_dark(left / deepest))] if left else []
            for face in faces:
                ax.add_artist(face).set_clip_path(_within(ax, [line]))
        ax.add_artist(Polygon(line, fc="none", ec=SOFT, lw=0.8))


def _dark(share: float) -> float:
    return 0.2 + 0.6 * share


def _labels(shape: WallShape) -> Iterator[tuple[float, float, float]]:
    """A place in the widest strip of each pocket's own depth, and the depth."""
    corners, depth = slabs(shape).trapezoids()
    for pocket in shape.pockets:
        low, high = pocket.outline.reach()
        middle = corners.mean(axis=1)
        own = np.all((low < middle) & (middle < high), axis=1) & (depth == pocket.depth)
        if own.any():
            height = np.where(own, np.ptp(corners[..., 1], axis=1), 0.0) * np.sqrt(
                np.ptp(corners[..., 0], axis=1)
            )
            x, y = middle[int(height.argmax())]
            yield float(x), float(y), pocket.depth
