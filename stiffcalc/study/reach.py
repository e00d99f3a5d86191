"""How far up and down a wall's front outline reaches over a bridge. Numbers: plain, or (D,) over designs."""

from __future__ import annotations

import numpy as np

from stiffcalc.milling import Slabs, WallShape, slabs
from stiffcalc.study.schema import Caliper, Range, Wall

STEP_MM = 1e-7  # to either side of where an outline may jump


def bottom(caliper: Caliper, x: Range) -> float:
    """Lowest y at which both walls stand over the whole of a range in x."""
    found: float = np.maximum(heights(caliper.inboard, x)[0], heights(caliper.outboard, x)[0])
    return found if np.ndim(found) else float(found)


def top(caliper: Caliper, x: Range) -> float:
    """Highest y at which both walls stand over the whole of a range in x."""
    found: float = np.minimum(heights(caliper.inboard, x)[1], heights(caliper.outboard, x)[1])
    return found if np.ndim(found) else float(found)


def heights(wall: Wall, x: Range) -> tuple[float, float]:
    """Lowest and highest y between which a wall holds metal over the whole of a range in x."""
    if wall.shape is None:
        return wall.bottom_y, wall.top_y
    cut = slabs(WallShape(wall.shape.outline))
    low, high = np.broadcast_arrays(*x)
    found = [_over(cut, float(a), float(b)) for a, b in zip(low.ravel(), high.ravel(), strict=True)]
    lowest, highest = (np.reshape(v, low.shape) for v in zip(*found, strict=True))
    return (lowest, highest) if low.ndim else (float(lowest), float(highest))  # type: ignore[return-value]


def _over(cut: Slabs, start: float, end: float) -> tuple[float, float]:
    a, b = max(start, float(cut.x[0])), min(end, float(cut.x[-1]))
    if not a < b:  # beside the wall, which is refused elsewhere
        return float(cut.low.min()), float(cut.high.max())
    between = cut.x[(a < cut.x) & (cut.x < b)]
    low, high = cut.edges(np.array([a + STEP_MM, b - STEP_MM, *(between - STEP_MM), *(between + STEP_MM)]))
    return float(low.max()), float(high.min())
