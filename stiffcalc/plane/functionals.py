"""Linear functionals of the plate's freedoms: what a point, a ring, a bore wall or a cut reads from a field.

Each returns rows (r, n) over the n freedoms (five a node, then three movements q a bridge); transposed, a
row is the load that is conjugate to its reading. All sums use the mesh's own quadrature, so a rigid motion
is read exactly.
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.elements import Index, Samples, border, locate, sample_sides, shape_functions
from stiffcalc.plane.mesh import Disc, Mesh
from stiffcalc.plane.plate import PER_NODE

U, V, W, BX, BY = range(PER_NODE)
POINTS_PER_CUT = 25


def rigid_fields(nodes: Array, anchors: Array) -> Array:
    """Freedoms (n, 3) in unit rigid motions (w0, theta_x, theta_y) about the origin; anchors (b, 2) of q."""
    plate = np.zeros((len(nodes), PER_NODE, 3))
    plate[:, W] = _rigid_w(nodes)
    plate[:, BX, 2] = 1.0
    plate[:, BY, 1] = -1.0
    q = np.zeros((len(anchors), 3, 3))
    q[:, 0] = _rigid_w(anchors)
    q[:, 1, 1] = q[:, 2, 2] = 1.0
    return np.concatenate([plate.reshape(-1, 3), q.reshape(-1, 3)])


def _rigid_w(xy: Array) -> Array:
    """(w0, theta_x, theta_y) -> w at xy: w0 + theta_x y - theta_y x."""
    return np.stack([np.ones(len(xy)), xy[:, 1], -xy[:, 0]], axis=-1)


def area_mean(mesh: Mesh, at: Samples, elements: Index, *, count: int) -> Array:
    """Mean w (n,) over a set of elements."""
    share = np.einsum("eg,gn->en", at.weight[elements], at.N) / at.weight[elements].sum()
    return _scatter(mesh.triangles[elements], share, W, count)


def ring_tilt(mesh: Mesh, elements: Index, centre: Disc, *, count: int) -> Array:
    """Slopes (2, n) theta_x, theta_y of the plane that best fits w on the border of a bore."""
    sides = border(mesh.triangles[elements])
    line = sample_sides(mesh.nodes, sides)
    x, y = (line.xy - (centre.x, centre.y)).reshape(-1, 2).T
    basis = np.stack([np.ones_like(x), y, -x])
    weight = line.length.ravel()
    fit = np.linalg.solve((basis * weight) @ basis.T, basis * weight)[1:]
    share = np.einsum("rkg,gn->rkn", fit.reshape(2, *line.length.shape), line.N)
    return np.stack([_scatter(sides, s, W, count) for s in share])


def bore_wall(mesh: Mesh, elements: Index, *, depth: float, z0: float, count: int) -> Array:
    """Volume (n,) swept by a bore's cylinder wall: depth * closed-line integral of (u + z0 beta) . n."""
    sides = border(mesh.triangles[elements])
    line = sample_sides(mesh.nodes, sides)
    x, y = depth * np.einsum("kgi,gn->ikn", line.normal, line.N)
    terms = ((U, x), (V, y), (BX, z0 * x), (BY, z0 * y))
    return np.asarray(sum(_scatter(sides, share, freedom, count) for freedom, share in terms))


def cut_line(mesh: Mesh, skip: Index, *, x: float, y: float, count: int) -> Array:
    """Rows (2, n): w at height y and theta_x of the straight line that best fits w along x = const.

    Sampled evenly over the wall's height; points in `skip` (the bores) and outside the metal (holes) are
    left out. Raises InputError where fewer than two remain.
    """
    heights, triangle, local = _on_cut(mesh, skip, x)
    basis = np.stack([np.ones_like(heights), heights - y])
    fit = np.linalg.solve(basis @ basis.T, basis)
    share = fit[:, :, None] * shape_functions(local)
    return np.stack([_scatter(mesh.triangles[triangle], s, W, count) for s in share])


def _on_cut(mesh: Mesh, skip: Index, x: float) -> tuple[Array, Index, Array]:
    """Points of the metal on x = const: heights (k,), triangles (k,), local coordinates (k, 2)."""
    low, high = mesh.nodes[:, 1].min(), mesh.nodes[:, 1].max()
    heights = low + (high - low) * (np.arange(POINTS_PER_CUT) + 0.5) / POINTS_PER_CUT
    across = mesh.nodes[mesh.triangles, 0]
    crossed = (across.min(axis=1) <= x) & (x <= across.max(axis=1))
    near = np.flatnonzero(crossed) if crossed.any() else np.array([0])
    found, local = locate(
        mesh.nodes, mesh.triangles[near], np.stack([np.full_like(heights, x), heights], axis=-1)
    )
    good = (found >= 0) & ~np.isin(near[found], skip)
    if good.sum() < 2:
        raise InputError([Fault("cuts", f"x = {x}", "a section with metal beside bores", "move the cut")])
    return heights[good], near[found[good]], local[good]


def _scatter(nodes: Index, share: Array, freedom: int, count: int) -> Array:
    """Row (n,) that weighs one freedom of the given nodes."""
    row = np.bincount(PER_NODE * nodes.ravel() + freedom, weights=share.ravel(), minlength=count)
    return np.asarray(row, dtype=float)
