"""Stacked linear algebra on (..., n) vectors and (..., n, n) matrices: one call for a whole batch."""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array


def apply(matrix: Array, vector: Array) -> Array:
    """Matrix times vector, (..., i, j) and (..., j) to (..., i)."""
    product: Array = (matrix @ vector[..., None])[..., 0]
    return product


def solve(matrix: Array, vector: Array) -> Array:
    """Solution of matrix x = vector, (..., n)."""
    return np.asarray(np.linalg.solve(matrix, vector[..., None])[..., 0], dtype=float)


def inverse(matrix: Array) -> Array:
    """Inverse, (..., n, n)."""
    return np.asarray(np.linalg.inv(matrix), dtype=float)


def transposed(matrix: Array) -> Array:
    """Transpose of each matrix, a view."""
    return matrix.swapaxes(-1, -2)


def diagonal(matrix: Array) -> Array:
    """Diagonal of each matrix, (..., n), a view."""
    return np.diagonal(matrix, axis1=-2, axis2=-1)
