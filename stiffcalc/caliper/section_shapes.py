"""What a wall of real shape lacks of the strip of a section: bands of the mean width milled, or off the outline."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from stiffcalc.caliper.body import HalfShape
from stiffcalc.caliper.section_cells import Box, Levels, Range
from stiffcalc.condensed import Array
from stiffcalc.milling import Slabs, slabs

BANDS = 12  # heights into which the wall is cut
ACROSS, UP = 64, 8  # places in the strip at which a band is read
LEAST = 0.01  # share of the strip's width that counts


def reach(half: HalfShape, strip: Range) -> Range:
    """Lowest and highest y of a wall's metal within the strip."""
    if half.shape is None:
        return float(half.outline[:, 1].min()), float(half.outline[:, 1].max())
    low, high = slabs(half.shape).edges(_places(strip))
    return float(low.min()), float(high.max())


def shape_boxes(half: HalfShape, levels: Levels, strip: Range) -> tuple[list[Box], list[str]]:
    """Boxes of one wall, side by side in each band, and the same in words; none of a wall that is a box."""
    if half.shape is None:
        return [], []
    found = list(_bands(slabs(half.shape), half.thickness, levels, strip))
    if not found:
        return [], []
    most = max(sum(b.across(strip) for b in found if b.y == y) for y in {b.y for b in found})
    words = f"pockets, ribs and outline in {BANDS} bands of their mean width, at most"
    return found, [f"{words} {most:.3g} of the strip's {strip[1] - strip[0]:.3g} mm"]


def _bands(cut: Slabs, thickness: float, levels: Levels, strip: Range) -> Iterator[Box]:
    x, width = _places(strip), strip[1] - strip[0]
    for y0, y1 in pairwise(np.linspace(levels.bottom, levels.top, BANDS + 1)):
        y = y0 + (y1 - y0) * (np.arange(UP) + 0.5) / UP
        depth = np.minimum(cut.depth_at(x[:, None], y[None]), thickness)
        start = strip[0]
        for deep in np.unique(depth[depth > 0.0]):
            own = float((depth == deep).mean()) * width
            if own > LEAST * width:
                z = (levels.outer - float(deep), levels.outer)
                yield Box("pocket", (start, start + own), (float(y0), float(y1)), z)
                start += own


def _places(strip: Range) -> Array:
    return np.asarray(strip[0] + (strip[1] - strip[0]) * (np.arange(ACROSS) + 0.5) / ACROSS)
