"""Measured against predicted on readings made from a prediction: known ratios come back, ranges and refusals hold."""

from dataclasses import replace

import numpy as np
import pytest

from stiffcalc.readings.compare import AROUND_K, SeriesFit, compare, fit_all, fit_series
from stiffcalc.readings.predict import Curves
from stiffcalc.readings.schema import Series

KEY = ("spread", "caliper")
PRESSURE = np.linspace(0.0, 12.0, 25)


def curves(*slopes: float, bend: float | None = None, key: tuple[str, str] = KEY) -> Curves:
    """Straight predictions, one a preload state, softening to twice the slope at `bend`."""
    extra = 0.0 if bend is None else np.maximum(0.0, PRESSURE - bend)
    rows = np.array([s * (PRESSURE + extra) for s in slopes])
    return Curves(PRESSURE, {key: rows}, np.full(len(slopes), np.inf))


def series(
    slope: float,
    *,
    noise: float = 0.0005,
    seed: int = 0,
    case: str = "bench",
    warm: float = 20.0,
    knee: float | None = None,
    top: float = 12.0,
    point: str = "caliper",
    quantity: str = "spread",
) -> Series:
    random = np.random.default_rng(seed)
    p = np.linspace(0.5, top, 20)
    v = slope * p + 0.3
    if knee is not None:
        v = v + slope * np.maximum(0.0, p - knee)
    v = v + random.normal(0, noise, len(p))
    u = np.full(len(p), noise) if noise else None
    ones = np.ones(len(p), dtype=np.int64)
    return Series(case, quantity, point, p, v, u, ones, ones.astype(bool), warm * np.ones(len(p)))


def fit(s: Series, c: Curves) -> SeriesFit:
    return fit_series(s, c, take_up=None)


def test_known_ratio_comes_back_inside_its_interval() -> None:
    inside = 0
    for seed in range(40):
        ratio = fit(series(1.1 * 0.02, seed=seed), curves(0.02)).ratio
        assert ratio is not None
        inside += ratio.low <= 1.1 <= ratio.high
    assert inside >= 34, inside  # 95 % less three standard errors of 40 sets


def test_ratio_is_to_nominal_preload_and_its_range_adds_to_the_error() -> None:
    alone = fit(series(0.022), curves(0.02)).ratio
    banded = fit(series(0.022), curves(0.021, 0.02, 0.019)).ratio
    assert alone is not None and banded is not None
    assert banded.value == pytest.approx(alone.value)
    band = 1.1 * 0.05 / np.sqrt(3)  # half the range over preload as a rectangle
    assert banded.error == pytest.approx(np.hypot(alone.error, band), rel=0.01)


def test_range_ends_at_the_low_end_of_the_first_knee_measured_or_predicted() -> None:
    straight = fit(series(0.022), curves(0.02)).ratio
    measured = fit(series(0.022, knee=8.0), curves(0.02))
    predicted = fit(series(0.022), curves(0.02, bend=6.0))
    assert straight is not None and straight.pressure == (0.5, 12.0)
    assert straight.temperature == (20 - AROUND_K, 20 + AROUND_K)
    assert measured.ratio is not None and measured.found is not None and measured.found.line.bend is not None
    assert measured.ratio.pressure[1] == measured.found.line.bend.low < 8.0
    assert predicted.ratio is not None
    assert predicted.ratio.pressure[1] == pytest.approx(6.0, rel=0.02)
    assert predicted.ratio.value < 1.1  # a straight reading beside a bent prediction: slopes before the bend


def test_bent_reading_and_bent_prediction_compare_slopes_before_the_knee() -> None:
    found = fit(series(0.022, knee=8.0), curves(0.02, bend=9.0)).ratio
    assert found is not None
    assert found.low <= 1.1 <= found.high


@pytest.mark.parametrize(
    ("made", "model", "why"),
    [
        (series(0.022), curves(-0.02), "differ in sign"),
        (series(0.022), curves(1e-6), "predicted as nil"),
        (series(22.0), curves(0.02), "more than 7 times the predicted: check the units"),  # um told as mm
        (
            series(0.022),
            curves(0.2),
            "less than 1/7 of the predicted: check the units",
        ),  # a tenth: MPa told as bar
        (series(0.0002, noise=0.02), curves(0.02), "scatter is larger"),
        (series(0.022), curves(0.02, key=("yaw", "caliper")), "does not publish"),
        (series(0.022), curves(float("nan")), "does not hold"),
    ],
)
def test_why_there_is_no_ratio(made: Series, model: Curves, why: str) -> None:
    found = fit(made, model)
    assert found.ratio is None
    assert why in found.why_not


def test_too_few_readings() -> None:
    s = series(0.022)
    few = replace(
        s,
        **{k: getattr(s, k)[:3] for k in ("pressure", "value", "uncertainty", "cycle", "up", "temperature")},
    )
    found = fit(few, curves(0.02))
    assert found.found is None and "fewer than" in found.why_not
    assert not found.kept.any()


def test_only_ways_down_are_said_to_be_so() -> None:
    s = series(0.022)
    found = fit(replace(s, up=~s.up, pressure=s.pressure[::-1], value=s.value[::-1]), curves(0.02))
    assert not found.rising and found.ratio is not None
    assert any("only ways down" in r for r in found.remarks)


def test_cases_are_averaged_by_their_errors() -> None:
    fits = [
        fit(series(0.022, seed=1), curves(0.02)),
        fit(series(0.022, seed=2, case="warm", warm=60.0), curves(0.02)),
    ]
    (both,) = compare(fits)
    assert both.ratio is not None
    a, b = (f.ratio for f in fits)
    assert a is not None and b is not None
    weights = np.array([a.error, b.error]) ** -2.0
    assert both.ratio.value == pytest.approx(np.average([a.value, b.value], weights=weights))
    assert both.ratio.temperature == (20 - AROUND_K, 60 + AROUND_K)
    assert both.ratio.cases == ("bench", "warm")


def test_cases_that_differ_widen_the_error_by_what_they_differ() -> None:
    fits = [fit(series(s, seed=3, case=c), curves(0.02)) for s, c in ((0.021, "a"), (0.023, "b"))]
    (both,) = compare(fits)
    assert both.ratio is not None
    # two ratios of about equal error: the mean's error is half of their difference
    assert both.ratio.error == pytest.approx(0.05, rel=0.1)


def test_pressures_of_all_cases_only() -> None:
    fits = [
        fit(series(0.022, case="low", top=6.0), curves(0.02)),
        fit(series(0.022, case="high"), curves(0.02)),
    ]
    (both,) = compare(fits)
    assert both.ratio is not None and both.ratio.pressure == (0.5, 6.0)


def test_a_series_whose_scatter_hides_the_knee_is_fitted_up_to_that_of_others() -> None:
    clear = series(0.022, knee=8.0)
    hidden = series(0.022, knee=8.0, noise=0.02, seed=4, point="middle", quantity="opening")
    both = {("spread", "caliper"): 0.02, ("opening", "middle"): 0.02}
    model = Curves(PRESSURE, {k: s * PRESSURE[None] for k, s in both.items()}, np.array([np.inf]))
    alone = fit_series(hidden, model, take_up=None)
    first, second = fit_all([clear, hidden], {"bench": model}, take_up=None)
    assert first.found is not None and first.found.line.bend is not None
    assert alone.found is not None and alone.found.line.bend is None
    assert second.series.pressure[second.kept].max() <= first.found.line.bend.at
    assert alone.series.pressure[alone.kept].max() > 8.0
    assert any("no knee of its own" in r for r in second.remarks)


def test_zero_of_each_cycle_is_the_start_of_its_line() -> None:
    found = fit(series(0.022, noise=0.0), curves(0.02))
    assert found.zero == pytest.approx(np.full(20, 0.3), abs=1e-9)
