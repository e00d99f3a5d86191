"""Numbers of many designs at once: rows of them, one design's, and the place that governs in each.

A figure is an array with the designs first, or a plain number where it is the same in all (`mechanics.trees`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stiffcalc.condensed import Array

Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
ROUNDING = 1e-9  # relative


def of(figure: ArrayLike, design: int) -> float:
    """One design's figure."""
    values = np.asarray(figure)
    return float(values[design] if values.ndim else values)


def row(figures: Iterable[ArrayLike]) -> Array:
    """Figures side by side, (D, n), or (n,) where they are the same in all designs."""
    found = [np.asarray(f, dtype=float) for f in figures]
    rows = np.empty((*max((f.shape for f in found), key=len, default=()), len(found)))
    for i, figure in enumerate(found):
        rows[..., i] = figure
    return rows


def column(figure: ArrayLike) -> Array:
    """A figure with a last axis of length 1, to meet rows."""
    return np.asarray(figure, dtype=float)[..., None]


@dataclass(frozen=True)
class Pick:
    """One place of each design among places of a shape."""

    shape: tuple[int, ...]
    flat: Index  # (D,)

    def of(self, values: ArrayLike) -> Array:
        """The values (D, ...) there, (D,); what lacks axes in front is the same in all."""
        return _at(_full(values, (len(self.flat), *self.shape)).reshape(len(self.flat), -1), self.flat)

    @property
    def index(self) -> tuple[Index, ...]:
        """The place along each axis, (D,) each."""
        return tuple(np.unravel_index(self.flat, self.shape))


def least(values: Array, where: ArrayLike = True) -> Pick:
    """The first place of the least of values (D, ...) among those that count; the first of all where none does.

    Values that are equal but for rounding are equals: bolts alike on either side of a body would else take turns.
    """
    flat = values.reshape(len(values), -1)
    counts = None if where is True else _full(where, values.shape).reshape(flat.shape)
    counted = flat if counts is None else np.where(counts, flat, np.inf)
    lowest = _at(counted, counted.argmin(axis=1))  # a reduction of short rows takes ten times as long
    room = np.where(np.isfinite(lowest), ROUNDING * np.abs(lowest), 0.0)
    near = flat <= (lowest + room)[:, None]
    return Pick(values.shape[1:], (near if counts is None else near & counts).argmax(axis=1))


def _at(flat: NDArray[Any], places: Index) -> NDArray[Any]:
    """Each row's value at its place."""
    return np.asarray(flat[np.arange(len(flat)), places])


def _full(values: ArrayLike, shape: tuple[int, ...]) -> NDArray[Any]:
    """The values with all axes of a shape."""
    return np.asarray(values if np.shape(values) == shape else np.broadcast_to(values, shape))


def most(values: Array, where: ArrayLike = True) -> Pick:
    """As `least`, of the greatest."""
    return least(-values, where)


def differ(a: Any, b: Any) -> Mask:
    """In which designs two parts of one tree are not equal, (D,) or ()."""
    if a is b:
        return np.asarray(False)
    if type(a) is not type(b) and (is_dataclass(a) or is_dataclass(b)):
        return np.asarray(True)
    if is_dataclass(a):
        return any_of(differ(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
    if isinstance(a, tuple):
        if len(a) != len(b):
            return np.asarray(True)
        return any_of(differ(p, q) for p, q in zip(a, b, strict=True))
    p, q = np.asarray(a), np.asarray(b)
    polygons = max(p.ndim, q.ndim) >= 2  # (N, 2), or (D, N, 2)
    if polygons and p.shape[-2:] != q.shape[-2:]:
        return np.asarray(True)
    unlike = np.asarray(p != q)
    return np.asarray(unlike.any(axis=(-2, -1))) if polygons else unlike


def any_of(masks: Iterable[ArrayLike]) -> Mask:
    """Where one of the masks holds."""
    found: Mask = np.asarray(False)
    for mask in masks:
        found = np.asarray(found | np.asarray(mask))
    return found
