"""The one interface between a wall model (frame or front view) and the joint: a half condensed to its points.

A half is seen alone, looking along the rotor's axis: w is its axial displacement AWAY from the rotor (opening
positive), theta_x = dw/dy, theta_y = -dw/dx. Its points, in this order, are

1. for each bridge b: the three movements q_b = (w, theta_x, theta_y) of the wall's footprint under the
   bridge, taken at the bridge's reference point (x_b, y_r); conjugate forces (N, Mx, My), N positive when it
   pushes the half outward;
2. for each bolt: the movement w of the ring under the head (or of the thread's anchor), mean over that ring;
3. for each bore: the mean movement w of the bore floor, floor deflection included; conjugate force p * area.

With forces f at the points, pressure p on the bore walls and a rigid motion r = (w0, theta_x, theta_y) about
the origin (0, 0) of the x-y plane

    e = F f + p u_wall + R r        (movements of the points)
    o = O f + p o_wall + R_o r      (further outputs)

F and O hold for the half kept at three arbitrary pins; the pins carry nothing once R^T f = 0, so every F that
differs by a rigid motion gives the same answer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.errors import Fault, InputError

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Points:
    """How many points of each kind there are; gives the slices into the point vector."""

    bridges: int
    bolts: int
    bores: int

    @property
    def count(self) -> int:
        """Length m of the point vector."""
        return 3 * self.bridges + self.bolts + self.bores

    @property
    def bridge(self) -> slice:
        """Bridge entries (three each)."""
        return slice(0, 3 * self.bridges)

    @property
    def bolt(self) -> slice:
        """Bolt entries."""
        return slice(3 * self.bridges, 3 * self.bridges + self.bolts)

    @property
    def bore(self) -> slice:
        """Bore-floor entries."""
        return slice(3 * self.bridges + self.bolts, self.count)


@dataclass(frozen=True)
class Outputs:
    """Further outputs o of a half, all linear in (f, p, r). Rows, in this order (K cuts, see `Flexibility`):

    bore_tilt: theta_x, theta_y of each bore's mouth ring (2 rows a bore: theta_x then theta_y);
    bore_wall: volume swept by each bore's cylinder wall, mm3, growth positive (1 row a bore);
    cut: at each of the K cuts x = const: mean line's w at the bores' area-mean y, and theta_x (2 rows a cut).
    """

    O: Array  # (D, n, m)
    wall: Array  # (D, n) per MPa of bore-wall pressure
    R: Array  # (D, n, 3)


@dataclass(frozen=True)
class Flexibility:
    """A condensed half, or the sum of two. Leading axis D = designs."""

    points: Points
    F: Array  # (D, m, m) mm/N and the like, symmetric up to rigid motions
    R: Array  # (D, m, 3) movements of the points in unit rigid motions
    wall: Array  # (D, m) movements per MPa of pressure on the bores' cylinder walls
    outputs: Outputs
    parts: Mapping[str, Array]  # name -> (D, m, m); they sum to F


FACING_MM = (
    0.02  # how far facing points may be apart: meshes of unequal halves round a circle a little differently
)


def add(a: Flexibility, b: Flexibility) -> Flexibility:
    """Sum of two facing halves: movements become relative (openings), forces act on both alike.

    Valid where the loads on both halves have equal resultants (the same bores). Raises `InputError` where the
    halves do not have the same points at the same places.
    """
    alike = a.points == b.points and a.R.shape == b.R.shape and a.outputs.R.shape == b.outputs.R.shape
    if not (alike and np.all(np.abs(a.R - b.R) <= FACING_MM)):
        raise InputError([Fault("halves", "unlike points", "facing points", "use the same bores and bolts")])
    out = Outputs(
        O=a.outputs.O + b.outputs.O,
        wall=a.outputs.wall + b.outputs.wall,
        R=0.5 * (a.outputs.R + b.outputs.R),
    )
    names = [*a.parts, *(k for k in b.parts if k not in a.parts)]
    none = np.zeros_like(a.F)
    return Flexibility(
        points=a.points,
        F=a.F + b.F,
        R=0.5 * (a.R + b.R),
        wall=a.wall + b.wall,
        outputs=out,
        parts={k: a.parts.get(k, none) + b.parts.get(k, none) for k in names},
    )
