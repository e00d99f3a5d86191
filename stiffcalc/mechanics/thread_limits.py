"""Diameters that decide where engaged threads shear: nominal, at their tolerance limits, outside an insert; mm.

Source: ISO 965-1 (1998), clause 13: formulas of the tolerances, seen in three public codes, not opened. The
standard's tables round them to a series of preferred numbers and smooth a few; the diameters here lie within
0.010 mm of the tables for M6 to M14 (tests/outside/test_threads.py). Tolerance grade 6 only: 6g bolts, 6H nuts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.fasteners import Thread
from stiffcalc.mechanics.refusals import refuse_unless
from stiffcalc.mechanics.values import Num

# Ends of the ranges of nominal diameter, whose geometric mean enters the pitch diameter's tolerance, mm.
_RANGES = np.array([1.4, 2.8, 5.6, 11.2, 22.4, 45.0, 90.0, 180.0])


@dataclass(frozen=True)
class Mesh:
    """The diameters of two engaged threads, mm."""

    size: Num  # nominal
    P: Num  # pitch
    d: Num  # bolt, major
    d2: Num  # bolt, pitch
    D1: Num  # nut, minor
    D2: Num  # nut, pitch


def nominal(thread: Thread) -> Mesh:
    """Both threads at their basic profile (ISO 724)."""
    return Mesh(size=thread.d, P=thread.P, d=thread.d, d2=thread.d2, D1=thread.D1, D2=thread.d2)


def least_overlap(thread: Thread) -> Mesh:
    """Bolt 6g at its least, nut 6H at its widest: the smallest shear areas that the tolerances allow."""
    P, d = thread.P, thread.d
    return Mesh(
        size=d,
        P=P,
        d=d - deviation_g(P) - tolerance_d(P),
        d2=thread.d2 - deviation_g(P) - tolerance_d2(P, d=d),
        D1=thread.D1 + tolerance_D1(P),
        D2=thread.d2 + tolerance_D2(P, d=d),
    )


def deviation_g(P: Num) -> Array:
    """Fundamental deviation of position g, mm below the basic profile: 15 + 11 P, micrometres."""
    return np.asarray(1e-3 * (15.0 + 11.0 * P))


def tolerance_d(P: Num) -> Array:
    """Tolerance of the bolt's major diameter, grade 6, mm: 180 P^(2/3) - 3.15 P^(-1/2), micrometres."""
    p = np.asarray(P, dtype=float)
    return np.asarray(1e-3 * (180.0 * p ** (2.0 / 3.0) - 3.15 / np.sqrt(p)))


def tolerance_D1(P: Num) -> Array:
    """Tolerance of the nut's minor diameter, grade 6, mm: 230 P^0.7 from P = 1, 433 P - 190 P^1.22 below."""
    p = np.asarray(P, dtype=float)
    return np.asarray(1e-3 * np.where(p >= 1.0, 230.0 * p**0.7, 433.0 * p - 190.0 * p**1.22))


def tolerance_d2(P: Num, *, d: Num) -> Array:
    """Tolerance of the bolt's pitch diameter, grade 6, mm: 90 P^0.4 D^0.1, micrometres.

    D is the geometric mean of the range of diameters that d lies in. Raises ValueError outside 1.4 to 180 mm.
    """
    size = np.asarray(d, dtype=float)
    refuse_unless(
        (size > _RANGES[0]) & (size <= _RANGES[-1]),
        "thread tolerance, nominal diameter",
        found=size,
        allowed="over 1.4 to 180 mm; else take nominal diameters",
    )
    i = np.searchsorted(_RANGES, size)
    mean = np.sqrt(_RANGES[i - 1] * _RANGES[i])
    return np.asarray(1e-3 * 90.0 * np.asarray(P, dtype=float) ** 0.4 * mean**0.1)


def tolerance_D2(P: Num, *, d: Num) -> Array:
    """Tolerance of the nut's pitch diameter, grade 6, mm: 1.32 times the bolt's."""
    return 1.32 * tolerance_d2(P, d=d)


def least_insert_overlap(thread: Thread) -> Mesh:
    """A wire insert's coil, as drawn for want of its tolerance, in its tapped hole at the widest 6H."""
    drawn = wire_insert(nominal(thread))
    return replace(
        drawn,
        D1=drawn.D1 + tolerance_D1(drawn.P),
        D2=drawn.D2 + tolerance_D2(drawn.P, d=drawn.size),
    )


def wire_insert(mesh: Mesh) -> Mesh:
    """The tapped hole round a wire insert for the thread of `mesh`: same pitch, 2 (d - d2) = 1.299 P wider.

    The coil's cross-section is two basic triangles back to back. Source: derived; gives M10x1.5 a hole of
    11.949 mm, DIN 8140 and ASME B18.29.2M print 11.948, from memory.
    """
    wider = 2.0 * (mesh.d - mesh.d2)
    return Mesh(
        size=mesh.size + wider,
        P=mesh.P,
        d=mesh.d + wider,
        d2=mesh.d2 + wider,
        D1=mesh.D1 + wider,
        D2=mesh.D2 + wider,
    )
