"""What presses a half, as forces on the grid's unknowns; the same rows read the movements that these forces work on."""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.grid import Grid
from stiffcalc.grid_solid.plan import HalfSolid
from stiffcalc.plane.mesh import Disc
from stiffcalc.plane.plan import Head

AROUND, OUTWARD, DOWN = 48, 8, 16  # points of a disc or ring round and across, of a bore's wall along z
INTO = 1e-6  # mm by which a point on a surface is taken for inside the metal


def floor(half: HalfSolid, grid: Grid, bore: Disc) -> Array:
    """1 MPa on a bore's floor (n,), outward."""
    place, weight = ring(bore.x, bore.y, 0.0, bore.diameter)
    return axial(grid, place, half.bottom + INTO, weight)


def bore_wall(half: HalfSolid, grid: Grid, bore: Disc) -> Array:
    """1 MPa on a bore's cylinder wall over its full depth (n,)."""
    angle = 2.0 * np.pi * (np.arange(AROUND) + 0.5) / AROUND
    xi, weight = np.polynomial.legendre.leggauss(DOWN)
    z = 0.5 * (half.gap + half.bottom) + 0.5 * (half.bottom - half.gap) * xi
    a, zs = (v.ravel() for v in np.meshgrid(angle, z, indexing="ij"))
    area = np.tile(weight, AROUND) * 0.5 * (half.bottom - half.gap) * np.pi * bore.diameter / AROUND
    radius = 0.5 * bore.diameter + INTO
    outward = np.column_stack([np.cos(a), np.sin(a)])
    which, value = grid.at(np.column_stack([[bore.x, bore.y] + radius * outward, zs]))
    force = np.zeros(3 * grid.functions)
    for direction in (0, 1):
        np.add.at(force, 3 * which + direction, value * (area * outward[:, direction])[:, None])
    return force


def head(half: HalfSolid, grid: Grid, bolt: Head) -> Array:
    """1 N on the ring under a head (n,), outward, spread evenly."""
    place, weight = ring(bolt.x, bolt.y, bolt.hole, bolt.bearing)
    return axial(grid, place, half.outer - INTO, weight / weight.sum())


def axial(grid: Grid, place: Array, z: float, weight: Array) -> Array:
    """Forces along z at points (K, 2) of the x-y plane (n,)."""
    which, value = grid.at(np.column_stack([place, np.full(len(place), z)]))
    force = np.zeros(3 * grid.functions)
    np.add.at(force, 3 * which + 2, value * weight[:, None])
    return force


def ring(x: float, y: float, inner: float, outer: float) -> tuple[Array, Array]:
    """Points (K, 2) and areas (K,) between two diameters."""
    xi, weight = np.polynomial.legendre.leggauss(OUTWARD)
    width = 0.25 * (outer - inner)
    radius = 0.25 * (outer + inner) + width * xi
    angle = 2.0 * np.pi * (np.arange(AROUND) + 0.5) / AROUND
    place = np.stack([x + np.outer(radius, np.cos(angle)), y + np.outer(radius, np.sin(angle))], axis=-1)
    return place.reshape(-1, 2), np.repeat(weight * width * radius * 2.0 * np.pi / AROUND, AROUND)
