"""Who takes an axial working load: the bolt or the clamp; concentric joints; N, mm.

Every argument may be a number or an array; arrays broadcast. Resiliences in mm/N (`resilience`). Source:
VDI 2230 Part 1 (seen in public engineering code and textbook transcriptions, not opened); the same balance
stands in J. E. Shigley, Mechanical Engineering Design, chapter 8, with stiffnesses.
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.values import Num


def load_factor(bolt: Num, *, plates: Num, introduction: Num = 1.0) -> Array:
    """Share of an axial working load that the bolt takes, Phi = n delta_P / (delta_S + delta_P).

    introduction n: 1 under the heads (Phi_K), 0 at the parting plane; between them, by where the load enters.
    """
    return np.asarray(introduction * plates / (bolt + plates))


def bolt_force(preload: Num, *, load: Num, factor: Num) -> Array:
    """Bolt force under an axial load, N: F_V + Phi F_A until the joint opens, then F_A."""
    return np.asarray(np.maximum(preload + factor * load, load))


def residual_clamp(preload: Num, *, load: Num, factor: Num) -> Array:
    """Clamp force left in the joint, N: F_V - (1 - Phi) F_A, 0 once open."""
    return np.asarray(np.maximum(preload - (1.0 - factor) * load, 0.0))


def separation_load(preload: Num, *, factor: Num) -> Array:
    """Axial load at which the joint opens, N: F_V / (1 - Phi)."""
    return np.asarray(preload / (1.0 - factor))


def needed_preload(clamp: Num, *, load: Num, factor: Num) -> Array:
    """Least preload, N, that leaves `clamp` in the joint under `load`: F_K + (1 - Phi) F_A."""
    return np.asarray(clamp + (1.0 - factor) * load)


def alternating_force(high: Num, *, low: Num = 0.0, factor: Num) -> Array:
    """Amplitude of the bolt force, N, of a load between `low` and `high`: Phi (F_Ao - F_Au) / 2, joint closed."""
    return np.asarray(0.5 * factor * (high - low))
