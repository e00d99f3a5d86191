"""The designs of a sweep by their number: any part of them alone, the same whoever asks and in whatever order."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from stiffcalc.condensed import Array
from stiffcalc.study.schema import SweepKey, SweepPlan
from stiffcalc.study.sweep import changes_to

CHUNK = 128  # fewest designs drawn, evaluated and stored as one; a power of two, as low-discrepancy sequences like
LARGEST = 8192  # most of them: the work that a batch costs whatever its size is then shared by many
PARTS = 8  # chunks that a sweep has at least, where they need not be smaller than that: something to share, to resume
DIGITS = (
    6  # significant, of a number drawn from a range: a file shows the design itself, not a rounding of it
)
LEAST = 1e-15  # numbers nearer to nothing are rounded as this one is

Choice = tuple[float, ...]  # of each key: the number, or the place in its list


def size(plan: SweepPlan) -> int:
    """Designs of a chunk: a power of two; where they are read alone the fewest, for an interruption loses a chunk."""
    if plan.alone:
        return CHUNK
    return min(max(1 << (plan.samples // PARTS).bit_length() >> 1, CHUNK), LARGEST)


def chunks(plan: SweepPlan) -> int:
    """How many chunks a plan has; the last one may be shorter."""
    return -(-plan.samples // size(plan))


def designs_of(plan: SweepPlan, chunk: int) -> NDArray[np.int64]:
    """Numbers of a chunk's designs, counted from 1."""
    start, end = chunk * size(plan), min((chunk + 1) * size(plan), plan.samples)
    return np.arange(start, end, dtype=np.int64) + 1


def drawn(plan: SweepPlan, chunk: int) -> Array:
    """What each design of a chunk takes of every key, (D, keys): a row is a `Choice`."""
    numbers = designs_of(plan, chunk)
    if plan.sampling == "grid":
        shape = tuple(len(k.levels) for k in plan.keys)
        return np.stack(np.unravel_index(numbers - 1, shape), axis=-1).astype(float)
    taken = [chosen(key, u) for key, u in zip(plan.keys, points(plan, chunk)[: len(numbers)].T, strict=True)]
    return np.stack(taken, axis=-1)


def points(plan: SweepPlan, chunk: int) -> Array:
    """A whole chunk of points in the unit cube, (D, keys): the n-th is the same however many are asked for."""
    count, most = len(plan.keys), size(plan)
    if plan.sampling == "random":
        parts = range(chunk * most // CHUNK, (chunk + 1) * most // CHUNK)
        return np.concatenate([np.random.default_rng([plan.seed, p]).random((CHUNK, count)) for p in parts])
    kind = qmc.Sobol if plan.sampling == "sobol" else qmc.Halton
    sequence = kind(count, scramble=True, seed=np.random.default_rng(plan.seed))
    if chunk:
        sequence.fast_forward(chunk * most)
    found: Array = sequence.random(most)
    return found


def chosen(key: SweepKey, u: Array | float) -> Array:
    """Place in the list, or number of the range, at each `u` of [0, 1)."""
    if key.levels:
        return np.minimum(np.floor(np.multiply(u, len(key.levels))), len(key.levels) - 1)
    return np.clip(shortened(key.low + np.multiply(u, key.high - key.low)), key.low, key.high)


def shortened(value: Array) -> Array:
    """Numbers rounded to `DIGITS` significant digits, as near as a number can be to that decimal."""
    size = np.floor(np.log10(np.maximum(np.abs(value), LEAST)))
    up, down = (10.0 ** np.maximum(shift, 0.0) for shift in (DIGITS - 1 - size, size - DIGITS + 1))
    found: Array = np.rint(value / down * up) / up * down
    return found


def changes(plan: SweepPlan, choice: Choice) -> dict[str, object]:
    """Paths that a design sets."""
    found: dict[str, object] = {}
    for key, taken in zip(plan.keys, choice, strict=True):
        found.update(key.levels[int(taken)].changes if key.levels else changes_to(key, taken))
    return found


def number(key: SweepKey, taken: float) -> float:
    """The number a design has there; NaN where the list has none."""
    return key.levels[int(taken)].value if key.levels else taken


def label(key: SweepKey, taken: float) -> str:
    """What a design has there, in words."""
    return key.levels[int(taken)].label if key.levels else f"{taken:.{DIGITS}g}"
