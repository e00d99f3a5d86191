"""Least cost within several budgets at once, under margins that must not be negative: a search over a unit cube.

Pure numbers: what is evaluated comes as a function. Every design evaluated is kept and is a candidate for every budget,
so that neighbouring budgets help each other. First generations of varied designs (differential variation of the best
designs of each budget, R. Storn, K. Price, J. Global Optimization 11 (1997) 341), then steps by linear programmes
within a trust region (`refine`), all budgets in one batch. What is better is settled by feasibility first (K. Deb,
Comput. Methods Appl. Mech. Engrg. 186 (2000) 311). Deterministic by seed. Both sources from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from stiffcalc.condensed import Array

SAME_MASS = 1e-4  # relative; a budget may be exceeded by rounding
PARENTS = 2  # best designs of a budget that vary, times the number of dimensions, and at least:
LEAST_PARENTS = 10
STEP = (0.3, 0.9)  # factor of a difference of two designs
KEPT = 0.1  # chance of each dimension to stay as in the design that is varied
MISSED = 30.0  # price of a margin that is missing, in costs
TO_BEST = 3  # a variation also heads for one of so many best designs


@dataclass(frozen=True)
class Evaluation:
    """What is known of n designs; NaN cost: cannot be had."""

    x: Array  # (n, d), 0 to 1
    cost: Array  # (n,)
    mass: Array  # (n,)
    margins: Mapping[str, Array]  # name -> (n,), 0 or more is met; +inf: not asked; NaN: never met

    def __len__(self) -> int:
        return len(self.cost)


Evaluate = Callable[[Array], Evaluation]


@dataclass(frozen=True)
class Budget:
    """One optimum asked for: least cost at no more than `mass`."""

    mass: float


@dataclass(frozen=True)
class Space:
    """The cube: which dimensions are steps of a list, in which slopes mean nothing."""

    size: int
    stepped: NDArray[np.bool_]  # (d,)


def joined(parts: Sequence[Evaluation]) -> Evaluation:
    """All designs of the parts, in order."""
    names = dict.fromkeys(n for p in parts for n in p.margins)
    return Evaluation(
        x=np.concatenate([p.x for p in parts]),
        cost=np.concatenate([p.cost for p in parts]),
        mass=np.concatenate([p.mass for p in parts]),
        margins={n: np.concatenate([_margin(p, n) for p in parts]) for n in names},
    )


def _margin(part: Evaluation, name: str) -> Array:
    found = part.margins.get(name)
    return np.full(len(part), np.inf) if found is None else found


def judged(found: Evaluation, budget: Budget) -> dict[str, Array]:
    """Margins of a budget: those of the checks, and that of its mass."""
    return {**found.margins, "": 1.0 + SAME_MASS - found.mass / budget.mass}


def violation(found: Evaluation, budget: Budget) -> Array:
    """(n,) sum of what is missing to each margin; infinite for designs that cannot be had or have one that is NaN."""
    missing = [np.where(np.isnan(m), np.inf, np.maximum(0.0, -m)) for m in judged(found, budget).values()]
    total: Array = np.sum(missing, axis=0)
    return np.where(np.isfinite(found.cost), total, np.inf)


def order(found: Evaluation, budget: Budget) -> NDArray[np.intp]:
    """Best first: those that meet everything by cost, then the others by what they miss."""
    return np.lexsort((np.arange(len(found)), found.cost, violation(found, budget)))


def best(found: Evaluation, budget: Budget) -> int:
    """Row of the best design of a budget."""
    return int(order(found, budget)[0])


def merit(found: Evaluation, budget: Budget) -> Array:
    """(n,) cost with what is missing at its price: less is better; infinite for designs that cannot be had."""
    missing = violation(found, budget)
    priced = np.abs(found.cost) * MISSED * np.where(np.isfinite(missing), missing, 0.0)
    total: Array = np.where(np.isfinite(missing), found.cost + priced, np.inf)
    return total


def leading(found: Evaluation, budget: Budget) -> int:
    """Row of the design a search goes on from.

    One that misses a margin by a hair leads to better ones than one that meets everything far away.
    """
    return int(np.argmin(merit(found, budget)))


def first(evaluate: Evaluate, space: Space, *, count: int, seed: int) -> Evaluation:
    """So many designs spread evenly over the cube (a power of two is best)."""
    sequence = qmc.Sobol(space.size, scramble=True, seed=np.random.default_rng(seed))
    return evaluate(sequence.random(count))


def generation(known: Evaluation, budgets: Sequence[Budget], each: int, random: np.random.Generator) -> Array:
    """Variations of the best known designs, `each` for every budget, (budgets * each, d)."""
    return np.concatenate([_varied(known, b, each, random) for b in budgets])


def _varied(known: Evaluation, budget: Budget, count: int, random: np.random.Generator) -> Array:
    size = known.x.shape[1]
    rows = order(known, budget)[: max(LEAST_PARENTS, PARENTS * size)]
    parents = known.x[rows]
    base, one, other = (parents[random.integers(len(parents), size=count)] for _ in range(3))
    lead = parents[random.integers(min(TO_BEST, len(parents)), size=count)]
    step = random.uniform(*STEP, size=(count, 1))
    moved = base + step * (lead - base) + step * (one - other)
    stays = random.random((count, size)) < KEPT
    found: Array = np.clip(np.where(stays, base, moved), 0.0, 1.0)
    return found


def beside(
    known: Evaluation, budgets: Sequence[Budget], each: int, reach: float, random: np.random.Generator
) -> Array:
    """Designs about where each budget stands, (budgets * each, d): about half of the dimensions moved by chance.

    Where the worst of several bolts or load cases makes an edge of a margin, slopes see no way; chance does.
    """
    size = known.x.shape[1]
    centre = np.repeat(known.x[[leading(known, b) for b in budgets]], each, axis=0)
    far = reach * 10.0 ** random.uniform(-1.0, 0.0, size=(len(centre), 1))
    moves = far * random.standard_normal((len(centre), size)) * (random.random((len(centre), size)) < 0.5)
    found: Array = np.clip(centre + moves, 0.0, 1.0)
    return found
