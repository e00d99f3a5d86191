"""Second-order elasticity on a `TetMesh`, condensed to the joint face and to the loads in one factorisation.

Stiffness: scikit-fem supplies geometry, shape functions and quadrature, the element matrices are formed in bulk.
Condensation: every load is also an output (floor volume, bore-wall volume, head ring, mouth-ring slope), so the loads
stand in the matrix as extra rows and one partial factorisation returns the small dense matrix that answers everything.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import scipy.sparse as sp
from skfem import Basis, ElementTetP2, MeshTet, MeshTet2
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri
from solid_mesh import TetMesh

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.half import Condensed

CHUNK = 4000  # elements whose matrices are formed at once
EDGES = ((0, 1), (1, 2), (0, 2), (0, 3), (2, 3), (1, 3))  # of gmsh's 10-node tetrahedron, in its node order


def as_skfem(mesh: TetMesh) -> MeshTet2:
    """The same mesh for scikit-fem, mid-side nodes on the curved surfaces."""
    corners, tets = np.unique(mesh.tets[:, :4], return_inverse=True)
    tets = tets.reshape(-1, 4)
    linear = MeshTet(np.ascontiguousarray(mesh.nodes[corners].T), np.ascontiguousarray(tets.T))
    curved = MeshTet2.from_mesh(linear)
    pairs = np.sort(np.concatenate([tets[:, e] for e in EDGES]), axis=1)
    middle = np.concatenate([mesh.tets[:, 4 + k] for k in range(6)])
    keys, first = np.unique(pairs[:, 0] * len(corners) + pairs[:, 1], return_index=True)
    edges = np.sort(curved.edges, axis=0)
    rows = first[np.searchsorted(keys, edges[0] * len(corners) + edges[1])]
    curved.doflocs[:, len(corners) :] = mesh.nodes[middle[rows]].T
    return curved


def bulk_basis(mesh: MeshTet2, elements: Array | None = None) -> Basis:
    """Scalar quadratic basis with the usual four points, on some elements or all; refuses folded ones."""
    basis = Basis(mesh, ElementTetP2(), intorder=2, elements=elements)
    det = basis.mapping.detDF(basis.quadrature[0])
    if not (np.sign(det) == np.sign(det[:, :1])).all():
        raise ValueError("the mesh has folded elements")
    return basis


def stiffness(basis: Basis, *, E: float, nu: float) -> sp.csr_matrix:
    """Upper triangle of the elastic stiffness, unknown 3 * node + direction."""
    nodes = basis.element_dofs.T.astype(np.int64)
    a, b = np.triu_indices(10)
    swap = nodes[:, a] > nodes[:, b]
    row, column = np.where(swap, nodes[:, b], nodes[:, a]), np.where(swap, nodes[:, a], nodes[:, b])
    keys, place = np.unique((row * basis.N + column).ravel(), return_inverse=True)
    blocks = np.zeros((9, len(keys)))
    for start in range(0, len(nodes), CHUNK):
        part = slice(start, start + CHUNK)
        values = _pair_blocks(basis, part, a, b, E=E, nu=nu)
        values = np.where(swap[part, :, None, None], values.swapaxes(-1, -2), values).reshape(-1, 9)
        where = place.reshape(swap.shape)[part].ravel()
        low, high = where.min(), where.max() + 1
        for k in range(9):
            blocks[k, low:high] += np.bincount(where - low, weights=values[:, k], minlength=high - low)
    pointer = np.searchsorted(keys // basis.N, np.arange(basis.N + 1))
    matrix = sp.bsr_matrix((blocks.T.reshape(-1, 3, 3), keys % basis.N, pointer), shape=(3 * basis.N,) * 2)
    return sp.triu(matrix.tocsr(), format="csr")


def _pair_blocks(basis: Basis, part: slice, a: Array, b: Array, *, E: float, nu: float) -> Array:
    """3 x 3 blocks of the node pairs (a, b) of some elements, (e, pairs, 3, 3)."""
    lame, shear = E * nu / ((1 + nu) * (1 - 2 * nu)), E / (2 * (1 + nu))
    slope = np.stack([basis.basis[n][0].grad[:, part] for n in range(10)])  # (10, 3, e, q)
    slope = (slope * np.sqrt(basis.dx[part])).transpose(2, 0, 1, 3)
    e, q = slope.shape[0], slope.shape[3]
    flat = np.ascontiguousarray(slope).reshape(e, 30, q)
    T = (
        (flat @ flat.swapaxes(1, 2)).reshape(e, 10, 3, 10, 3)[:, a, :, b, :].swapaxes(0, 1)
    )  # (e, pairs, 3, 3)
    trace = np.trace(T, axis1=-2, axis2=-1)
    return lame * T + shear * T.swapaxes(-1, -2) + shear * trace[..., None, None] * np.eye(3)


@dataclass(frozen=True)
class Surface:
    """Six-node triangles (F, 6) of boundary facets with shape functions (6, q) and vector area per point (F, q, 3)."""

    nodes: np.ndarray
    shape: Array
    area: Array  # outward normal times weight, mm2


def surface(mesh: MeshTet2, facets: Array) -> Surface:
    """Boundary facets as curved triangles with a rule that is exact to degree 4."""
    corners = mesh.facets[:, facets]
    edges = np.sort(mesh.edges, axis=0)
    keys, size = edges[0] * mesh.nvertices + edges[1], mesh.nvertices
    order = np.argsort(keys)
    pairs = [np.sort(corners[list(p)], axis=0) for p in ((0, 1), (1, 2), (0, 2))]
    middle = [size + order[np.searchsorted(keys[order], p[0] * size + p[1])] for p in pairs]
    nodes = np.vstack([corners, *middle]).T
    rule, weight = get_quadrature(RefTri, 4)
    value, slope = _triangle_functions(rule)
    tangents = np.einsum("fni,nqa->fqai", mesh.doflocs[:, nodes].transpose(1, 2, 0), slope)
    area = np.cross(tangents[:, :, 0], tangents[:, :, 1]) * weight[:, None]
    inside = mesh.p[:, mesh.t[:, mesh.f2t[0, facets]]].mean(axis=1).T
    outward = mesh.p[:, corners].mean(axis=1).T - inside
    sign = np.sign(np.einsum("fi,fi->f", area.sum(axis=1), outward))
    return Surface(nodes, value, area * sign[:, None, None])


def surface_integrals(mesh: MeshTet2, facets: Array) -> tuple[Array, Array]:
    """Integral of each shape function over `facets` (N,), and of it times the outward normal (N, 3)."""
    part = surface(mesh, facets)
    count = mesh.doflocs.shape[1]
    plain, normal = np.zeros(count), np.zeros((count, 3))
    np.add.at(plain, part.nodes, np.einsum("nq,fq->fn", part.shape, np.linalg.norm(part.area, axis=-1)))
    np.add.at(normal, part.nodes, np.einsum("nq,fqi->fni", part.shape, part.area))
    return plain, normal


def _triangle_functions(at: Array) -> tuple[Array, Array]:
    """Six-node triangle at points (2, q): functions (6, q) and slopes (6, q, 2); corners, then edges 01, 12, 02."""
    s, t = at
    r, zero = 1.0 - s - t, 0.0 * s
    value = np.stack([r * (2 * r - 1), s * (2 * s - 1), t * (2 * t - 1), 4 * r * s, 4 * s * t, 4 * r * t])
    along_s = np.stack([1 - 4 * r, 4 * s - 1, zero, 4 * (r - s), 4 * t, -4 * t])
    along_t = np.stack([1 - 4 * r, zero, 4 * t - 1, -4 * s, 4 * s, 4 * (r - t)])
    return value, np.stack([along_s, along_t], axis=-1)


def condense(matrix: sp.csr_matrix, columns: Array, *, held: Array, kept: Array) -> Condensed:
    """Partial factorisation: unknowns `held` are zero, `kept` stay; `columns` (n, m) are loads and outputs alike."""
    n = matrix.shape[0]
    free = np.setdiff1d(np.arange(n), np.concatenate([held, kept]))
    order = np.concatenate([free, kept])
    full = _permuted_upper(matrix, order)
    load = sp.csr_matrix(columns[order])
    m = columns.shape[1]
    system = sp.bmat([[full, load], [None, 1e-300 * sp.identity(m)]], format="csr")
    schur = _schur(system, len(free))
    k = len(kept)
    return Condensed(S=schur[:k, :k], B=schur[:k, k:], C=-schur[k:, k:], unknowns=len(free) + k)


def _permuted_upper(matrix: sp.csr_matrix, order: Array) -> sp.csr_matrix:
    """Upper triangle of the symmetric matrix whose upper triangle is `matrix`, rows and columns in `order`."""
    place = np.full(matrix.shape[0], -1)
    place[order] = np.arange(len(order))
    entries = matrix.tocoo()
    row, column = place[entries.row], place[entries.col]
    keep = (row >= 0) & (column >= 0)
    row, column = row[keep], column[keep]
    upper = (np.minimum(row, column), np.maximum(row, column))
    return sp.csr_matrix((entries.data[keep], upper), shape=(len(order),) * 2)


def _schur(system: sp.csr_matrix, free: int) -> Array:
    """Dense Schur complement on the unknowns after the first `free`, by a symmetric partial factorisation."""
    system.sort_indices()
    n = system.shape[0]
    size = n - free
    solver = _solver()
    solver.pt[:], solver.iparm[:] = 0, 0
    solver.iparm[[0, 1, 9, 20]] = [
        1,
        2,
        8,
        1,
    ]  # own settings, nested dissection, pivot size 1e-8, 2 x 2 pivots
    solver.iparm[35] = 1  # return the Schur complement
    solver.perm = np.r_[np.zeros(free), np.ones(size)].astype(np.int32)
    solver.set_phase(12)
    flat = solver._call_pardiso(system, np.zeros(size * size))
    solver.set_phase(-1)
    solver._call_pardiso(system, np.zeros(1))
    return flat.reshape(size, size)


@cache
def _solver() -> Any:
    """One for all: finding the library takes longer than a small solution. What was solved is read without it."""
    import pypardiso

    return pypardiso.PyPardisoSolver(mtype=-2)
