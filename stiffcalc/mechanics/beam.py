"""Internal forces of a wall seen as a free beam along x, under unit loads at its points.

The beam is kept at its first station, left of every load, so that what acts beyond x passes through x:
bending m (conjugate to d2w/dx2), shear v, torque t about the local shear centre. Bridges act over their width
as a beam's end does (N evenly, My linearly), bores over their circle, bolts over their hole's circle. Axes: D
designs, Q stations. Signs are those of `stiffcalc.condensed`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.places import Feet, Places, centres
from stiffcalc.mechanics.sections import Sections, sections_at
from stiffcalc.mechanics.walls import Walls

# Two points in every stretch, a bore being two of them, cost at most 2e-3 of the opening.
_NODES, _WEIGHTS = (np.asarray(v, dtype=float) for v in np.polynomial.legendre.leggauss(2))

BIG = 1e9  # mm

_TINY = 1e-9  # mm, radius that stands for a missing hole


@dataclass(frozen=True)
class Beam:
    """Stations x and their weights (D, Q), sections there, and internal forces (D, points and outputs, 3, Q)."""

    x: Array
    weight: Array
    sections: Sections
    forces: Array  # bending, twist, shear

    @property
    def bending(self) -> Array:
        """(D, points and outputs, Q)."""
        return self.forces[:, :, 0]


def beam(walls: Walls, feet: Feet, place: Places, stations: tuple[Array, Array]) -> Beam:
    """The wall under unit loads at points, and under the virtual loads of outputs; other rows are zero."""
    x, weight = stations
    sections = sections_at(walls, x)
    share, arm = _beyond(walls, feet, x)
    couple_share, couple_arm = _couples(feet, x)
    n, p, bores = place.points.bridges, len(place.force) - place.cuts, place.points.bores
    level = (centres(walls, feet)[1] - walls.y.mean(axis=1)[:, None])[:, :, None] - sections.shear_y[:, None]
    forces = np.zeros((len(x), place.size, 3, x.shape[1]))
    bending, twist, shear = (forces[:, :, k] for k in range(3))
    bending[:, place.force], shear[:, place.force], twist[:, place.force] = arm, share, share * level
    couple = place.about_y[:n]
    bending[:, couple], shear[:, couple] = couple_arm, couple_share
    twist[:, couple] = couple_share * level[:, :n]
    twist[:, place.about_x[:n]] = share[:, :n]
    twist[:, place.about_x[n:]] = share[:, p - bores :]
    bending[:, place.about_y[n:]] = -share[:, p - bores : p]
    return Beam(x=x, weight=weight, sections=sections, forces=forces)


def stations_of(walls: Walls, feet: Feet) -> tuple[Array, Array]:
    """Stations and weights (D, Q): two Gauss points in every interval between places where something begins.

    Bores are cut in their middles too, and bridges where there are no bolts.
    """
    places = [
        side
        for middle, size in ((feet.x, feet.width), (walls.bore_x, walls.bore_d), (walls.hole_x, walls.hole_d))
        for side in (middle - 0.5 * size, middle + 0.5 * size)
    ]
    places += [walls.bore_x, walls.pocket_x[:, :, 0], walls.pocket_x[:, :, 1], walls.cut_x]
    if not walls.hole_x.shape[1]:  # else holes cut the stretches over bridges, where forces change most
        places.append(feet.x)
    if walls.slabs is not None:  # nothing acts beyond the first and the last of the others
        low, high = (
            f([f(p, axis=1, initial=s) for p in places], axis=0) for f, s in ((np.min, BIG), (np.max, -BIG))
        )
        places.append(np.clip(walls.slabs.marks, low[:, None], high[:, None]))
    ends = np.sort(np.concatenate(places, axis=1), axis=1)
    half = 0.5 * np.diff(ends, axis=1)[:, :, None]
    middle = 0.5 * (ends[:, 1:] + ends[:, :-1])[:, :, None]
    shape, bores = (len(ends), -1), walls.bore_x
    x, weight = (middle + half * _NODES).reshape(shape), (half * _WEIGHTS).reshape(shape)
    # Where a bore leaves least metal stresses are read, but nothing is added up: a place without weight.
    return np.concatenate([x, bores], axis=1), np.concatenate([weight, np.zeros_like(bores)], axis=1)


def _beyond(walls: Walls, feet: Feet, x: Array) -> tuple[Array, Array]:
    """Share of each unit force that acts beyond x, and its moment about x: (D, loads, Q) each."""
    n, cut = feet.x.shape[1], walls.cut_x.shape[1]
    ahead = centres(walls, feet)[0][:, :, None] - x[:, None]
    share, arm = np.empty_like(ahead), np.empty_like(ahead)
    last = ahead.shape[1] - cut
    share[:, :n], arm[:, :n] = strip_beyond(ahead[:, :n], width=feet.width[:, :, None])
    radius = np.maximum(0.5 * np.concatenate([walls.hole_d, walls.bore_d], axis=1), _TINY)
    share[:, n:last], arm[:, n:last] = disc_beyond(ahead[:, n:last], radius=radius[:, :, None])
    share[:, last:], arm[:, last:] = ahead[:, last:] > 0.0, np.maximum(ahead[:, last:], 0.0)
    return share, arm


def strip_beyond(ahead: Array, *, width: Array) -> tuple[Array, Array]:
    """Share of a unit force, spread evenly over `width`, that lies beyond a line, and its moment about it,
    mm.

    `ahead`: distance from the line to the strip's middle, negative behind. Source: statics.
    """
    share = np.clip(ahead / width + 0.5, 0.0, 1.0)
    return share, np.where(share < 1.0, 0.5 * width * share * share, ahead)


def disc_beyond(ahead: Array, *, radius: Array) -> tuple[Array, Array]:
    """The same for a force spread evenly over a disc.

    share = (arccos u - u sqrt(1 - u^2)) / pi, moment / radius = 2 (1 - u^2)^1.5 / 3 pi - u share, with
    u = -ahead / radius. Source: circular segment, area and first moment.
    """
    share = np.where(ahead > 0.0, 1.0, 0.0)
    arm = np.array(np.maximum(ahead, 0.0))
    across = (
        np.abs(ahead) < radius
    )  # the line crosses the disc, at few stations: the dear functions there only
    r = np.broadcast_to(radius, ahead.shape)[across]
    u = -ahead[across] / r
    root = np.sqrt(1.0 - u * u)
    share[across] = own = (np.arccos(u) - u * root) / np.pi
    arm[across] = r * ((2.0 / (3.0 * np.pi)) * root * root * root - u * own)
    return share, arm


def _couples(feet: Feet, x: Array) -> tuple[Array, Array]:
    """Shear and bending of a unit My of each bridge, spread linearly over its width: (D, N, Q) each.

    With s the share of the width beyond x: v = 6 s (1 - s) / width, m = -s^2 (3 - 2 s). Source: statics.
    """
    width = feet.width[:, :, None]
    s = np.clip((feet.x[:, :, None] - x[:, None]) / width + 0.5, 0.0, 1.0)
    return -6.0 * s * (1.0 - s) / width, -s * s * (3.0 - 2.0 * s)
