"""Hysteresis by hand."""

import numpy as np
import pytest

from stiffcalc.readings.loops import hysteresis


def loop(*, lag: float, cycles: int = 1, sign: float = 1.0):
    """Triangular loop: up 0, 5, 10 straight; down through 5 + lag."""
    p, v, up, c = [], [], [], []
    for k in range(1, cycles + 1):
        p += [0.0, 5.0, 10.0, 10.0, 5.0, 0.0]
        v += [0.0, 5.0, 10.0, 10.0, 5.0 + lag, 0.0]
        up += [True] * 3 + [False] * 3
        c += [k] * 6
    return np.array(p), sign * np.array(v), np.array(up), np.array(c)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_area_of_a_triangle(sign: float) -> None:
    p, v, up, c = loop(lag=1.0, sign=sign)
    found = hysteresis(p, v, up=up, cycle=c)
    assert found is not None
    assert found.area == pytest.approx(5.0)  # half of base 10 MPa times height 1
    assert found.share == pytest.approx(0.05)
    assert (found.low, found.high, found.cycles) == (0.0, 10.0, 1)
    assert np.isnan(found.half_width)


def test_mean_over_cycles_with_its_interval() -> None:
    p, v, up, c = loop(lag=1.0, cycles=3)
    v[10] += 0.6  # one cycle lags more: areas 5, 8, 5
    found = hysteresis(p, v, up=up, cycle=c)
    assert found is not None and found.cycles == 3
    assert found.area == pytest.approx(6.0)
    assert found.half_width == pytest.approx(
        4.303 * np.std([5, 8, 5], ddof=1) / np.sqrt(3), rel=1e-3
    )  # t table


def test_only_pressures_of_both_ways_count() -> None:
    p, v, up, c = loop(lag=0.0)
    p[0], v[0] = 2.0, 2.0
    found = hysteresis(p, v, up=up, cycle=c)
    assert found is not None and found.low == 2.0
    assert found.area == pytest.approx(0.0, abs=1e-12)


def test_no_loop_without_both_ways() -> None:
    p, v, up, c = loop(lag=1.0)
    assert hysteresis(p[up], v[up], up=up[up], cycle=c[up]) is None
