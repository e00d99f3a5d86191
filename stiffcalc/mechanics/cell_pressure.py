"""Contact pressure read from the forces on a joint face's cells.

Axes: D designs, n joint faces, C cells a face.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.face_cells import Cells

# Of a cell's section: with less than this left by reliefs its pressure is read with a neighbour's.
STRIP = 0.5
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
