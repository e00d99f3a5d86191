"""Steps of damped least squares that move middle nodes of six-node triangles or ten-node tetrahedra."""

from __future__ import annotations

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.sparse.linalg import spsolve

from stiffcalc.condensed import Array

Index = NDArray[np.intp]

LONGEST = 0.2  # step of a middle node, of its edge


def step(slopes: sp.csr_array, short: Array, *, side: Array, damping: float) -> Array:
    """Movements (c, dims) that bring shortfalls (r,) down, none beyond LONGEST of its edge.

    slopes (r, c dims): of what falls short with movements over their edges, whose lengths are side (c,); `damping` of
    such a step, squared, against a squared shortfall.
    """
    square = slopes.T @ slopes + damping * sp.eye_array(slopes.shape[1])
    found = spsolve(square.tocsc(), slopes.T @ short).reshape(len(side), -1)
    length = np.maximum(np.linalg.norm(found, axis=1), LONGEST)
    return np.asarray(side[:, None] * found * (LONGEST / length)[:, None])


def columns_of(by: Array, elements: Index, own: Index, *, count: int) -> sp.csr_array:
    """Slopes (r, c dims) with movements of the nodes `own` (c,) of `count`, from those with an element's, (r, n, dims).

    elements (r, n): the nodes of the element that each row belongs to.
    """
    dims = by.shape[-1]
    place = np.full(count, -1)
    place[own] = np.arange(len(own))
    row, node = np.nonzero(place[elements] >= 0)
    columns = dims * place[elements[row, node], None] + np.arange(dims)
    where = (np.repeat(row, dims), columns.ravel())
    return sp.csr_array((by[row, node].ravel(), where), shape=(len(elements), dims * len(own)))
