"""Which line readings call for: how much of their start is take-up, and whether they bend at a knee; pure numbers.

A break is believed only where the bent line beats the straight one by BOTH criteria: AICc, which guards small sets, and
BIC, which guards large ones, here with a break charged three parameters (change of slope, and two for a place that was
searched for, since the best of many places always fits somewhat better). On straight data with Gaussian scatter that
finds a knee in at most 2 to 3 of 100 sets, whatever their size (`tests/readings/test_knee.py`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.readings.lines import (
    Line,
    Points,
    base_columns,
    best_break,
    fit,
    hinge,
    profile,
    rest_of,
)

TOE_SHARE = 0.25  # take-up ends below this share of the highest pressure
SIDE = 3  # least levels of pressure on each side of a knee
TOE_SIDE = 2  # least levels of pressure within the take-up
LEVEL = 0.02  # of the highest pressure: readings closer than this are of one level
LEAST = 4  # readings that a line needs
LEAST_BEND = 0.05  # change of slope over slope below which a bend is no knee
TOE_PLACES = 60


@dataclass(frozen=True)
class Candidate:
    """One line that may be called for: its misfit, and where it breaks."""

    squares: float
    toe: float | None = None
    knee: float | None = None

    @property
    def breaks(self) -> int:
        """How many."""
        return (self.toe is not None) + (self.knee is not None)


@dataclass(frozen=True)
class Found:
    """The line that readings call for, fitted to what is left after the take-up."""

    take_up: float  # readings below this pressure were dropped
    found: bool  # the take-up was found, not given
    kept: NDArray[np.bool_]  # (N,)
    line: Line
    bounds: tuple[float, float] | None  # where a knee was looked for; None: too few readings
    gain: (
        tuple[float, float] | None
    )  # by which the best bent line beats the straight one: AICc, BIC; None: not tried
    early: bool  # the slope rises where the take-up ends: it may be a joint that opens early


def criteria(candidate: Candidate, *, count: int, branches: int) -> tuple[float, float]:
    """(AICc, BIC) of a line of `branches` starts through `count` readings; scatter counts as a parameter.

    AICc = n ln(S/n) + 2k + 2k(k+1)/(n-k-1), BIC = n ln(S/n) + k ln n; infinite AICc where n is too small.
    Source: Burnham and Anderson, Model Selection and Multimodel Inference, 2nd ed., 2002, 2.4 and 6.4 (from memory).
    """
    k = branches + 2 + 2 * candidate.breaks
    room = count - k - 1
    common = count * np.log(candidate.squares / count)
    aicc = common + 2 * k + 2 * k * (k + 1) / room if room > 0 else np.inf
    return float(aicc), float(common + (k + candidate.breaks) * np.log(count))


def gain(new: Candidate, old: Candidate, points: Points) -> tuple[float, float]:
    """By how much a line with more breaks beats another, AICc and BIC; it is called for where both are above 0."""
    branches = base_columns(points).shape[1] - 1
    a, b = (criteria(c, count=points.count, branches=branches) for c in (new, old))
    return (b[0] - a[0] if np.isfinite(a[0]) else -np.inf), b[1] - a[1]


def find(points: Points, *, take_up: float | None = None, up_to: float = np.inf) -> Found | None:
    """The line that readings call for; None where fewer than LEAST of them, or of pressures, are left.

    take_up: pressure up to which readings are dropped; None: found, as a break of either sense in the lowest quarter of
    the pressures. With it found the knee is looked for above that quarter, so that one break is not taken for the
    other. Readings above `up_to` are dropped after that.
    """
    searched = take_up is None
    at, early = _toe(points) if take_up is None else (take_up, False)
    kept = (points.x >= at) & (points.x <= up_to)
    left = points.where(kept)
    if left.count < LEAST or len(levels(left.x)[0]) < SIDE or left.count - base_columns(left).shape[1] < 1:
        return None
    bounds = knee_bounds(left, above=TOE_SHARE * float(points.x.max()) if searched else 0.0)
    best, won = _best(left, bounds)
    line = fit(left, bend=best.knee, bounds=bounds)
    return Found(at, searched and at > 0, kept, line, bounds, won, early)


def knee_bounds(points: Points, *, above: float) -> tuple[float, float] | None:
    """Between which pressures a knee may lie; None where there is no room for one."""
    lowest, highest = levels(points.x)
    if len(lowest) < 2 * SIDE or points.count - base_columns(points).shape[1] - 4 < 0:
        return None
    low, high = max(float(highest[SIDE - 1]), above), float(lowest[-SIDE])
    return (low, high) if low < high else None


def levels(pressure: Array) -> tuple[Array, Array]:
    """Lowest and highest pressure of each level: a pressure read again in another cycle is never quite the same."""
    known = np.unique(pressure)
    low, high = [known[0]], [known[0]]
    for p in known[1:]:
        if p - low[-1] > LEVEL * known[-1]:
            low.append(p)
            high.append(p)
        high[-1] = p
    return np.array(low), np.array(high)


def _best(
    points: Points, bounds: tuple[float, float] | None, toe: float | None = None
) -> tuple[Candidate, tuple[float, float] | None]:
    """The straight line, or the one that softens at a knee; both with a take-up to `toe`. And the gain of the bent."""
    base = base_columns(points)
    beside = None if toe is None else hinge(-points.x, -toe)[:, None]
    columns = base if beside is None else np.column_stack((base, beside))
    rest = rest_of(points, beside=beside)
    straight = Candidate(rest.squares, toe)
    if bounds is None:
        return straight, None
    slope = _slope(points, columns, at=base.shape[1] - 1)
    place, squares, change = best_break(rest, low=bounds[0], high=bounds[1], sign=float(np.sign(slope)))
    bent = Candidate(squares, toe, place)
    won = gain(bent, straight, points)
    called_for = min(won) > 0 and abs(change) >= LEAST_BEND * abs(slope)
    return (bent if called_for else straight), won


def _slope(points: Points, columns: Array, *, at: int) -> float:
    weight = points.weight
    found, *_ = np.linalg.lstsq(columns * weight[:, None], points.y * weight, rcond=None)
    return float(found[at])


def _toe(points: Points) -> tuple[float, bool]:
    """Where the take-up ends, 0 where there is none, and whether the slope rises there."""
    top = TOE_SHARE * float(points.x.max())
    lowest, highest = levels(points.x)
    if len(lowest) < TOE_SIDE + SIDE or not highest[TOE_SIDE - 1] < top:
        return 0.0, False
    bounds = knee_bounds(points, above=top)
    plain, _ = _best(points, bounds)
    places = np.linspace(highest[TOE_SIDE - 1], top, TOE_PLACES)
    # With the knee of the plain line beside it, so that neither break is bent to make up for the other.
    beside = None if plain.knee is None else hinge(points.x, plain.knee)[:, None]
    squares, change = profile(rest_of(points, beside=beside), places)
    best = int(np.argmin(squares))
    bent, _ = _best(points, bounds, toe=float(places[best]))
    if not min(gain(bent, plain, points)) > 0:
        return 0.0, False
    slope = _slope(points, base_columns(points), at=-1)
    return float(places[best]), bool(change[best] * slope > 0)
