"""Quadratic splines along one axis: values and slopes cell by cell, and at any points."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from stiffcalc.condensed import Array

DEGREE = 2
OWN = DEGREE + 1  # functions that are not zero in a cell
SAME = 1e-6  # mm, places nearer than this are one

Index = NDArray[np.intp]


@dataclass(frozen=True)
class Line:
    """Cells between `breaks` (n + 1,) mm. At `creases`, some of the breaks, slopes may jump."""

    breaks: Array
    creases: tuple[float, ...] = ()

    @cached_property
    def _repeats(self) -> Index:
        inner = self.breaks[1:-1]
        sharp = np.abs(inner[:, None] - np.array(self.creases)).min(axis=1, initial=np.inf) < SAME
        return np.concatenate([[OWN], np.where(sharp, DEGREE, 1), [OWN]])

    @cached_property
    def _spline(self) -> BSpline:
        knots = np.repeat(self.breaks, self._repeats)
        count = len(knots) - OWN
        return BSpline(knots, np.eye(count), DEGREE)

    @property
    def cells(self) -> int:
        """How many."""
        return len(self.breaks) - 1

    @property
    def count(self) -> int:
        """Functions."""
        return int(self._spline.c.shape[0])

    @property
    def centres(self) -> Array:
        """The functions' factors in the place itself, mm (Greville abscissae)."""
        knots = self._spline.t
        return np.asarray(np.mean([knots[1 + n : 1 + n + self.count] for n in range(DEGREE)], axis=0))

    @cached_property
    def first(self) -> Index:
        """The first of each cell's functions (cells,)."""
        return np.concatenate([[0], np.cumsum(self._repeats[1:-1])])

    def cell_of(self, places: Array) -> Index:
        """The cell that each place lies in; on a break, the one beyond it."""
        return np.clip(np.searchsorted(self.breaks, places, side="right") - 1, 0, self.cells - 1)

    def at(self, places: Array) -> tuple[Index, Array, Array]:
        """At places (K,): their cells' functions, values and slopes, (K, 3) each."""
        which = self.first[self.cell_of(places)][:, None] + np.arange(OWN)
        spline = self._spline
        value, slope = (np.take_along_axis(f(places), which, axis=1) for f in (spline, spline.derivative()))
        return which, value, slope

    def rule(self, parts: int, points: int) -> tuple[Array, Array]:
        """Places and weights (cells, parts * points) of Gauss's rule on each cell cut into equal parts."""
        xi, weight = np.polynomial.legendre.leggauss(points)
        share = ((np.arange(parts)[:, None] + 0.5 * (1.0 + xi)) / parts).ravel()
        size = np.diff(self.breaks)[:, None]
        return self.breaks[:-1, None] + size * share, size * np.tile(0.5 * weight / parts, parts)


def graded(stops: Sequence[float], *, size: float, edge: float, growth: float = 1.5) -> Array:
    """Breaks through all `stops`, cells from `edge` beside a stop growing to `size`, mm.

    Whole cells fill each span: they are stretched, by half of `size` at most, and by 3/4 of `edge` beside a stop.
    """
    marks = np.unique(np.round(np.asarray(stops, dtype=float), 9))
    parts = [a + _steps(b - a, size, edge, growth) for a, b in itertools.pairwise(marks)]
    return np.concatenate([[marks[0]], *parts])


def _steps(length: float, size: float, edge: float, growth: float) -> Array:
    """Places of breaks over a length, its end among them, finest at both ends."""
    half: list[float] = []
    step = min(edge, size)
    while sum(half) + 0.5 * step < 0.5 * length:
        half.append(step)
        step = min(size, growth * step)
    widths = np.array([*half, *half[::-1]]) if half else np.ones(1)
    return np.asarray(np.cumsum(widths) * length / widths.sum())
