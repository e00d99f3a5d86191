"""The best depth field: optimality criteria on filtered shares of the depth allowed, at a volume or at a value.

Each triangle has a share y from 0 to 1 of the depth allowed there; a cone filter blends shares over a cutter's radius,
so that depth = allowed * (filter y). At the best field an equal volume costs the same value wherever the depth is
between its bounds; the update moves what is left of the wall towards that, (left) *= (cost / price)^1/4 (Bendsøe &
Sigmund, Topology Optimization, 2003, section 1.2, from memory). With volume to be found the price is the slope of the
value by volume.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.spatial import cKDTree

from stiffcalc.condensed import Array

DAMPING, MOVE = (
    0.25,
    0.15,
)  # exponent: in bending the cost goes as 1/left^4; largest change of a share in one step
STEPS = 40
STILL = 3e-4  # of the value, over the last `LOOK` steps: converged
LOOK = 5
VOLUME_MOVE = 0.05  # of the volume in one step, where it is to be found
NEAR = 1e-3  # of the value that is asked for

Evaluate = Callable[[Array], tuple[float, Array]]  # depth (e,) -> value, its slopes by depth (e,)


@dataclass(frozen=True)
class Place:
    """Where depths stand: triangles with centre (e, 2), area (e,), depth allowed (e,) and height of the blank (e,)."""

    centre: Array
    area: Array
    allowed: Array
    height: Array


@dataclass(frozen=True)
class Step:
    """One step of the search."""

    value: float
    volume: float


@dataclass(frozen=True)
class Field:
    """The field that was found."""

    share: Array  # (e,) before the filter
    depth: Array  # (e,)
    steps: tuple[Step, ...]
    settled: bool


def blending(centre: Array, area: Array, radius: float) -> sp.csr_matrix:
    """The cone filter (e, e): weight area * (radius - distance), rows summing to 1; centre (e, 2), area (e,)."""
    tree = cKDTree(centre)
    near = tree.sparse_distance_matrix(tree, radius, output_type="coo_matrix")
    inside = near.row != near.col
    rows = np.concatenate([near.row[inside], np.arange(len(area))])
    columns = np.concatenate([near.col[inside], np.arange(len(area))])
    weight = np.concatenate([radius - near.data[inside], np.full(len(area), radius)]) * area[columns]
    total = np.bincount(rows, weights=weight)
    return sp.csr_matrix((weight / total[rows], (rows, columns)))


def optimum(
    evaluate: Evaluate,
    place: Place,
    blend: sp.csr_matrix,
    *,
    volume: float,
    value: float | None = None,
    steps: int = STEPS,
) -> Field:
    """Least value at `volume` mm3 taken away; or, with `value`, the most volume for it, `volume` being a first guess.

    Raises ValueError where the places do not hold the volume.
    """
    per_share = blend.T @ (place.allowed * place.area)
    if not 0.0 <= volume < per_share.sum():
        raise ValueError(f"{volume:.4g} mm3 are asked of {per_share.sum():.4g}")
    y = np.full(len(place.area), volume / per_share.sum())
    history: list[Step] = []
    for _ in range(steps):
        depth = place.allowed * (blend @ y)
        now, slopes = evaluate(depth)
        history.append(Step(now, float(depth @ place.area)))
        if _settled(history, value):
            return Field(y, depth, tuple(history), True)
        cost = _cost(blend.T @ (place.allowed * slopes), per_share)
        if value is not None:
            volume = _moved(volume, value - now, _price(cost, per_share, y), float(per_share.sum()))
        y = _updated(y, cost, place, per_share, volume)
    depth = place.allowed * (blend @ y)
    now, _ = evaluate(depth)
    return Field(y, depth, (*history, Step(now, float(depth @ place.area))), False)


def _settled(history: list[Step], value: float | None) -> bool:
    if len(history) <= LOOK:
        return False
    last = np.array([s.value for s in history[-LOOK - 1 :]])
    volume = np.array([s.volume for s in history[-LOOK - 1 :]])
    still = np.ptp(last) <= STILL * abs(last[-1]) and np.ptp(volume) <= STILL * volume[-1]
    return bool(still) and (value is None or abs(last[-1] - value) <= NEAR * abs(value))


def _cost(slopes: Array, per_share: Array) -> Array:
    """Value per volume (e,); what gains or costs next to nothing is milled all the same."""
    live = per_share > 0.0
    cost = np.where(live, slopes / np.where(live, per_share, 1.0), 0.0)
    return np.asarray(np.maximum(cost, 1e-6 * cost.max(initial=0.0)))


def _price(cost: Array, per_share: Array, y: Array) -> float:
    """Mean cost where the depth is free to move; of all places where none is."""
    free = (per_share > 0.0) & (y > 0.02) & (y < 0.98)
    free = free if free.any() else per_share > 0.0
    return float(np.average(cost[free], weights=per_share[free]))


def _moved(volume: float, missing: float, price: float, most: float) -> float:
    """The volume that a step along the price would bring to the value asked for."""
    step = np.clip(missing / price, -VOLUME_MOVE * most, VOLUME_MOVE * most)
    return float(np.clip(volume + step, 0.0, 0.999 * most))


def _updated(y: Array, cost: Array, place: Place, per_share: Array, volume: float) -> Array:
    """Shares one step on, at the volume: the price is found by halving."""
    live = place.allowed > 0.0
    height = np.where(live, place.height / np.where(live, place.allowed, 1.0), 1.0)
    left = height - y
    low, high = 1e-3 * cost[cost > 0.0].min(), 1e3 * cost.max()

    def shares(price: float) -> Array:
        wanted = height - left * (cost / price) ** DAMPING
        return np.asarray(
            np.where(live, np.clip(wanted, np.maximum(y - MOVE, 0.0), np.minimum(y + MOVE, 1.0)), 0.0)
        )

    for _ in range(100):
        price = float(np.sqrt(low * high))
        low, high = (low, price) if per_share @ shares(price) > volume else (price, high)
    return shares(float(np.sqrt(low * high)))
