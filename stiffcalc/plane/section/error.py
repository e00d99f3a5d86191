"""How far element stress is from recovered stress: the estimate of the error, and the sizes it asks for.

After Zienkiewicz & Zhu, A simple error estimator and adaptive procedure for practical engineering analysis, Int. J.
Numer. Meth. Engng 24 (1987), from memory. Recovered stress is an order better, so the difference is the error of
the elements' own stress and an upper estimate for the recovered one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.plane.elements import RULES, Index, sample, shape_functions
from stiffcalc.plane.section.assembly import laws
from stiffcalc.plane.section.stress import Stress, element_stress, principal, von_mises

Measure = Callable[[Array], Array]  # stress (..., 3) -> what is looked at (...), MPa
MEASURES: dict[str, Measure] = {
    "von Mises": von_mises,
    "largest principal": lambda stress: principal(stress)[..., 0],
    "smallest principal": lambda stress: -principal(stress)[..., 1],  # positive in compression
}

LOOSER = 9.0  # tenfold error where there is no stress
LEAST, MARGIN = 0.35, 0.7


@dataclass(frozen=True)
class ErrorEstimate:
    """Error of the elements' stress; l cases."""

    energy: Array  # (l, e) energy norm of the error in each element, squared, N mm
    relative: Array  # (l,) energy norm of the error over that of the solution
    stress: Array  # (l, e) largest von Mises stress of the difference at an element's integration points, MPa


def estimate_error(stress: Stress, U: Array) -> ErrorEstimate:
    """Compare recovered with element stress under displacements (l, n, 2)."""
    grid = stress.grid
    at = sample(grid.nodes, grid.triangles, points=6)
    better = np.einsum("gn,lens->legs", at.N, stress.values[:, stress.triangles])
    apart = better - element_stress(grid, U, points=6)
    weight = at.weight * grid.thickness[:, None]
    give = np.asarray(np.linalg.inv(laws(grid)))[grid.zone]
    energy = _energy(apart, give, weight)
    whole = _energy(better, give, weight).sum(axis=1)
    share = np.sqrt(energy.sum(axis=1) / np.where(whole > 0, whole, 1.0))
    return ErrorEstimate(energy, share, von_mises(apart).max(axis=2))


def stress_error(stress: Stress, U: Array, elements: Index) -> Array:
    """`ErrorEstimate.stress` (l, k) of some elements (k,) alone."""
    grid = stress.grid
    part = replace(grid, triangles=grid.triangles[elements], zone=grid.zone[elements], edges={})
    N = shape_functions(RULES[6][0])
    better = np.einsum("gn,lens->legs", N, stress.values[:, stress.triangles[elements]])
    return np.asarray(von_mises(better - element_stress(part, U, points=6)).max(axis=2))


def _energy(stress: Array, give: Array, weight: Array) -> Array:
    """Integral of stress times strain (l, e)."""
    strain = np.matmul(stress, give)
    return np.asarray(np.einsum("eg,legs,legs->le", weight, stress, strain))


def wanted_sizes(stress: Stress, errors: ErrorEstimate, *, peak: float, allowed: float) -> Array:
    """Element sides (e,) that bring the error at the peak below `allowed` of it, looser where stress is low.

    Stress errors fall with the square of the side; one step makes a side at most `LEAST` times as long, none longer.
    """
    level = von_mises(stress.values).max(axis=0)[stress.triangles].max(axis=1)
    slack = 1 + LOOSER * np.clip(1 - level / peak, 0, 1) ** 2
    error = errors.stress.max(axis=0)
    with np.errstate(divide="ignore"):
        factor = np.sqrt(MARGIN * allowed * peak * slack / error)
    return np.asarray(stress.grid.sizes() * np.clip(factor, LEAST, 1.0))
