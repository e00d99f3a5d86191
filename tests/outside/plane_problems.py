"""Plane-stress problems put together from the elements of the front view, for the checks beside this file."""

from __future__ import annotations

import numpy as np

from stiffcalc.plane.elements import (
    assemble,
    border,
    element_stiffness,
    membrane_operator,
    node_freedoms,
    sample,
    sample_sides,
    shape_slopes,
    solve_pinned,
)
from stiffcalc.plane.plate import plane_stress_law

CORNERS_AND_MIDDLES = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])


def membrane_stiffness(nodes, triangles, *, E, nu, thickness=1.0):
    """Stiffness (2n, 2n) of a plane-stress sheet."""
    at = sample(nodes, triangles, points=6)
    B = membrane_operator(at.dN).reshape(*at.weight.shape, 3, 12)
    law = np.broadcast_to(thickness * plane_stress_law(E=E, nu=nu), (len(triangles), 3, 3))
    blocks = [(element_stiffness(B, law, at.weight), node_freedoms(triangles, per_node=2))]
    return assemble(blocks, size=2 * len(nodes))


def edge_load(nodes, triangles, where, traction):
    """Nodal forces (2n,) of traction(xy, normal) per length on border sides whose middle `where` picks."""
    sides = border(triangles)
    sides = sides[where(nodes[sides[:, 2]])]
    line = sample_sides(nodes, sides)
    pull = traction(line.xy, line.normal / line.length[..., None])
    share = np.einsum("kg,kgi,gn->kni", line.length, pull, line.N)
    load = np.zeros((len(nodes), 2))
    np.add.at(load, sides, share)
    return load.ravel()


def solve(K, load, fixed):
    """Displacements (n, 2) with the freedoms `fixed` at zero."""
    return solve_pinned(K, load[:, None], pinned=np.asarray(fixed))[:, 0].reshape(-1, 2)


def nodal_stress(nodes, triangles, U, *, E, nu):
    """Stress (n, 3) at nodes: mean over the triangles that meet there, no smoothing beyond that."""
    slopes, corners = shape_slopes(CORNERS_AND_MIDDLES), nodes[triangles]
    inverse = np.linalg.inv(np.einsum("eni,gnj->egij", corners, slopes))
    dN = np.einsum("gnj,egji->egni", slopes, inverse)
    B = membrane_operator(dN).reshape(*dN.shape[:2], 3, 12)
    stress = np.einsum("st,egtd,ed->egs", plane_stress_law(E=E, nu=nu), B, U[triangles].reshape(-1, 12))
    total, count = np.zeros((len(nodes), 3)), np.zeros(len(nodes))
    np.add.at(total, triangles, stress)
    np.add.at(count, triangles, 1.0)
    return total / count[:, None]


def node_at(nodes, x, y):
    """Index of the node at (x, y); fails where there is none."""
    gap = np.hypot(nodes[:, 0] - x, nodes[:, 1] - y)
    assert gap.min() < 1e-6, f"no node at ({x}, {y}): nearest is {gap.min()} away"
    return int(np.argmin(gap))
