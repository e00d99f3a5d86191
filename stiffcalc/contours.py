"""Closed outlines of straight sides and circular arcs, in a plane; pure numbers, mm.

A side's bulge is the tangent of a quarter of the angle it turns through: 0 for a straight one, 1 for a half circle,
positive counter-clockwise. Outlines here run counter-clockwise, so that a positive bulge adds area.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from stiffcalc.condensed import Array

CHORD = math.radians(4.0)  # most that one chord of an arc turns
OFF_MM = 0.005  # and most that its corners leave the arc

Corner = tuple[float, float, float]  # x, y, bulge of the side to the next corner
Spot = tuple[float, float]


@dataclass(frozen=True)
class Arc:
    """A side that bends: its ends, its middle, its centre and radius, and the angle it turns through, rad."""

    start: Spot
    middle: Spot
    end: Spot
    centre: Spot
    radius: float
    turn: float


@dataclass(frozen=True)
class Contour:
    """A closed outline, counter-clockwise; corners in order, the last side closes it."""

    corners: tuple[Corner, ...]

    def sides(self) -> Iterator[tuple[Spot, Spot, Arc | None]]:
        """Start, end and, where the side bends, its arc."""
        for (x, y, bulge), (u, v, _) in pairwise((*self.corners, self.corners[0])):
            yield (x, y), (u, v), arc((x, y), (u, v), bulge) if bulge else None

    def polyline(self) -> Array:
        """Points (N, 2) once round, arcs by chords with exactly the arc's area: inner points lie a little outside."""
        return np.array(
            [p for start, _, bent in self.sides() for p in (start, *(_between(bent) if bent else ()))]
        )

    @property
    def area(self) -> float:
        """Area, mm2, arcs exact."""
        return signed_area(self.corners)

    def reach(self) -> tuple[Array, Array]:
        """Least and largest x and y, (2,) each, arcs exact."""
        spots = [p for start, _, bent in self.sides() for p in (start, *(_extremes(bent) if bent else ()))]
        return np.min(spots, axis=0), np.max(spots, axis=0)

    def marks(self) -> Array:
        """x (n,) where something begins: corners and the extremes of arcs."""
        spots = [p for start, _, bent in self.sides() for p in (start, *(_extremes(bent) if bent else ()))]
        return np.array([x for x, _ in spots])


def straight(points: Array) -> Contour:
    """A polygon (N, 2), turned counter-clockwise."""
    return turned([(float(x), float(y), 0.0) for x, y in points])


def circle(x: float, y: float, diameter: float) -> Contour:
    """A full circle, as two halves."""
    return Contour(((x + diameter / 2, y, 1.0), (x - diameter / 2, y, 1.0)))


def turned(corners: list[Corner]) -> Contour:
    """The outline, turned counter-clockwise."""
    if signed_area(corners) >= 0:
        return Contour(tuple(corners))
    n = len(corners)
    return Contour(tuple((*corners[-i][:2], -corners[(-i - 1) % n][2]) for i in range(n)))


def signed_area(corners: list[Corner] | tuple[Corner, ...]) -> float:
    """Area, mm2, arcs exact; positive counter-clockwise."""
    total = 0.0
    for (x, y, bulge), (u, v, _) in pairwise((*corners, corners[0])):
        turn = 4 * math.atan(bulge)
        segment = 0.0
        if bulge:
            radius = math.dist((x, y), (u, v)) * (1 + bulge**2) / (4 * abs(bulge))
            segment = radius**2 * (turn - math.sin(turn)) / 2
        total += (x * v - y * u) / 2 + segment
    return total


def arc(start: Spot, end: Spot, bulge: float) -> Arc:
    """The arc of a side that bends."""
    (x, y), (u, v) = start, end
    dx, dy = u - x, v - y
    # the chord's right-hand normal: where a counter-clockwise arc lies
    middle = ((x + u) / 2 + bulge * dy / 2, (y + v) / 2 - bulge * dx / 2)
    back = (1 - bulge**2) / (4 * bulge)
    centre = ((x + u) / 2 - back * dy, (y + v) / 2 + back * dx)
    return Arc(start, middle, end, centre, math.dist(centre, start), 4 * math.atan(bulge))


def bulge_through(start: Spot, through: Spot, end: Spot) -> float:
    """Bulge of the arc from start over a third point to end; infinite or huge where the three do not turn so."""
    to_start, to_end = np.subtract(start, through), np.subtract(end, through)
    cross = float(to_start[0] * to_end[1] - to_start[1] * to_end[0])
    # the angle seen from the arc is half a turn less half of what the arc turns
    seen = math.atan2(abs(cross), float(to_start @ to_end))
    return math.copysign(math.tan((math.pi - seen) / 2), -cross)


def rounding(before: Spot, here: Spot, after: Spot, radius: float) -> tuple[Spot, Spot, float]:
    """Where the arc that rounds a corner starts and ends, and its bulge."""
    a, b = np.subtract(here, before), np.subtract(after, here)
    a, b = a / np.linalg.norm(a), b / np.linalg.norm(b)
    turn = math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b))
    cut = radius * math.tan(abs(turn) / 2)
    start, end = np.array(here) - cut * a, np.array(here) + cut * b
    return (float(start[0]), float(start[1])), (float(end[0]), float(end[1])), math.tan(turn / 4)


def _between(bent: Arc) -> list[Spot]:
    """Points between an arc's ends, moved outward (inward on a hollow one) until the chords enclose its area.

    With n chords of angle f and the n - 1 points at r times the radius: (n - 2) r^2 + 2 r = n f / sin f, about
    1 + f^2 / 12. Source: derived, triangles about the centre.
    """
    count = max(2, math.ceil(abs(bent.turn) / min(CHORD, math.sqrt(12.0 * OFF_MM / bent.radius))))
    step = bent.turn / count
    whole = count * abs(step) / math.sin(abs(step))
    out = whole / 2 if count == 2 else (math.sqrt(1 + (count - 2) * whole) - 1) / (count - 2)
    x, y = bent.centre
    first = math.atan2(bent.start[1] - y, bent.start[0] - x)
    radius = bent.radius * out
    angles = (first + k * step for k in range(1, count))
    return [(x + radius * math.cos(f), y + radius * math.sin(f)) for f in angles]


def _extremes(bent: Arc) -> Iterator[Spot]:
    """Points of an arc that lie straight right, above, left or below its centre."""
    x, y = bent.centre
    first = math.atan2(bent.start[1] - y, bent.start[0] - x)
    for k, (u, v) in enumerate(((1, 0), (0, 1), (-1, 0), (0, -1))):
        away = (k * math.pi / 2 - first) * math.copysign(1.0, bent.turn) % (2 * math.pi)
        if 0 < away < abs(bent.turn):
            yield x + u * bent.radius, y + v * bent.radius
