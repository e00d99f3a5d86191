"""Interval of a proportion against a general-purpose library.

Source: scipy.stats.binomtest(...).proportion_ci(method="wilson").
"""

import pytest
from scipy.stats import binomtest

from stiffcalc.mechanics.proportion import wilson


@pytest.mark.parametrize(
    ("met", "trials"), [(0, 20), (1, 20), (7, 13), (500, 1000), (999, 1000), (1000, 1000), (1, 1)]
)
def test_wilson(met: int, trials: int) -> None:
    expected = binomtest(met, trials).proportion_ci(confidence_level=0.95, method="wilson")
    assert wilson(met, trials) == pytest.approx((expected.low, expected.high), abs=1e-12)


@pytest.mark.parametrize(("met", "trials"), [(-1, 5), (6, 5), (0, 0)])
def test_no_count_is_refused(met: int, trials: int) -> None:
    with pytest.raises(ValueError, match="no count"):
        wilson(met, trials)
