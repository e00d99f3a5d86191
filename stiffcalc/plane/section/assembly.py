"""Stiffness of a section: all six-node triangles at once, summed node pair by node pair.

A straight-sided triangle's stiffness is a product of its own shape (one Jacobian) and integrals over the unit
triangle, which are exact with three points; triangles with a curved side are integrated with six.
"""

from __future__ import annotations

import numpy as np
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.plane.elements import RULES, Index, shape_slopes
from stiffcalc.plane.plate import plane_stress_law
from stiffcalc.plane.section.grid import Grid
from stiffcalc.plane.section.outline_checks import Flags

VOIGT = np.array([[0, 2], [2, 1]])  # place of strain component (i, j) in (x, y, xy)
CURVED = 1e-9  # departure of a middle node from its chord, share of the side's length


def laws(grid: Grid) -> Array:
    """Plane-stress law (z, 3, 3) of each zone, MPa."""
    return np.stack([plane_stress_law(E=z.material.E, nu=z.material.nu) for z in grid.zones])


def curved(grid: Grid) -> Flags:
    """Whether each triangle has a side that is no straight line halved by its middle node, bool (e,)."""
    corners, middles = grid.nodes[grid.triangles[:, :3]], grid.nodes[grid.triangles[:, 3:]]
    after = np.roll(corners, -1, axis=1)
    bulge = np.linalg.norm(middles - (corners + after) / 2, axis=-1)
    return np.asarray((bulge > CURVED * np.linalg.norm(after - corners, axis=-1)).any(axis=1))


def element_blocks(grid: Grid) -> Array:
    """Element stiffness (2, 2, e, 6, 6), N/mm: force component i at a node, displacement component j at another."""
    bent = curved(grid)
    blocks = np.empty((2, 2, len(grid.triangles), 6, 6))
    for which, points in ((~bent, 3), (bent, 6)):
        blocks[:, :, which] = _blocks(grid, which, points)
    return blocks


def _blocks(grid: Grid, which: Flags, points: int) -> Array:
    local, weights = RULES[points]
    slopes = shape_slopes(local)
    mixed = np.einsum("gma,gnb->gabmn", slopes, slopes)  # slope a of node m times slope b of node n
    corners, zone = grid.nodes[grid.triangles[which]], grid.zone[which]
    law = (laws(grid) * np.array([z.thickness for z in grid.zones])[:, None, None])[:, VOIGT]
    tensor = law[..., VOIGT].transpose(0, 1, 3, 2, 4)[zone]  # (e, i, j, k, l) from (z, i, k, j, l)
    if points == 3:  # one Jacobian: sum the points first
        shape = _shape_factor(corners, shape_slopes(np.array([1 / 3, 1 / 3])), tensor)
        return _times(shape, np.einsum("g,gabmn->abmn", weights, mixed))
    return sum(
        (
            _times(_shape_factor(corners, s, tensor), w * m)
            for w, s, m in zip(weights, slopes, mixed, strict=True)
        ),
        start=np.zeros(()),
    )


def _shape_factor(corners: Array, slopes: Array, tensor: Array) -> Array:
    """What multiplies the unit triangle's integrals at one point, (i, j, e, a, b)."""
    jacobian = np.einsum("eni,nj->eij", corners, slopes)
    inverse = np.linalg.inv(jacobian)
    turned = np.einsum("eijkl,eak->eijal", tensor, inverse)
    return np.asarray(np.einsum("e,eijal,ebl->ijeab", np.linalg.det(jacobian), turned, inverse))


def _times(shape: Array, unit: Array) -> Array:
    return np.asarray((shape.reshape(-1, 4) @ unit.reshape(4, 36)).reshape(*shape.shape[:3], 6, 6))


def assemble_blocks(blocks: Array, triangles: Index, *, nodes: int) -> sp.csc_matrix:
    """Sum element blocks (2, 2, e, 6, 6) into a symmetric matrix with two freedoms a node."""
    rows = np.repeat(triangles, 6, axis=1).ravel().astype(np.int32)
    columns = np.tile(triangles, (1, 6)).ravel().astype(np.int32)
    planes = [
        sp.coo_matrix((blocks[i, j].ravel(), (rows, columns)), shape=(nodes, nodes)).tocsr()
        for i in (0, 1)
        for j in (0, 1)
    ]
    data = np.stack([plane.data for plane in planes], axis=-1).reshape(-1, 2, 2)
    whole = sp.bsr_matrix((data, planes[0].indices, planes[0].indptr), shape=(2 * nodes, 2 * nodes)).tocsr()
    # Symmetric: rows read as columns are the same matrix.
    return sp.csc_matrix((whole.data, whole.indices, whole.indptr), shape=whole.shape)
