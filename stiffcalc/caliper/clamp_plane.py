"""What a solved state says of each joint face: contact pressure, share open, clamp left."""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper.response import Answer
from stiffcalc.condensed import Array
from stiffcalc.mechanics import clamp_plane
from stiffcalc.mechanics.clamp_plane import Swing
from stiffcalc.mechanics.joint_state import Pair, Response, picked

PART = 0.02  # of a face: a corner that lifts early and carries nothing is less


def pressure_range(answer: Answer, at: int) -> tuple[Array, Array]:
    """Least and greatest contact pressure of each face at one pressure, (D, S, N) MPa."""
    return clamp_plane.pressure_range(answer.pair, picked(answer.loaded, (slice(None), slice(None), at)))


def greatest_pressure(pair: Pair, state: Response) -> Array:
    """Greatest contact pressure of each face in one state (D,), (D, N) MPa."""
    return clamp_plane.pressure_range(pair, state)[1]


def open_share(answer: Answer, at: int | slice = slice(None), *, beyond: float = 0.0) -> Array:
    """Share of each face that has lost contact (D, S, P, N), or (D, S, N) at one pressure.

    Zero where there is no joint, NaN where nothing holds; `beyond` as in `mechanics.clamp_plane.open_fraction`.
    """
    where = (slice(None), slice(None), at)
    part = clamp_plane.open_fraction(answer.pair, picked(answer.loaded, where), beyond=beyond)
    return np.asarray(part + np.where(answer.held[where][..., None], 0.0, np.nan))


def stroke(answer: Answer, at: int) -> tuple[Swing, Array]:
    """Largest change of pressure on each face (N,) between no pressure and one pressure, and the share that opens.

    At minimum preload.
    """
    assert answer.tightened is not None
    before = picked(answer.tightened.response, (slice(None), 0))
    here = picked(answer.loaded, (slice(None), 0, at))
    found = clamp_plane.swing(answer.pair, before, here)
    share = clamp_plane.lost_share(answer.pair, before, here)
    return Swing(found.pressure[0], found.x[0], found.y[0]), share[0]


def part_open_at(answer: Answer, pressure: Array, share: float = PART) -> tuple[float | None, ...]:
    """Line pressure at which each bridge's face has lost `share` of what touched when tightened, minimum preload.

    Interpolated between the answer's pressures (P,), from none lost without pressure; None: not within them.
    """
    assert answer.tightened is not None
    lost = clamp_plane.lost_share(answer.pair, answer.tightened.response, answer.loaded)[0, 0]
    lost[~answer.held[0, 0]] = 1.0  # nothing holds: nothing touches
    p, lost = np.append(0.0, pressure), np.vstack([np.zeros(lost.shape[1]), lost])
    return tuple(_crossing(p, column, share) for column in lost.T)


def _crossing(x: Array, y: Array, level: float) -> float | None:
    """Where y, from below at the first x, first reaches a level."""
    above = np.flatnonzero(y >= level)
    if not len(above):
        return None
    k = int(above[0])
    return float(x[k - 1] + (x[k] - x[k - 1]) * (level - y[k - 1]) / (y[k] - y[k - 1]))


def contact(pair: Pair, *, tension: Array, pressure: Array | float) -> Array:
    """Resultants N, Mx, My that contact puts on each bridge (negative N: pressed), (D, ..., N, 3).

    The bridge's own tension less what fluid in ports pushes at line pressure (D, ...) or a number.
    """
    if pair.prying is None:
        return tension
    prying = np.expand_dims(pair.prying, tuple(range(1, tension.ndim - 2)))
    return np.asarray(tension + np.asarray(pressure)[..., None, None] * prying)


def clamp_left(contact: Array) -> Array:
    """Force that presses each face, N (..., N); `contact` (..., N, 3)."""
    return np.asarray(np.maximum(-contact[..., 0], 0.0))
