"""Joint faces cut into cells: where contact pressure lives when a face is more than a plane.

A face is divided evenly along x and, from underside to top, along y, the same number of cells for every face, so
that a batch of designs is one array. Metal in a cell is counted by sampling: all of the section (bolt holes out),
and what of it touches (reliefs out too: a shallow step, so the section behind stays whole).

Axes: D designs, n joint faces a design (jointed bridges only), C cells a face; a bolt is one of J.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges, reference, underside
from stiffcalc.mechanics.stacked import inverse, transposed

COLUMNS, ROWS = 8, 10  # finer ones move opening by 0.2 % and bolt forces by 0.1 kN
# Lands with slanting sides, pressed far beside their middle: within 9 % of the solids of
# studies/solid_check/polygon_face.py, 6 % with twice as many cells each way. Onset is asked of a cell, so that finer
# cells would not compare.
SAMPLES = 6  # a side and cell
DEAD = 0.05  # of a cell's box: with less metal than this a cell carries nothing
STRIP = (
    0.5  # of a cell's section: with less than this left by reliefs its pressure is read with a neighbour's
)


Counts = NDArray[np.int16]


@dataclass(frozen=True)
class Void:
    """Where a face does not touch though there is metal: a closed polygon (N, 2) of the x-y plane, mm.

    `outside`: everything but the polygon is relieved, which makes it the land that touches; of one face only.
    """

    outline: Array
    face: int | None = None  # index among the jointed faces; None: of all
    outside: bool = False


@dataclass(frozen=True)
class Cells:
    """Cells of the joint faces, rows of equal x first. mm."""

    x: Array  # (D, n, C) centroid of the metal that touches, else of the section
    y: Array  # (D, n, C)
    area: Array  # (D, n, C) metal that touches, 0 where dead
    section: Array  # (D, n, C) metal of the bridge's section behind it, 0 where next to none
    width: Array  # (D, n, C) of the cell along x
    height: Array  # (D, n, C) mean along y
    x_edges: Array  # (D, n, 2) of the face
    y_edges: Array  # (D, n, 2) mean underside, top
    arm: Array  # (D, n, C, 3) a = [1, y - y_r, -(x - x_b)] about the bridge's reference point

    @property
    def count(self) -> int:
        """Cells of all faces of a design, M = n C."""
        return int(self.x.shape[1] * self.x.shape[2])

    @property
    def grid(self) -> tuple[int, int]:
        """Cells of a face along x and along y."""
        across = round(float((self.x_edges[0, 0, 1] - self.x_edges[0, 0, 0]) / self.width[0, 0, 0]))
        return across, self.x.shape[2] // across

    @property
    def alive(self) -> NDArray[np.bool_]:
        """Cells that can carry contact, (D, M)."""
        return self.area.reshape(len(self.area), -1) > 0.0

    @cached_property
    def plane(self) -> Array:
        """Forces on the sections' cells (D, n, C, 3) of a linear pressure with unit resultant N, Mx, My."""
        weighed = self.section[..., None] * self.arm
        return np.asarray(weighed @ inverse(transposed(self.arm) @ weighed))

    @cached_property
    def relieved(self) -> bool:
        """Whether some of the sections' metal does not touch."""
        return bool((self.area < (1.0 - DEAD) * self.section).any())


def cut_faces(
    bridges: Bridges,
    *,
    jointed: Sequence[int],
    voids: Sequence[Void] = (),
    columns: int = COLUMNS,
    rows: int = ROWS,
) -> Cells:
    """Cut the jointed bridges' faces into `columns` x `rows` cells; `voids` are the same in all designs."""
    own = _take(bridges, jointed)
    grid = _Grid.of(own, columns, rows)
    whole, at = grid.whole()
    holes = _hole_runs(own, grid)
    lost = grid.lost(*_counted_runs(holes, grid))
    section = whole - lost[0]
    if voids:
        lost = grid.lost(*_counted(_in_runs(holes, grid) | ~_touching(voids, grid), grid))
    area, *moments = (a - b for a, b in zip((whole, *at), lost, strict=True))
    alive = area > DEAD * whole
    weight = np.where(alive, area, whole)
    cx, cy = (np.where(alive, m, full) / weight for m, full in zip(moments, at, strict=True))
    width = np.broadcast_to(grid.strip * SAMPLES, area.shape)
    x_b, y_r = reference(own)
    return Cells(
        x=cx,
        y=cy,
        area=np.where(alive, area, 0.0),
        section=np.where(section > DEAD * whole, section, 0.0),
        width=width,
        height=whole / width,
        x_edges=own.x,
        y_edges=np.stack([grid.low.mean(axis=-1), own.y[..., 1]], axis=-1),
        arm=np.stack([np.ones_like(cx), cy - y_r[..., None], x_b[..., None] - cx], axis=-1),
    )


def _take(bridges: Bridges, which: Sequence[int]) -> Bridges:
    chosen = list(which)
    return Bridges(**{f.name: getattr(bridges, f.name)[:, chosen] for f in fields(Bridges)})


@dataclass(frozen=True)
class _Grid:
    """Points at which metal is looked for: SAMPLES a side and cell, on strips of equal width. mm."""

    x: Array  # (D, n, S) middle of each strip
    low: Array  # (D, n, S) underside there
    tall: Array  # (D, n, S) from underside to top
    strip: Array  # (D, n, 1) width of a strip
    columns: int
    rows: int

    @classmethod
    def of(cls, bridges: Bridges, columns: int, rows: int) -> _Grid:
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

    def whole(self) -> tuple[Array, tuple[Array, Array]]:
        """Area of each cell as if it were all metal, (D, n, C), and its first moments int x, int y."""
        share = (np.arange(self.rows) + 0.5) / self.rows  # of a strip's height, a row's middle

        def row(strips: Array) -> Array:
            """Sum over the strips of each column of one row, (D, n, columns)."""
            return np.asarray(strips.reshape(*strips.shape[:2], self.columns, SAMPLES).sum(axis=-1))

        def every(row: Array) -> Array:
            shape = (*row.shape[:2], self.columns, self.rows)
            return np.broadcast_to(row[..., None], shape).reshape(*row.shape[:2], -1)

        area = SAMPLES * self.box
        low, tall = row(area * self.low), row(area * self.tall)
        up = low[..., None] + tall[..., None] * share
        return every(row(area)), (every(row(area * self.x)), up.reshape(*up.shape[:2], -1))

    def lost(self, count: Counts, climb: Counts) -> tuple[Array, Array, Array]:
        """Area and first moments (D, n, C) of points that are no metal, as `_counted` counts them."""
        start = (np.arange(self.rows) * SAMPLES + 0.5)[:, None, None, None]
        box, x, low, step = _strips_first(self.box, self.x, self.low, self.tall / self.up)
        area = box * count
        height = area * (low + step * start) + (box * step) * climb
        return self._cells(area), self._cells(area * x), self._cells(height)

    def _cells(self, values: Array) -> Array:
        """Sum over the strips of each column: (rows, S, D, n) to (D, n, C)."""
        split = values.reshape(self.rows, self.columns, SAMPLES, *values.shape[2:])
        found = np.moveaxis(split.sum(axis=2), (0, 1), (3, 2))
        return np.ascontiguousarray(found).reshape(*found.shape[:2], -1)


def _strips_first(*values: Array) -> tuple[Array, ...]:
    """Values (D, n, S) of strips as (S, D, n): sums over a few strips are then sums of long rows."""
    return tuple(np.ascontiguousarray(np.moveaxis(v, -1, 0)) for v in values)


def _hole_runs(bridges: Bridges, grid: _Grid) -> list[tuple[Counts, Counts]]:
    """Points of each strip in a bolt hole, between the ends of its chord: the first and the first beyond, (S, D, n).

    Holes lie apart, so that their runs have no point in common.
    """
    x, low, step = _strips_first(grid.x, grid.low, grid.tall / grid.up)
    runs = []
    for k in range(bridges.hole_x.shape[-1]):
        hx, hy, r = (v[..., k] for v in (bridges.hole_x, bridges.hole_y, 0.5 * bridges.hole_d))
        chord = r**2 - (x - hx) ** 2
        middle, half = (hy - low) / step - 0.5, np.sqrt(np.maximum(chord, 0.0)) / step
        ends = (np.floor(middle - half) + 1.0, np.where(chord > 0.0, np.ceil(middle + half), 0.0))
        first, beyond = (np.clip(v, 0.0, grid.up).astype(np.int16) for v in ends)
        runs.append((np.minimum(first, beyond), beyond))
    return runs


def _in_runs(runs: Sequence[tuple[Counts, Counts]], grid: _Grid) -> NDArray[np.bool_]:
    """Which points lie in runs, (up, S, D, n)."""
    found = np.zeros((grid.up, grid.x.shape[-1], *grid.x.shape[:2]), dtype=bool)
    point = np.arange(grid.up, dtype=np.int16)[:, None, None, None]
    for first, beyond in runs:
        found |= (point >= first) & (point < beyond)
    return found


def _counted(missing: NDArray[np.bool_], grid: _Grid) -> tuple[Counts, Counts]:
    """Of points (up, S, D, n), in each row of a strip (rows, S, D, n): how many, and the sum of their places there."""
    split = missing.view(np.uint8).reshape(grid.rows, SAMPLES, *missing.shape[1:])
    place = np.arange(SAMPLES, dtype=np.uint8)[:, None, None, None]
    return split.sum(axis=1, dtype=np.int16), (split * place).sum(axis=1, dtype=np.int16)


def _counted_runs(runs: Sequence[tuple[Counts, Counts]], grid: _Grid) -> tuple[Counts, Counts]:
    """`_counted` of runs: places from `first` to `last - 1` add up to half the difference of k (k - 1)."""
    shape = (grid.rows, grid.x.shape[-1], *grid.x.shape[:2])
    count, climb = np.zeros(shape, dtype=np.int16), np.zeros(shape, dtype=np.int16)
    start = (np.arange(grid.rows, dtype=np.int16) * SAMPLES)[:, None, None, None]
    for first, beyond in runs:
        low, high = (np.clip(v - start, 0, SAMPLES) for v in (first, beyond))
        count += high - low
        climb += (high * (high - 1) - low * (low - 1)) // 2
    return count, climb


def _touching(voids: Sequence[Void], grid: _Grid) -> NDArray[np.bool_]:
    """What no void takes away, at every point (up, S, D, n)."""
    y = grid.y
    x = np.broadcast_to(grid.x[..., None], y.shape)
    touching = np.ones(y.shape, dtype=bool)
    for void in voids:
        faces = slice(None) if void.face is None else slice(void.face, void.face + 1)
        touching[:, faces] &= keeps(void, x=x[:, faces], y=y[:, faces])
    return np.moveaxis(touching, (3, 2), (0, 1))


Places = tuple[NDArray[np.intp], ...]


def mean_pressure(cells: Cells, force: Array) -> Array:
    """Contact pressure on each cell, MPa, of forces on all (D, ..., n, C), N.

    A strip that a relief leaves of a cell is read together with the nearest whole one, for its force is a whole cell's;
    so is an empty cell.
    """
    at = np.nonzero(~_whole(cells))
    home = _homes(cells, at)
    pressure = _pooled(cells, force, at, home)
    design, face, cell = at
    pressure[design, ..., face, cell] = pressure[design, ..., face, home]
    return pressure


def _whole(cells: Cells) -> NDArray[np.bool_]:
    """Cells (D, n, C) that are read by themselves."""
    whole = (cells.area > 0.0) & (cells.area >= STRIP * cells.section)
    return np.asarray(whole | ((cells.area > 0.0) & ~whole.any(axis=-1, keepdims=True)))


def _homes(cells: Cells, at: Places) -> NDArray[np.intp]:
    """The nearest whole cell of the cells at (design, face, cell)."""
    design, face, _ = at
    distance = np.hypot(*(v[at][:, None] - v[design, face] for v in (cells.x, cells.y)))
    return np.asarray(np.where(_whole(cells)[design, face], distance, np.inf).argmin(axis=-1))


def _pooled(cells: Cells, force: Array, at: Places, home: NDArray[np.intp]) -> Array:
    """Pressure (D, ..., n, C) with the force and the area of the cells `at` given to their homes; none left there."""
    designs, *_, faces, count = force.shape
    area = cells.area.copy()
    states = np.moveaxis(force.reshape(designs, -1, faces, count), 1, -1).copy()  # (D, n, C, states)
    moved, to = states[at], (*at[:2], home)
    states[at], area[at] = 0.0, 0.0
    np.add.at(area, to, cells.area[at])
    np.add.at(states, to, moved)
    pooled = np.moveaxis(states, -1, 1).reshape(force.shape)
    return np.asarray(pooled / _between(np.where(area > 0.0, area, np.inf), force))


def _between(values: NDArray[Any], force: Array) -> NDArray[Any]:
    """Values (D, n, C) with the load-state axes of forces (D, ..., n, C) after the designs."""
    return np.expand_dims(values, tuple(range(1, force.ndim - 2)))


def keeps(void: Void, *, x: Array, y: Array) -> NDArray[np.bool_]:
    """Whether a void leaves points of its face touching."""
    return np.asarray(inside(void.outline, x=x, y=y) == void.outside)


def inside(outline: Array, *, x: Array, y: Array) -> NDArray[np.bool_]:
    """Whether points lie in a closed polygon (N, 2): an upward ray crosses its sides an odd number of times."""
    within = np.zeros(x.shape, dtype=bool)
    for (x0, y0), (x1, y1) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        if x0 != x1:
            between = (x >= min(x0, x1)) & (x < max(x0, x1))
            within ^= between & (y0 + (x - x0) * (y1 - y0) / (x1 - x0) > y)
    return within
