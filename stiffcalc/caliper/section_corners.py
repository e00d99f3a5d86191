"""Re-entrant corners of a section that are drawn sharp: pockets' and bores', which have no radius here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.plane.section.corners import sharp_corners
from stiffcalc.plane.section.outline import Part, Point, Region

STEP = 0.5  # of the strip's width: with more left beyond a corner, stress hardly grows toward it
NEAR = 1e-4  # mm


def sharp(parts: Sequence[Part], *, but: Sequence[Point]) -> tuple[Point, ...]:
    """Places (z, y), mm, from the lowest up, where no peak stress exists; `but` those that are named elsewhere.

    Corners of the outline, and corners of thinner metal round which thicker metal turns by more than half a turn.
    """
    found = [np.array([c.x, c.y]) for part in parts for c in sharp_corners(part)]
    found += [place for part in parts for place in _steps(part)]
    known = [np.array(p) for p in but]
    left: list[Array] = []
    for place in sorted(found, key=lambda p: (p[1], p[0])):
        if all(np.hypot(*(place - k)) > NEAR for k in (*known, *left)):
            left.append(place)
    return tuple((float(z), float(y)) for z, y in left)


def _steps(part: Part) -> Iterator[Array]:
    """Corners of much thinner regions in the midst of the metal, one quarter thin and three thick."""
    boxes = [_box(r) for r in part.regions if r.thickness < STEP * part.thickness]
    for low, high in boxes:
        for place in (np.array([z, y]) for z in (low[0], high[0]) for y in (low[1], high[1])):
            within = not any(e.holds(place, tolerance=NEAR) for loop in part.loops for e in loop)
            if within and _thin_quarters(place, boxes) == 1:
                yield place


def _thin_quarters(place: Array, boxes: Sequence[tuple[Array, Array]]) -> int:
    """How many of the four quarters round a place lie in one of the boxes."""
    quarters = [place + 2 * NEAR * np.array([i, j]) for i in (-1, 1) for j in (-1, 1)]
    return sum(any(bool((low < q).all() and (q < high).all()) for low, high in boxes) for q in quarters)


def _box(region: Region) -> tuple[Array, Array]:
    corners = np.array([e.start for e in region.outline])
    return corners.min(axis=0), corners.max(axis=0)
