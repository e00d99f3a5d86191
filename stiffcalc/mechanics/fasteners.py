"""Preloaded bolts on plain numbers: tightening, service, fatigue, head pressure, settling, slip; N, mm, MPa.

Every argument may be a number or an array; arrays broadcast. Source of the equations: VDI 2230 Part 1,
Systematic calculation of highly stressed bolted joints. The guideline itself was not opened: the equations
were seen in public engineering code and textbook transcriptions, and are tested against published figures.
Bolts are of steel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.values import Num, Ranged

UTILISATION = 0.9  # of yield at tightening, the guideline's usual value
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


# Tightening


def bearing_mean(*, outer: Num, hole: Num) -> Array:
    """Mean friction diameter under the head D_Km = (d_W + d_h)/2, mm. Source: VDI 2230."""
    return np.asarray(0.5 * (outer + hole))


def torque_per_force(*, thread: Thread, friction_thread: Num, friction_head: Num, head_mean: Num) -> Array:
    """M_A / F_M = 0.16 P + 0.58 d2 mu_G + D_Km mu_K / 2, N mm per N. Source: VDI 2230."""
    return np.asarray(0.16 * thread.P + 0.58 * thread.d2 * friction_thread + 0.5 * head_mean * friction_head)


def torque(
    preload: Num, *, thread: Thread, friction_thread: Num, friction_head: Num, head_mean: Num
) -> Array:
    """Tightening torque M_A, N mm, that gives `preload`."""
    return np.asarray(
        preload
        * torque_per_force(
            thread=thread, friction_thread=friction_thread, friction_head=friction_head, head_mean=head_mean
        )
    )


def preload(
    torque: Num, *, thread: Thread, friction_thread: Num, friction_head: Num, head_mean: Num
) -> Array:
    """Preload F_M, N, that the torque (N mm) gives."""
    return np.asarray(
        torque
        / torque_per_force(
            thread=thread, friction_thread=friction_thread, friction_head=friction_head, head_mean=head_mean
        )
    )


def assembly_preload(
    yield_MPa: Num, *, thread: Thread, friction_thread: Num, utilisation: Num = UTILISATION
) -> Array:
    """Preload at which von Mises reaches `utilisation` of yield while tightening, N.

    F = nu Rp A_s / sqrt(1 + 3 [1.5 (d2/dS)(P/(pi d2) + 1.155 mu_G)]^2), dS the diameter of A_s; 1.5 stands
    for a section wholly plastic in torsion. Source: VDI 2230.
    """
    ratio = 0.75 * _shear_per_stress(thread, friction_thread)
    return np.asarray(utilisation * yield_MPa * thread.A_s / np.sqrt(1.0 + 3.0 * ratio**2))


def tightening_shear(preload: Num, *, thread: Thread, friction_thread: Num) -> Array:
    """Torsional stress while tightening, MPa: M_G / (pi dS^3 / 16), M_G = F d2/2 (P/(pi d2) + 1.155 mu_G).

    Source: VDI 2230.
    """
    return np.asarray(preload / thread.A_s * _shear_per_stress(thread, friction_thread))


def _shear_per_stress(thread: Thread, friction_thread: Num) -> Array:
    """Elastic torsional over tensile stress while tightening: 2 (d2/dS)(P/(pi d2) + 1.155 mu_G)."""
    dS = np.sqrt(4.0 * thread.A_s / np.pi)
    return np.asarray(2.0 * thread.d2 / dS * (thread.P / (np.pi * thread.d2) + 1.155 * friction_thread))


def preload_interval(nominal: Num, *, scatter: Num) -> Preload:
    """Interval of preload around a nominal taken as its mean; scatter alpha_A = largest / smallest.

    F_min = 2 F / (1 + alpha), F_max = alpha F_min. The definition of alpha_A is VDI 2230's; that the nominal
    (from the nominal torque and friction) is the mean is common practice, no source. Raises ValueError where
    alpha is below 1.
    """
    alpha = np.asarray(scatter, dtype=float)
    if not np.all(alpha >= 1.0):
        raise ValueError(f"tightening factor {alpha.min():g}: largest over smallest preload, at least 1")
    low = np.asarray(2.0 * nominal / (1.0 + alpha))
    return Preload(low, np.broadcast_to(np.asarray(nominal, dtype=float), low.shape), np.asarray(alpha * low))


def proof_load(proof_MPa: Num, *, thread: Thread) -> Array:
    """Force under which no lasting stretch may be found, N: S_p A_s. Source: ISO 898-1."""
    return np.asarray(proof_MPa * thread.A_s)


# Service


def bolt_stress(force: Num, *, thread: Thread) -> Array:
    """Tensile stress of the thread, MPa: F / A_s. Source: ISO 898-1 (definition of A_s)."""
    return np.asarray(force / thread.A_s)


def service_stress(force: Num, *, shear: Num, thread: Thread, torsion_left: Num = TORSION_LEFT) -> Array:
    """Equivalent stress in service, MPa: sqrt(sigma_z^2 + 3 (k_tau tau)^2).

    `shear` is the stress at tightening (`tightening_shear` of the preload, not of the service force).
    Source: VDI 2230, k_tau = 0.5.
    """
    return np.asarray(np.sqrt((force / thread.A_s) ** 2 + 3.0 * (torsion_left * shear) ** 2))


def stress_amplitude(high: Num, *, low: Num, thread: Thread) -> Array:
    """Alternating stress of a bolt force between `low` and `high`, MPa: (F_o - F_u) / (2 A_s).

    Source: VDI 2230. Bending of the bolt is not in it.
    """
    return np.asarray((high - low) / (2.0 * thread.A_s))


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


def finite_life(endurance: Num, *, cycles: Num, slope: float = 3.0) -> Ranged:
    """Amplitude borne for fewer cycles than 2e6, MPa: sigma_A (2e6/N)^(1/slope).

    Slope 3 for threads rolled before heat treatment, 6 after. Valid for 1e4 <= N <= 2e6; above, the endurance
    amplitude itself is the guideline's value. Source: VDI 2230.
    """
    n = np.asarray(cycles, dtype=float)
    factor = np.where(n > 2e6, 1.0, (2e6 / n) ** (1.0 / slope))
    return Ranged(np.asarray(endurance * factor), n >= 1e4)


def head_pressure(force: Num, *, outer: Num, hole: Num) -> Array:
    """Mean pressure under a head or washer, MPa: F / (pi/4 (d_W^2 - d_h^2)). Source: VDI 2230."""
    return np.asarray(force / (0.25 * np.pi * (outer**2 - hole**2)))


# Joint


def bar_flexibility(length: Num, *, area: Num, E: Num) -> Array:
    """Flexibility of one segment, mm/N: L / (E A); a bolt is the sum of its segments."""
    return np.asarray(length / (E * area))


def bolt_flexibility(
    d: Num, thread_area: Num, *, grip: Num, E: Num, free_thread: Num = 0.0, head: float = 0.4
) -> Array:
    """Flexibility of a screw between head face and first engaged threads, mm/N.

    Head 0.4 d (cap screw; 0.5 hexagon) and shank on pi d^2/4, free thread of the grip and 0.5 d of engaged
    thread on `thread_area`: the root area in VDI 2230; A_s instead makes a usual screw 0.5 % stiffer. The
    give of the tapped thread itself is not in it.
    """
    shank = 0.25 * np.pi * np.asarray(d) ** 2
    plain = bar_flexibility(head * d + grip - free_thread, area=shank, E=E)
    return plain + bar_flexibility(0.5 * d + free_thread, area=thread_area, E=E)


def load_factor(bolt: Num, *, plates: Num, introduction: Num = 1.0) -> Array:
    """Share of an axial working load that the bolt takes, Phi = n delta_P / (delta_S + delta_P).

    bolt, plates: flexibilities, mm/N; introduction n: 1 under the heads, 0 at the parting plane.
    Source: VDI 2230.
    """
    return np.asarray(introduction * plates / (bolt + plates))


def bolt_force(preload: Num, *, load: Num, factor: Num) -> Array:
    """Bolt force under an axial load, N: F_V + Phi F_A until the joint opens, then F_A. Source: VDI 2230."""
    return np.asarray(np.maximum(preload + factor * load, load))


def residual_clamp(preload: Num, *, load: Num, factor: Num) -> Array:
    """Clamp force left in the joint, N: F_V - (1 - Phi) F_A, 0 once open. Source: VDI 2230."""
    return np.asarray(np.maximum(preload - (1.0 - factor) * load, 0.0))


def separation_load(preload: Num, *, factor: Num) -> Array:
    """Axial load at which the joint opens, N: F_V / (1 - Phi). Source: VDI 2230."""
    return np.asarray(preload / (1.0 - factor))


def embedding_loss(settling_um: Num, *, bolt: Num, plates: Num) -> Array:
    """Preload lost as the surfaces settle, N: f_Z / (delta_S + delta_P), f_Z in micrometres.

    Source: VDI 2230; the amounts f_Z are the caller's (the guideline's table was not seen).
    """
    return np.asarray(1e-3 * settling_um / (bolt + plates))


def slip_capacity(clamp: Num, *, friction: Num, interfaces: int = 1) -> Array:
    """Transverse force a clamped joint holds by friction, N: q_F mu F. Source: Coulomb; VDI 2230."""
    return np.asarray(interfaces * friction * clamp)
