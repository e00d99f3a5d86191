"""Equilibrium with parts that only press: a linear system some of whose unknowns may not be negative.

Stationary point of x.K.x / 2 - b.x with x_i >= 0 for the first `count` unknowns, K symmetric, positive definite on
the pressing unknowns once the others are eliminated (multipliers allowed). With all of them active K is inverted
once; every set of inactive ones is then a small correction, so that many right-hand sides cost little.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array

SETS = (
    15  # whole sets are exchanged this often, after that one unknown at a time (which cannot cycle for long)
)
STEPS = 400
TOLERANCE = 1e-9  # of the largest entry: below it a force or gap has no sign

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Pressed:
    """Where it ended. Nothing is raised, so look at `residual` (relative) and `settled`."""

    x: Array
    active: Mask
    residual: float
    steps: int
    settled: bool


def invert(K: Array) -> Array:
    """Inverse of the system with every pressing unknown active."""
    return np.asarray(np.linalg.inv(K))


def press(K: Array, inverse: Array, b: Array, *, count: int, start: Mask | None = None) -> Pressed:
    """Find which of the first `count` unknowns press; `start` is a first guess of them."""
    free = inverse @ b
    active = np.ones(count, dtype=bool) if start is None else start.copy()
    settled = False
    steps = 0
    while not settled and steps < STEPS:
        steps += 1
        x = _without(inverse, free, np.flatnonzero(~active))
        wrong = _wrong(K, b, x, active)
        settled = not wrong.any()
        if not settled:
            chosen = wrong if steps <= SETS else _first(wrong)
            active = active ^ chosen
    error = K @ x - b
    error[:count][~active] = 0.0
    return Pressed(x, active, _relative(error, K, x, b), steps, settled)


def _without(inverse: Array, free: Array, inactive: NDArray[np.intp]) -> Array:
    """Solution with the inactive unknowns held at zero: forces on them undo what they did."""
    if not len(inactive):
        return free
    try:
        undo = np.linalg.solve(inverse[np.ix_(inactive, inactive)], free[inactive])
    except np.linalg.LinAlgError:
        return np.full_like(free, np.nan)
    x = free - inverse[:, inactive] @ undo
    x[inactive] = 0.0
    return np.asarray(x)


def _wrong(K: Array, b: Array, x: Array, active: Mask) -> Mask:
    """Active unknowns that pull and inactive ones that overlap."""
    count = len(active)
    gap = K[:count] @ x - b[:count]
    force = x[:count]
    pulls = force < -TOLERANCE * np.abs(force).max()
    laps = gap < -TOLERANCE * np.abs(gap).max()
    return np.asarray(np.where(active, pulls, laps))


def _first(wrong: Mask) -> Mask:
    one = np.zeros_like(wrong)
    one[np.argmax(wrong)] = True
    return one


def _relative(error: Array, K: Array, x: Array, b: Array) -> float:
    size = np.abs(K) @ np.abs(x) + np.abs(b)
    return float((np.abs(error) / np.where(size > 0.0, size, 1.0)).max())
