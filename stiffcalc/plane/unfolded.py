"""Six-node triangles that fold over beside an arc: middle nodes moved until each maps one to one.

Where the border of one region runs close beside an arc of another, the triangle between them is flatter than the arc
is bent: it folds over, its area counts negative in places and stiffness comes out of nothing. Here the sides within a
region bend with the arc. Only where they do not suffice (a triangle between two arcs, or where an arc meets a border
at no angle) the arc's own side gets flatter. Corners stay where they are.

The Jacobian of such a triangle is a quadratic polynomial, so that the least of its six Bernstein coefficients is a
lower bound of it (a polynomial lies within the hull of its coefficients; derived from the shape functions).
"""

from __future__ import annotations

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.middle_nodes import columns_of, step
from stiffcalc.plane.elements import Index, shape_slopes

Flags = NDArray[np.bool_]

LEAST = 0.1  # of a straight triangle's Jacobian: what may fall below it is mended
AIM = 0.2  # what is mended shall reach this; other triangles keep what they have of it
STEPS = 8  # of least squares, before arcs get flatter
ROUNDS = 8  # of flatter arcs, before sides are made straight
FLATTER = 0.7  # an arc's height over its chord after a round, of that before
DAMPING = 1e-3  # of such a step, squared, against the squared shortfall of a coefficient
FLAT = 1e-6  # area over side squared: a sliver of rounding noise, which no middle node mends

MIDDLES = ((3, 0, 1), (4, 1, 2), (5, 2, 0))  # a middle node and the corners beside it
POINTS = np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (0.5, 0.0), (0.5, 0.5), (0.0, 0.5)])


def _form() -> Array:
    """T (6, 6, 6): coefficient k of a triangle's Jacobian is x T[k] y."""
    from_values = np.eye(6)
    for middle, a, b in MIDDLES:
        from_values[middle, [a, b, middle]] = -0.5, -0.5, 2.0
    r, s = np.moveaxis(shape_slopes(POINTS), -1, 0)
    values = r[:, :, None] * s[:, None] - s[:, :, None] * r[:, None]
    return np.asarray(np.einsum("kq,qmn->kmn", from_values, values))


FORM = _form()


def unfolded(nodes: Array, triangles: Index, faces: Index) -> Array:
    """The nodes (n, 2) with middle nodes moved so that no triangle's Jacobian falls below LEAST.

    faces (e,): which piece of the domain each triangle (e, 6) belongs to. Sides between two pieces, or on the outer
    border, keep their middle nodes as long as the others can do. Nodes of a mesh that nowhere folds over stay.
    """
    sound = _straight(*_local(nodes, triangles)) > FLAT * _sides(nodes, triangles).max(axis=1) ** 2
    triangles, faces = triangles[sound], faces[sound]
    low = bounds(nodes, triangles).min(axis=1)
    if np.all(low >= LEAST):
        return nodes
    wanted = np.where(low < LEAST, AIM, np.minimum(low, AIM))
    free, start = _free(triangles, faces, len(nodes)), nodes
    for _ in range(ROUNDS):
        found = _bent(start, triangles, wanted, free)
        poor = bounds(found, triangles).min(axis=1) < LEAST
        if not poor.any():
            return found
        start = _flatter(start, triangles[poor], FLATTER)
    return _straightened(found, triangles)


def bounds(nodes: Array, triangles: Index) -> Array:
    """Six coefficients (e, 6) between which a triangle's Jacobian lies, over that of its corners alone."""
    x, y = _local(nodes, triangles)
    return np.asarray(((x @ FORM).transpose(1, 0, 2) * y[:, None]).sum(axis=-1) / _straight(x, y)[:, None])


def _local(nodes: Array, triangles: Index) -> tuple[Array, Array]:
    """x and y (e, 6) seen from the first corner, so that little cancels."""
    x, y = np.moveaxis(nodes[triangles] - nodes[triangles[:, :1]], -1, 0)
    return x, y


def _straight(x: Array, y: Array) -> Array:
    """Jacobian (e,) of the corners alone."""
    return np.asarray(x[:, 1] * y[:, 2] - x[:, 2] * y[:, 1])


def _sides(nodes: Array, triangles: Index) -> Array:
    """Lengths (e, 3) between corners, in the order of the middle nodes."""
    corners = nodes[triangles[:, :3]]
    return np.asarray(np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=-1))


def _free(triangles: Index, faces: Index, count: int) -> Flags:
    """Which nodes (n,) are middles of sides between two triangles of one piece."""
    middles, owner = triangles[:, 3:].ravel(), np.repeat(faces, 3)
    low, high = np.full(count, np.iinfo(np.int64).max), np.full(count, -1)
    np.minimum.at(low, middles, owner)
    np.maximum.at(high, middles, owner)
    return np.asarray((low == high) & (np.bincount(middles, minlength=count) == 2))


def _bent(nodes: Array, triangles: Index, wanted: Array, free: Flags) -> Array:
    """Free middle nodes moved (damped Gauss-Newton) until every triangle has LEAST, or STEPS are done.

    The shortfall of every coefficient below what its triangle wants is brought down; what falls short on the way
    moves its own middle nodes from then on.
    """
    found, moved, side = nodes.copy(), np.zeros(len(nodes), dtype=bool), np.ones(len(nodes))
    side[triangles[:, 3:]] = _sides(nodes, triangles)
    for _ in range(STEPS):
        short = wanted[:, None] - bounds(found, triangles)
        if np.all(wanted - short.max(axis=1) >= LEAST):
            break
        moved[triangles[short.max(axis=1) > 0, 3:]] = True
        chosen = np.flatnonzero(moved & free)
        if not len(chosen):
            break
        e, k = np.nonzero(short > 0)
        slopes = _slopes(found, triangles[e], k, chosen, side)
        found[chosen] += step(slopes, short[e, k], side=side[chosen], damping=DAMPING)
    return found


def _slopes(nodes: Array, triangles: Index, k: Index, chosen: Index, side: Array) -> sp.csr_array:
    """Slopes (r, 2c) of coefficient k of each triangle with movements of the chosen nodes over their sides."""
    x, y = _local(nodes, triangles)
    by_x, by_y = np.einsum("rmn,rn->rm", FORM[k], y), np.einsum("rmn,rm->rn", FORM[k], x)
    by = np.stack([by_x, by_y], axis=-1) / _straight(x, y)[:, None, None] * side[triangles][..., None]
    return columns_of(by, triangles, chosen, count=len(nodes))


def _flatter(nodes: Array, triangles: Index, share: float) -> Array:
    """All sides of these triangles `share` as high over their chords as before."""
    found = nodes.copy()
    for middle, a, b in MIDDLES:
        chord = (nodes[triangles[:, a]] + nodes[triangles[:, b]]) / 2
        found[triangles[:, middle]] = chord + share * (nodes[triangles[:, middle]] - chord)
    return found


def _straightened(nodes: Array, triangles: Index) -> Array:
    """Straight sides wherever a triangle is left below LEAST; straight triangles never fold over, so that it ends."""
    while True:
        found = _flatter(nodes, triangles[bounds(nodes, triangles).min(axis=1) < LEAST], 0.0)
        if np.array_equal(found, nodes):
            return found
        nodes = found
