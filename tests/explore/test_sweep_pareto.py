"""The front against brute force, and by its definition."""

import numpy as np
import pytest

from stiffcalc.explore.pareto import front


def brute(costs: np.ndarray) -> np.ndarray:
    """Every pair compared: beaten where a row is nowhere worse and somewhere better."""
    sound = ~np.isnan(costs).any(axis=1)
    beaten = [
        any((b <= a).all() and (b < a).any() for k, b in enumerate(costs) if sound[k] and k != i)
        for i, a in enumerate(costs)
    ]
    return sound & ~np.array(beaten)


@pytest.mark.parametrize("columns", [1, 2, 3, 4])
@pytest.mark.parametrize("seed", range(5))
def test_front_is_that_of_brute_force(columns: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    costs = rng.integers(0, 12, (120, columns)).astype(float)  # with ties and equal rows
    costs[rng.random(120) < 0.1] = np.nan
    assert np.array_equal(front(costs), brute(costs))


def test_front_of_a_circle_is_its_lower_left_quarter() -> None:
    angle = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    found = front(np.column_stack([np.cos(angle), np.sin(angle)]))
    assert np.array_equal(found, (angle >= np.pi - 1e-12) & (angle <= 1.5 * np.pi + 1e-12))


def test_nothing_and_one() -> None:
    assert front(np.empty((0, 3))).tolist() == []
    assert front(np.array([[1.0, 2.0]])).tolist() == [True]
    assert front(np.array([[np.nan, 2.0]])).tolist() == [False]
