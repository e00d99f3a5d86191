"""Lines through readings against published regression data and general statistics libraries."""

import numpy as np
import pytest
from scipy.optimize import curve_fit
from scipy.stats import linregress, t

from stiffcalc.readings import knee
from stiffcalc.readings.lines import Points, best_break, fit, hinge, rest_of

# NIST Statistical Reference Datasets, linear regression, "Norris": y, x, and certified values (looked up as they
# stand in the tests of several general statistics libraries)
NORRIS = """0.1 0.2 338.8 337.4 118.1 118.2 888.0 884.6 9.2 10.1 228.1 226.5 668.5 666.3 998.5 996.3 449.1 448.6
778.9 777.0 559.2 558.2 0.3 0.4 0.1 0.6 778.1 775.5 668.8 666.9 339.3 338.0 448.9 447.5 10.8 11.6 557.7 556.0
228.3 228.1 998.0 995.8 888.8 887.6 119.6 120.2 0.3 0.3 0.6 0.3 557.6 556.8 339.3 339.1 888.0 887.2 998.5 999.0
778.9 779.0 10.2 11.1 117.6 118.3 228.9 229.2 668.4 669.1 449.2 448.9 0.2 0.5"""
SLOPE, SLOPE_ERROR = 1.00211681802045, 0.429796848199937e-3
START, START_ERROR = -0.262323073774029, 0.232818234301152
RESIDUAL = 0.884796396144373


def one(x, y, u=None) -> Points:
    return Points(np.asarray(x), np.asarray(y), u, np.zeros(len(x), dtype=np.int64))


def test_certified_slope_start_and_errors() -> None:
    y, x = np.array(NORRIS.split(), dtype=float).reshape(-1, 2).T
    line = fit(one(x, y))
    assert line.slope == pytest.approx(SLOPE, rel=1e-13)
    assert line.starts[0] == pytest.approx(START, rel=1e-11)
    assert line.error == pytest.approx(SLOPE_ERROR, rel=1e-11)
    assert line.start_error == pytest.approx(START_ERROR, rel=1e-11)
    assert line.degrees == 34
    assert line.scatter * np.sqrt(36 / 34) == pytest.approx(RESIDUAL, rel=1e-12)


def noisy(seed: int, n: int = 25):
    random = np.random.default_rng(seed)
    x = np.sort(random.uniform(0, 10, n))
    u = random.uniform(0.05, 0.3, n)
    return x, 0.7 * x - 0.3 + 0.6 * hinge(x, 6.0) + u * random.normal(size=n), u


@pytest.mark.parametrize("seed", range(5))
def test_unweighted_line_is_that_of_a_statistics_library(seed: int) -> None:
    x, y, _ = noisy(seed)
    line, other = fit(one(x, y)), linregress(x, y)
    assert line.slope == pytest.approx(other.slope, rel=1e-10)
    assert line.error == pytest.approx(other.stderr, rel=1e-10)
    assert line.starts[0] == pytest.approx(other.intercept, rel=1e-9)
    assert line.half_width == pytest.approx(t.ppf(0.975, len(x) - 2) * other.stderr, rel=1e-10)


@pytest.mark.parametrize("size", [0.3, 1.0, 5.0])
def test_weighted_line_never_claims_less_than_the_stated_uncertainty(size: float) -> None:
    """With stated uncertainties the errors are the larger of the library's absolute and relative ones."""
    x, y, u = noisy(3)
    y = y - 0.6 * hinge(x, 6.0)
    line = fit(one(x, y, size * u))
    errors = []
    for absolute in (True, False):
        found, covariance = curve_fit(
            lambda x, a, b: a + b * x, x, y, sigma=size * u, absolute_sigma=absolute
        )
        errors.append(np.sqrt(np.diag(covariance)))
    assert line.slope == pytest.approx(found[1], rel=1e-7)
    assert line.error == pytest.approx(max(errors[0][1], errors[1][1]), rel=1e-6)
    assert line.inflation == pytest.approx(errors[1][1] / errors[0][1], rel=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_bent_line_is_that_of_a_general_least_squares_library(seed: int) -> None:
    x, y, u = noisy(seed, 60)

    def model(x, a, b, c, k):
        return a + b * x + c * hinge(x, k)

    place, squares, change = best_break(rest_of(one(x, y, u)), low=2.0, high=8.0)
    found, covariance = curve_fit(model, x, y, p0=(0, 0.7, 0.6, place), sigma=u, absolute_sigma=False)
    line = fit(one(x, y, u), bend=place, bounds=(2.0, 8.0))
    least = float((((y - model(x, *found)) / u) ** 2).sum())
    assert squares <= least * (1 + 1e-9)
    if squares == pytest.approx(least, rel=1e-7):
        assert line.bend is not None
        assert line.slope == pytest.approx(found[1], rel=1e-4)
        assert change == pytest.approx(found[2], rel=1e-4)
        assert line.bend.slope == pytest.approx(found[1] + found[2], rel=1e-4)
        errors = np.sqrt(np.diag(covariance)) * max(1.0, 1.0 / line.inflation)
        assert line.error == pytest.approx(errors[1], rel=1e-3)


def test_criteria_by_hand() -> None:
    """Burnham and Anderson 2002, 2.4 and 6.4 (from memory): n = 20, S = 5, a straight line of one branch has k = 3."""
    aicc, bic = knee.criteria(knee.Candidate(5.0), count=20, branches=1)
    assert aicc == pytest.approx(20 * np.log(0.25) + 6 + 24 / 16)
    assert bic == pytest.approx(20 * np.log(0.25) + 3 * np.log(20))
    aicc, bic = knee.criteria(knee.Candidate(5.0, knee=3.0), count=20, branches=1)
    assert aicc == pytest.approx(20 * np.log(0.25) + 10 + 60 / 14)
    assert bic == pytest.approx(20 * np.log(0.25) + 6 * np.log(20))
