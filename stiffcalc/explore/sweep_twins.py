"""Which designs of a sweep are all but the same, so that the best that are taken out stand apart."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.explore.sweep_chunk import Columns
from stiffcalc.study.schema import SweepKey, SweepPlan

NEAR = 0.05  # of a key's range; a coarser step of a list is a difference
_ROUNDING = 1e-9  # of a key's range


def near(plan: SweepPlan, columns: Columns, row: int) -> NDArray[np.bool_]:
    """Designs (D,) that differ from the one in `row` by at most `NEAR` of the range of every key.

    Of a list the range is that of its numbers; what is no number is the same or another.
    """
    found: NDArray[np.bool_] = np.ones(len(columns["design"]), dtype=bool)
    for i, key in enumerate(plan.keys, start=1):
        taken = np.asarray(columns[f"key_{i}"], dtype=float)
        same = taken == taken[row]
        number, spread = _numbers(key, taken)
        found &= same | (np.abs(number - number[row]) <= (NEAR + _ROUNDING) * spread)
    return found


def _numbers(key: SweepKey, taken: Array) -> tuple[Array, float]:
    """The numbers (D,) that designs have of a key, NaN where it is none, and from the least to the greatest."""
    if not key.levels:
        return taken, key.high - key.low
    values = np.array([level.value for level in key.levels])
    sound = values[np.isfinite(values)]
    return values[taken.astype(np.intp)], float(np.ptp(sound)) if len(sound) else 0.0
