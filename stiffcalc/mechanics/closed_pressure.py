"""Contact pressure of closed joint faces at points, up to their edges: what the first loss of contact is asked of.

Beams press a face linearly. The wall does not: where it twists, and under heads that bow it, the root of a bridge is
pressed unevenly, and a bridge no longer than it is wide passes part of that on to its middle. The root's pressure
beyond the linear one is taken by two shapes over the section, twist cos(pi u) cos(pi v) and bow cos(2 pi v), u and v
from 0 to 1 across and up. A fibre that only shears against its neighbours passes 1 / cosh(k g sqrt(G/E)) of a shape
with wave number k over the half length g (shear lag; sqrt(G/E) = 0.61). What a head presses straight down is spread
over the wall's thickness t in the same way first. The bow of all other forces is not seen again at the middle.

Axes: D designs, n jointed faces, K points a face, m points of the condensed half.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array, Points
from stiffcalc.mechanics.bridges import Bridges, area_matrix, reference, underside

# Against 36 solids' onset (studies/solid_check, seen while they were chosen; a fourth seed was solved afterwards).
SHEAR_LAG = 0.7
THROUGH = 0.2  # the same through a wall, whose thickness a head's cone crosses only in part
ACROSS, UP = 25, 31  # points of a face, its edges among them


@dataclass(frozen=True)
class ClosedPressure:
    """Pressure, MPa and positive pressing, that is linear in what acts on a closed joint."""

    x: Array  # (D, n, K) mm
    y: Array
    metal: NDArray[np.bool_]  # (D, n, K) false in bolt holes
    tension: Array  # (D, n, K, 3) per N, Mx, My of the own bridge's tension
    force: Array  # (D, n, K, m) per force at the half's points
    wall: Array  # (D, n, K) per MPa on bore walls
    by_solid: bool = False  # from a 3-D solid, not from shapes that were fitted

    def of(self, tension: Array, forces: Array, wall: Array) -> Array:
        """At every point (D, ..., n, K), of tension (D, ..., n, 3), forces (D, ..., m), wall pressure (D, ...)."""
        states = tuple(range(1, wall.ndim))
        A, B, c = (np.expand_dims(v, states) for v in (self.tension, self.force, self.wall))
        linear = (A @ tension[..., None])[..., 0]
        uneven = (B @ forces[..., None, :, None])[..., 0]
        return np.asarray(linear + uneven + c * wall[..., None, None])


@dataclass(frozen=True)
class Heads:
    """Where bolts press: places (J, 2) mm, the index among the jointed faces of each, -1 for none."""

    place: Array
    face: Sequence[int]


def shapes(u: Array, v: Array) -> Array:
    """Twist and bow (..., 2)."""
    return np.stack([np.cos(np.pi * u) * np.cos(np.pi * v), np.cos(2.0 * np.pi * v)], axis=-1)


def closed_pressure(
    bridges: Bridges, roots: Array, heads: Heads, *, thickness: float, points: Points, places: Sequence[int]
) -> ClosedPressure:
    """Of one design (D = 1): `roots` (n, 2, m + 1) are the shapes' size in the root's pressure, per force and wall.

    `places`: the bridges' indices of the n faces.
    """
    faces = [
        _face(bridges, i, roots[k], _pressed_by(heads, k), thickness=thickness, points=points)
        for k, i in enumerate(places)
    ]
    return stacked_faces(faces)


def stacked_faces(faces: Sequence[tuple[Places, Array, Array]]) -> ClosedPressure:
    """Of one design: each face's places, pressure per tension (K, 3) and per force and wall pressure (K, m + 1)."""
    at = [face for face, *_ in faces]
    tension = np.stack([pulled for _, pulled, _ in faces])[None]
    uneven = np.stack([pressed for *_, pressed in faces])[None]
    return ClosedPressure(
        x=np.stack([p.x for p in at])[None],
        y=np.stack([p.y for p in at])[None],
        metal=np.stack([p.metal for p in at])[None],
        tension=tension,
        force=uneven[..., :-1],
        wall=uneven[..., -1],
    )


def bent_by_bolts(closed: ClosedPressure, tension: Array, points: Points) -> ClosedPressure:
    """The same with a further tension of the own bridge (n, 3, J) per force at each bolt's point."""
    force = closed.force.copy()
    force[..., points.bolt] += closed.tension @ tension
    return replace(closed, force=force)


@dataclass(frozen=True)
class Places:
    """Points of one closed face, its edges among them, (K,) each."""

    x: Array  # mm
    y: Array
    u: Array  # from 0 to 1 across
    v: Array  # from 0 to 1 up
    metal: NDArray[np.bool_]  # false in bolt holes
    tall: Array  # mm from underside to top there
    arm: Array  # (K, 3) [1, y - y_r, x_b - x] about the bridge's reference point


def places(bridges: Bridges, index: int) -> Places:
    """Of one bridge of one design (D = 1)."""
    u, v = (g.ravel() for g in np.meshgrid(np.linspace(0, 1, ACROSS), np.linspace(0, 1, UP), indexing="ij"))
    x0, x1 = bridges.x[0, index]
    x = x0 + (x1 - x0) * u
    low = underside(bridges, np.broadcast_to(x, (1, bridges.x.shape[1], len(x))))[0, index]
    tall = bridges.y[0, index, 1] - low
    y = low + tall * v
    metal = np.ones(len(x), dtype=bool)
    for hx, hy, d in zip(
        *(h[0, index] for h in (bridges.hole_x, bridges.hole_y, bridges.hole_d)), strict=True
    ):
        metal &= (x - hx) ** 2 + (y - hy) ** 2 >= 0.25 * d**2
    x_b, y_r = (float(r[0, index]) for r in reference(bridges))
    return Places(x, y, u, v, metal, tall, np.stack([np.ones_like(x), y - y_r, x_b - x], axis=-1))


def _pressed_by(heads: Heads, face: int) -> dict[int, Array]:
    return {j: heads.place[j] for j, own in enumerate(heads.face) if own == face}


def _face(
    bridges: Bridges, index: int, root: Array, heads: dict[int, Array], *, thickness: float, points: Points
) -> tuple[Places, Array, Array]:
    """Places, pressure per tension (K, 3) and per force and wall pressure (K, m + 1)."""
    at = places(bridges, index)
    arm = at.arm
    x_b, y_r = (float(r[0, index]) for r in reference(bridges))
    size = (float(np.ptp(bridges.x[0, index])), float(at.tall.mean()))
    amplitude = _at_the_middle(
        root,
        {points.bolt.start + j: np.array([1.0, at[1] - y_r, x_b - at[0]]) for j, at in heads.items()},
        slice(3 * index, 3 * index + 3),
        passed=_passed(size, SHEAR_LAG * 0.5 * float(bridges.length[0, index])),
        spread=_passed(size, THROUGH * thickness),
    )
    weight = at.metal * at.tall * _trapezoid(at.u, ACROSS) * _trapezoid(at.v, UP)
    uneven = shapes(at.u, at.v)
    inertia = arm.T @ (weight[:, None] * arm)
    uneven = uneven - arm @ np.linalg.solve(inertia, arm.T @ (weight[:, None] * uneven))
    return at, -arm @ np.linalg.inv(area_matrix(bridges)[0, index]), uneven @ amplitude


def _at_the_middle(
    root: Array, heads: dict[int, Array], own: slice, *, passed: Array, spread: Array
) -> Array:
    """Size (2, m + 1) of the shapes at the clamp plane; `heads`: column of each own bolt and its arm."""
    found = root * np.array([1.0, 0.0])[:, None]
    for column, arm in heads.items():
        by_root = root[:, own] @ arm
        found[:, column] = spread * (root[:, column] - by_root) + by_root * np.array([1.0, 0.0])
    return np.asarray(passed[:, None] * found)


def _passed(size: tuple[float, float], length: float) -> Array:
    """Share of twist and bow left after `length`, mm, of a section `size` wide and tall."""
    wave = np.pi * np.array([np.hypot(1.0 / size[0], 1.0 / size[1]), 2.0 / size[1]])
    return np.asarray(1.0 / np.cosh(wave * length))


def _trapezoid(share: Array, count: int) -> Array:
    """Weights of the trapezoidal rule at places 0 to 1."""
    return np.where((share == 0.0) | (share == 1.0), 0.5, 1.0) / (count - 1)
