"""How a joint face with voids gives way: cells by their true extent, free sides and bolt holes as mirrors.

As in `elastic_faces` the metal behind a face is a half-space (Boussinesq 1885), but here

- each cell presses on what of it touches, and the linear part of the pressure, which the beam answers, on all of the
  section: means of 1/r over both extents, each taken for the rectangle of its area, centroid and second moments;
- what the mirrors in the sides add counts `EDGE` times, what the face's own metal adds once. Mirrors keep the sides
  flat, which are free. Counted twice they meet the rotation of Tada's edge crack within 6 % at depths of 0.2 to 0.7,
  0 % in the mean; once they miss 4 to 14 % of it. A quarter-plane pressed at its very edge asks 2.36 (wedge,
  Timoshenko and Goodier, Theory of Elasticity, section 38, from memory). Both in tests/outside/test_faces_handbook.py;
  the round number was chosen with the solids of studies/solid_check/polygon_face.py in view, too;
- a bolt hole's wall is free too: the mirror of a circle (Kelvin's image, with its opposite in the middle, so that
  nothing is added far away). It counts once: a hole's wall is a ring, which does not bulge as a flat side does. Also
  chosen with those solids in view (half of it, or half as much again, moves the worst row by less than 2 %).

Axes: C cells of one face of one design, B pieces of metal in them.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.face_cells import Cells

EDGE = 2.0
# Two cells of which a hole leaves strips may have all but one centre; they are kept apart by this part of what a cell
# gives under its own force, or the matrix would not be positive definite.
APART = 2e-3
NEAR = 3.0  # of a piece: nearer than this, pieces are integrated exactly, else to second order of their size
SQUARE = 2.973  # side of a square by its own mean distance, that is the mean of 1/r over both of its points
Sides = tuple[Array, Array]


@dataclass(frozen=True)
class LandGive:
    """How one face with voids gives way and is pressed, as forces on its cells."""

    give: Array  # (C, C) 1/mm, times 2 (1 - nu^2) / (pi E) it is both halves' movement
    plane: Array  # (C, 3) forces that stand for the section's linear pressure of unit resultant N, Mx, My
    pressing: Array  # (C, J) forces that stand for those given, spread over the section


@dataclass(frozen=True)
class _Metal:
    """Pieces of metal of one face. mm."""

    x: Array  # (B,)
    y: Array
    width: Array
    height: Array
    area: Array
    cell: NDArray[np.intp]  # which each is part of
    touches: NDArray[np.bool_]


def land_give(cells: Cells, pressing: Array) -> LandGive:
    """The only face of the only design of `cells`, cut with voids; pressing (C, J) without resultants.

    What presses the section reaches over cells that touch in part; forces on the cells' extents stand for it, of the
    same resultant and of least energy against it. What the linear pressure keeps of its energy is a give of the plane.
    """
    metal, touches = _metal(cells), cells.area[0, 0] > 0.0
    behind = _shares(metal, np.ones_like(metal.touches), len(touches))
    extents = _shares(metal, metal.touches | ~touches[metal.cell], len(touches))
    kernel = _kernel(metal, cells)
    linear = _linear(cells, metal, behind)
    seen = extents @ kernel
    potential = seen @ extents.T
    potential[np.diag_indices_from(potential)] *= 1.0 + APART
    moved = seen @ behind.T @ np.concatenate([linear, pressing], axis=1)
    stands = _standing(potential, moved, cells, used=touches | (cells.section[0, 0] > 0.0))
    plane, arm = stands[:, :3], cells.arm[0, 0]
    shared, alone = plane.T @ moved[:, :3], behind.T @ linear
    kept = alone.T @ kernel @ alone - shared - shared.T + plane.T @ potential @ plane
    without = np.eye(len(arm)) - plane @ arm.T
    return LandGive(without.T @ potential @ without + arm @ kept @ arm.T, plane, stands[:, 3:])


def _standing(potential: Array, moved: Array, cells: Cells, *, used: NDArray[np.bool_]) -> Array:
    """Forces (C, 3 + J) on the cells used that move them by `moved` but for a plane; unit resultants of the first 3."""
    own, count = np.flatnonzero(used), moved.shape[1]
    arm = cells.arm[0, 0, own]
    levers = np.abs(arm).max(axis=0)  # keeps the system's entries alike
    size = potential.max()
    K = np.block([[potential[np.ix_(own, own)] / size, arm / levers], [(arm / levers).T, np.zeros((3, 3))]])
    wanted = np.vstack([moved[own] / size, np.diag(1.0 / levers) @ np.eye(3, count)])
    found = np.zeros((len(used), count))
    found[own] = np.linalg.solve(K, wanted)[: len(own)]
    return found


def _linear(cells: Cells, metal: _Metal, behind: Array) -> Array:
    """Forces (C, 3) on the sections' cells of a linear pressure with unit resultants."""
    here = cells.section[0, 0] > 0.0
    x, y = (np.where(here, behind @ v, own[0, 0]) for v, own in ((metal.x, cells.x), (metal.y, cells.y)))
    arm = cells.arm[0, 0] + np.stack([0.0 * x, y - cells.y[0, 0], cells.x[0, 0] - x], axis=-1)
    weighed = cells.section[0, 0, :, None] * arm
    return np.asarray(weighed @ np.linalg.inv(arm.T @ weighed))


def _metal(cells: Cells) -> _Metal:
    """The only face's pieces that are there, those that touch first."""
    extents = cells.extents
    assert extents is not None  # cut without voids
    both = (extents.touching, extents.relieved)

    def every(name: str) -> Array:
        return np.concatenate([getattr(pieces, name)[0, 0] for pieces in both])

    area = every("area")
    there, count = np.flatnonzero(area > 0.0), cells.area.shape[-1]
    return _Metal(
        **{name: every(name)[there] for name in ("x", "y", "width", "height", "area")},
        cell=there % count,
        touches=there < count,
    )


def _shares(metal: _Metal, chosen: NDArray[np.bool_], count: int) -> Array:
    """Share of each piece in its cell's force (C, B), spread evenly over the chosen ones."""
    area = np.where(chosen, metal.area, 0.0)
    total = np.bincount(metal.cell, area, minlength=count)[metal.cell]
    shares = np.zeros((count, len(area)))
    shares[metal.cell, np.arange(len(area))] = area / np.where(total > 0.0, total, 1.0)
    return shares


def _kernel(metal: _Metal, cells: Cells) -> Array:
    """Mean of 1/r over every two pieces with the mirrors in sides and holes, (B, B)."""
    assert cells.extents is not None
    total = np.zeros((len(metal.x), len(metal.x)))
    for (i, dx), (k, dy) in product(enumerate(_across(metal, cells)), enumerate(_upward(metal, cells))):
        total += (1.0 if i == k == 0 else EDGE) * _mean_inverse(dx, dy, metal)
    for x, y, diameter in cells.extents.holes[0, 0]:
        if diameter > 0.0:
            total += _hole_mirror(metal, x, y, 0.5 * diameter)
    return total


def _across(metal: _Metal, cells: Cells) -> list[Array]:
    """Distances along x, (B, B): of every two pieces, and of one to the image of the other in either side."""
    low, high = cells.x_edges[0, 0]
    return _apart(metal.x, metal.x - low, high - metal.x, 0.5 * metal.width)


def _upward(metal: _Metal, cells: Cells) -> list[Array]:
    """The same along y: underside, which may be an arch (each column's own mean counts), and top."""
    top = cells.y_edges[0, 0, 1]
    low = top - cells.grid[1] * cells.height[0, 0, metal.cell]
    return _apart(metal.y, metal.y - low, top - metal.y, 0.5 * metal.height)


def _apart(place: Array, low: Array, high: Array, half: Array) -> list[Array]:
    """Images stand as far beyond a side as pieces before it; no piece reaches through: else not positive definite."""
    before = (np.maximum(away, half) for away in (low, high))
    return [np.subtract.outer(place, place), *(np.add.outer(away, away) for away in before)]


def _hole_mirror(metal: _Metal, x: float, y: float, radius: float) -> Array:
    """What a hole's wall adds, (B, B): a / (r s |p - q'|) - a / (r s), q' the image of q in the circle.

    A piece at the wall is as near to its own image as its points are to each other in the mean: so the matrix stays
    positive, which it would not if entries alone were bounded.
    """
    dx, dy = metal.x - x, metal.y - y
    r = np.maximum(np.hypot(dx, dy), 1e-9 * radius)
    own = np.sqrt(metal.width * metal.height) / SQUARE
    out = np.maximum(r, np.sqrt(radius**2 + radius * own))
    dx, dy = dx * out / r, dy * out / r
    both = np.outer(out, out) / radius
    away = both**2 - 2.0 * (np.outer(dx, dx) + np.outer(dy, dy)) + radius**2
    return np.asarray(1.0 / np.sqrt(away) - 1.0 / both)


def _mean_inverse(dx: Array, dy: Array, metal: _Metal) -> Array:
    """Mean of 1/r over every two rectangles whose middles are (dx, dy) apart, (B, B)."""
    square, size = dx**2 + dy**2, np.maximum(metal.width, metal.height)
    near = square < (NEAR * np.maximum(size[:, None], size)) ** 2
    far = np.where(near, 1.0, square)
    ww, hh = (np.add.outer(v**2, v**2) for v in (metal.width, metal.height))
    second = (ww * (3.0 * dx**2 - far) + hh * (3.0 * dy**2 - far)) / (24.0 * far**2)
    mean = (1.0 + second) / np.sqrt(far)
    one, other = np.nonzero(near)
    mean[near] = _exact_mean(
        dx[near],
        dy[near],
        width=(metal.width[one], metal.width[other]),
        height=(metal.height[one], metal.height[other]),
    )
    return np.asarray(mean)


def _exact_mean(dx: Array, dy: Array, *, width: Sides, height: Sides) -> Array:
    """The same in closed form: differences of the fourfold integral of 1/r between the sides of both."""
    total = np.zeros_like(dx)
    ends = list(product((1.0, -1.0), (1.0, -1.0)))
    for (a, b), (c, d) in product(ends, ends):
        u = dx + 0.5 * (a * width[0] + b * width[1])
        v = dy + 0.5 * (c * height[0] + d * height[1])
        total += a * b * c * d * _fourfold(np.abs(u), np.abs(v))
    return np.asarray(total / (width[0] * width[1] * height[0] * height[1]))


def _fourfold(u: Array, v: Array) -> Array:
    """G with d4 G / du2 dv2 = 1/r, u and v not negative."""
    au, av = np.maximum(u, 1e-12), np.maximum(v, 1e-12)
    logs = v**2 * u * np.arcsinh(u / av) + u**2 * v * np.arcsinh(v / au)
    return np.asarray(0.5 * logs - np.hypot(u, v) ** 3 / 6.0)
