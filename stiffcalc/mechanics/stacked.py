"""Stacked linear algebra on (..., n) vectors and (..., n, n) matrices: one call for a whole batch."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import reduce
from typing import Any, TypeVar

import numpy as np

from stiffcalc.condensed import Array

T = TypeVar("T")

INVERTED = 256  # matrices at a time: they stay in the processor's cache
SLAB = 256  # designs at a time, see `in_slabs`


def one(batch: T, design: int) -> T:
    """One design of a batch, as a batch of one: every array in it, however deep, cut along its leading axis."""
    return some(batch, slice(design, design + 1))


def some(batch: T, rows: slice) -> T:
    """Some designs of a batch, as `one`."""
    cut: T = _cut(batch, rows)
    return cut


def _cut(data: Any, rows: slice) -> Any:
    if isinstance(data, np.ndarray):
        return data[rows]
    if is_dataclass(data) and not isinstance(data, type):
        return replace(data, **{f.name: _cut(getattr(data, f.name), rows) for f in fields(data)})
    if isinstance(data, tuple):
        return tuple(_cut(value, rows) for value in data)
    if isinstance(data, Mapping):
        return {key: _cut(value, rows) for key, value in data.items()}
    return data


def in_slabs(work: Callable[[slice], T], count: int, *, size: int = SLAB) -> T:
    """What `work` makes of `count` designs, at most `size` at once: that much stays in the processor's cache."""
    parts = [work(slice(start, start + size)) for start in range(0, max(1, count), size)]
    whole: T = parts[0] if len(parts) == 1 else _joined(parts)
    return whole


def _joined(parts: Sequence[Any]) -> Any:
    """One batch of several: every array in them, however deep, along its leading axis."""
    first = parts[0]
    if isinstance(first, np.ndarray):
        return np.concatenate(parts)
    if is_dataclass(first) and not isinstance(first, type):
        return replace(first, **{f.name: _joined([getattr(p, f.name) for p in parts]) for f in fields(first)})
    if isinstance(first, tuple):
        return tuple(_joined(values) for values in zip(*parts, strict=True))
    if isinstance(first, Mapping):
        return {key: _joined([p[key] for p in parts]) for key in first}
    return first


def apply(matrix: Array, vector: Array) -> Array:
    """Matrix times vector, (..., i, j) and (..., j) to (..., i)."""
    product: Array = (matrix @ vector[..., None])[..., 0]
    return product


def apply_to_rows(matrix: Array, rows: Array) -> Array:
    """Each design's matrix times the vectors of its rows: (D, i, j) and (D k, j) to (D k, i), k rows a design in turn.

    One product a design in place of one a row.
    """
    found: Array = rows.reshape(len(matrix), -1, rows.shape[-1]) @ transposed(matrix)
    return found.reshape(len(rows), -1)


def solve(matrix: Array, vector: Array) -> Array:
    """Solution of matrix x = vector, (..., n)."""
    return np.asarray(np.linalg.solve(matrix, vector[..., None])[..., 0], dtype=float)


def inverse(matrix: Array) -> Array:
    """Inverse of symmetric positive definite matrices (..., n, n).

    Gauss and Jordan's elimination, which needs no pivoting there, of all matrices at once: for small ones several times
    as fast as one call of a library a matrix.
    """
    n = matrix.shape[-1]
    flat = matrix.reshape(-1, n, n)
    found = np.empty(flat.shape)
    for start in range(0, len(flat), INVERTED):
        part = slice(start, start + INVERTED)
        found[part] = _eliminated(np.array(flat[part].transpose(1, 2, 0), order="C")).transpose(2, 0, 1)
    return found.reshape(matrix.shape)


def _eliminated(work: Array) -> Array:
    """Inverse of matrices (n, n, D), which are overwritten."""
    for k in range(len(work)):
        pivot = 1.0 / work[k, k]
        column, row = work[:, k].copy(), work[k] * pivot
        column[k], row[k] = 0.0, pivot
        work[:, k] = 0.0
        work[k] = row
        work -= column[:, None] * row
    return work


def greatest(values: Array, axis: int = -1) -> Array:
    """Greatest along a short axis: entry by entry, several times as fast as a reduction of short rows."""
    last = values if axis == -1 else np.moveaxis(values, axis, -1)
    return np.asarray(reduce(np.maximum, last.T)).T


def transposed(matrix: Array) -> Array:
    """Transpose of each matrix, a view."""
    return matrix.swapaxes(-1, -2)


def diagonal(matrix: Array) -> Array:
    """Diagonal of each matrix, (..., n), a view."""
    return np.diagonal(matrix, axis1=-2, axis2=-1)
