"""Number types of the strength functions: one number or an array, and a figure with its range of validity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array

Num = float | Array


@dataclass(frozen=True)
class Ranged:
    """A figure from an empirical rule, and whether its inputs lie where the source vouches for it.

    Outside, `value` is the rule's own formula, extrapolated and never clamped; the caller has to say so.
    """

    value: Array
    inside: NDArray[np.bool_]
