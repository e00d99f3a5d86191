"""Elastic stiffness of a half on its grid.

A cell that the shape's surface cuts is integrated over its metal alone, by many points, so that edges, holes and arches
are where they are and not where the grid is (finite cell method: Parvizian, Duester, Rank, Computational Mechanics 41,
2007). The empty part of a cut cell keeps VOID of the metal's stiffness, or functions with next to no metal would have
next to none.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.grid import Grid
from stiffcalc.grid_solid.metal import columns
from stiffcalc.grid_solid.plan import HalfSolid
from stiffcalc.grid_solid.splines import OWN, Line

VOID = 1e-5
PARTS, POINTS = 4, 2  # of a cell along x and y
THROUGH = 3  # points along z
REACH = 2 * OWN - 1  # functions along an axis that one meets, itself among them
PLANE = OWN * OWN
DIAGONAL = np.eye(3)


def stiffness(half: HalfSolid, grid: Grid) -> sp.csr_matrix:
    """Over all unknowns of the grid; rows of functions without metal are empty."""
    meets = np.zeros((grid.x.count, grid.y.count, grid.z.count, REACH, REACH, REACH, 3, 3))
    for i in range(grid.x.cells):
        _add(meets, grid, i, _cells(half, grid, i))
    return _matrix(meets, grid)


def _cells(half: HalfSolid, grid: Grid, i: int) -> Array:
    """Matrices of the cells over one cell along x, (ny, nz, 27, 27, 3, 3)."""
    (xs, ys), weight = _in_plane(grid, i)
    zs, wz = grid.z.rule(1, THROUGH)
    metal = columns(half, xs, ys).stiffness(half, zs.ravel())  # (ny, q, nz s)
    full = metal.reshape(*metal.shape[:2], *zs.shape)
    filled = np.where((full > 0.0).any(axis=(1, 3), keepdims=True), np.maximum(full, VOID), 0.0)
    weighed = filled * weight[..., None, None] * wz
    lame, shear = half.E * half.nu / ((1 + half.nu) * (1 - 2 * half.nu)), half.E / (2 * (1 + half.nu))
    T = _products(grid, i, weighed)
    found = lame * np.moveaxis(T, (0, 1), (-2, -1)) + shear * np.moveaxis(T, (0, 1), (-1, -2))
    return np.asarray(found + shear * (T[0, 0] + T[1, 1] + T[2, 2])[..., None, None] * DIAGONAL)


def _in_plane(grid: Grid, i: int) -> tuple[tuple[Array, Array], Array]:
    """Places x, y and weights (ny, q) of the points of the cells over one cell along x."""
    (x, wx), (y, wy) = grid.x.rule(PARTS, POINTS), grid.y.rule(PARTS, POINTS)
    xs, ys = np.broadcast_arrays(x[i][None, :, None], y[:, None, :])
    weight = wx[i][None, :, None] * wy[:, None, :]
    return (xs.reshape(len(y), -1), ys.reshape(len(y), -1)), weight.reshape(len(y), -1)


def _products(grid: Grid, i: int, weighed: Array) -> Array:
    """Integrals of the products of slopes, (3, 3, ny, nz, 27, 27), `weighed` (ny, q, nz, s)."""
    (u, du), (v, dv), (w, dw) = (_of_cells(line, n) for line, n in _rules(grid))
    u, du = u[i], du[i]
    flat = [
        np.einsum("qa,jrb->jqrab", a, b).reshape(len(v), -1, PLANE) for a, b in ((du, v), (u, dv), (u, v))
    ]
    up = (w, w, dw)
    ny, q, nz, s = weighed.shape
    own = weighed.transpose(0, 2, 3, 1).reshape(ny, nz * s, q)
    T = np.empty((3, 3, ny, nz, PLANE * OWN, PLANE * OWN))
    for a, b in product(range(3), range(3)):
        if b < a:
            T[a, b] = T[b, a].swapaxes(-1, -2)
            continue
        pairs = (flat[a][..., :, None] * flat[b][..., None, :]).reshape(ny, q, -1)
        in_plane = (own @ pairs).reshape(ny, nz, s, PLANE * PLANE)
        along = (up[a][..., :, None] * up[b][..., None, :]).reshape(nz, s, OWN * OWN)
        whole = in_plane.swapaxes(-1, -2) @ along
        T[a, b] = (
            whole.reshape(ny, nz, PLANE, PLANE, OWN, OWN).swapaxes(3, 4).reshape(ny, nz, PLANE * OWN, -1)
        )
    return T


def _rules(grid: Grid) -> tuple[tuple[Line, tuple[int, int]], ...]:
    return (grid.x, (PARTS, POINTS)), (grid.y, (PARTS, POINTS)), (grid.z, (1, THROUGH))


def _of_cells(line: Line, rule: tuple[int, int]) -> tuple[Array, Array]:
    """Values and slopes of each cell's functions at its points, (cells, points, 3)."""
    places, _ = line.rule(*rule)
    _, value, slope = line.at(places.ravel())
    shape = (*places.shape, OWN)
    return value.reshape(shape), slope.reshape(shape)


def _add(meets: Array, grid: Grid, i: int, cells: Array) -> None:
    """Add the cells over one cell along x to what functions meet."""
    j, k = np.ix_(grid.y.first, grid.z.first)
    ways = list(product(range(OWN), repeat=3))
    for (m, a), (n, b) in product(enumerate(ways), repeat=2):
        d = tuple(q - p + OWN - 1 for p, q in zip(a, b, strict=True))
        meets[grid.x.first[i] + a[0], j + a[1], k + a[2], d[0], d[1], d[2]] += cells[:, :, m, n]


def _matrix(meets: Array, grid: Grid) -> sp.csr_matrix:
    at = np.nonzero(meets.any(axis=(-2, -1)))
    row = grid.number(*at[:3])
    column = grid.number(*(p + d - OWN + 1 for p, d in zip(at[:3], at[3:], strict=True)))
    blocks = meets[at]
    order = np.lexsort((column, row))
    pointer = np.searchsorted(row[order], np.arange(grid.functions + 1))
    size = 3 * grid.functions
    return sp.bsr_matrix((blocks[order], column[order], pointer), shape=(size, size)).tocsr()
