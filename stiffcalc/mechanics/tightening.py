"""Tightening: torque and preload, where the torque goes, utilisation of yield, scatter; N, N mm, mm, MPa.

Every argument may be a number or an array; arrays broadcast. Source of the equations, where none other is
named: VDI 2230 Part 1 (seen in public engineering code and textbook transcriptions, not opened).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.fasteners import Preload, Thread
from stiffcalc.mechanics.refusals import refuse_unless
from stiffcalc.mechanics.values import Num

UTILISATION = 0.9  # of yield at tightening, the guideline's usual value
HALF_FLANK = np.pi / 6.0  # ISO metric and unified threads
FLANK = 1.0 / np.cos(HALF_FLANK)  # 1.155: the flank's normal force over the axial one


@dataclass(frozen=True)
class Torque:
    """A tightening torque by where it goes, N mm."""

    pitch: Array  # stretches the bolt
    thread: Array  # friction of the thread
    head: Array  # friction under the head

    @property
    def total(self) -> Array:
        """Torque at the wrench M_A, N mm."""
        return np.asarray(self.pitch + self.thread + self.head)

    @property
    def thread_torque(self) -> Array:
        """What twists the shank, M_G, N mm."""
        return np.asarray(self.pitch + self.thread)


def bearing_mean(*, outer: Num, hole: Num) -> Array:
    """Mean friction diameter under the head D_Km = (d_W + d_h)/2, mm."""
    return np.asarray(0.5 * (outer + hole))


def torque_parts(
    preload: Num, *, thread: Thread, friction_thread: Num, friction_head: Num, head_mean: Num
) -> Torque:
    """Torque that gives `preload`, by parts: F P/(2 pi), F d2 mu_G/(2 cos 30°), F D_Km mu_K/2; N mm.

    The guideline prints 0.16 P and 0.58 d2 mu_G for 0.15915 and 0.57735: up to 0.3 % more.
    """
    return Torque(
        pitch=np.asarray(preload * thread.P / (2.0 * np.pi)),
        thread=np.asarray(preload * 0.5 * thread.d2 * FLANK * friction_thread),
        head=np.asarray(preload * 0.5 * head_mean * friction_head),
    )


def torque(
    preload: Num, *, thread: Thread, friction_thread: Num, friction_head: Num, head_mean: Num
) -> Array:
    """Tightening torque M_A, N mm, that gives `preload`: the sum of `torque_parts`."""
    return torque_parts(
        preload,
        thread=thread,
        friction_thread=friction_thread,
        friction_head=friction_head,
        head_mean=head_mean,
    ).total


def preload(
    torque: Num, *, thread: Thread, friction_thread: Num, friction_head: Num, head_mean: Num
) -> Array:
    """Preload F_M, N, that the torque (N mm) gives: `torque_parts` turned round."""
    for_one_newton = torque_parts(
        1.0, thread=thread, friction_thread=friction_thread, friction_head=friction_head, head_mean=head_mean
    )
    return np.asarray(torque / for_one_newton.total)


def torque_exact(
    preload: Num, *, thread: Thread, friction_thread: Num, friction_head: Num, head_mean: Num
) -> Array:
    """Torque from the inclined plane, N mm: F [d2/2 tan(rho' + lambda) + mu_K D_Km/2].

    tan lambda = P/(pi d2), tan rho' = mu_G/cos 30°. `torque` leaves the product of the two tangents out and is
    half a percent lower. Source: any machine-design text.
    """
    lead, rub = _angles(thread, friction_thread)
    return np.asarray(preload * (0.5 * thread.d2 * np.tan(rub + lead) + 0.5 * head_mean * friction_head))


def _angles(thread: Thread, friction_thread: Num) -> tuple[Array, Array]:
    """Lead angle lambda and angle of friction on the flank rho', rad."""
    lead = np.arctan(np.asarray(thread.P / (np.pi * thread.d2)))
    return lead, np.arctan(FLANK * np.asarray(friction_thread))


def nut_factor(torque: Num, *, preload: Num, d: Num) -> Array:
    """K = T / (F d). Source: definition; Shigley, Mechanical Engineering Design, chapter 8."""
    return np.asarray(torque / (preload * d))


def torque_by_factor(preload: Num, *, factor: Num, d: Num) -> Array:
    """Torque T = K F d, N mm, of a given nut factor (`catalogue.nut_factors`). Source: as `nut_factor`."""
    return np.asarray(factor * preload * d)


def assembly_preload(
    yield_MPa: Num, *, thread: Thread, friction_thread: Num, utilisation: Num = UTILISATION
) -> Array:
    """Preload at which von Mises reaches `utilisation` of yield while tightening, N.

    F = nu Rp A_s / sqrt(1 + 3 [1.5 (d2/dS)(P/(pi d2) + 1.155 mu_G)]^2), dS the diameter of A_s; 1.5 stands
    for a section wholly plastic in torsion.
    """
    return np.asarray(utilisation * yield_MPa * thread.A_s / _combined(thread, friction_thread))


def utilisation(preload: Num, *, yield_MPa: Num, thread: Thread, friction_thread: Num) -> Array:
    """Share of yield that `preload` uses while tightening: `assembly_preload` turned round."""
    return np.asarray(preload * _combined(thread, friction_thread) / (yield_MPa * thread.A_s))


def tightening_shear(preload: Num, *, thread: Thread, friction_thread: Num) -> Array:
    """Torsional stress while tightening, MPa: M_G / (pi dS^3 / 16), M_G = F d2/2 (P/(pi d2) + 1.155 mu_G)."""
    return np.asarray(preload / thread.A_s * _shear_per_stress(thread, friction_thread))


def _combined(thread: Thread, friction_thread: Num) -> Array:
    """Von Mises over tensile stress while tightening, the section plastic in torsion."""
    return np.asarray(np.sqrt(1.0 + 3.0 * (0.75 * _shear_per_stress(thread, friction_thread)) ** 2))


def _shear_per_stress(thread: Thread, friction_thread: Num) -> Array:
    """Elastic torsional over tensile stress while tightening: 2 (d2/dS)(P/(pi d2) + 1.155 mu_G)."""
    dS = np.sqrt(4.0 * thread.A_s / np.pi)
    return np.asarray(2.0 * thread.d2 / dS * (thread.P / (np.pi * thread.d2) + FLANK * friction_thread))


# Scatter


def preload_interval(nominal: Num, *, scatter: Num) -> Preload:
    """Interval of preload around a nominal taken as its mean; scatter alpha_A = largest / smallest.

    F_min = 2 F / (1 + alpha), F_max = alpha F_min. The definition of alpha_A is VDI 2230's; that the nominal
    (from the nominal torque and friction) is the mean is common practice, no source. Raises ValueError where
    alpha is below 1.
    """
    alpha = np.asarray(scatter, dtype=float)
    refuse_unless(
        alpha >= 1.0, "tightening factor", found=alpha, allowed="at least 1, largest over smallest preload"
    )
    low = np.asarray(2.0 * nominal / (1.0 + alpha))
    return Preload(low, np.broadcast_to(np.asarray(nominal, dtype=float), low.shape), np.asarray(alpha * low))


def aerospace_interval(
    nominal: Num, *, uncertainty: Num, c_max: Num = 1.0, c_min: Num = 1.0, bolts: int = 1
) -> Preload:
    """Preload range by aerospace practice, N: c_max (1 + G) P and c_min (1 - G/sqrt(n)) P.

    uncertainty G: of the tightening method, 0 to 1; c_max, c_min: tolerance of the torque itself; bolts n: 1
    where the loss of one bolt's clamp matters, the number of bolts where only their sum does. Source:
    NASA-STD-5020 (equations seen in public code; the choice of G is the standard's, not checked).
    """
    gamma = np.asarray(uncertainty, dtype=float)
    refuse_unless((gamma >= 0.0) & (gamma < 1.0), "preload uncertainty", found=gamma, allowed="0 to below 1")
    high, low = c_max * (1.0 + gamma) * nominal, c_min * (1.0 - gamma / np.sqrt(bolts)) * nominal
    return Preload(
        np.asarray(low), np.broadcast_to(np.asarray(nominal, dtype=float), np.shape(low)), np.asarray(high)
    )


@dataclass(frozen=True)
class TorqueTest:
    """What a torque test of several like bolts says of the preload, N."""

    mean: Array
    deviation: Array  # of the sample, divisor n - 1

    def at(self, deviations: Num) -> Array:
        """Preload that many standard deviations above (+) or below (-) the mean."""
        return np.asarray(self.mean + deviations * self.deviation)


def torque_test(preloads: Array) -> TorqueTest:
    """Mean and standard deviation of measured preloads (..., n), n >= 2. Source: statistics of a sample."""
    found = np.asarray(preloads, dtype=float)
    count = found.shape[-1]
    refuse_unless(count > 1, "torque test, bolts", found=count, allowed="2 and more")
    refuse_unless(np.isfinite(found), "torque test, preload", found=found, allowed="a number of N")
    return TorqueTest(np.asarray(found.mean(axis=-1)), np.asarray(found.std(axis=-1, ddof=1)))
