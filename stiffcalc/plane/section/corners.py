"""Sharp re-entrant corners: where they are and how fast stress grows toward them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from stiffcalc.plane.section.outline import Edge, Part

SMOOTH = math.radians(1.0)  # a turn below this is taken for a smooth run


@dataclass(frozen=True)
class Corner:
    """A re-entrant corner without a fillet."""

    part: str
    x: float
    y: float
    angle_deg: float  # of the metal, above 180

    @property
    def exponent(self) -> float:
        """How stress grows: as distance to the power of minus this."""
        return 1 - leading_power(math.radians(self.angle_deg))


def sharp_corners(part: Part) -> tuple[Corner, ...]:
    """Every re-entrant corner of the outline and of holes."""
    found = []
    for loop in part.loops:
        for before, after in zip(loop, loop[1:] + loop[:1], strict=True):
            turn = _turn(before, after)
            if turn < -SMOOTH:
                found.append(Corner(part.name, *before.end, 180 - math.degrees(turn)))
    return tuple(found)


def _turn(before: Edge, after: Edge) -> float:
    """Left turn from one edge to the next, rad."""
    (ax, ay), (bx, by) = before.directions()[1], after.directions()[0]
    return math.atan2(ax * by - ay * bx, float(np.dot((ax, ay), (bx, by))))


def leading_power(angle: float) -> float:
    """Power of distance with which displacement starts at a corner of free edges with `angle` rad of metal.

    Least root of sin(a k) + k sin(a) = 0, symmetric opening (Williams, Stress singularities resulting from various
    boundary conditions in angular corners of plates in extension, J. Appl. Mech. 19 (1952), from memory);
    1/2 for a crack, 0.5445 for a right-angled corner.
    """
    if not math.pi < angle < 2 * math.pi:
        return 1.0 if angle <= math.pi else 0.5
    return float(brentq(lambda k: math.sin(k * angle) + k * math.sin(angle), 0.5, math.pi / angle))
