"""Ten-node tetrahedra that fold over beside a round face: middle nodes moved until each maps one to one.

An element beside a round face that is flatter than its arcs are high folds over. Edges within the metal and within
plane faces bend with the arcs where that is enough. Where it is not (a web thinner than the arcs on both its sides,
faces that run out into each other at no angle) the arcs get flatter, those of bores last. Corners stay where they are.
`plane.unfolded` does the same for triangles.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.middle_nodes import columns_of, step
from stiffcalc.solid.elements import (
    EDGES,
    FROM_VALUES,
    LATTICE,
    Index,
    bounds,
    chords,
    jacobian_rows,
    shape_slopes,
    straight_jacobians,
)

Flags = NDArray[np.bool_]

LEAST = 0.1  # of a straight element's Jacobian: what may fall below it is mended
AIM = 0.2  # what is mended shall reach this; other elements keep what they have of it
TRIES, MOST = 6, 30  # steps of least squares: while arcs of stubborn elements alone are flat, and in the end
EIGHTHS = 8  # steps in which an arc is made flat
DAMPING, LIGHTEST, HEAVIEST = (
    1e-3,
    1e-5,
    1e4,
)  # of such a step, squared, against the squared shortfall of a coefficient
EASED, HELD = 4.0, 8.0  # the damping is so much less after a step that helps, more after one that does not
SLOPES = shape_slopes(LATTICE)


@dataclass(frozen=True)
class _Mesh:
    tets: Index  # (T, 10)
    chord: Array  # (N, 3): nodes with straight edges
    free: Flags  # (N,): middle nodes that may leave their chord
    ways: Array  # (N, 3): unit normals of the planes that they stay in, zero within the metal
    side: Array  # (N,): lengths of their edges


def unfolded(nodes: Array, tets: Index, *, ways: Array, kept: Flags) -> Array:
    """The nodes (N, 3) with middle nodes moved so that no element's Jacobian falls below LEAST of its corners' alone.

    ways (N, 3): of a node within the metal zero, within a plane face its unit normal, of others NaN: those are moved
    only toward their chords; `kept` (N,) where nothing else helps. Nodes of a mesh that nowhere folds over stay.
    """
    mesh = _mesh(nodes, tets[straight_jacobians(nodes, tets) > 0], ways)
    if not (poor := _poor(mesh, nodes)).any():
        return nodes
    found = _bent(mesh, nodes, steps=TRIES)
    for only, fixed, steps in _flattenings(poor & _poor(mesh, found), kept):
        if not _poor(mesh, found).any():
            break
        nodes = _flattened(mesh, nodes, only=only, fixed=fixed)
        found = _bent(mesh, nodes, steps=steps)
    return found


def _flattenings(stubborn: Flags, kept: Flags) -> Iterator[tuple[Flags, Flags, int]]:
    """Elements whose arcs get flatter, nodes that stay, and steps of least squares thereafter."""
    every, none = np.ones_like(stubborn), np.zeros_like(kept)
    yield stubborn, kept, TRIES
    yield every, kept, MOST
    yield every, none, 0


def _mesh(nodes: Array, tets: Index, ways: Array) -> _Mesh:
    free, side = np.asarray(np.isfinite(ways).all(axis=1)), np.ones(len(nodes))
    free[tets[:, :4]] = False
    for k, (i, j) in enumerate(EDGES):
        side[tets[:, 4 + k]] = np.linalg.norm(nodes[tets[:, j]] - nodes[tets[:, i]], axis=1)
    return _Mesh(tets, chords(nodes, tets), free, np.nan_to_num(ways), side)


def _poor(mesh: _Mesh, nodes: Array) -> Flags:
    return np.asarray(bounds(nodes, mesh.tets).min(axis=1, initial=np.inf) < LEAST)


def _flattened(mesh: _Mesh, nodes: Array, *, only: Flags, fixed: Flags) -> Array:
    """Edges of poor elements among `only` (T,) brought to their chords by eighths until they are not, or straight."""
    found, taken = nodes.copy(), np.zeros(len(nodes), dtype=int)
    low = bounds(found, mesh.tets).min(axis=1)
    while True:
        own = np.unique(mesh.tets[only & (low < LEAST), 4:])
        own = own[~fixed[own] & (taken[own] < EIGHTHS)]
        if not len(own):
            return found
        taken[own] += 1
        found[own] = nodes[own] + (taken[own] / EIGHTHS)[:, None] * (mesh.chord[own] - nodes[own])
        near = _with(mesh, own)
        low[near] = bounds(found, mesh.tets[near]).min(axis=1)


def _with(mesh: _Mesh, own: Index) -> Flags:
    """Elements (T,) that have one of these nodes."""
    marked = np.zeros(len(mesh.chord), dtype=bool)
    marked[own] = True
    return np.asarray(marked[mesh.tets].any(axis=1))


def _bent(mesh: _Mesh, nodes: Array, *, steps: int) -> Array:
    """Free middle nodes moved (Levenberg and Marquardt's steps) until every element has LEAST, or `steps` are done.

    The shortfall of every coefficient below what its element wants is brought down; what falls short on the way moves
    its own middle nodes from then on.
    """
    known, moved, damping = bounds(nodes, mesh.tets), np.zeros(len(nodes), dtype=bool), DAMPING
    low = known.min(axis=1)
    wanted = np.where(low < LEAST, AIM, np.minimum(low, AIM))[:, None]
    for _ in range(steps):
        short = np.maximum(wanted - known, 0.0)
        moved[mesh.tets[short.max(axis=1) > 0, 4:]] = True
        own = np.flatnonzero(moved & mesh.free)
        if known.min() >= LEAST or not len(own) or damping > HEAVIEST:
            break
        found = nodes.copy()
        e, k = np.nonzero(short)
        slopes = _slopes(mesh, nodes, e, k, own)
        found[own] += step(slopes, short[e, k], side=mesh.side[own], damping=damping)
        near, then = _with(mesh, own), known.copy()
        then[near] = bounds(found, mesh.tets[near])
        if (np.maximum(wanted - then, 0.0) ** 2).sum() < (short**2).sum():
            nodes, known, damping = found, then, max(damping / EASED, LIGHTEST)
        else:
            damping *= HELD
    return nodes


def _slopes(mesh: _Mesh, nodes: Array, e: Index, k: Index, own: Index) -> sp.csr_array:
    """Slopes (r, 3c) of coefficient k of element e with movements of some nodes over their edges, within their planes.

    That of a determinant with a row of its matrix is the cross product of the other two.
    """
    tets = mesh.tets[e]
    a, b, c = np.moveaxis(jacobian_rows(nodes, tets, SLOPES), -2, 0)
    crossed = np.stack([np.cross(b, c), np.cross(c, a), np.cross(a, b)], axis=-2)  # (r, 20, 3, 3)
    by = np.einsum("rq,qnk,rqkd->rnd", FROM_VALUES[k], SLOPES, crossed, optimize=True)
    by *= (mesh.side[tets] / straight_jacobians(nodes, tets)[:, None])[..., None]
    ways = mesh.ways[tets]
    by -= (by * ways).sum(axis=-1, keepdims=True) * ways
    return columns_of(by, tets, own, count=len(nodes))
