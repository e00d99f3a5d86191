"""Least cost with every use at or below one, by sequential quadratic programming; pure numbers.

SLSQP (Kraft, A software package for sequential quadratic programming, DFVLR-FB 88-28 (1988), from memory) as scipy has
it. One more unknown, by how much the worst use is beyond one, costs `PENALTY` a unit: so there is always a next step,
also where no design meets every limit, and the answer is then the one that misses by least.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.optimize import minimize

from stiffcalc.condensed import Array

PENALTY = 20.0  # of the starting cost, a unit of use beyond one
TOLERANCE = 1e-4  # of the cost between two iterations, and of the uses
REFUSED = 9.0  # use that stands for a design that cannot be


@dataclass(frozen=True)
class Sample:
    """What one design costs and uses of its limits."""

    cost: float
    uses: Array  # (m,), each held at or below one


@dataclass(frozen=True)
class Slopes:
    """Change with each of n dimensions."""

    cost: Array  # (n,)
    uses: Array  # (m, n)


class Model(Protocol):
    """What is searched."""

    def sample(self, x: Array) -> Sample | None:
        """Cost and uses at x (n,); None for a design that cannot be."""
        ...

    def slopes(self, x: Array) -> Slopes:
        """Slopes at x (n,), where a sample was had."""
        ...


@dataclass(frozen=True)
class Found:
    """Where a search ended."""

    x: Array
    iterations: int
    converged: bool
    ended: str  # scipy's own words


def least(
    model: Model, *, start: Array, low: Array, high: Array, most: int, tolerance: float = TOLERANCE
) -> Found:
    """Search from `start` between `low` and `high` (n,), at most `most` iterations. Same model, same steps.

    Raises ValueError where `start` itself cannot be.
    """
    first = model.sample(start)
    if first is None:
        raise ValueError("the search starts from a design that cannot be")
    task = _Task(model, low, high - low, first)
    over = max(0.0, float(first.uses.max()) - 1.0)
    count = len(start)
    found = minimize(
        task.cost,
        np.append((start - low) / (high - low), over),
        jac=task.cost_slope,
        bounds=[(0.0, 1.0)] * count + [(0.0, max(REFUSED, 2 * over))],
        constraints=[{"type": "ineq", "fun": task.slack, "jac": task.slack_slope}],
        method="SLSQP",
        options={"ftol": tolerance, "maxiter": most},
    )
    return Found(task.x(found.x), int(found.nit), bool(found.success), str(found.message))


@dataclass(frozen=True)
class _Task:
    """The search in scipy's terms: shares u of the ranges, and s beyond one."""

    model: Model
    low: Array
    span: Array
    first: Sample

    def x(self, z: Array) -> Array:
        return np.asarray(self.low + np.clip(z[:-1], 0.0, 1.0) * self.span)

    def cost(self, z: Array) -> float:
        found = self.model.sample(self.x(z))
        cost = 2.0 if found is None else found.cost / self.first.cost
        return float(cost + PENALTY * z[-1])

    def cost_slope(self, z: Array) -> Array:
        slope = self.model.slopes(self.x(z)).cost * self.span / self.first.cost
        return np.append(slope, PENALTY)

    def slack(self, z: Array) -> Array:
        found = self.model.sample(self.x(z))
        uses = np.full(len(self.first.uses), REFUSED) if found is None else found.uses
        return np.asarray(1.0 + z[-1] - uses)

    def slack_slope(self, z: Array) -> Array:
        uses = self.model.slopes(self.x(z)).uses
        return np.concatenate([-uses * self.span, np.ones((len(uses), 1))], axis=1)
