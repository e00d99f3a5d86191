"""Walls of any front outline as the closed-form wall model takes them: strips at stations, lost areas, milled metal.

What does not depend on a station is read from all strips at once. Axes: D designs, Q stations, K strips.
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics import solids
from stiffcalc.mechanics.walls import Walls
from stiffcalc.milling import Slabs, first


def strips_at(walls: Walls, x: Array) -> tuple[Array, Array, Array]:
    """Lower and upper y and milled depth of the strips at x (D, Q): (D, Q, K); the whole thickness off the outline.

    None (K = 0) where the walls are boxes.
    """
    if walls.slabs is None:
        none = np.zeros((*x.shape, 0))
        return none, none, none
    low, high, depth = first(walls.slabs).at(x)
    kept = np.any((depth > 0.0) & (high > low), axis=tuple(range(x.ndim)))
    return low[..., kept], high[..., kept], np.minimum(depth[..., kept], walls.thickness[:, None, None])


def edges(walls: Walls, x: Array) -> tuple[Array, Array]:
    """Lowest and highest y of the metal at x (D, Q); of one column where the walls are boxes."""
    if walls.slabs is None:
        return walls.y[:, :1], walls.y[:, 1:]
    low, high = first(walls.slabs).edges(x)
    empty = low > high  # off the wall
    return np.where(empty, walls.y[:, :1], low), np.where(empty, walls.y[:, 1:], high)


def depths(walls: Walls) -> list[float]:
    """Every depth that is milled somewhere, mm."""
    if walls.slabs is None:
        return []
    depth = first(walls.slabs).depth
    return [float(d) for d in np.unique(depth[np.isfinite(depth) & (depth > 0.0)])]


def lost_area(walls: Walls, power: int) -> Array:
    """Front area of the box that is missing, counted by thickness ** power, (D,), mm2."""
    if walls.slabs is None:
        return np.zeros(len(walls.thickness))
    corners, depth = first(walls.slabs).trapezoids()
    left = 1.0 - np.minimum(depth, walls.thickness[:, None]) / walls.thickness[:, None]
    return np.asarray((1.0 - left**power) @ solids.polygon(corners)[:, 0])


def floor_lost(walls: Walls) -> Array:
    """Mean over each bore of floor^3 less what is left of it cubed, (D, B), mm3."""
    lost = np.zeros(walls.bore_x.shape)
    if walls.slabs is None:
        return lost
    corners, depth = first(walls.slabs).trapezoids()
    sunk = np.isfinite(depth) & (depth > 0.0)
    corners, depth = corners[sunk], depth[sunk]
    centre = np.stack([walls.bore_x, walls.bore_y], axis=-1)[:, :, None]
    away = centre - np.clip(centre, corners.min(axis=1), corners.max(axis=1))
    design, bore, part = np.nonzero((away**2).sum(axis=-1) < (0.5 * walls.bore_d[:, :, None]) ** 2)
    x, y, diameter = (v[design, bore] for v in (walls.bore_x, walls.bore_y, walls.bore_d))
    common = solids.disc_in_polygon(x, y, diameter=diameter, outline=corners[part])[:, 0]
    floor = walls.floor[design]
    cube = floor**3 - np.maximum(floor - depth[part], 0.0) ** 3
    np.add.at(lost, (design, bore), common / (0.25 * np.pi * diameter**2) * cube)
    return lost


def milled(slabs: Slabs, *, thickness: Array, outer_z: Array, holes: tuple[Array, Array, Array]) -> Array:
    """Solid (..., 4) of what a wall's box lacks, outboard side; thickness and outer_z (...), mm.

    holes: x, y, diameter (..., H) of bolts, each in metal of one depth; what they take is not counted again.
    """
    corners, depth = slabs.trapezoids()
    section, thickness = solids.polygon(corners), np.asarray(thickness)
    total = np.zeros((*thickness.shape, 4))
    x, y, diameter = holes
    sunk, drilled = slabs.depth_at(x, y), solids.disc(x, y, diameter=diameter)
    for level in np.unique(depth):
        pit = section[depth == level].sum(axis=0) - (drilled * (sunk == level)[..., None]).sum(axis=-2)
        total = total + solids.extrude(pit, z0=outer_z - np.minimum(level, thickness), z1=np.asarray(outer_z))
    return total
