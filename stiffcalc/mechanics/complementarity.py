"""Equilibrium with parts that only press: a linear system some of whose unknowns may not be negative.

Stationary point of x.K.x / 2 - b.x with x_i >= 0 for the first `count` unknowns, K symmetric, positive definite on
the pressing unknowns once the others are eliminated (multipliers allowed). With all of them active K is inverted
once, by whoever knows its shape; every set of inactive ones is then a small correction, so that many right-hand sides
cost little.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

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
    """Where it ended. Nothing is raised, so look at `residual`."""

    x: Array
    active: Mask
    residual: float  # relative: of the equations, and of what still pulls or overlaps
    steps: int
    settled: bool


@dataclass(frozen=True)
class System:
    """K and its inverse with every pressing unknown active."""

    K: Array
    inverse: Array

    @cached_property
    def magnitudes(self) -> Array:
        """|K|, what rounding is measured against."""
        return np.abs(self.K)


def press(system: System, b: Array, *, count: int, start: Mask | None = None) -> Pressed:
    """Find which of the first `count` unknowns press; `start` is a first guess of them."""
    K, inverse = system.K, system.inverse
    free = inverse @ b
    active = np.ones(count, dtype=bool) if start is None else start.copy()
    settled = False
    steps = 0
    while not settled and steps < STEPS:
        steps += 1
        inactive = np.flatnonzero(~active)
        x = _without(inverse, free, inactive)
        missed = K @ x - b
        wrong = _breach(missed, x, active) > TOLERANCE
        settled = not wrong.any()
        if not settled and steps < STEPS:
            active = active ^ (wrong if steps <= SETS else _first(wrong))
    x = x - _without(inverse, inverse @ _kept(missed, inactive), inactive)  # what rounding left
    missed = K @ x - b
    error = _relative(_kept(missed, inactive), system.magnitudes @ np.abs(x) + np.abs(b))
    breach = _breach(missed, x, active).max(initial=0.0)
    return Pressed(x, active, float(np.maximum(error, breach)), steps, settled)  # NaN stays NaN


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


def _breach(missed: Array, x: Array, active: Mask) -> Array:
    """By how much active unknowns pull and inactive ones overlap, relative; not above zero where all is well."""
    gap, force = missed[: len(active)], x[: len(active)]
    return np.asarray(np.where(active, -force / _largest(force), -gap / _largest(gap)))


def _largest(values: Array) -> float:
    return float(np.abs(values).max(initial=0.0)) or 1.0


def _kept(missed: Array, inactive: NDArray[np.intp]) -> Array:
    """What the equations of all but the inactive unknowns miss."""
    kept = missed.copy()
    kept[inactive] = 0.0
    return kept


def _first(wrong: Mask) -> Mask:
    one = np.zeros_like(wrong)
    one[np.argmax(wrong)] = True
    return one


def _relative(error: Array, size: Array) -> float:
    return float((np.abs(error) / np.where(size > 0.0, size, 1.0)).max())
