"""Points at which a joint face is asked for metal, and what is counted of them.

Axes: D designs, n joint faces, C cells a face, rows of equal x first; S strips of a face, `up` points of a strip.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges, underside
from stiffcalc.mechanics.voids import Void, keeps

SAMPLES = 6  # a side and cell
Counts = NDArray[np.int16]


@dataclass(frozen=True)
class Grid:
    """Points at which metal is looked for: SAMPLES a side and cell, on strips of equal width. mm."""

    x: Array  # (D, n, S) middle of each strip
    low: Array  # (D, n, S) underside there
    tall: Array  # (D, n, S) from underside to top
    strip: Array  # (D, n, 1) width of a strip
    columns: int
    rows: int

    @classmethod
    def of(cls, bridges: Bridges, columns: int, rows: int) -> Grid:
        """The points of the bridges' faces in `columns` x `rows` cells."""
        x0, x1 = bridges.x[..., :1], bridges.x[..., 1:]
        count = columns * SAMPLES
        x = x0 + (x1 - x0) * (np.arange(count) + 0.5) / count
        low = underside(bridges, x)
        return cls(x, low, bridges.y[..., 1, None] - low, (x1 - x0) / count, columns, rows)

    @property
    def up(self) -> int:
        """Points of a strip."""
        return self.rows * SAMPLES

    @property
    def box(self) -> Array:
        """Area that a point stands for, (D, n, S)."""
        return np.asarray(self.strip * self.tall / self.up)

    @property
    def y(self) -> Array:
        """Of every point, (D, n, S, up)."""
        return self.low[..., None] + self.tall[..., None] * ((np.arange(self.up) + 0.5) / self.up)

    @cached_property
    def strips(self) -> tuple[Array, Array, Array, Array]:
        """Of each strip (S, D, n) the area that a point stands for, x, underside, and a point's height."""
        box, x, low, step = _strips_first(self.box, self.x, self.low, self.tall / self.up)
        return box, x, low, step

    def whole(self) -> tuple[Array, tuple[Array, Array]]:
        """Area of each cell as if it were all metal, (D, n, C), and its first moments int x, int y."""
        box, x, low, step = self.strips
        middle = np.arange(self.rows)[:, None, None] + 0.5

        def columns(strips: Array) -> Array:
            """Sum over the strips of each column of one row, (columns, 1, D, n)."""
            return np.asarray(strips.reshape(self.columns, 1, SAMPLES, *strips.shape[1:]).sum(axis=2))

        area = SAMPLES * box
        up = columns(area * low) + columns(SAMPLES * area * step) * middle
        flat = (columns(area), columns(area * x))
        whole, across = (np.broadcast_to(v, up.shape) for v in flat)
        return _faces_first(whole), (_faces_first(across), _faces_first(up))

    def lost(self, count: Counts, climb: Counts) -> tuple[Array, Array, Array]:
        """Area and first moments (D, n, C) of points that are no metal, as `counted` counts them."""
        start = (np.arange(self.rows) * SAMPLES + 0.5)[:, None, None, None]
        box, x, low, step = self.strips
        area = box * count
        height = area * (low + step * start) + (box * step) * climb
        return self._cells(area), self._cells(area * x), self._cells(height)

    def pieces(self, metal: NDArray[np.bool_]) -> tuple[Array, Array, Array, Array, Array]:
        """What points (up, S, D, n) of metal make of each cell, each (D, n, C).

        Area, its centroid x, y, and width and height of the rectangle of the same second moments; no area: a point.
        """
        weight = metal * _strips_first(self.box)[0]
        x, step = _strips_first(self.x, self.tall / self.up)
        y = np.moveaxis(self.y, (3, 2), (0, 1))
        area = self._points(weight)
        some = np.where(area > 0.0, area, 1.0)
        cx, cy = (self._points(weight * v) / some for v in (x, y))
        xx, yy = self._points(weight * x**2) / some - cx**2, self._points(weight * y**2) / some - cy**2
        own = (area > 0.0) * self.strip**2, self._points(weight * step**2) / some  # of a point's box
        width, height = (np.sqrt(np.maximum(12.0 * v + w, 0.0)) for v, w in zip((xx, yy), own, strict=True))
        return area, cx, cy, width, height

    def _points(self, values: Array) -> Array:
        """Sum over the points (up, S, D, n) of each cell, (D, n, C)."""
        return self._cells(values.reshape(self.rows, SAMPLES, *values.shape[1:]).sum(axis=1))

    def _cells(self, values: Array) -> Array:
        """Sum over the strips of each column: (rows, S, D, n) to (D, n, C)."""
        split = values.reshape(self.rows, self.columns, SAMPLES, *values.shape[2:])
        return _faces_first(split.sum(axis=2).swapaxes(0, 1))


def _faces_first(values: Array) -> Array:
    """Values (columns, rows, D, n) of cells as (D, n, C)."""
    found: Array = values.transpose(2, 3, 0, 1).reshape(*values.shape[2:], -1)
    return found


def _strips_first(*values: Array) -> tuple[Array, ...]:
    """Values (D, n, S) of strips as (S, D, n): sums over a few strips are then sums of long rows."""
    return tuple(np.ascontiguousarray(v.transpose(2, 0, 1)) for v in values)


def hole_runs(bridges: Bridges, grid: Grid) -> list[tuple[Counts, Counts]]:
    """Points of each strip in a bolt hole, between the ends of its chord: the first and the first beyond, (S, D, n).

    Holes lie apart, so that their runs have no point in common.
    """
    _, x, low, step = grid.strips
    runs = []
    for k in range(bridges.hole_x.shape[-1]):
        hx, hy, r = (v[..., k] for v in (bridges.hole_x, bridges.hole_y, 0.5 * bridges.hole_d))
        chord = r**2 - (x - hx) ** 2
        middle, half = (hy - low) / step - 0.5, np.sqrt(np.maximum(chord, 0.0)) / step
        ends = (np.floor(middle - half) + 1.0, np.where(chord > 0.0, np.ceil(middle + half), 0.0))
        first, beyond = (np.clip(v, 0.0, grid.up).astype(np.int16) for v in ends)
        runs.append((np.minimum(first, beyond), beyond))
    return runs


def in_runs(runs: Sequence[tuple[Counts, Counts]], grid: Grid) -> NDArray[np.bool_]:
    """Which points lie in runs, (up, S, D, n)."""
    found = np.zeros((grid.up, grid.x.shape[-1], *grid.x.shape[:2]), dtype=bool)
    point = np.arange(grid.up, dtype=np.int16)[:, None, None, None]
    for first, beyond in runs:
        found |= (point >= first) & (point < beyond)
    return found


def counted(missing: NDArray[np.bool_], grid: Grid) -> tuple[Counts, Counts]:
    """Of points (up, S, D, n), in each row of a strip (rows, S, D, n): how many, and the sum of their places there."""
    split = missing.view(np.uint8).reshape(grid.rows, SAMPLES, *missing.shape[1:])
    place = np.arange(SAMPLES, dtype=np.uint8)[:, None, None, None]
    return split.sum(axis=1, dtype=np.int16), (split * place).sum(axis=1, dtype=np.int16)


def counted_runs(runs: Sequence[tuple[Counts, Counts]], grid: Grid) -> tuple[Counts, Counts]:
    """`counted` of runs: places from `first` to `last - 1` add up to half the difference of k (k - 1)."""
    shape = (grid.rows, grid.x.shape[-1], *grid.x.shape[:2])
    count, climb = np.zeros(shape, dtype=np.int16), np.zeros(shape, dtype=np.int16)
    start = (np.arange(grid.rows, dtype=np.int16) * SAMPLES)[:, None, None, None]
    for first, beyond in runs:
        low, high = (np.clip(v - start, 0, SAMPLES) for v in (first, beyond))
        count += high - low
        climb += (high * (high - 1) - low * (low - 1)) // 2
    return count, climb


def touching(voids: Sequence[Void], grid: Grid) -> NDArray[np.bool_]:
    """What no void takes away, at every point (up, S, D, n)."""
    y = grid.y
    x = np.broadcast_to(grid.x[..., None], y.shape)
    touching = np.ones(y.shape, dtype=bool)
    for void in voids:
        faces = slice(None) if void.face is None else slice(void.face, void.face + 1)
        touching[:, faces] &= keeps(void, x=x[:, faces], y=y[:, faces])
    return np.moveaxis(touching, (3, 2), (0, 1))
