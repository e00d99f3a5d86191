"""Hysteresis: the area between the run of the load up and the run down; pure numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy  # its integrals take long to load: only once they are asked for
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.readings.lines import quantile

LEAST = 3  # readings each way


@dataclass(frozen=True)
class Hysteresis:
    """Mean over the cycles that have both ways. Area in MPa times the unit of the value (mm3 MPa = N mm, work lost)."""

    area: float
    half_width: float  # of the mean at 95 % over cycles; NaN for one cycle
    share: float  # area over that of the rectangle round the loop
    cycles: int
    low: float  # MPa, pressures that both ways have
    high: float


def hysteresis(
    pressure: Array, value: Array, *, up: NDArray[np.bool_], cycle: NDArray[np.int64]
) -> Hysteresis | None:
    """Area between the way down and the way up, positive where the way down lags; None without a whole cycle.

    Values of a way up rise in pressure, as a file of readings has them.
    """
    pairs = [(pressure[m & up], value[m & up], pressure[m & ~up], value[m & ~up]) for m in _cycles(cycle)]
    whole = [p for p in pairs if min(len(p[0]), len(p[2])) >= LEAST]
    if not whole:
        return None
    low = max(max(p.min(), q.min()) for p, _, q, _ in whole)
    high = min(min(p.max(), q.max()) for p, _, q, _ in whole)
    if not low < high:
        return None
    areas = [
        (_area(q, w, low, high) - _area(p, v, low, high)) * np.sign(v[-1] - v[0]) for p, v, q, w in whole
    ]
    rise = np.mean([np.ptp(np.concatenate((v, w))) for _, v, _, w in whole])
    mean, count = float(np.mean(areas)), len(areas)
    spread = quantile(count - 1) * float(np.std(areas, ddof=1)) / count**0.5 if count > 1 else float("nan")
    return Hysteresis(
        mean, spread, mean / float(rise * (high - low)) if rise else 0.0, count, float(low), float(high)
    )


def _cycles(cycle: NDArray[np.int64]) -> Sequence[NDArray[np.bool_]]:
    return [cycle == c for c in np.unique(cycle)]


def _area(pressure: Array, value: Array, low: float, high: float) -> float:
    """Trapezoids under a run between two pressures; the run may rise or fall."""
    order = np.argsort(pressure)
    p, v = pressure[order], value[order]
    x = np.concatenate(([low], p[(p > low) & (p < high)], [high]))
    return float(scipy.integrate.trapezoid(np.interp(x, p, v), x))
