"""Curved ten-node tetrahedra on pure numbers: Jacobians, volumes, shape, and bending the edges of poor ones less."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array

Index = NDArray[np.int64]
EDGES = ((0, 1), (1, 2), (0, 2), (0, 3), (2, 3), (1, 3))  # of the middle nodes, in gmsh's order
STEPS = 8  # in which a bent edge is made straight
ROUNDING = 1e-12


def scaled_jacobians(nodes: Array, tets: Index) -> Array:
    """Scaled Jacobian (T,) of curved elements at the worst of their corners."""
    slopes = np.einsum("tnk,qnd->tqdk", nodes[tets], shape_slopes(CORNERS))  # row d: along local axis d
    worst = np.full(len(tets), np.inf)
    for corner in range(4):
        own = slopes[:, corner]
        if corner:  # the three edges that leave this corner, right-handed
            others = [k for k in range(3) if k != corner - 1]
            own = np.stack([-own[:, corner - 1], *(own[:, k] - own[:, corner - 1] for k in others)], axis=1)
            own[:, [1, 2]] = own[:, [2, 1]] if corner != 2 else own[:, [1, 2]]
        size = np.prod(np.linalg.norm(own, axis=-1), axis=-1)
        worst = np.minimum(worst, np.sqrt(2.0) * np.linalg.det(own) / size)
    return worst


def unbent(nodes: Array, tets: Index, *, fixed: NDArray[np.bool_], least: float) -> Array:
    """The nodes (N, 3), edges of elements below `least` or folded over bent less, until they are not or are straight.

    Where two faces run out into each other at no angle, an element with true edges has none either; with straight ones
    it has that of its chords. `fixed` (N,) stay where they are, and so do edges whose neighbours would be the worse.
    """
    before, over = scaled_jacobians(nodes, tets), _over(nodes, tets)
    kept = fixed.copy()
    for _ in range(STEPS):
        found = _straighter(nodes, tets, fixed=kept, least=least)
        worse = scaled_jacobians(found, tets) < np.minimum(before, least) - ROUNDING
        worse |= _over(found, tets) & ~over
        if not worse.any():
            return found
        kept[tets[worse, 4:]] = True
    return nodes


def _straighter(nodes: Array, tets: Index, *, fixed: NDArray[np.bool_], least: float) -> Array:
    found, ends = nodes.copy(), np.full((len(nodes), 2), -1)
    for k, (i, j) in enumerate(EDGES):
        ends[tets[:, 4 + k]] = tets[:, [i, j]]
    chord = np.where(ends[:, :1] >= 0, nodes[ends].mean(axis=1), nodes)
    taken, near = np.zeros(len(nodes), dtype=int), tets
    for _ in range(STEPS):
        poor = (scaled_jacobians(found, near) < least) | _over(found, near)
        own = np.unique(near[poor, 4:])
        own = own[~fixed[own] & (taken[own] < STEPS)]
        taken[own] += 1
        found[own] = nodes[own] + (taken[own] / STEPS)[:, None] * (chord[own] - nodes[own])
        near = tets[(taken[tets] > 0).any(axis=1)]
    return found


def tet_volumes(nodes: Array, tets: Index) -> Array:
    """Volumes (T,) of curved ten-node tetrahedra, mm3; negative where folded over as a whole."""
    return np.asarray((jacobians(nodes, tets, POINTS) * WEIGHT).sum(axis=-1))


# Keast's rule of 11 points, exact to degree 4; a ten-node element's Jacobian has degree 3.
_A, _B, _C = 0.3994035761667992, 0.1005964238332008, 0.07142857142857142
POINTS = np.array(
    [(0.25, 0.25, 0.25)]
    + [tuple(0.7857142857142857 if i == k else _C for i in range(3)) for k in range(4)]
    + [(_A, _B, _B), (_B, _A, _B), (_B, _B, _A), (_A, _A, _B), (_A, _B, _A), (_B, _A, _A)]
)
CORNERS = np.array([(0.0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)])
WEIGHT = np.array([-0.01315555555555556] + [0.007622222222222222] * 4 + [0.02488888888888889] * 6)


def jacobians(nodes: Array, tets: Index, points: Array) -> Array:
    """Jacobian determinants (T, Q) at local points (Q, 3)."""
    place = nodes[tets]
    slopes = np.einsum("tnk,qnd->tqkd", place, shape_slopes(points))
    return np.asarray(np.linalg.det(slopes))


def shape_slopes(points: Array) -> Array:
    """Slopes (Q, 10, 3) of the ten shape functions in gmsh's node order."""
    r, s, t = points.T
    corner = np.stack([1 - r - s - t, r, s, t])  # (4, Q)
    slope = np.array([(-1.0, -1, -1), (1, 0, 0), (0, 1, 0), (0, 0, 1)])
    found = [(4 * corner[i] - 1)[:, None] * slope[i] for i in range(4)]
    for i, j in EDGES:
        found.append(4 * (corner[i][:, None] * slope[j] + corner[j][:, None] * slope[i]))
    return np.stack(found, axis=1)


def folded(nodes: Array, tets: Index) -> int:
    """Elements whose Jacobian is not positive at a corner, an edge's middle or a point of the rule."""
    return int(_over(nodes, tets).sum())


def _over(nodes: Array, tets: Index) -> NDArray[np.bool_]:
    middles = np.array([(CORNERS[i] + CORNERS[j]) / 2 for i in range(4) for j in range(i)])
    found = jacobians(nodes, tets, np.vstack([CORNERS, middles, POINTS]))
    return np.asarray(~(found > 0).all(axis=-1))
