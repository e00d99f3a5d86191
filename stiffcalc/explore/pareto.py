"""Which designs no other one beats in everything."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array


def front(costs: Array) -> NDArray[np.bool_]:
    """Mask of the rows of (n, m) costs that no row beats: as good in every column and better in one.

    Less is better; equal rows stand or fall together; a row with NaN is never on the front.
    """
    sound = np.flatnonzero(~np.isnan(costs).any(axis=1))
    ranks = np.argsort(np.argsort(costs[sound], axis=0), axis=0).sum(axis=1)
    left = sound[np.argsort(ranks, kind="stable")]  # the likely best first: each throws out many others
    at = 0
    while at < len(left):
        own = costs[left[at]]
        stays = (costs[left] < own).any(axis=1) | (costs[left] == own).all(axis=1)
        at = int(stays[: at + 1].sum())
        left = left[stays]
    found = np.zeros(len(costs), dtype=bool)
    found[left] = True
    return found
