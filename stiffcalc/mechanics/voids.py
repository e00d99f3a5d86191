"""Where a joint face does not touch though there is metal: closed polygons, and which points lie in them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array


@dataclass(frozen=True)
class Void:
    """Where a face does not touch though there is metal: a closed polygon (N, 2) of the x-y plane, mm.

    `outside`: everything but the polygon is relieved, which makes it the land that touches; of one face only.
    """

    outline: Array
    face: int | None = None  # index among the jointed faces; None: of all
    outside: bool = False


def keeps(void: Void, *, x: Array, y: Array) -> NDArray[np.bool_]:
    """Whether a void leaves points of its face touching."""
    return np.asarray(inside(void.outline, x=x, y=y) == void.outside)


def inside(outline: Array, *, x: Array, y: Array) -> NDArray[np.bool_]:
    """Whether points lie in a closed polygon (N, 2): an upward ray crosses its sides an odd number of times."""
    within = np.zeros(x.shape, dtype=bool)
    for (x0, y0), (x1, y1) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        if x0 != x1:
            between = (x >= min(x0, x1)) & (x < max(x0, x1))
            within ^= between & (y0 + (x - x0) * (y1 - y0) / (x1 - x0) > y)
    return within
