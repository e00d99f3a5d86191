"""Straight and bent lines through readings, by weighted least squares; pure numbers.

Model: y = a_b + s x + c max(0, x - k), one start a_b for each branch b (a run of the load up or down), one slope s, and
at most one break k. Readings that state a standard uncertainty u weigh 1 / u^2, else all weigh alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar
from scipy.special import fdtri, stdtrit

from stiffcalc.condensed import Array

CONFIDENCE = 0.95
GRID = 200  # places at which a break is tried before the best is refined
BLOCK = 1_000_000  # readings times places looked at together, to bound memory
ROUNDING = 1e-9  # of the largest reading: misfit below this is no scatter


@dataclass(frozen=True)
class Points:
    """Readings y at x, of several branches; `u` their standard uncertainty, or None."""

    x: Array  # (N,)
    y: Array  # (N,)
    u: Array | None  # (N,)
    branch: NDArray[np.int64]  # (N,) from 0

    @property
    def weight(self) -> Array:
        """Root of each reading's weight."""
        return np.ones_like(self.x) if self.u is None else 1.0 / self.u

    @property
    def count(self) -> int:
        """How many."""
        return len(self.x)

    def where(self, keep: NDArray[np.bool_]) -> Points:
        """Only those."""
        _, branch = np.unique(self.branch[keep], return_inverse=True)
        return Points(
            self.x[keep], self.y[keep], None if self.u is None else self.u[keep], branch.astype(np.int64)
        )


@dataclass(frozen=True)
class Break:
    """Where a line bends, with its interval, and the slope beyond."""

    at: float
    low: float
    high: float
    slope: float


@dataclass(frozen=True)
class Line:
    """A fitted line. `error` is the standard error of the slope before the break."""

    slope: float
    error: float
    degrees: int  # of freedom
    starts: Array  # (B,) value at x = 0 of each branch
    start_error: float  # largest standard error of the starts
    scatter: float  # weighted rms misfit, in y's unit
    inflation: float  # scatter over what the stated uncertainties explain; NaN where none are stated
    bend: Break | None

    @property
    def half_width(self) -> float:
        """Half of the slope's interval at CONFIDENCE, from Student's t."""
        return self.error * quantile(self.degrees)

    def at(self, x: Array, start: float = 0.0) -> Array:
        """The line's values from a start."""
        bent = 0.0 if self.bend is None else (self.bend.slope - self.slope) * hinge(x, self.bend.at)
        found: Array = start + self.slope * x + bent
        return found


def quantile(degrees: int) -> float:
    """Two-sided Student quantile at CONFIDENCE."""
    return float(stdtrit(degrees, 0.5 + CONFIDENCE / 2))


def hinge(x: Array, at: float | Array) -> Array:
    """max(0, x - at)."""
    return np.maximum(0.0, x - at)


def base_columns(points: Points) -> Array:
    """One start for each branch, and x, (N, B + 1)."""
    starts = points.branch[:, None] == np.arange(points.branch.max() + 1)
    return np.column_stack((starts.astype(float), points.x))


def floor(points: Points) -> float:
    """Weighted sum of squares that is rounding, so that exact data have no fit better than another."""
    size = float(np.abs(points.y).max(initial=0.0)) or 1.0
    return float(((ROUNDING * size * points.weight) ** 2).sum())


@dataclass(frozen=True)
class Rest:
    """Readings less what the columns of a model can say: what is left for a break to explain."""

    points: Points
    basis: Array  # (N, m) orthonormal, of the weighted columns
    y: Array  # (N,) weighted

    @property
    def squares(self) -> float:
        """Least weighted sum of squares of the model without a break."""
        return max(float(self.y @ self.y), floor(self.points))


def rest_of(points: Points, *, beside: Array | None = None) -> Rest:
    """What starts, slope and further columns `beside` (N, m) leave of the readings."""
    columns = base_columns(points) if beside is None else np.column_stack((base_columns(points), beside))
    basis = _basis(columns * points.weight[:, None])
    return Rest(points, basis, _without(basis, points.weight * points.y))


def profile(rest: Rest, places: Array, *, sign: float = 0.0) -> tuple[Array, Array]:
    """Least weighted sum of squares with a break at each of `places` (K,), and the change of slope there.

    `sign` +1 or -1 allows only such changes of slope: where the best one has the other sign the sum is that without
    a break.
    """
    step = max(1, BLOCK // rest.points.count)
    parts = [_profile(rest, places[i : i + step], sign) for i in range(0, len(places), step)]
    return np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])


def _profile(rest: Rest, places: Array, sign: float) -> tuple[Array, Array]:
    points, y = rest.points, rest.y
    hinges = hinge(points.x[:, None], places) * points.weight[:, None]  # (N, K)
    free = _without(rest.basis, hinges)
    # A hinge that the other columns already hold is rounding, not a break.
    size = (free**2).sum(axis=0)
    known = size > 1e-18 * (hinges**2).sum(axis=0)
    change = np.where(known, (y @ free) / np.where(known, size, 1.0), 0.0)
    change = np.where(change * sign < 0, 0.0, change)
    return np.maximum(y @ y - change**2 * size, floor(points)), change


def best_break(rest: Rest, *, low: float, high: float, sign: float = 0.0) -> tuple[float, float, float]:
    """Place of the break between `low` and `high` that fits best, its sum of squares and its change of slope."""
    places = np.linspace(low, high, GRID)
    sums, _ = profile(rest, places, sign=sign)
    best = int(np.argmin(sums))

    def at(place: float) -> float:
        return float(profile(rest, np.array([place]), sign=sign)[0][0])

    near = (places[max(best - 1, 0)], places[min(best + 1, GRID - 1)])
    fine = minimize_scalar(at, bounds=near, method="bounded", options={"xatol": 1e-6 * (high - low)})
    place = float(fine.x) if fine.fun < sums[best] else float(places[best])
    found, change = profile(rest, np.array([place]), sign=sign)
    return place, float(found[0]), float(change[0])


def fit(points: Points, *, bend: float | None = None, bounds: tuple[float, float] | None = None) -> Line:
    """The line, bent at `bend` where that is given; `bounds` is where the break was looked for.

    The break's place counts as fitted: its column is the derivative of the model. Standard errors come from the
    scatter of the readings; where uncertainties are stated they are never less than those explain.
    Needs more readings than parameters. Raises ValueError otherwise.
    """
    x, weight = points.x, points.weight
    columns = base_columns(points)
    n_base = columns.shape[1]
    if bend is not None:
        columns = np.column_stack((columns, hinge(x, bend)))
    found, *_ = np.linalg.lstsq(columns * weight[:, None], points.y * weight, rcond=None)
    rest = weight * (points.y - columns @ found)
    if bend is not None:
        columns = np.column_stack((columns, -found[-1] * (x > bend)))
    degrees = points.count - columns.shape[1]
    if degrees < 1:
        raise ValueError(f"{points.count} readings cannot fit {columns.shape[1]} parameters")
    squares = max(float(rest @ rest), floor(points))
    variance = squares / degrees
    scale = variance if points.u is None else max(1.0, variance)
    weighted = columns * weight[:, None]
    error = np.sqrt(scale * np.diag(np.linalg.pinv(weighted.T @ weighted)))
    slope = float(found[n_base - 1])
    return Line(
        slope=slope,
        error=float(error[n_base - 1]),
        degrees=degrees,
        starts=np.asarray(found[: n_base - 1], dtype=float),
        start_error=float(error[: n_base - 1].max()),
        scatter=float(np.sqrt(squares / (weight**2).sum())),
        inflation=float("nan") if points.u is None else float(np.sqrt(variance)),
        bend=None
        if bend is None
        else Break(bend, *_interval(points, bend, squares, degrees, bounds), slope + float(found[n_base])),
    )


def _interval(
    points: Points, bend: float, squares: float, degrees: int, bounds: tuple[float, float] | None
) -> tuple[float, float]:
    """Places whose sum of squares the F test does not tell from the best (profile likelihood)."""
    low, high = bounds or (float(points.x.min()), float(points.x.max()))
    places = np.linspace(low, high, 4 * GRID + 1)
    sums, _ = profile(rest_of(points), places)
    limit = squares * (1 + fdtri(1, degrees, CONFIDENCE) / degrees)
    near = places[sums <= limit]
    return min(float(near.min(initial=bend)), bend), max(float(near.max(initial=bend)), bend)


def _basis(columns: Array) -> Array:
    """Orthonormal columns that span the same; dependent ones (a branch of one reading) drop out."""
    left, size, _ = np.linalg.svd(columns, full_matrices=False)
    return np.asarray(left[:, size > 1e-12 * size.max(initial=0.0)])


def _without(basis: Array, values: Array) -> Array:
    """What of `values` the basis does not hold."""
    rest: Array = values - basis @ (basis.T @ values)
    return rest
