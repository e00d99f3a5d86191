"""Internal forces of a wall seen as a free beam along x, under unit loads at its points.

The beam is kept at its first station, left of every load, so that what acts beyond x passes through x:
bending m = int (x_j - x) dF - My (conjugate to d2w/dx2), shear v = F, torque t = (y_j - y_s) F + Mx about the
local shear centre. Axes: D designs, Q stations. Signs are those of `stiffcalc.condensed`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array, Points
from stiffcalc.mechanics.sections import Sections, sections_at
from stiffcalc.mechanics.walls import Walls

# In every interval x = x0 + h s^2 (3 - 2 s): a polynomial stays one (five Gauss points take degree 2
# exactly), and the square root in a bore's chord becomes smooth at both ends.
_GAUSS, _WEIGHTS = (np.asarray(v, dtype=float) for v in np.polynomial.legendre.leggauss(5))
_S = 0.5 + 0.5 * _GAUSS
_PLACE, _MEASURE = _S**2 * (3.0 - 2.0 * _S), 3.0 * _S * (1.0 - _S) * _WEIGHTS

_TINY = 1e-9  # mm, radius that stands for a missing hole


@dataclass(frozen=True)
class Forces:
    """One kind of internal force under unit loads, (D, rows, Q), and each row's place in (points, outputs).

    The first `points` rows are loads at points; the rest are the virtual loads of outputs.
    """

    value: Array
    rows: NDArray[np.intp]
    points: int


@dataclass(frozen=True)
class Beam:
    """Stations x and their weights (D, Q), sections and internal forces there."""

    x: Array
    weight: Array
    sections: Sections
    bending: Forces
    shear: Forces
    twist: Forces


def beam(walls: Walls, *, x_b: Array, y_r: Array, points: Points) -> Beam:
    """The wall with bridges at (x_b, y_r), (D, N)."""
    x, weight = _stations(walls, x_b)
    sections = sections_at(walls, x)
    share, arm = _beyond(walls, x, x_b)
    level = _levels(walls, y_r)
    torque = share * (level[:, :, None] - sections.shear_y[:, None])
    n, p = points.bridges, points.bridges + points.bolts + points.bores
    bores = slice(n + points.bolts, p)
    force, at = _force_rows(points, walls.cut_x.shape[1]), points.count
    tilt = at + np.arange(2 * points.bores)
    cut = at + 3 * points.bores + np.arange(2 * walls.cut_x.shape[1])
    couple = np.arange(0, 3 * n, 3)

    def stack(forces: Array, couples: Array, *extra: Array) -> Array:
        return np.concatenate(
            [forces[:, :p], couples[:, :n], forces[:, p:], couples[:, bores], *extra], axis=1
        )

    def rows(axis: int, *extra: NDArray[np.intp]) -> NDArray[np.intp]:
        return np.concatenate([force[:p], couple + axis, force[p:], tilt[axis - 1 :: 2], *extra])

    return Beam(
        x=x,
        weight=weight,
        sections=sections,
        bending=Forces(stack(arm, -share), rows(2), p + n),
        shear=Forces(share, force, p),
        twist=Forces(stack(torque, share, share[:, p:]), rows(1, cut[1::2]), p + n),
    )


def _force_rows(points: Points, cuts: int) -> NDArray[np.intp]:
    """Places of the forces along z: bridges, bolts, bores, then the cuts' w."""
    n = 3 * points.bridges
    cut = points.count + 3 * points.bores + 2 * np.arange(cuts)
    return np.concatenate([np.arange(0, n, 3), np.arange(n, points.count), cut])


def _stations(walls: Walls, x_b: Array) -> tuple[Array, Array]:
    """Stations and weights (D, Q): five in every interval between places where something begins."""
    radius_b, radius_h = 0.5 * walls.bore_d, 0.5 * walls.hole_d
    places = [x_b, walls.bore_x - radius_b, walls.bore_x + radius_b, walls.hole_x - radius_h]
    places += [walls.hole_x + radius_h, walls.pocket_x[:, :, 0], walls.pocket_x[:, :, 1], walls.cut_x]
    ends = np.sort(np.concatenate(places, axis=1), axis=1)
    step = np.diff(ends, axis=1)[:, :, None]
    shape = (len(ends), -1)
    return (ends[:, :-1, None] + step * _PLACE).reshape(shape), (step * _MEASURE).reshape(shape)


def bore_level(walls: Walls) -> Array:
    """Area-mean y of the bores, (D, 1), mm."""
    area = walls.bore_d**2
    level: Array = (walls.bore_y * area).sum(axis=1, keepdims=True) / area.sum(axis=1, keepdims=True)
    return level


def _levels(walls: Walls, y_r: Array) -> Array:
    """Height above mid-height at which each force along z acts: bridges, bolts, bores, cuts."""
    cut = np.broadcast_to(bore_level(walls), walls.cut_x.shape)
    y = np.concatenate([y_r, walls.hole_y, walls.bore_y, cut], axis=1)
    level: Array = y - walls.y.mean(axis=1)[:, None]
    return level


def _beyond(walls: Walls, x: Array, x_b: Array) -> tuple[Array, Array]:
    """Share of each unit force that acts beyond x, and its moment about x: (D, loads, Q) each.

    Bridges and cuts act at a point, bores over their circle, bolts over that of their hole.
    """
    n, cut = x_b.shape[1], walls.cut_x.shape[1]
    centre = np.concatenate([x_b, walls.hole_x, walls.bore_x, walls.cut_x], axis=1)
    ahead = centre[:, :, None] - x[:, None]
    share = (ahead > 0.0).astype(float)
    arm = np.maximum(ahead, 0.0)
    discs = slice(n, ahead.shape[1] - cut)
    radius = np.maximum(0.5 * np.concatenate([walls.hole_d, walls.bore_d], axis=1), _TINY)
    share[:, discs], arm[:, discs] = disc_beyond(ahead[:, discs], radius=radius[:, :, None])
    return share, arm


def disc_beyond(ahead: Array, *, radius: Array) -> tuple[Array, Array]:
    """Share of a disc's area beyond a line `ahead` of which its centre lies (negative: behind), and its
    moment, mm.

    share = (arccos u - u sqrt(1 - u^2)) / pi, moment / radius = 2 (1 - u^2)^1.5 / 3 pi - u share, u = -ahead
    / radius. Source: circular segment, area and first moment.
    """
    u = -ahead / radius
    inside = np.clip(u, -1.0, 1.0)
    root = np.sqrt(1.0 - inside * inside)
    share = (np.arccos(inside) - inside * root) / np.pi
    return share, radius * ((2.0 / (3.0 * np.pi)) * root**3 - u * share)
