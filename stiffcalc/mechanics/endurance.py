"""Endurance of bolt threads: rolled before or after heat treatment, finite life, mean stress; MPa, mm, cycles.

Every argument may be a number or an array; arrays broadcast. VDI 2230 Part 1 was seen in public engineering
code, not opened.
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.fasteners import Thread
from stiffcalc.mechanics.values import Num, Ranged

ENDLESS = 2e6  # cycles to which the endurance amplitude refers
ROLLED_BEFORE, ROLLED_AFTER = 3.0, 6.0  # slopes of the finite-life line, by when the thread was rolled


def endurance(*, thread: Thread) -> Array:
    """Endurance amplitude of threads rolled before heat treatment, MPa: 0.85 (150/d + 45), 2e6 cycles.

    Source: VDI 2230, property classes 8.8 to 12.9.
    """
    return np.asarray(0.85 * (150.0 / thread.d + 45.0))


def endurance_rolled_after(before: Num, *, mean_force: Num, yield_force: Num) -> Ranged:
    """Endurance of threads rolled after heat treatment, MPa: (2 - F_Sm/F_0.2min) sigma_ASV.

    Valid for 0.3 <= F_Sm/F_0.2min < 1. Source: VDI 2230.
    """
    ratio = np.asarray(mean_force / yield_force)
    return Ranged(np.asarray((2.0 - ratio) * before), (ratio >= 0.3) & (ratio < 1.0))


def finite_life(endurance: Num, *, cycles: Num, slope: Num = ROLLED_BEFORE) -> Ranged:
    """Amplitude borne for fewer cycles than 2e6, MPa: sigma_A (2e6/N)^(1/slope).

    Slope 3 for threads rolled before heat treatment, 6 after. Valid for 1e4 <= N <= 2e6; above, the endurance
    amplitude itself is the guideline's value. Source: VDI 2230.
    """
    n = np.asarray(cycles, dtype=float)
    factor = np.where(n > ENDLESS, 1.0, (ENDLESS / n) ** (1.0 / slope))
    return Ranged(np.asarray(endurance * factor), n >= 1e4)


def goodman_amplitude(reversed_MPa: Num, *, start: Num, ultimate: Num) -> Array:
    """Amplitude a preloaded bolt bears whose stress rises from `start`, MPa: S_e (S_ut - s_i)/(S_ut + S_e).

    reversed_MPa: fully corrected, fully reversed endurance S_e. The stress swings between the preload's s_i and
    s_i + 2 amplitude: load line of slope 1. For bolts outside VDI 2230's property classes. Source: Shigley,
    Mechanical Engineering Design, chapter 8.
    """
    return np.asarray(reversed_MPa * (ultimate - start) / (ultimate + reversed_MPa))


def gerber_amplitude(reversed_MPa: Num, *, start: Num, ultimate: Num) -> Array:
    """As `goodman_amplitude` on Gerber's parabola, MPa: S_a/S_e + ((s_i + S_a)/S_ut)^2 = 1.

    S_a = [S_ut sqrt(S_ut^2 + 4 S_e (S_e + s_i)) - S_ut^2 - 2 s_i S_e] / (2 S_e). Source: Shigley, chapter 8.
    """
    root = np.sqrt(np.asarray(ultimate) ** 2 + 4.0 * reversed_MPa * (reversed_MPa + start))
    return np.asarray(
        (ultimate * root - np.asarray(ultimate) ** 2 - 2.0 * start * reversed_MPa) / (2.0 * reversed_MPa)
    )
