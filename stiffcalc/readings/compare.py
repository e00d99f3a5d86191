"""Measured against predicted: slopes of both by the same rules, their ratio, and where it holds."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.readings.knee import LEAST, SIDE, Found, find
from stiffcalc.readings.lines import Line, Points, quantile
from stiffcalc.readings.loops import Hysteresis, hysteresis
from stiffcalc.readings.predict import Curves
from stiffcalc.readings.schema import Series

AROUND_K = (
    10.0  # a ratio holds this far round the readings' temperatures; moduli move by about half a percent
)
ODD = 7.0  # times: more than bodies differ by, less than MPa told as bar makes of it (10); common practice, no source


@dataclass(frozen=True)
class Ratio:
    """Measured over predicted slope with its standard error, its interval at 95 %, and where it holds."""

    value: float
    error: float
    degrees: int
    pressure: tuple[float, float]  # MPa
    temperature: tuple[float, float]  # °C
    cases: tuple[str, ...]

    @property
    def low(self) -> float:
        """Lower end of the interval."""
        return self.value - quantile(self.degrees) * self.error

    @property
    def high(self) -> float:
        """Upper end of the interval."""
        return self.value + quantile(self.degrees) * self.error


@dataclass(frozen=True)
class SeriesFit:
    """One series: its line, its loop, the prediction at the same readings by the same rules."""

    series: Series
    rising: bool  # the line was fitted to the ways up; False: only ways down were read
    found: Found | None
    expected: tuple[Line, ...]  # of the prediction, by preload state; empty where there is none
    loop: Hysteresis | None
    ratio: Ratio | None
    why_not: str  # where there is no ratio; "" otherwise
    remarks: tuple[str, ...]
    kept: NDArray[np.bool_]  # (N,) readings that the line was fitted to
    zero: Array  # (N,) start of each reading's cycle by the fitted line; 0 where none was fitted


@dataclass(frozen=True)
class Comparison:
    """One quantity at one point over all cases."""

    quantity: str
    point: str
    ratio: Ratio | None
    why_not: str


def fit_all(
    series: Sequence[Series], curves: Mapping[str, Curves], *, take_up: float | None
) -> tuple[SeriesFit, ...]:
    """Fit every series, then again, up to the first knee of its case, those whose own scatter hides a knee.

    curves: case -> prediction; take_up as in `stiffcalc.readings.knee.find`.
    """
    first = [fit_series(s, curves[s.case], take_up=take_up) for s in series]
    knees: dict[str, float] = {}
    for f in first:
        if f.found is not None and f.found.line.bend is not None:
            knees[f.series.case] = min(f.found.line.bend.at, knees.get(f.series.case, math.inf))
    return tuple(_up_to(f, curves[f.series.case], knees.get(f.series.case), take_up) for f in first)


def _up_to(fit: SeriesFit, curves: Curves, knee: float | None, take_up: float | None) -> SeriesFit:
    """The same series fitted up to a knee of others; as it was where it bends itself or too little would be left."""
    if knee is None or fit.found is None or fit.found.line.bend is not None:
        return fit
    again = fit_series(fit.series, curves, take_up=take_up, up_to=knee)
    if again.found is None:
        return fit
    said = f"no knee of its own: fitted up to {knee:.1f} MPa, where others of the case bend"
    found = replace(again.found, bounds=fit.found.bounds, gain=fit.found.gain)
    return replace(again, found=found, remarks=(*fit.remarks, said))


def fit_series(
    series: Series, curves: Curves, *, take_up: float | None, up_to: float = math.inf
) -> SeriesFit:
    """Fit one series and its prediction; `take_up` and `up_to` as in `stiffcalc.readings.knee.find`."""
    rising = bool(series.up.any())
    chosen = series.up if rising else ~series.up
    points = _points(series).where(chosen)
    found = find(points, take_up=take_up, up_to=up_to)
    loop = hysteresis(series.pressure, series.value, up=series.up, cycle=series.cycle)
    kept = np.zeros_like(chosen)
    if found is None:
        why = f"fewer than {LEAST} readings at {SIDE} pressures beyond the take-up"
        return SeriesFit(series, rising, None, (), loop, None, why, (), kept, np.zeros_like(series.value))
    kept[chosen] = found.kept
    left = points.where(found.kept)
    expected, why = _expected(series, curves, left)
    ratio = None
    if expected:
        ratio, why = _ratio(series, found.line, expected, left)
    remarks, zero = tuple(_remarks(rising, found)), _zero(series, series.cycle[kept], left, found.line)
    return SeriesFit(series, rising, found, expected, loop, ratio, why, remarks, kept, zero)


def _zero(series: Series, cycles: NDArray[np.int64], left: Points, line: Line) -> Array:
    """Start of the line in each reading's cycle; the mean of the others where a cycle has none."""
    starts = {int(c): float(line.starts[b]) for c, b in zip(cycles, left.branch, strict=True)}
    mean = float(np.mean(line.starts))
    return np.array([starts.get(int(c), mean) for c in series.cycle])


def _points(series: Series) -> Points:
    """Every cycle's way up and down has a start of its own."""
    _, branch = np.unique(2 * series.cycle + series.up, return_inverse=True)
    return Points(series.pressure, series.value, series.uncertainty, branch.astype(np.int64))


def _expected(series: Series, curves: Curves, left: Points) -> tuple[tuple[Line, ...], str]:
    """The prediction's lines through what is left of the readings; or why there are none."""
    values = curves.at((series.quantity, series.point), left.x)
    if values is None:
        return (), "this model does not publish it"
    if not np.isfinite(values).all():
        return (), "the predicted joint does not hold at all of these pressures"
    lines = [find(Points(left.x, row, left.u, left.branch), take_up=0.0) for row in values]
    return tuple(f.line for f in lines if f is not None), ""


def _ratio(series: Series, line: Line, expected: Sequence[Line], left: Points) -> tuple[Ratio | None, str]:
    """Measured slope over that at nominal preload; the range of preload adds to the error as a rectangle."""
    slopes = np.array([e.slope for e in expected])
    nominal = float(slopes[len(slopes) // 2])
    shown = series.kind.quantity
    least = 0.5 * 10.0 ** -(shown.digits or 0) / shown.factor
    if not abs(nominal) * float(left.x.max()) > least:
        return None, f"predicted as nil (below {shown.with_unit(least * 2)})"
    value = line.slope / nominal
    band = float(np.ptp(slopes)) / 2 / abs(nominal) / math.sqrt(3)
    error = math.hypot(line.error / abs(nominal), value * band)
    bends = [line.bend.low if line.bend else math.inf, expected[0].bend.at if expected[0].bend else math.inf]
    ratio = Ratio(
        value=value,
        error=error,
        degrees=line.degrees,
        pressure=(float(left.x.min()), min(float(left.x.max()), *bends)),
        temperature=(float(series.temperature.min()) - AROUND_K, float(series.temperature.max()) + AROUND_K),
        cases=(series.case,),
    )
    if ratio.high < 0:
        return None, "measured and predicted differ in sign: check which way the gauge counts"
    if ratio.low <= 0:
        return None, "the scatter is larger than the slope"
    if not 1 / ODD <= value <= ODD:
        beyond = f"more than {ODD:g} times" if value > 1 else f"less than 1/{ODD:g} of"
        return None, f"measured is {beyond} the predicted: check the units of value and pressure"
    return ratio, ""


def _remarks(rising: bool, found: Found) -> list[str]:
    said = [] if rising else ["only ways down were read: friction holds them back"]
    if found.early:
        said.append(
            f"the slope rises at {found.take_up:.2g} MPa, taken as the end of the take-up; where the joint may open "
            "that early, give --take-up 0"
        )
    bend, bounds = found.line.bend, found.bounds
    if bounds is None:
        said.append("too few readings to look for a knee")
    elif bend is not None and bend.high >= bounds[1]:
        said.append(f"the knee may lie above {bounds[1]:.1f} MPa, beyond which too few readings stand")
    return said


def compare(fits: Sequence[SeriesFit]) -> tuple[Comparison, ...]:
    """Each quantity at each point over its cases."""
    groups: dict[tuple[str, str], list[SeriesFit]] = {}
    for f in fits:
        groups.setdefault((f.series.quantity, f.series.point), []).append(f)
    return tuple(Comparison(q, p, *_pooled(group)) for (q, p), group in groups.items())


def _pooled(group: Sequence[SeriesFit]) -> tuple[Ratio | None, str]:
    """Mean of the cases' ratios by their errors, which grow where cases differ by more than they explain (Birge).

    Source: R. T. Birge, Physical Review 40, 207 (1932) (from memory).
    """
    ratios = [f.ratio for f in group if f.ratio is not None]
    if not ratios:
        return None, "; ".join(dict.fromkeys(f.why_not for f in group))
    if len(ratios) == 1:
        return ratios[0], ""
    value, weight = np.array([r.value for r in ratios]), np.array([r.error for r in ratios]) ** -2
    mean = float(value @ weight / weight.sum())
    apart = float(np.sqrt(weight @ (value - mean) ** 2 / (len(ratios) - 1)))
    pressure = max(r.pressure[0] for r in ratios), min(r.pressure[1] for r in ratios)
    if not pressure[0] < pressure[1]:
        return None, "its cases have no pressures in common"
    return Ratio(
        value=mean,
        error=float(weight.sum() ** -0.5) * max(1.0, apart),
        degrees=sum(r.degrees for r in ratios),
        pressure=pressure,
        temperature=(min(r.temperature[0] for r in ratios), max(r.temperature[1] for r in ratios)),
        cases=tuple(c for r in ratios for c in r.cases),
    ), ""
