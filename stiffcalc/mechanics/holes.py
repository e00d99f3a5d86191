"""Stress at the edge of a round hole in a strip."""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.values import Num


def hole_factor(diameter: Num, *, width: Num) -> Array:
    """Largest stress at a central hole over the mean stress of what the strip has left: 2 + (1 - d/w)^3.

    For pull across the hole in a strip of `width`; 3 for a hole in a very wide one, 2 for one nearly as wide as the
    strip. Source: Heywood's fit to Howland's solution (from memory), within 1.5 % of other fits to d/w = 0.45.
    """
    share = 1.0 - np.asarray(diameter, dtype=float) / width
    return np.asarray(2.0 + share**3)
