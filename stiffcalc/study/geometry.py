"""Plane geometry in the front view: outlines as closed polygons, distances to them.

Outlines of a batch of designs have a leading axis of designs where they differ.
"""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.study import reach
from stiffcalc.study.numbers import plain
from stiffcalc.study.schema import Bridge, Caliper, Outline, Range, Rotor, Wall

_SLAB = 13_000  # corners looked at together: what is made of them stays in the processor's cache
_ARCH_POINTS = 49  # chords of 0.7 mm on a usual bridge leave the circle by 0.0004 mm


def rectangle(x: Range, y: Range) -> Array:
    """Corners of a rectangle, counter-clockwise (..., 4, 2)."""
    x0, x1, y0, y1 = np.broadcast_arrays(*x, *y)
    corners = [np.stack([x0, x1, x1, x0], axis=-1), np.stack([y0, y0, y1, y1], axis=-1)]
    return np.asarray(np.stack(corners, axis=-1), dtype=float)


def wall_outline(wall: Wall) -> Array:
    """Front outline of a wall (..., 4, 2), or (N, 2) with arcs as chords."""
    if wall.shape is not None:
        return wall.shape.outline.polyline()
    half = wall.length / 2
    return rectangle((-half, half), (wall.bottom_y, wall.top_y))


def underside(bridge: Bridge, caliper: Caliper, rotor: Rotor) -> tuple[Array, Array]:
    """Points x, y (..., P) along a bridge's underside: the rotor circle with its clearance, or flat if y is given."""
    x = np.linspace(*bridge.x, _ARCH_POINTS, axis=-1)
    if bridge.y is not None:
        x, y = np.broadcast_arrays(x, np.asarray(bridge.y[0])[..., None])
        return x, y
    return x, _arch(x, bridge, caliper, rotor)


def _arch(x: Array, bridge: Bridge, caliper: Caliper, rotor: Rotor) -> Array:
    """The rotor circle with its clearance at x (..., P), but never below both walls' bottoms."""
    radius = np.asarray(rotor.outer_radius + rotor.edge_clearance)[..., None]
    bottom = np.asarray(reach.bottom(caliper, bridge.x))[..., None]
    return np.asarray(np.maximum(np.sqrt(np.maximum(radius**2 - x**2, 0.0)), bottom))


def underside_of(outline: Array) -> Array:
    """y (..., P) along the underside of a `footprint`."""
    return np.asarray(outline[..., :-2, 1])


def crown(bridge: Bridge, caliper: Caliper, rotor: Rotor) -> float:
    """Highest point of a bridge's underside: where the rotor circle is nearest to x = 0."""
    if bridge.y is not None:
        return bridge.y[0]
    x = np.asarray(np.clip(0.0, *bridge.x))[..., None]
    found: float = plain(_arch(x, bridge, caliper, rotor)[..., 0])
    return found


def top(bridge: Bridge, caliper: Caliper) -> float:
    """Upper edge of a bridge: as given, else as high as both walls stand over all of it."""
    return bridge.y[1] if bridge.y is not None else reach.top(caliper, bridge.x)


def footprint(bridge: Bridge, caliper: Caliper, rotor: Rotor) -> Array:
    """Front outline of a bridge, counter-clockwise (..., N, 2)."""
    x, y = underside(bridge, caliper, rotor)
    x, y, high = np.broadcast_arrays(x, y, np.asarray(top(bridge, caliper))[..., None])
    along = np.concatenate([x, x[..., -1:], x[..., :1]], axis=-1)
    return np.asarray(np.stack([along, np.concatenate([y, high[..., :2]], axis=-1)], axis=-1))


def depth_inside(x: float, y: float, polygon: Array) -> float:
    """Distance of a point from a polygon's edge: positive inside, negative outside; NaN from NaN."""
    points = np.stack(np.broadcast_arrays(x, y), axis=-1)
    found: float = plain(depths_inside(points, polygon))
    return found


def depths_inside(points: Array, polygon: Array) -> Array:
    """`depth_inside` of each of the points (..., 2) -> (...); polygon (N, 2), or (D, N, 2) for points (D, 2)."""
    if polygon.ndim == 3 and len(polygon) > (slab := max(1, _SLAB // polygon.shape[1])):
        points = np.broadcast_to(points, (len(polygon), 2))
        parts = (slice(i, i + slab) for i in range(0, len(polygon), slab))
        return np.concatenate([depths_inside(points[p], polygon[p]) for p in parts])
    # Sides first: what is made over them, the least and the odd, then runs along designs, a few times as fast.
    x0, y0 = (np.ascontiguousarray(polygon[..., k].T) for k in (0, 1))
    if polygon.ndim == 2:
        x0, y0 = (v.reshape(-1, *[1] * (points.ndim - 1)) for v in (x0, y0))
    dx, dy = _turned(x0) - x0, _turned(y0) - y0
    x, y = points[..., 0] - x0, points[..., 1] - y0
    share = x * dx
    share += y * dy
    share /= np.maximum(dx * dx + dy * dy, 1e-300)
    np.clip(share, 0.0, 1.0, out=share)
    away, up = x - share * dx, y - share * dy
    distance = np.sqrt((away * away + up * up).min(axis=0))
    # A ray to the right crosses the edge an odd number of times from inside.
    below = y < 0.0
    crossed = (below != _turned(below)) & ((y * dx > x * dy) != below)
    inside = np.logical_xor.reduce(crossed, axis=0)
    return np.asarray(np.where(inside, distance, -distance))


def _turned(corners: NDArray[Any]) -> NDArray[Any]:
    """What the next corner, along the first axis, has; `numpy.roll` in a fraction of its time."""
    return np.concatenate([corners[1:], corners[:1]])


def crossing_sides(corners: Outline) -> tuple[int, int] | None:
    """Numbers (from 1) of two sides of a closed polygon that meet elsewhere than in their common corner, or None.

    Side k goes from corner k to the next. A side of no length meets its neighbour; NaN meets nothing.
    """
    sides = [(np.array(a), np.array(b)) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)]
    for (i, one), (j, other) in combinations(enumerate(sides, start=1), 2):
        if j - i == 1 and _folded(*one, other[1]):
            return i, j
        if j - i == len(sides) - 1 and _folded(*other, one[1]):
            return i, j
        if 1 < j - i < len(sides) - 1 and _meet(one, other):
            return i, j
    return None


def _cross(a: Array, b: Array, c: Array) -> float:
    """Twice the area of the triangle a, b, c, positive counter-clockwise."""
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _folded(a: Array, b: Array, c: Array) -> bool:
    """True where the side b to c runs back over the side a to b, or one of them has no length."""
    return _cross(a, b, c) == 0.0 and float((b - a) @ (c - b)) <= 0.0


def _meet(one: tuple[Array, Array], other: tuple[Array, Array]) -> bool:
    """True where two segments have a point in common."""
    (a, b), (c, d) = one, other
    apart = (np.maximum(a, b) < np.minimum(c, d)) | (np.maximum(c, d) < np.minimum(a, b))
    across = _cross(a, b, c) * _cross(a, b, d) <= 0.0 and _cross(c, d, a) * _cross(c, d, b) <= 0.0
    return across and not bool(apart.any())
