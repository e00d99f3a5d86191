"""The search's parts: what is better, variations, steps within a trust region."""

import numpy as np
import pytest

from stiffcalc.condensed import Array
from stiffcalc.explore.refine import Slopes, programme, refine
from stiffcalc.explore.search import (
    Budget,
    Evaluation,
    Space,
    best,
    first,
    generation,
    joined,
    leading,
    merit,
    order,
    violation,
)

SQUARE = Space(2, np.zeros(2, dtype=bool))


def known(**changes: Array) -> Evaluation:
    """Four designs."""
    fields = {
        "x": np.linspace(0.0, 1.0, 8).reshape(4, 2),
        "cost": np.array([4.0, 3.0, 2.0, 1.0]),
        "mass": np.array([1.0, 1.0, 1.0, 1.0]),
    }
    return Evaluation(**(fields | changes), margins={"stress": np.array([0.1, 0.0, -0.1, -0.2])})


def test_what_meets_everything_is_better_than_what_costs_less() -> None:
    assert list(order(known(), Budget(1.0))) == [1, 0, 2, 3]


def test_what_misses_less_is_better_whatever_it_costs() -> None:
    heavy = known(mass=np.array([1.5, 1.05, 1.0, 1.0]))
    assert list(order(heavy, Budget(1.0))) == [1, 2, 3, 0]


def test_what_cannot_be_had_is_last() -> None:
    assert order(known(cost=np.array([4.0, np.nan, 2.0, 1.0])), Budget(1.0))[-1] == 1


def test_a_check_that_only_some_designs_have_is_met_by_the_others() -> None:
    other = Evaluation(known().x, known().cost, known().mass, {"slip": np.full(4, -1.0)})
    both = joined([known(), other])
    assert list(violation(both, Budget(1.0)) > 0.0) == [False, False, True, True, True, True, True, True]


def test_variations_stay_in_the_cube_and_depend_on_the_seed_alone() -> None:
    budgets = [Budget(1.0), Budget(2.0)]
    one, same, other = (generation(known(), budgets, 30, np.random.default_rng(seed)) for seed in (1, 1, 2))
    assert one.shape == (60, 2)
    assert one.min() >= 0.0 and one.max() <= 1.0
    assert np.array_equal(one, same) and not np.array_equal(one, other)


def test_a_step_keeps_margins_and_the_ways_that_are_open() -> None:
    """Cost falls along both; the margin allows 0.05 along x, the cube 0.02 along y."""
    slopes = Slopes(
        names=("onset",),
        cost=np.array([-1.0, -1.0]),
        margins=np.array([[-2.0, 0.0]]),
        here=np.array([0.1]),
        low=np.array([-0.5, -0.5]),
        high=np.array([0.5, 0.02]),
    )
    assert programme(slopes, radius=0.2, here=slopes.here) == pytest.approx([0.05, 0.02], abs=1e-4)
    assert programme(slopes, radius=0.01, here=slopes.here) == pytest.approx([0.01, 0.01])


def test_a_missed_margin_is_won_back_first() -> None:
    slopes = Slopes(
        names=("onset",),
        cost=np.array([-1.0, 0.0]),
        margins=np.array([[-2.0, 0.0]]),
        here=np.array([-0.1]),
        low=np.full(2, -0.5),
        high=np.full(2, 0.5),
    )
    assert programme(slopes, radius=0.2, here=slopes.here)[0] == pytest.approx(-0.05, abs=1e-4)


def bowl(x: Array) -> Evaluation:
    """Least at (0.2, 0.9); nothing can be had beyond x + y = 1."""
    cost = 1.0 + (x[:, 0] - 0.2) ** 2 + (x[:, 1] - 0.9) ** 2
    return Evaluation(x, np.where(x.sum(axis=1) > 1.0, np.nan, cost), np.zeros(len(x)), {})


def test_steps_come_near_an_edge_beyond_which_nothing_can_be_had() -> None:
    budget = Budget(np.inf)
    start = first(bowl, SQUARE, count=32, seed=1)
    *_, found = refine(bowl, SQUARE, start, [budget], radius=0.1, least=1e-3, rounds=30)
    exact = 1.0 + 2.0 * 0.05**2
    assert found.cost[best(found, budget)] == pytest.approx(exact, abs=2e-3)
    assert found.cost[best(found, budget)] <= start.cost[best(start, budget)]


def test_a_stepped_dimension_is_left_alone() -> None:
    space, budget = Space(2, np.array([True, False])), Budget(np.inf)
    start = first(bowl, space, count=8, seed=1)
    *_, found = refine(bowl, space, start, [budget], radius=0.1, least=1e-3, rounds=20)
    assert set(np.round(found.x[:, 0], 12)) <= set(np.round(start.x[:, 0], 12))


def cliff(x: Array) -> Evaluation:
    """Cost falls steeply along x, gently along y; nothing can be had beyond x = 0.5."""
    cost = 20.0 - 10.0 * x[:, 0] - x[:, 1]
    return Evaluation(x, np.where(x[:, 0] > 0.5, np.nan, cost), np.zeros(len(x)), {})


def test_steps_go_along_an_edge_beyond_which_nothing_can_be_had() -> None:
    budget, start = Budget(np.inf), cliff(np.array([[0.4995, 0.1]]))
    *_, found = refine(cliff, SQUARE, start, [budget], radius=0.1, least=1e-3, rounds=30)
    assert found.x[best(found, budget)] == pytest.approx([0.5, 1.0], abs=2e-3)


def test_a_design_a_hair_short_leads_and_one_far_short_does_not() -> None:
    slip = {"slip": np.array([0.0, -0.01, -0.1, 1.0])}
    found = Evaluation(known().x, np.array([2.0, 1.0, 0.9, np.nan]), np.ones(4), slip)
    assert best(found, Budget(1.0)) == 0  # it alone meets everything
    assert leading(found, Budget(1.0)) == 1  # 1.0 and 0.3 for what is missing
    assert merit(found, Budget(1.0)).tolist() == pytest.approx([2.0, 1.3, 3.6, np.inf])


def valleys(x: Array) -> Evaluation:
    """Two kinds of designs with nothing between them; the second is the better one at every mass, 1 + x0."""
    second = x[:, 1] > 0.6
    cost = np.where(second, 1.5 - 0.1 * x[:, 0], 2.0 - 0.5 * x[:, 0])
    return Evaluation(x, np.where(second | (x[:, 1] < 0.4), cost, np.nan), 1.0 + x[:, 0], {})


@pytest.mark.parametrize(("rows", "cost"), [((), 1.75), ((1,), 1.45)])
def test_a_start_that_misses_its_budget_ends_where_the_leading_design_never_comes(
    rows: tuple[int, ...], cost: float
) -> None:
    budget, start = Budget(1.5), valleys(np.array([[0.45, 0.2], [0.9, 0.8]]))
    assert leading(start, budget) == 0
    starts = [(budget, row) for row in rows]
    *_, found = refine(valleys, SQUARE, start, [budget], radius=0.1, least=1e-3, rounds=30, starts=starts)
    assert found.cost[best(found, budget)] == pytest.approx(cost, abs=1e-3)
