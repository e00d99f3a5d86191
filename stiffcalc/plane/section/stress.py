"""Stress of a section: in the elements, recovered at nodes, principal, von Mises, along a path.

Recovered by superconvergent patches (Zienkiewicz & Zhu, The superconvergent patch recovery and a posteriori error
estimates, Int. J. Numer. Meth. Engng 33 (1992), from memory): round each corner node a complete quadratic is fitted to
the stress at the three integration points of every element that meets there, a second ring of elements taken in
where fewer than `FEW` meet (edges, corners). Middle nodes take the mean of the two fits of their side's ends. Zones
(thickness, material) are recovered apart: at a border between two a node has one stress for each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.elements import Index, locate, membrane_operator, sample, shape_functions
from stiffcalc.plane.section.assembly import laws
from stiffcalc.plane.section.grid import Grid
from stiffcalc.plane.section.rows import walk

AVERAGING = (
    "stress at nodes from complete quadratics fitted to the elements' integration points round each node, "
    "zones of different thickness or material apart"
)
FEW = 5
RIDGE = 1e-12  # keeps fits with too few points determined; share of the fit's own matrix


@dataclass(frozen=True)
class Stress:
    """Stress (x, y, xy) at places; a place is a node in one zone. l cases, k places."""

    grid: Grid
    node: Index  # (k,)
    triangles: Index  # (e, 6) places
    values: Array  # (l, k, 3) MPa

    def at_edge(self, name: str) -> Index:
        """Places (j,) on an edge, seen from the side of its owners."""
        sides = self.grid.edge(name)
        own, nodes = self.triangles[sides.owner], self.grid.triangles[sides.owner]
        on = (nodes[:, :, None] == sides.nodes[:, None]).any(axis=2)
        return np.unique(own[on])


def element_stress(grid: Grid, U: Array, *, points: int = 3) -> Array:
    """Stress (l, e, g, 3), MPa, at the integration points of every element under displacements (l, n, 2)."""
    at = sample(grid.nodes, grid.triangles, points=points)
    B = membrane_operator(at.dN).reshape(*at.weight.shape, 3, 12)
    nodal = U[:, grid.triangles].reshape(len(U), -1, 12)
    strain = np.matmul(B[None], nodal[:, :, None, :, None])[..., 0]
    return np.asarray(np.matmul(strain, laws(grid)[grid.zone]))  # the laws are symmetric


def recover(grid: Grid, U: Array) -> Stress:
    """Stress at nodes under displacements (l, n, 2)."""
    key = grid.zone[:, None] * len(grid.nodes) + grid.triangles
    unique, places = np.unique(key, return_inverse=True)
    places = places.reshape(grid.triangles.shape)
    node = unique % len(grid.nodes)
    fits = _fit(grid, places, len(unique), element_stress(grid, U))
    ends = places[:, [0, 1, 2, 1, 2, 0]]  # for corners their own fit, for middles those of both ends
    others = places[:, [0, 1, 2, 0, 1, 2]]
    values = np.zeros((len(unique), 3 * len(U)))
    for fit in (others, ends):
        values[places.ravel()] += 0.5 * fits.at(fit.ravel(), grid.nodes[node[places.ravel()]])
    return Stress(grid, node, places, values.reshape(-1, len(U), 3).transpose(1, 0, 2))


@dataclass(frozen=True)
class _Fits:
    """Complete quadratics, one a corner place."""

    row: Index  # (k,) row of each place, -1 for middles
    centre: Array  # (p, 2)
    size: Array  # (p,)
    coefficients: Array  # (p, 6, 3 l)

    def at(self, places: Index, xy: Array) -> Array:
        row = self.row[places]
        basis = _quadratic((xy - self.centre[row]) / self.size[row, None])
        return np.asarray(np.einsum("ps,psc->pc", basis, self.coefficients[row]))


def _quadratic(xy: Array) -> Array:
    x, y = xy[..., 0], xy[..., 1]
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def _fit(grid: Grid, places: Index, count: int, stress: Array) -> _Fits:
    corner = np.unique(places[:, :3])
    row = np.full(count, -1)
    row[corner] = np.arange(len(corner))
    patch, element = _patches(row[places[:, :3]], len(corner))
    centre = np.zeros((len(corner), 2))
    centre[row[places[:, :3]]] = grid.nodes[grid.triangles[:, :3]]
    at = sample(grid.nodes, grid.triangles, points=3)
    away = at.xy[element] - centre[patch][:, None]
    size = np.zeros(len(corner))
    np.maximum.at(size, patch, np.abs(away).max(axis=(1, 2)))
    basis = _quadratic(away / size[patch, None, None])
    values = stress.transpose(1, 2, 0, 3).reshape(*at.weight.shape, -1)[element]
    start = np.flatnonzero(np.r_[True, patch[1:] != patch[:-1]])
    A = np.add.reduceat(np.matmul(basis.swapaxes(1, 2), basis), start)
    b = np.add.reduceat(np.matmul(basis.swapaxes(1, 2), values), start)
    ridge = RIDGE * np.einsum("pss->p", A)[:, None, None] * np.eye(6)
    return _Fits(row, centre, size, np.linalg.solve(A + ridge, b))


def _patches(corners: Index, count: int) -> tuple[Index, Index]:
    """Pairs (patch, element), sorted by patch: elements that meet at each corner, two rings where few do."""
    elements = len(corners)
    meet = sp.csr_matrix(
        (np.ones(3 * elements), (corners.ravel(), np.repeat(np.arange(elements), 3))), shape=(count, elements)
    )
    few = np.flatnonzero(np.diff(meet.indptr) < FEW)
    wide = (meet[few] @ meet.T @ meet).tocoo()
    keep = ~np.isin(np.repeat(np.arange(count), np.diff(meet.indptr)), few)
    one = meet.tocoo()
    patch, element = np.r_[one.row[keep], few[wide.row]], np.r_[one.col[keep], wide.col]
    order = np.lexsort((element, patch))
    return patch[order].astype(np.int64), element[order].astype(np.int64)


def von_mises(stress: Array) -> Array:
    """Von Mises stress (...) of plane stress (..., 3), MPa."""
    x, y, xy = np.moveaxis(stress, -1, 0)
    return np.asarray(np.sqrt(x * x - x * y + y * y + 3 * xy * xy))


def principal(stress: Array) -> Array:
    """Principal stresses (..., 2) in the plane, the larger first, MPa; the third is zero."""
    x, y, xy = np.moveaxis(stress, -1, 0)
    radius = np.hypot((x - y) / 2, xy)
    return np.stack([(x + y) / 2 + radius, (x + y) / 2 - radius], axis=-1)


def turned(stress: Array, along: Array) -> Array:
    """Stress (..., 3) along, across and shear in axes turned to the unit vectors `along` (..., 2)."""
    x, y, xy = np.moveaxis(stress, -1, 0)
    c, s = np.moveaxis(along, -1, 0)
    first, second = x * c * c + y * s * s + 2 * xy * c * s, x * s * s + y * c * c - 2 * xy * c * s
    return np.stack([first, second, (y - x) * c * s + xy * (c * c - s * s)], axis=-1)


def sample_at(stress: Stress, points: Array) -> Array:
    """Recovered stress (l, p, 3) at points (p, 2). InputError for points off the section."""
    triangle, local = locate(stress.grid.nodes, stress.grid.triangles, points)
    if np.any(triangle < 0):
        x, y = points[np.argmin(triangle)]
        where = f"point ({x:.6g}, {y:.6g})"
        raise InputError([Fault(where, "off the section", "points in the metal", "move it")])
    nodal = stress.values[:, stress.triangles[triangle]]
    return np.asarray(np.einsum("pn,lpns->lps", shape_functions(local), nodal))


@dataclass(frozen=True)
class Path:
    """Stress along a line."""

    along: Array  # (p,) mm from its start
    xy: Array  # (p, 2) mm
    stress: Array  # (l, p, 3) MPa


def path(stress: Stress, first: tuple[float, float], last: tuple[float, float], *, count: int = 51) -> Path:
    """Stress at `count` even places from one point to another. InputError where the line leaves the metal."""
    share = np.linspace(0.0, 1.0, count)
    xy = np.array(first) + share[:, None] * np.subtract(last, first)
    return Path(share * float(np.hypot(*np.subtract(last, first))), xy, sample_at(stress, xy))


def along_edge(stress: Stress, name: str) -> Path:
    """Recovered stress at the corner nodes of an edge, in their order along it, metal on the left."""
    grid = stress.grid
    nodes, along = walk(grid.edge(name).nodes, grid.nodes)
    places = stress.at_edge(name)
    order = np.argsort(stress.node[places])
    at = places[order[np.searchsorted(stress.node[places], nodes, sorter=order)]]
    return Path(along, grid.nodes[nodes], stress.values[:, at])
