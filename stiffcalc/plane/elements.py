"""Six-node triangles: shape functions, quadrature, strains, assembly, the linear solve. All elements at once.

Isoparametric quadratic triangles in area coordinates (Zienkiewicz & Taylor, The Finite Element Method,
chapter on shape functions, from memory); triangle rules of degree 2 and 4 after Strang & Fix / Dunavant, from
memory and checked by integrating monomials in the tests.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.sparse.linalg import splu

from stiffcalc.condensed import Array

Index = NDArray[np.int64]

_A, _B = 0.445948490915965, 0.091576213509771
_WA, _WB = 0.223381589678011 / 2, 0.109951743655322 / 2
RULES: dict[
    int, tuple[Array, Array]
] = {  # number of points -> (points (g, 2), weights (g,)) on the unit triangle
    3: (np.array([[1, 1], [4, 1], [1, 4]]) / 6, np.full(3, 1 / 6)),
    6: (
        np.array(
            [[_A, _A], [1 - 2 * _A, _A], [_A, 1 - 2 * _A], [_B, _B], [1 - 2 * _B, _B], [_B, 1 - 2 * _B]]
        ),
        np.array([_WA] * 3 + [_WB] * 3),
    ),
}


@dataclass(frozen=True)
class Samples:
    """Quadrature points of all elements: e elements, g points each."""

    N: Array  # (g, 6) shape functions
    dN: Array  # (e, g, 6, 2) their derivatives with x and y, 1/mm
    weight: Array  # (e, g) area belonging to the point, mm2
    xy: Array  # (e, g, 2) mm


def shape_functions(points: Array) -> Array:
    """Values (..., 6) at local coordinates (..., 2)."""
    r, s = points[..., 0], points[..., 1]
    t = 1 - r - s
    return np.stack(
        [t * (2 * t - 1), r * (2 * r - 1), s * (2 * s - 1), 4 * t * r, 4 * r * s, 4 * s * t], axis=-1
    )


def shape_slopes(points: Array) -> Array:
    """Derivatives (..., 6, 2) with the local coordinates at (..., 2)."""
    r, s = points[..., 0], points[..., 1]
    t, o = 1 - r - s, np.zeros_like(r)
    dr = np.stack([1 - 4 * t, 4 * r - 1, o, 4 * (t - r), 4 * s, -4 * s], axis=-1)
    ds = np.stack([1 - 4 * t, o, 4 * s - 1, -4 * r, 4 * r, 4 * (t - s)], axis=-1)
    return np.stack([dr, ds], axis=-1)


def sample(nodes: Array, triangles: Index, *, points: int) -> Samples:
    """Quadrature points of every triangle with the rule of `points` (3: degree 2; 6: degree 4)."""
    local, weights = RULES[points]
    N, slopes, corners = shape_functions(local), shape_slopes(local), nodes[triangles]
    jacobian = np.einsum("eni,gnj->egij", corners, slopes)
    inverse = np.linalg.inv(jacobian)
    return Samples(
        N=N,
        dN=np.einsum("gnj,egji->egni", slopes, inverse),
        weight=np.linalg.det(jacobian) * weights,
        xy=np.einsum("gn,eni->egi", N, corners),
    )


@dataclass(frozen=True)
class LineSamples:
    """Quadrature points on three-node sides: k sides, three points each."""

    N: Array  # (3, 3) shape functions of the side's nodes (first, last, middle)
    normal: Array  # (k, 3, 2) outward normal times length belonging to the point, mm
    xy: Array  # (k, 3, 2) mm

    @property
    def length(self) -> Array:
        """Length (k, 3) belonging to each point, mm."""
        return np.asarray(np.linalg.norm(self.normal, axis=-1))


def sample_sides(nodes: Array, sides: Index) -> LineSamples:
    """Three-point Gauss quadrature on sides (k, 3) that run counter-clockwise round the region they bound."""
    c = np.sqrt(0.6)
    x, weights = np.array([-c, 0, c]), np.array([5, 8, 5]) / 9
    N = np.stack([x * (x - 1) / 2, x * (x + 1) / 2, 1 - x * x], axis=-1)
    slopes = np.stack([x - 0.5, x + 0.5, -2 * x], axis=-1)
    tangent = np.einsum("gn,kni->kgi", slopes, nodes[sides]) * weights[:, None]
    normal = np.stack([tangent[..., 1], -tangent[..., 0]], axis=-1)
    return LineSamples(N, normal, np.einsum("gn,kni->kgi", N, nodes[sides]))


def border(triangles: Index) -> Index:
    """Sides (k, 3: first, last, middle) of one triangle only, counter-clockwise round the region."""
    sides = np.concatenate([triangles[:, [0, 1, 3]], triangles[:, [1, 2, 4]], triangles[:, [2, 0, 5]]])
    _, first, count = np.unique(sides[:, 2], return_index=True, return_counts=True)
    return np.asarray(sides[np.sort(first[count == 1])])


def membrane_operator(dN: Array) -> Array:
    """B (e, g, 3, 6, 2): strains (x, y, xy engineering) of nodal movements (u, v)."""
    B = np.zeros((*dN.shape[:2], 3, 6, 2))
    B[..., 0, :, 0] = B[..., 2, :, 1] = dN[..., 0]
    B[..., 1, :, 1] = B[..., 2, :, 0] = dN[..., 1]
    return B


def element_stiffness(B: Array, C: Array, weight: Array) -> Array:
    """Sum over points of weight B^T C B: B (e, g, s, d), C (e, s, s), weight (e, g) -> (e, d, d)."""
    stress = np.matmul(C[:, None], B) * weight[..., None, None]
    e, _, _, d = B.shape
    return np.asarray(B.reshape(e, -1, d).transpose(0, 2, 1) @ stress.reshape(e, -1, d))


def node_freedoms(triangles: Index, *, per_node: int) -> Index:
    """Freedoms (e, 6 * per_node) of each triangle when node i owns the `per_node` from per_node * i on."""
    freedoms = per_node * triangles[..., None] + np.arange(per_node)
    return np.asarray(freedoms.reshape(len(triangles), -1))


def assemble(blocks: list[tuple[Array, Index]], *, size: int) -> sp.csc_matrix:
    """Sum element matrices (e, d, d) with freedoms (e, d) into one sparse matrix."""
    rows = np.concatenate([np.repeat(f, f.shape[1], axis=1).ravel() for _, f in blocks])
    columns = np.concatenate([np.tile(f, (1, f.shape[1])).ravel() for _, f in blocks])
    values = np.concatenate([k.ravel() for k, _ in blocks])
    return sp.csc_matrix((values, (rows, columns)), shape=(size, size))


def solve_pinned(K: sp.csc_matrix, loads: Array, *, pinned: Index) -> Array:
    """Solve K U = loads (n, m) with the pinned freedoms at zero; one factorisation for all columns.

    A symmetric minimum-degree ordering without pivoting: K is symmetric and, pinned, positive definite.
    """
    free = np.setdiff1d(np.arange(K.shape[0]), pinned)
    factor = splu(
        K[free][:, free].tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    U = np.zeros_like(loads)
    U[free] = factor.solve(np.ascontiguousarray(loads[free]))
    return U


CANDIDATES = 3  # a point near a curved side may lie in the neighbour of the triangle its corners suggest


def locate(nodes: Array, triangles: Index, points: Array) -> tuple[Index, Array]:
    """Triangle (k,) and local coordinates (k, 2) of each point; triangle -1 where the point lies in none.

    Corner barycentrics choose the candidates, Newton steps follow curved sides.
    """
    straight = _straight_local(nodes[triangles[:, :3]], points)
    likely = np.argsort(-_inside(straight), axis=1, kind="stable")[:, :CANDIDATES]
    r = np.take_along_axis(straight, likely[..., None], axis=1)
    corners = nodes[triangles[likely]]
    for _ in range(4):
        gap = points[:, None] - np.einsum("kcn,kcni->kci", shape_functions(r), corners)
        jacobian = np.einsum("kcni,kcnj->kcij", corners, shape_slopes(r))
        r = r + np.linalg.solve(jacobian, gap[..., None])[..., 0]
    row, best = np.arange(len(points)), np.argmax(_inside(r), axis=1)
    found = _inside(r)[row, best] > -1e-6
    return np.where(found, likely[row, best], -1), r[row, best]


def _inside(local: Array) -> Array:
    """Smallest area coordinate: positive inside the triangle."""
    return np.asarray(np.minimum(local.min(axis=-1), 1 - local.sum(axis=-1)))


def _straight_local(corners: Array, points: Array) -> Array:
    """Local coordinates (k, e, 2) of points (k, 2) in every triangle (e, 3, 2), sides taken straight."""
    edges = np.stack([corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]], axis=-1)
    return np.asarray(np.einsum("eij,kej->kei", np.linalg.inv(edges), points[:, None] - corners[:, 0]))
