"""What a second model makes of the margins of a search, known at a few designs and read between them.

At a design that both models have answered, rho of a check = (1 + its margin) / (1 + the search's margin). Between such
designs rho is their mean, weighted by the inverse fourth power of the distance (D. Shepard, Proc. 23rd ACM National
Conference 1968, from memory): exact at each of them, and a check's rho far from one is not taken for its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.explore.search import Evaluation

POWER = 4  # of the distance
SAME = 1e-6  # distances below are none


@dataclass(frozen=True)
class Anchor:
    """A design (d,) of the cube that both models have answered, and rho of each check that both have."""

    x: Array
    rho: Mapping[str, float]


def corrected(found: Evaluation, anchors: Sequence[Anchor]) -> Evaluation:
    """The search's own margins as the second model is expected to have them."""
    return _times(found, rho(found.x, anchors, tuple(found.margins)))


def recorrected(found: Evaluation, old: Sequence[Anchor], new: Sequence[Anchor]) -> Evaluation:
    """Margins corrected by the anchors `old` as those of `new` have them."""
    names = tuple(found.margins)
    before, after = rho(found.x, old, names), rho(found.x, new, names)
    return _times(found, {n: after[n] / before[n] for n in names})


def rho(x: Array, anchors: Sequence[Anchor], names: Sequence[str]) -> dict[str, Array]:
    """rho of each check at designs (n, d); 1 where no anchor has the check."""
    weights = [1.0 / np.maximum(np.linalg.norm(x - a.x, axis=-1), SAME) ** POWER for a in anchors]
    found = {}
    for name in names:
        own = [(w, a.rho[name]) for w, a in zip(weights, anchors, strict=True) if name in a.rho]
        total = sum((w for w, _ in own), np.zeros(len(x)))
        mean = sum((w * value for w, value in own), np.zeros(len(x)))
        found[name] = mean / total if own else np.ones(len(x))
    return found


def _times(found: Evaluation, by: Mapping[str, Array]) -> Evaluation:
    return replace(found, margins={n: by[n] * (1.0 + m) - 1.0 for n, m in found.margins.items()})
