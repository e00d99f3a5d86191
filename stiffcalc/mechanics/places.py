"""Where each unit load of a wall stands in the vector of points and outputs, see `stiffcalc.condensed`."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array, Points
from stiffcalc.mechanics.walls import Walls

Index = NDArray[np.intp]


@dataclass(frozen=True)
class Feet:
    """Where bridges meet the wall: centre and size of each footprint, (D, N), mm."""

    x: Array
    y: Array
    width: Array  # along x
    height: Array  # mean, along y


@dataclass(frozen=True)
class Places:
    """Places in (points, outputs) of the loads of a wall, points before outputs within each.

    force: along z at bridges, bolts, bores, then cuts; about_x: couples at bridges, then bores' tilt and
    cuts; about_y: couples at bridges, then bores' tilt.
    """

    points: Points
    cuts: int
    force: Index
    about_x: Index
    about_y: Index

    @property
    def size(self) -> int:
        """Length of the vector of points and outputs."""
        return self.points.count + 3 * self.points.bores + 2 * self.cuts

    @property
    def bore_wall(self) -> slice:
        """The `bore_wall` outputs."""
        first = self.points.count + 2 * self.points.bores
        return slice(first, first + self.points.bores)


def places(walls: Walls, feet: Feet) -> Places:
    """Places of the loads of these walls."""
    points = Points(bridges=feet.x.shape[1], bolts=walls.hole_x.shape[1], bores=walls.bore_x.shape[1])
    cuts = walls.cut_x.shape[1]
    bridge = 3 * np.arange(points.bridges)
    tilt = points.count + 2 * np.arange(points.bores)
    cut = points.count + 3 * points.bores + 2 * np.arange(cuts)
    return Places(
        points=points,
        cuts=cuts,
        force=np.concatenate([bridge, np.arange(3 * points.bridges, points.count), cut]),
        about_x=np.concatenate([bridge + 1, tilt, cut + 1]),
        about_y=np.concatenate([bridge + 2, tilt + 1]),
    )


def centres(walls: Walls, feet: Feet) -> tuple[Array, Array]:
    """x and y, (D, n), of the forces in the order of `Places.force`; cuts at the bores' area-mean y."""
    level = np.broadcast_to(bore_level(walls), walls.cut_x.shape)
    x = np.concatenate([feet.x, walls.hole_x, walls.bore_x, walls.cut_x], axis=1)
    return x, np.concatenate([feet.y, walls.hole_y, walls.bore_y, level], axis=1)


def bore_level(walls: Walls) -> Array:
    """Area-mean y of the bores, (D, 1), mm."""
    area = walls.bore_d**2
    level: Array = (walls.bore_y * area).sum(axis=1, keepdims=True) / area.sum(axis=1, keepdims=True)
    return level
