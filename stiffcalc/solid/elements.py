"""Curved ten-node tetrahedra on pure numbers: Jacobians, volumes, shape, and bending the edges of poor ones less."""

from __future__ import annotations

from itertools import product
from math import factorial

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array

Index = NDArray[np.int64]
EDGES = ((0, 1), (1, 2), (0, 2), (0, 3), (2, 3), (1, 3))  # of the middle nodes, in gmsh's order
STEPS = 8  # in which a bent edge is made straight
ROUNDING = 1e-12
STRAIGHT = 1e-7  # mm: nearer to its chord's middle a node is rounding noise


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
    before, over = scaled_jacobians(nodes, tets), folds(nodes, tets)
    kept = fixed.copy()
    for _ in range(STEPS):
        found = _straighter(nodes, tets, fixed=kept, least=least)
        worse = scaled_jacobians(found, tets) < np.minimum(before, least) - ROUNDING
        worse |= folds(found, tets) & ~over
        if not worse.any():
            return found
        kept[tets[worse, 4:]] = True
    return nodes


def _straighter(nodes: Array, tets: Index, *, fixed: NDArray[np.bool_], least: float) -> Array:
    found, chord = nodes.copy(), chords(nodes, tets)
    taken, near = np.zeros(len(nodes), dtype=int), tets
    for _ in range(STEPS):
        poor = (scaled_jacobians(found, near) < least) | folds(found, near)
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
    rows = np.moveaxis(jacobian_rows(nodes, tets, shape_slopes(points)), -2, 0)
    return np.asarray(np.einsum("tqd,tqd->tq", rows[0], np.cross(rows[1], rows[2])))


def jacobian_rows(nodes: Array, tets: Index, slopes: Array) -> Array:
    """Jacobian matrices (T, Q, 3, 3), a row a local axis, where the shape functions have these slopes (Q, 10, 3)."""
    place = nodes[tets] - nodes[tets[:, :1]]  # so that little cancels
    return np.asarray(np.matmul(np.swapaxes(slopes, 1, 2), place[:, None]))


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
    """Elements whose Jacobian may not be positive somewhere."""
    return int(folds(nodes, tets).sum())


def folds(nodes: Array, tets: Index) -> NDArray[np.bool_]:
    """Which elements (T,) those are."""
    sound = (straight_jacobians(nodes, tets) > 0) & (bounds(nodes, tets).min(axis=1, initial=np.inf) > 0)
    return np.asarray(~sound)


def bounds(nodes: Array, tets: Index) -> Array:
    """Twenty coefficients (T, 20) between which an element's Jacobian lies, over that of its corners alone.

    The Jacobian of a ten-node element is a cubic polynomial, which lies within the hull of its Bernstein coefficients
    (derived from the shape functions). Those of a straight element are 1.
    """
    found, place = np.ones((len(tets), len(LATTICE))), nodes[tets]
    chord = np.stack([place[:, i] + place[:, j] for i, j in EDGES], axis=1) / 2
    bent = np.flatnonzero(np.abs(place[:, 4:] - chord).max(axis=(1, 2), initial=0.0) > STRAIGHT)
    straight = straight_jacobians(nodes, tets[bent])
    found[bent] = jacobians(nodes, tets[bent], LATTICE) @ FROM_VALUES.T / straight[:, None]
    return found


def straight_jacobians(nodes: Array, tets: Index) -> Array:
    """Jacobians (T,) of the corners alone."""
    corners = nodes[tets[:, :4]]
    return np.asarray(np.linalg.det(corners[:, 1:] - corners[:, :1]))


def chords(nodes: Array, tets: Index) -> Array:
    """Nodes (N, 3) with those of edges halfway between their corners."""
    found = nodes.copy()
    for k, (i, j) in enumerate(EDGES):
        found[tets[:, 4 + k]] = (nodes[tets[:, i]] + nodes[tets[:, j]]) / 2
    return found


def _bernstein() -> tuple[Array, Array]:
    """Where a cubic polynomial is read (20, 3), and its coefficients (20, 20) from what it is there."""
    powers = np.array([p for p in product(range(4), repeat=4) if sum(p) == 3])
    count = np.array([6 // np.prod([factorial(n) for n in p]) for p in powers])
    at = powers / 3
    values = count * np.prod(at[:, None] ** powers, axis=-1)
    return at[:, 1:], np.linalg.inv(values)


LATTICE, FROM_VALUES = _bernstein()
