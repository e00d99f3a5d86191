"""At which masses layouts are compared where the study does not say."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stiffcalc.explore.compare_search import SPREAD_OUT, Effort, Searched
from stiffcalc.explore.search import Budget, violation

ROUND_KG, LEAST_KG = 0.05, 0.01  # what chosen masses are multiples of: usually, and where they lie close


def lightest(s: Searched) -> float | None:
    """Mass of the lightest design met that meets its checks by the frame, kg."""
    met = violation(s.known, Budget(np.inf)) == 0.0
    return float(s.known.mass[met].min()) if met.any() else None


def masses_for(found: Sequence[Searched], points: int, effort: Effort) -> tuple[float, ...]:
    """Masses, evenly from the lightest design of any layout that meets its checks to the heaviest usual one, kg.

    Where no design meets its checks, from the lightest that can be had.
    """
    drawn = [s.known.mass[: effort.first][np.isfinite(s.known.cost[: effort.first])] for s in found]
    low = [lightest(s) for s in found]
    return spaced(
        min((m for m in low if m is not None), default=min(float(m.min()) for m in drawn)),
        max(float(np.percentile(m, SPREAD_OUT[-1])) for m in drawn),
        points,
    )


def spaced(low: float, high: float, points: int) -> tuple[float, ...]:
    """So many masses within `low` to `high`, kg: multiples of 50 g, of 10 g where those are not well apart."""
    step = ROUND_KG if high - low >= 2.0 * points * ROUND_KG else LEAST_KG
    first = np.ceil(round(low / step, 6))
    last = max(np.floor(round(high / step, 6)), first + points - 1)
    return tuple(round(float(n) * step, 2) for n in np.round(np.linspace(first, last, points)))
