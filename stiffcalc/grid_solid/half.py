"""A half condensed to its joint faces and to its loads.

Axes: k axial unknowns of the grid in the mid-plane under jointed bridges (the trace), m loads: each bore's floor, all
bore walls, each head. Every load is an output too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg as la
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError
from stiffcalc.grid_solid import loads
from stiffcalc.grid_solid.factor import factorise
from stiffcalc.grid_solid.grid import Grid
from stiffcalc.grid_solid.metal import touching
from stiffcalc.grid_solid.plan import HalfSolid, Section
from stiffcalc.grid_solid.splines import DEGREE, Index
from stiffcalc.grid_solid.stiffness import PARTS, POINTS, stiffness

HELD = 1e3  # times a unknown's own stiffness: what is held
BALANCE = 1e-6  # of forces and moments, relative; functions with next to no metal cost half of the digits
LOOSE = 1e-3  # N/mm on every unknown of a pair
BED_mm = 10.0  # of metal: the bed on which faces rest while the half is factorised


@dataclass(frozen=True)
class Condensed:
    """Answer of a solid to forces f on its outputs, the unknowns of its joint faces left to move by u.

    S (k, k), B (k, m), C (m, m): forces S u - B f hold the faces, and the outputs are o = C f + B^T u.
    """

    S: Array
    B: Array
    C: Array
    unknowns: int


@dataclass(frozen=True)
class Trace:
    """The mid-plane's functions that jointed faces have metal in, and points of their sections' metal."""

    functions: Index  # (k,) of the grid
    points: Array  # (K, 2) mm
    weight: Array  # (K,) mm2
    face: Index  # (K,) which of the jointed sections
    value: sp.csr_matrix  # (K, k)

    def mass(self, weight: Array) -> Array:
        """Integrals of products over the points with some weight (K,), (k, k)."""
        return np.asarray((self.value.T @ sp.diags(weight) @ self.value).toarray())


def trace(half: HalfSolid, grid: Grid) -> Trace:
    """Of the jointed sections' metal, land or not."""
    x, wx = (v.ravel() for v in grid.x.rule(PARTS, POINTS))
    y, wy = (v.ravel() for v in grid.y.rule(PARTS, POINTS))
    xs, ys = (v.ravel() for v in np.meshgrid(x, y, indexing="ij"))
    weight = np.outer(wx, wy).ravel()
    jointed = [s for s in half.sections if s.jointed]
    chosen = [np.flatnonzero(touching(half, _whole(s), xs, ys)) for s in jointed]
    at = np.concatenate(chosen)
    place = np.column_stack([xs[at], ys[at]])
    face = np.repeat(np.arange(len(jointed)), [len(c) for c in chosen])
    which, value = grid.at(np.column_stack([place, np.zeros(len(at))]))
    functions = np.unique(which[value > 0.0])
    return Trace(functions, place, weight[at], face, grid.on_trace(place, functions))


def _whole(section: Section) -> Section:
    return Section(section.outline, section.E, section.jointed)


def condense(half: HalfSolid, grid: Grid, faces: Trace) -> Condensed:
    """The half on its trace, pinned against the rigid motions that no load drives.

    Raises `ConvergenceError` where forces do not balance.
    """
    matrix = stiffness(half, grid)
    bed = half.E / BED_mm * faces.mass(faces.weight)
    size = matrix.shape[0]
    axial = 3 * faces.functions + 2
    on_trace = sp.csr_matrix((np.ones(len(axial)), (np.arange(len(axial)), axial)), shape=(len(axial), size))
    columns = [
        *(loads.floor(half, grid, b) for b in half.bores),
        np.sum([loads.bore_wall(half, grid, b) for b in half.bores], axis=0),
        *(loads.head(half, grid, h) for h in half.heads),
    ]
    used = np.flatnonzero(matrix.diagonal() > 0.0)
    stiff = matrix + on_trace.T @ sp.csr_matrix(bed) @ on_trace + _holds(half, grid, matrix, used)
    slab = used // (3 * grid.y.count * grid.z.count) // DEGREE
    factor = factorise(stiff[used][:, used].tocsr(), np.bincount(slab))
    given = np.column_stack([on_trace.T.toarray(), *columns])[used]
    reached = factor.forward(given)
    answer = reached.T @ reached
    k = len(axial)
    own = la.inv(answer[:k, :k])
    B = own @ answer[:k, k:]
    found = Condensed(own - bed, B, answer[k:, k:] - answer[k:, :k] @ B, len(used))
    if all(s.jointed for s in half.sections):
        _audit(found, grid, faces.functions, np.column_stack(columns))
    return found


def _audit(found: Condensed, grid: Grid, functions: Index, columns: Array) -> None:
    """Free faces feel no rigid motion along z or about x and y, and hold every load's resultants."""
    rigid = grid.rigid()
    own = rigid[functions]
    felt = np.abs(own.T @ found.S) / (np.abs(own).T @ np.abs(found.S))
    given = rigid.T @ columns[2::3]
    missed = np.abs(own.T @ found.B - given) / (np.abs(rigid).T @ np.abs(columns[2::3])).max(
        axis=1, keepdims=True
    )
    worst = max(float(felt.max()), float(missed.max()))
    if not worst < BALANCE:
        raise ConvergenceError("balance of a solid on a grid", residual=worst, iterations=1)


def _holds(half: HalfSolid, grid: Grid, matrix: sp.csr_matrix, used: Index) -> sp.csr_matrix:
    """In the mid-plane three unknowns against rigid motion along x and y; what goes on to the other half, along z."""
    first = used[used % 3 == 0] // 3
    first = first[first % grid.z.count == 0]
    along = first // (grid.y.count * grid.z.count)
    a, b = first[along.argmin()], first[along.argmax()]
    held = [np.array([3 * a, 3 * a + 1, 3 * b + 1])]
    for section in half.sections:
        if not section.jointed:
            held.append(3 * _in_mid_plane(half, grid, section) + 2)
    which = np.unique(np.concatenate(held))
    stiff = HELD * matrix.diagonal()[which]
    return sp.csr_matrix((stiff, (which, which)), shape=matrix.shape)


def _in_mid_plane(half: HalfSolid, grid: Grid, section: Section) -> Index:
    low, high = section.outline.min(axis=0), section.outline.max(axis=0)
    x, y = (np.linspace(a, b, 60)[1:-1] for a, b in zip(low, high, strict=True))
    xs, ys = (v.ravel() for v in np.meshgrid(x, y, indexing="ij"))
    inside = touching(half, _whole(section), xs, ys)
    which, _ = grid.at(np.column_stack([xs[inside], ys[inside], np.zeros(int(inside.sum()))]))
    return np.unique(which[:, :: DEGREE + 1])


def joined(one: Condensed, other: Condensed) -> Condensed:
    """Two halves under the same forces, their joint faces' unknowns being what both move apart; outputs are sums.

    From the least energy of both over how they share the opening. LOOSE keeps what only forces hold from sliding.
    """
    between = la.inv(one.S + other.S + LOOSE * np.eye(len(one.S)), check_finite=False)
    apart = one.B - other.B
    return Condensed(
        S=other.S - other.S @ between @ other.S,
        B=other.B + other.S @ between @ apart,
        C=one.C + other.C + apart.T @ between @ apart,
        unknowns=one.unknowns + other.unknowns,
    )
