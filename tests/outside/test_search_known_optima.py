"""The optimiser against problems whose optimum is known: a stepped beam in closed form, a three-bar truss."""

import numpy as np
import pytest

from stiffcalc.condensed import Array
from stiffcalc.explore.refine import refine
from stiffcalc.explore.search import (
    SAME_MASS,
    Budget,
    Evaluate,
    Evaluation,
    Space,
    best,
    first,
    generation,
    joined,
    violation,
)

# K. Svanberg, "The method of moving asymptotes", Int. J. Numer. Meth. Engng 24 (1987) 359: a cantilever of five hollow
# square steps, weight 0.0624 sum(x), tip deflection sum(c / x^3), 1 <= x <= 10; least weight 1.340 at a deflection of 1
# (the problem as in the author's own program text for it; the optimum from memory and by the closed form below).
STIFF = np.array([61.0, 37.0, 19.0, 7.0, 1.0])
PER_SIZE = 0.0624


def beam(cube: Array) -> Evaluation:
    """Deflection as cost, weight as mass."""
    x = 1.0 + 9.0 * cube
    return Evaluation(cube, (STIFF / x**3).sum(axis=1), PER_SIZE * x.sum(axis=1), {})


def light_beam(cube: Array) -> Evaluation:
    """Weight as cost, the deflection's limit as margin."""
    deflection, weight = beam(cube).cost, beam(cube).mass
    return Evaluation(cube, weight, np.zeros(len(cube)), {"deflection": 1.0 / deflection - 1.0})


# Three bars, two of one section: least volume under stress, H = 100 cm, P = sigma = 2 kN/cm2, sections up to 1 cm2;
# 263.8958 cm3 at 0.788675 and 0.408 cm2. Looked up: the worked example "three-bar truss design" in the pages of an
# open optimisation library; the problem goes back to Nowacki, 1973 (from memory).
def truss(cube: Array) -> Evaluation:
    """Volume as cost, stress as margins."""
    a, b = np.maximum(cube[:, 0], 1e-6), np.maximum(cube[:, 1], 1e-6)
    root, load, allowed = np.sqrt(2.0), 2.0, 2.0
    both = root * a**2 + 2.0 * a * b
    stress = ((root * a + b) / both, b / both, 1.0 / (a + root * b))
    margins = {f"bar {i}": allowed / (load * s) - 1.0 for i, s in enumerate(stress, start=1)}
    return Evaluation(cube, 100.0 * (2.0 * root * a + b), np.zeros(len(cube)), margins)


def optimum(evaluate: Evaluate, size: int, budgets: list[Budget], *, seed: int) -> Evaluation:
    """As a comparison searches."""
    space, random = Space(size, np.zeros(size, dtype=bool)), np.random.default_rng(seed)
    known = first(evaluate, space, count=64, seed=seed)
    for _ in range(6):
        known = joined([known, evaluate(generation(known, budgets, 8, random))])
    *_, known = refine(evaluate, space, known, budgets, radius=0.1, least=1e-4, rounds=30)
    return known


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_whole_front_of_a_stepped_beam(seed: int) -> None:
    """Least deflection at five weights at once: x ~ c^(1/4), so deflection = (sum c^(1/4))^4 / (W / 0.0624)^3."""
    weights = [1.0, 1.2, 1.34, 1.6, 2.0]
    known = optimum(beam, 5, [Budget(w) for w in weights], seed=seed)
    for weight in weights:
        row = best(known, Budget(weight))
        exact = (STIFF**0.25).sum() ** 4 / (weight / PER_SIZE) ** 3
        assert known.mass[row] <= weight * (1.0 + SAME_MASS)
        # the budget's rounding is worth three times its size
        assert known.cost[row] == pytest.approx(exact, rel=5e-4)


def test_least_weight_of_a_stepped_beam() -> None:
    known = optimum(light_beam, 5, [Budget(np.inf)], seed=1)
    row = best(known, Budget(np.inf))
    assert violation(known, Budget(np.inf))[row] == 0.0
    assert known.cost[row] == pytest.approx(1.340, abs=5e-4)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_least_volume_of_three_bars(seed: int) -> None:
    known = optimum(truss, 2, [Budget(np.inf)], seed=seed)
    row = best(known, Budget(np.inf))
    assert violation(known, Budget(np.inf))[row] == 0.0
    assert known.cost[row] == pytest.approx(263.8958, rel=1e-4)
    assert known.x[row] == pytest.approx([0.7887, 0.408], abs=0.005)
