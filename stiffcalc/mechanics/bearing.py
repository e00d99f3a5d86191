"""Pressure under bolt heads and washers; N, mm, MPa. Arguments may be numbers or arrays; arrays broadcast."""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.refusals import refuse_unless
from stiffcalc.mechanics.resilience import circle
from stiffcalc.mechanics.values import Num

WASHER_SPREAD = 1.6  # diameter gained through a washer, per mm of its thickness


def head_pressure(force: Num, *, outer: Num, hole: Num) -> Array:
    """Mean pressure under a head or washer, MPa: F / (pi/4 (d_W^2 - d_h^2)).

    outer: bearing diameter; hole: the largest hole under it (clearance hole with its chamfer, or the washer's).
    Raises ValueError where the hole is as wide as the face. Source: VDI 2230 Part 1.
    """
    refuse_unless(
        np.asarray(outer) > np.asarray(hole),
        "head pressure, bearing diameter",
        found=outer,
        allowed="wider than the hole under it; take a washer or a finer hole",
    )
    return np.asarray(force / (circle(outer) - circle(hole)))


def washer_face(head: Num, *, thickness: Num, washer: Num) -> Array:
    """Diameter over which a washer presses on the part, mm: d_W + 1.6 h_S, at most the washer's own.

    head: bearing diameter of the head on the washer; a washer thinner than (washer - head)/1.6 bends up at
    its rim and does not carry there. Raises ValueError where the washer is smaller than the head.
    Source: VDI 2230 Part 1 (seen in two public codes).
    """
    refuse_unless(
        np.asarray(washer) >= np.asarray(head),
        "washer diameter",
        found=washer,
        allowed="at least the head's bearing diameter; take a wider washer",
    )
    return np.asarray(np.minimum(head + WASHER_SPREAD * np.asarray(thickness), washer))
