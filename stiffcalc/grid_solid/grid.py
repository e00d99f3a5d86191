"""The grid that a half is put on, and functions of three axes made of those of one."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.plan import HalfSolid, Section
from stiffcalc.grid_solid.splines import OWN, Index, Line, graded

APART = 1.5  # mm; a line nearer than this to a kept one is left out


@dataclass(frozen=True)
class Fineness:
    """Cells, mm: `across` bridges along x, `between` them, `up` along y, `through` along z; beside edges."""

    across: float = 3.5
    between: float = 6.0
    up: float = 4.0
    through: float = 8.0
    edge: float = 2.5


STANDARD = Fineness()


@dataclass(frozen=True)
class Grid:
    """Lines along x, y and z. Unknown 3 * function + direction; functions with x slowest, z fastest."""

    x: Line
    y: Line
    z: Line

    @property
    def functions(self) -> int:
        """How many."""
        return self.x.count * self.y.count * self.z.count

    def number(self, i: Index, j: Index, k: Index) -> Index:
        """Of functions that are the i-th along x, j-th along y, k-th along z."""
        return np.asarray((i * self.y.count + j) * self.z.count + k)

    def at(self, points: Array) -> tuple[Index, Array]:
        """Functions that are not zero at points (K, 3), and their values, (K, 27) each."""
        (i, u, _), (j, v, _), (k, w, _) = (
            line.at(p) for line, p in zip((self.x, self.y, self.z), points.T, strict=True)
        )
        which = self.number(i[:, :, None, None], j[:, None, :, None], k[:, None, None, :])
        value = u[:, :, None, None] * v[:, None, :, None] * w[:, None, None, :]
        return which.reshape(-1, OWN**3), value.reshape(-1, OWN**3)

    def rigid(self) -> Array:
        """Axial unknowns of a movement along z, and of turning about x and y: 1, y, -x in splines (functions, 3)."""
        x, y, one = np.meshgrid(self.x.centres, self.y.centres, np.ones(self.z.count), indexing="ij")
        return np.stack([one.ravel(), y.ravel(), -x.ravel()], axis=-1)

    def on_trace(self, places: Array, functions: Index) -> sp.csr_matrix:
        """Values (K, k) of some functions, those in the mid-plane, at places (K, 2) of it."""
        which, value = self.at(np.column_stack([places, np.zeros(len(places))]))
        rows = np.repeat(np.arange(len(places)), which.shape[1])
        shape = (len(places), self.functions)
        return sp.csr_matrix((value.ravel(), (rows, which.ravel())), shape=shape)[:, functions].tocsr()


def grids(halves: Sequence[HalfSolid], fineness: Fineness) -> list[Grid]:
    """One for each half; along x and y all have the same lines, so that their joint faces have the same functions."""
    every = np.concatenate([h.outline for h in halves])
    (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
    sections = halves[0].sections
    sides = _kept([x0, x1], _ends([s.outline for s in sections], 0))
    x = Line(np.concatenate([[x0], *_along_x(sides, sections, fineness)]), tuple(sides))
    voids = [v for s in sections for v in s.voids]
    stops = _kept([y0, y1], [*_ends([s.outline for s in sections], 1), *_ends(voids, 1)])
    y = Line(graded(stops, size=fineness.up, edge=fineness.edge))
    return [Grid(x, y, _through(h, fineness)) for h in halves]


def _ends(outlines: Sequence[Array], axis: int) -> list[float]:
    """Least and greatest place of every outline."""
    return [float(v) for o in outlines for v in (o[:, axis].min(), o[:, axis].max())]


def _along_x(sides: Sequence[float], sections: Sequence[Section], fineness: Fineness) -> Iterator[Array]:
    for a, b in itertools.pairwise(sides):
        middle = 0.5 * (a + b)
        bridged = [s for s in sections if s.outline[:, 0].min() < middle < s.outline[:, 0].max()]
        size = fineness.across if bridged else fineness.between
        stops = _kept([a, b], _ends([v for s in bridged for v in s.voids], 0))
        yield graded(stops, size=size, edge=fineness.edge if bridged else size)[1:]


def _through(half: HalfSolid, fineness: Fineness) -> Line:
    stops = _kept([0.0, half.gap, half.outer], [half.bottom, *half.steps])
    return Line(graded(stops, size=fineness.through, edge=fineness.through), (half.gap,))


def _kept(ends: Sequence[float], others: Sequence[float]) -> list[float]:
    """All ends, and the others that lie between and apart from what is there already, ascending."""
    found = list(ends)
    for place in others:
        between = min(ends) < place < max(ends)
        if between and min(abs(place - f) for f in found) > APART:
            found.append(place)
    return sorted(found)
