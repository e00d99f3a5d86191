"""Threads, preload intervals and the stress in a bolt's thread, on plain numbers; N, mm, MPa.

Every argument may be a number or an array; arrays broadcast. Beside this module: `tightening` (torque, assembly
preload, scatter), `settling` (embedding, creep, heat), `resilience` and `joint_diagram` (who takes a working
load), `eccentric`, `endurance`, `bearing` (head and washer), `threads` and `thread_limits` (stripping), `dowels`.
Source of the equations: VDI 2230 Part 1, Systematic calculation of highly stressed bolted joints. The guideline
itself was not opened: the equations were seen in public engineering code and textbook transcriptions, and are
tested against published figures. Bolts are of steel where an equation says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.values import Num

TORSION_LEFT = 0.5  # share of the tightening torsion still there in service, k_tau


class Thread(Protocol):
    """What is asked of a thread; the catalogue's threads fit, and so does any object with arrays."""

    @property
    def d(self) -> Num:
        """Nominal diameter, mm."""

    @property
    def P(self) -> Num:
        """Pitch, mm."""

    @property
    def d2(self) -> Num:
        """Pitch diameter, mm."""

    @property
    def D1(self) -> Num:
        """Minor diameter of the nut thread, mm."""

    @property
    def A_s(self) -> Num:
        """Tensile stress area, mm2."""


@dataclass(frozen=True)
class Preload:
    """Interval of one preload, N; arrays of one shape."""

    min: Array
    nominal: Array
    max: Array

    def less(self, loss: Num) -> Preload:
        """The interval after a loss, N (negative: a gain)."""
        return Preload(*(np.asarray(f - loss) for f in (self.min, self.nominal, self.max)))


def proof_load(proof_MPa: Num, *, thread: Thread) -> Array:
    """Force under which no lasting stretch may be found, N: S_p A_s. Source: ISO 898-1."""
    return np.asarray(proof_MPa * thread.A_s)


def bolt_stress(force: Num, *, thread: Thread) -> Array:
    """Tensile stress of the thread, MPa: F / A_s. Source: ISO 898-1 (definition of A_s)."""
    return np.asarray(force / thread.A_s)


def service_stress(force: Num, *, shear: Num, thread: Thread, torsion_left: Num = TORSION_LEFT) -> Array:
    """Equivalent stress in service, MPa: sqrt(sigma_z^2 + 3 (k_tau tau)^2).

    `shear` is the stress at tightening (`tightening.tightening_shear` of the preload, not of the service
    force). Source: VDI 2230, k_tau = 0.5.
    """
    return np.asarray(np.sqrt(bolt_stress(force, thread=thread) ** 2 + 3.0 * (torsion_left * shear) ** 2))


def stress_amplitude(high: Num, *, low: Num, thread: Thread) -> Array:
    """Alternating stress of a bolt force between `low` and `high`, MPa: (F_o - F_u) / (2 A_s).

    Source: VDI 2230. Bending of the bolt is not in it (`eccentric.bolt_bending_stress`).
    """
    return np.asarray((high - low) / (2.0 * thread.A_s))
