"""Contact pressure of closed joint faces under every load of two halves, up to the faces' edges.

The faces are tied where they touch. What ties them presses on the functions of the trace; a pressure made of the same
functions does the same work. A function that has next to no metal under it says next to nothing of its own pressure, so
jumps of the pressure's curvature between cells cost a little (as in P-splines: Eilers, Marx, Statistical Science 11,
1996): where metal is scarce the pressure goes on as it does beside it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import scipy.linalg as la

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.contact import SPRING
from stiffcalc.grid_solid.grid import Grid
from stiffcalc.grid_solid.half import Condensed, Trace
from stiffcalc.grid_solid.metal import Mask
from stiffcalc.grid_solid.splines import Index, Line

CURVED = 0.1  # cost of a jump of curvature against that of the pressure itself


def closed_pressure(pair: Condensed, trace: Trace, touching: Mask, grid: Grid) -> Array:
    """Pressure of the trace's functions (k, m) MPa, positive pressing, per load on a joined pair.

    touching (K,): which of the trace's points touch. Functions without any have none.
    """
    mass = trace.mass(trace.weight * touching)
    tie = SPRING * mass
    opened = la.solve(pair.S + tie, pair.B, assume_a="sym", check_finite=False)
    known = np.flatnonzero(mass.diagonal() > 0.0)
    smooth = (mass + CURVED * _jumps(trace, grid, known))[np.ix_(known, known)]
    found = np.zeros_like(pair.B)
    found[known] = la.solve(smooth, -(tie @ opened)[known], assume_a="pos", check_finite=False)
    return found


def _jumps(trace: Trace, grid: Grid, known: Index) -> Array:
    """Cost (k, k) of the jumps of curvature along x and along y, as an area."""
    i = trace.functions // (grid.y.count * grid.z.count)
    j = trace.functions // grid.z.count % grid.y.count
    place = np.full((grid.x.count, grid.y.count), -1)
    place[i[known], j[known]] = known
    cost = np.zeros((len(trace.functions),) * 2)
    for line, others, along in ((grid.x, grid.y, place), (grid.y, grid.x, place.T)):
        width = _spans(others)
        for which, row in _curvature_jumps(line):
            for n in np.flatnonzero((along[which] >= 0).all(axis=0)):
                at = along[which, n]
                cost[np.ix_(at, at)] += width[n] * np.outer(row, row)
    return cost


def _curvature_jumps(line: Line) -> Iterator[tuple[Index, Array]]:
    """At each break between cells of one smooth piece: functions, and their jump times size^2 and its root."""
    size = np.diff(line.breaks)
    middle, step = line.breaks[:-1] + 0.5 * size, 0.25 * size
    (which, _, after), (_, _, before) = (line.at(middle + s * step) for s in (1.0, -1.0))
    curvature = np.zeros((line.cells, line.count))
    np.put_along_axis(curvature, which, (after - before) / (2.0 * step[:, None]), axis=1)
    for n in np.flatnonzero(np.diff(line.first) == 1):
        mean = 0.5 * (size[n] + size[n + 1])
        jump = mean**2.5 * (curvature[n + 1] - curvature[n])
        met = np.flatnonzero(jump)
        yield met, jump[met]


def _spans(line: Line) -> Array:
    """Length that each function of a line stands for, mm (count,)."""
    places, weight = line.rule(1, 3)
    which, value, _ = line.at(places.ravel())
    found = np.zeros(line.count)
    np.add.at(found, which, value * weight.ravel()[:, None])
    return found
