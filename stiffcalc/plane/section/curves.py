"""Closed outlines out of curves given by points along them: straight edges, arcs, chords for anything else."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.section.outline import Edge, Loop, Point, signed_area

EXACT = 1e-6  # of the extent: how far points may lie off a line or circle
JOINED = 1e-5  # of the extent: how far ends may be apart
HALF = math.pi * 0.99  # arcs of more are cut in two


@dataclass(frozen=True)
class Outline:
    """The outer loop, holes, and what had to be said of the source."""

    outer: Loop
    holes: tuple[Loop, ...]
    notes: tuple[str, ...] = ()


def outline_of(curves: Sequence[Array], *, where: str) -> Outline:
    """Join curves (n, 2) into loops; the largest is the outer one.

    Raises InputError where they do not close, or a point has more than one continuation.
    """
    if not curves:
        raise InputError([Fault(where, "no curve", "a closed outline", "export the section's face")])
    extent = float(np.ptp(np.concatenate(curves), axis=0).max())
    pieces = [_edges(curve, extent) for curve in curves]
    odd = sum(len(p) > 2 for p in pieces)
    loops = _chained(pieces, JOINED * extent, where)
    order = sorted(loops, key=lambda loop: -abs(signed_area(loop)))
    said = (f"{odd} curves are neither straight nor circular: drawn as chords",) if odd else ()
    return Outline(order[0], tuple(order[1:]), said)


def _edges(points: Array, extent: float) -> list[Edge]:
    """One straight edge, one or two arcs, or chords."""
    if np.abs(_off_line(points)).max() < EXACT * extent:
        return [Edge(_point(points[0]), _point(points[-1]))]
    centre = _centre(points)
    if centre is not None:
        radii = np.hypot(*(points - np.array(centre)).T)
        if np.ptp(radii) < EXACT * extent:
            return _arcs(points, centre)
    return [Edge(_point(a), _point(b)) for a, b in itertools.pairwise(points)]


def _off_line(points: Array) -> Array:
    """Distance of points from the line through the ends; from the first where the ends meet."""
    along = points[-1] - points[0]
    away = points - points[0]
    length = float(np.hypot(*along))
    if length == 0:
        return np.asarray(np.hypot(*away.T))
    return np.asarray((along[0] * away[:, 1] - along[1] * away[:, 0]) / length)


def _centre(points: Array) -> Point | None:
    """Centre of the circle through three points of the curve; None where they lie on a line."""
    a, b, c = (points[i] for i in (0, len(points) // 3, 2 * len(points) // 3))
    A, right = 2 * np.array([b - a, c - a]), np.array([b @ b - a @ a, c @ c - a @ a])
    if abs(np.linalg.det(A)) < 1e-12 * float(np.abs(A).max()) ** 2:
        return None
    return _point(np.linalg.solve(A, right))


def _arcs(points: Array, centre: Point) -> list[Edge]:
    angle = np.unwrap(np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0]))
    clockwise = bool(angle[-1] < angle[0])
    cuts = [0, len(points) // 2, -1] if abs(angle[-1] - angle[0]) > HALF else [0, -1]
    corners = [_point(points[i]) for i in cuts]
    return [Edge(a, b, "", centre, clockwise) for a, b in itertools.pairwise(corners)]


def _chained(pieces: Sequence[list[Edge]], tolerance: float, where: str) -> list[Loop]:
    """Pieces end to end until they close, loop by loop."""
    left = list(pieces)
    loops: list[Loop] = []
    while left:
        run = list(left.pop())
        while math.dist(run[-1].end, run[0].start) > tolerance:
            run += _next(left, run[-1].end, tolerance, where)
        loops.append(tuple(run))
    return loops


def _next(left: list[list[Edge]], end: Point, tolerance: float, where: str) -> list[Edge]:
    """Take the piece that goes on from `end`, turned round where needed."""
    ahead = [p for p in left if math.dist(p[0].start, end) <= tolerance]
    behind = [p for p in left if math.dist(p[-1].end, end) <= tolerance and p not in ahead]
    place = f"({end[0]:.6g}, {end[1]:.6g}) mm"
    if len(ahead) + len(behind) != 1:
        found = (
            f"an outline that ends at {place}"
            if not ahead + behind
            else f"several curves that meet at {place}"
        )
        raise InputError(
            [Fault(where, found, "one closed outline", "close it, and leave out construction lines")]
        )
    left.remove((ahead + behind)[0])
    return ahead[0] if ahead else [edge.reversed() for edge in reversed(behind[0])]


def _point(xy: Array) -> Point:
    return float(xy[0]), float(xy[1])
