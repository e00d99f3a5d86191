"""Faults of closed outlines given as points once round: crossings, holes that are not inside."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault

Flags = NDArray[np.bool_]
TOUCH = 2e-6  # share of the extent within which two edges are said to touch; the mesh tells them apart from 1e-6 on


def crossing_faults(where: str, points: Array) -> list[Fault]:
    """Whether an outline (k, 2) crosses, touches or folds back on itself."""
    count, ends = len(points), np.roll(points, -1, axis=0)
    near = touching(points, ends, points, ends)
    gap = (np.arange(count)[None] - np.arange(count)[:, None]) % count
    # Neighbours share a point; what is asked of them is that they do not fold back.
    apart = near & (gap > 1) & (gap < count - 1)
    along = ends - points
    after = np.roll(along, -1, axis=0)
    back = (np.abs(cross(along, after)) < TOUCH * _norms(along, after)) & (np.sum(along * after, axis=1) < 0)
    faults = []
    if apart.any():
        i, _ = np.argwhere(apart)[0]
        place = f"near ({points[i, 0]:.4g}, {points[i, 1]:.4g})"
        faults.append(Fault(where, f"an outline that meets itself {place}", "no crossing", "mend the points"))
    if back.any():
        x, y = ends[np.argmax(back)]
        found = f"an outline that folds back at ({x:.4g}, {y:.4g})"
        faults.append(Fault(where, found, "an area on one side", "mend the points"))
    return faults


def hole_faults(outline: Array, holes: Mapping[str, Array]) -> list[Fault]:
    """Whether each hole lies inside the outline and clear of it and of the other holes."""
    faults = []
    passed: list[Array] = []
    for where, hole in holes.items():
        if not inside(outline, hole).all() or meet(outline, hole):
            faults.append(Fault(where, "a hole not inside", "inside, clear of the outline", "move it"))
        elif any(
            meet(other, hole) or inside(other, hole).any() or inside(hole, other).any() for other in passed
        ):
            faults.append(Fault(where, "a hole that meets another", "holes apart", "move or join them"))
        passed.append(hole)
    return faults


def inside(outline: Array, points: Array) -> Flags:
    """Whether points (p, 2) lie inside a closed polygon (k, 2), by counting crossings of a ray."""
    (x1, y1), (x2, y2) = outline.T[..., None], np.roll(outline, -1, axis=0).T[..., None]
    x, y = points.T
    rise = np.where(y2 == y1, 1.0, y2 - y1)
    crossed = ((y1 > y) != (y2 > y)) & (x < x1 + (y - y1) / rise * (x2 - x1))
    return np.asarray(crossed.sum(axis=0) % 2 == 1)


def meet(a: Array, b: Array) -> bool:
    """Whether two closed polygons cross or touch."""
    return bool(touching(a, np.roll(a, -1, axis=0), b, np.roll(b, -1, axis=0)).any())


def touching(a: Array, b: Array, c: Array, d: Array) -> Flags:
    """Whether segments a-b (i, 2) and c-d (j, 2) cross or come within touch, bool (i, j)."""
    ab, cd = (b - a)[:, None], (d - c)[None]
    ac = c[None] - a[:, None]
    turn = cross(ab, cd)
    safe = np.where(turn == 0, 1.0, turn)
    s, t = cross(ac, cd) / safe, cross(ac, ab) / safe
    crossed = (turn != 0) & (s >= 0) & (s <= 1) & (t >= 0) & (t <= 1)
    tolerance = TOUCH * float(np.ptp(np.concatenate([a, b, c, d]), axis=0).max())
    near = np.minimum(
        np.minimum(_away(a[:, None], c[None], d[None]), _away(b[:, None], c[None], d[None])),
        np.minimum(_away(c[None], a[:, None], b[:, None]), _away(d[None], a[:, None], b[:, None])),
    )
    return np.asarray(crossed | (near < tolerance))


def _away(point: Array, start: Array, end: Array) -> Array:
    """Distance of points from segments."""
    along = end - start
    share = np.sum((point - start) * along, axis=-1) / np.sum(along * along, axis=-1)
    foot = start + np.clip(share, 0, 1)[..., None] * along
    return np.asarray(np.linalg.norm(point - foot, axis=-1))


def cross(a: Array, b: Array) -> Array:
    """Third component of the vector product of plane vectors (..., 2)."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _norms(a: Array, b: Array) -> Array:
    return np.asarray(np.linalg.norm(a, axis=-1) * np.linalg.norm(b, axis=-1))
