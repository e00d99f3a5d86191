"""Stripping of engaged threads, bolt against tapped part, with or without an insert, on plain numbers; N, mm, MPa.

Source: VDI 2230 Part 1 after E. M. Alexander; the reduction factors also stand in ISO/TR 16224 (both seen in
public engineering code, not opened). Which diameters: `thread_limits` (nominal, or at the tolerances' limits).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.refusals import refuse_unless
from stiffcalc.mechanics.thread_limits import Mesh
from stiffcalc.mechanics.values import Num, Ranged

TAN_FLANK = np.tan(np.pi / 6.0)
UNLOADED_PITCHES = 0.8  # of an engagement: the run-in carries nothing (VDI 2230)
# Shear over tensile strength of bolts by property class (VDI 2230 after Thomala).
# Aged titanium: 655 / 1100 MPa (MIL-HDBK-5, from memory).
BOLT_SHEAR_RATIO = {"8.8": 0.65, "10.9": 0.62, "12.9": 0.60, "Ti-6Al-4V": 0.60}
# Shear over tensile strength of aluminium (VDI 2230, seen in a bolting catalogue and in public code).
ALUMINIUM_SHEAR_RATIO = 0.7


@dataclass(frozen=True)
class Stripping:
    """Forces at which the engaged threads shear off, N, and whether the rule's range is kept."""

    tapped: Array  # thread of the tapped part
    bolt: Array  # thread of the bolt
    ratio: Array  # R_S, strength of the tapped part's thread over the bolt's
    inside: NDArray[np.bool_]

    @property
    def force(self) -> Array:
        """The lower of the two, N."""
        return np.minimum(self.tapped, self.bolt)


@dataclass(frozen=True)
class InsertStripping:
    """Stripping with an insert: bolt in insert, and insert in the tapped part."""

    inner: Stripping  # bolt thread against the insert's inner thread
    outer: Stripping  # the insert's outer thread ("bolt") against the tapped part

    @property
    def force(self) -> Array:
        """The lowest of the four, N."""
        return np.minimum(self.inner.force, self.outer.force)


def tapped_shear_area(mesh: Mesh) -> Array:
    """Shear area of the tapped thread per mm of engagement: pi d/P (P/2 + (d - D2) tan 30°), mm2/mm."""
    return np.asarray(np.pi * mesh.d / mesh.P * (0.5 * mesh.P + (mesh.d - mesh.D2) * TAN_FLANK))


def bolt_shear_area(mesh: Mesh) -> Array:
    """Shear area of the bolt thread per mm of engagement: pi D1/P (P/2 + (d2 - D1) tan 30°), mm2/mm."""
    return np.asarray(np.pi * mesh.D1 / mesh.P * (0.5 * mesh.P + (mesh.d2 - mesh.D1) * TAN_FLANK))


def strength_ratio(*, mesh: Mesh, tapped_shear_MPa: Num, bolt_shear_MPa: Num) -> Array:
    """R_S = (tau_BM A_M) / (tau_BS A_S): below 1 the tapped thread strips first."""
    return np.asarray(tapped_shear_MPa * tapped_shear_area(mesh) / (bolt_shear_MPa * bolt_shear_area(mesh)))


def tapped_factor(ratio: Num) -> Ranged:
    """C3, bending of the tapped thread: 0.728 + 1.769 R - 2.896 R^2 + 1.296 R^3, 0.897 from R = 1 on.

    Valid from R = 0.4.
    """
    R = np.asarray(ratio, dtype=float)
    fit = 0.728 + 1.769 * R - 2.896 * R**2 + 1.296 * R**3
    return Ranged(np.where(R < 1.0, fit, 0.897), R >= 0.4)


def bolt_factor(ratio: Num) -> Ranged:
    """C2, bending of the bolt thread: 0.897 up to R = 1, then a fourth-degree fit valid to R = 2.2."""
    R = np.asarray(ratio, dtype=float)
    fit = 5.594 - 13.682 * R + 14.107 * R**2 - 6.057 * R**3 + 0.9353 * R**4
    return Ranged(np.where(R <= 1.0, 0.897, fit), R < 2.2)


def dilation_factor(width: Num, *, d: Num) -> Ranged:
    """C1, the nut gives way outward: 3.8 s/d - (s/d)^2 - 2.61, 1 from s/d = 1.9 on; valid from s/d = 1.4.

    `width` s is twice the least distance from the thread's axis to the tapped part's edge, or a nut's width.
    """
    s = np.asarray(width / d, dtype=float)
    wide = np.minimum(s, 1.9)  # where the parabola reaches 1
    return Ranged(np.asarray(3.8 * wide - wide**2 - 2.61), s >= 1.4)


def stripping(
    engagement: Num, *, mesh: Mesh, tapped_shear_MPa: Num, bolt_shear_MPa: Num, width: Num = np.inf
) -> Stripping:
    """Stripping forces of an engagement: C1 C3 tau_BM A_M m and C1 C2 tau_BS A_S m, m = engagement - 0.8 P.

    mesh: `thread_limits.nominal` or `.least_overlap` of the thread. A joint whose bolt is to break before it
    strips needs `force` above the bolt's ultimate load. An engagement below 0.8 P carries nothing.
    """
    per_mm = _per_mm(mesh, tapped_shear_MPa, bolt_shear_MPa, width)
    carrying = np.maximum(np.asarray(engagement - UNLOADED_PITCHES * mesh.P), 0.0)
    return Stripping(per_mm.tapped * carrying, per_mm.bolt * carrying, per_mm.ratio, per_mm.inside)


def _per_mm(mesh: Mesh, tapped_shear_MPa: Num, bolt_shear_MPa: Num, width: Num) -> Stripping:
    """Stripping forces of one carrying millimetre, N/mm."""
    ratio = strength_ratio(mesh=mesh, tapped_shear_MPa=tapped_shear_MPa, bolt_shear_MPa=bolt_shear_MPa)
    c1, c2, c3 = dilation_factor(width, d=mesh.size), bolt_factor(ratio), tapped_factor(ratio)
    return Stripping(
        tapped=c1.value * c3.value * tapped_shear_MPa * tapped_shear_area(mesh),
        bolt=c1.value * c2.value * bolt_shear_MPa * bolt_shear_area(mesh),
        ratio=ratio,
        inside=c1.inside & c2.inside & c3.inside,
    )


def needed_engagement(
    force: Num, *, mesh: Mesh, tapped_shear_MPa: Num, bolt_shear_MPa: Num, width: Num = np.inf
) -> Ranged:
    """Engagement m_ges at which neither thread strips below `force`, mm: `stripping` turned round.

    With force = R_m A_s the bolt breaks first. Raises ValueError where a strength is not positive. `inside` as
    in `Stripping`. Source: VDI 2230 Part 1.
    """
    for strength in (tapped_shear_MPa, bolt_shear_MPa):
        refuse_unless(
            np.asarray(strength) > 0.0, "thread's shear strength", found=strength, allowed="above 0 MPa"
        )
    per_mm = _per_mm(mesh, tapped_shear_MPa, bolt_shear_MPa, width)
    return Ranged(np.asarray(force / per_mm.force + UNLOADED_PITCHES * mesh.P), per_mm.inside)


def insert_stripping(
    engagement: Num,
    *,
    mesh: Mesh,
    outer: Mesh,
    tapped_shear_MPa: Num,
    insert_shear_MPa: Num,
    bolt_shear_MPa: Num,
    width: Num = np.inf,
) -> InsertStripping:
    """Stripping forces of a bolt in an insert in a softer part, one engagement for both threads.

    mesh: bolt thread; outer: thread between insert and part, `thread_limits.wire_insert(mesh)` for a coil, or
    that of a solid insert (usually one size larger and more). The insert holds its inner thread from giving
    way outward (C1 = 1); `width` is the part's. Source: VDI 2230 Part 1 on each thread; use on inserts derived.
    """
    return InsertStripping(
        inner=stripping(
            engagement, mesh=mesh, tapped_shear_MPa=insert_shear_MPa, bolt_shear_MPa=bolt_shear_MPa
        ),
        outer=stripping(
            engagement,
            mesh=outer,
            tapped_shear_MPa=tapped_shear_MPa,
            bolt_shear_MPa=insert_shear_MPa,
            width=width,
        ),
    )
