"""The factorised stiffness of a section and what answers to forces on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import SuperLU, splu

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.elements import Index
from stiffcalc.plane.section.assembly import assemble_blocks, element_blocks
from stiffcalc.plane.section.grid import Grid
from stiffcalc.plane.section.order import elimination_order
from stiffcalc.plane.section.rows import Rows

LOOSE = 1e-10  # share of the stiffest rigid motion's hold below which a motion counts as free


@dataclass(frozen=True)
class Matrices:
    """K of elements and beds, and K + R^T k0 R factorised, numbered in the order of elimination."""

    position: Index  # (2n,) row there of each freedom of the grid
    K: sp.csc_matrix
    coupled: sp.csc_matrix  # K + R^T k0 R
    factor: SuperLU  # of `coupled`, pinned freedoms on a plain diagonal
    pinned: Index  # freedoms of the grid

    def answer(self, force: Array, moved: Array | None = None) -> Array:
        """Displacements (2n, p) under forces (2n, p), with the pinned freedoms at `moved` (2n, p) or zero."""
        right = np.empty_like(force)
        right[self.position] = force
        pins = self.position[self.pinned]
        if moved is not None and moved.any():
            known = np.zeros_like(right)
            known[pins] = moved[self.pinned]
            right = right - self.coupled @ known
        right[pins] = 0.0
        U = self.factor.solve(right)
        if moved is not None:
            U[pins] = moved[self.pinned]
        return np.asarray(U[self.position])

    def forces(self, U: Array) -> Array:
        """K U (2n, p): what elements and beds ask for at the freedoms, N."""
        turned = np.empty_like(U)
        turned[self.position] = U
        return np.asarray((self.K @ turned)[self.position])


def factorise(
    grid: Grid, *, beds: Sequence[tuple[Array, Index]], rows: Rows, k0: Array, pinned: Index
) -> Matrices:
    """Assemble and factorise. Raises InputError where a part can move freely."""
    _refuse_loose(grid, beds, rows, pinned)
    groups = [np.unique(row.indices // 2) for row in rows.R]
    order = elimination_order(grid.nodes, grid.triangles, coupled=groups)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    position = (2 * rank[:, None] + np.arange(2)).ravel()
    K = assemble_blocks(element_blocks(grid), rank[grid.triangles], nodes=len(order))
    for block, freedoms in beds:
        K = (K + _scattered(block, position[freedoms], grid.unknowns)).tocsc()
    back = np.empty_like(position)
    back[position] = np.arange(len(position))
    R = rows.R[:, back]
    coupled = (K + R.T @ sp.diags(k0) @ R).tocsc() if len(k0) else K
    return Matrices(position, K, coupled, _factor(coupled, position[pinned]), pinned)


def _scattered(block: Array, freedoms: Index, size: int) -> sp.csc_matrix:
    width = freedoms.shape[1]
    rows, columns = np.repeat(freedoms, width, axis=1).ravel(), np.tile(freedoms, (1, width)).ravel()
    return sp.csc_matrix((block.ravel(), (rows, columns)), shape=(size, size))


def _factor(matrix: sp.csc_matrix, pins: Index) -> SuperLU:
    """Symmetric elimination in the given order, without pivoting: the matrix is positive definite once pinned."""
    held = np.zeros(matrix.shape[0], dtype=bool)
    held[pins] = True
    columns = np.repeat(np.arange(matrix.shape[1], dtype=matrix.indices.dtype), np.diff(matrix.indptr))
    rows, data = matrix.indices, matrix.data.copy()
    data[(held[rows] | held[columns]) & (rows != columns)] = 0.0
    pinned = sp.csc_matrix((data, rows, matrix.indptr), shape=matrix.shape)
    return splu(pinned, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})


def rigid_motions(grid: Grid) -> tuple[Array, list[str]]:
    """Unit motions (2n, 3 parts) of each part (x, y, turn about its middle, like-sized), and the parts' names."""
    parts = list(dict.fromkeys(zone.part for zone in grid.zones))
    owner = np.array([parts.index(zone.part) for zone in grid.zones])[grid.zone]
    motions = np.zeros((len(grid.nodes), 2, 3 * len(parts)))
    for i in range(len(parts)):
        nodes = np.unique(grid.triangles[owner == i])
        middle = grid.nodes[nodes].mean(axis=0)
        away = (grid.nodes[nodes] - middle) / np.ptp(grid.nodes[nodes], axis=0).max()
        motions[nodes, 0, 3 * i] = motions[nodes, 1, 3 * i + 1] = 1.0
        motions[nodes, 0, 3 * i + 2], motions[nodes, 1, 3 * i + 2] = -away[:, 1], away[:, 0]
    return motions.reshape(grid.unknowns, -1), parts


def _refuse_loose(grid: Grid, beds: Sequence[tuple[Array, Index]], rows: Rows, pinned: Index) -> None:
    """What supports, beds and rows make of the rigid motions; contact counts as holding."""
    motions, parts = rigid_motions(grid)
    hold = motions[pinned].T @ motions[pinned] + (rows.R @ motions).T @ (rows.R @ motions)
    for block, freedoms in beds:
        moved = motions[freedoms]  # (k, 6, 3 parts)
        hold = hold + np.einsum("kim,kij,kjn->mn", moved, block, moved) / np.abs(block).max()
    value, vector = np.linalg.eigh(hold)
    if value[0] <= LOOSE * value[-1]:
        share = np.abs(vector[:, 0])
        part, motion = divmod(int(np.argmax(share)), 3)
        way = ("along x", "along y", "in a turn")[motion]
        found = f"nothing that holds it {way}"
        raise InputError([Fault(f"part {parts[part]!r}", found, "supports against every motion", "hold it")])
