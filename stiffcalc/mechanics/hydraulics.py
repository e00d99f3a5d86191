"""Piston areas, clamp force, brake torque and the fluid's own share of the volume; N, mm, MPa, mm3.

Every argument may be a number or an array; arrays broadcast.
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.values import Num

# MPa, glycol-based fluid near 20 °C, no free air: common practice 1500 to 2200, less when hot; from memory.
BULK_MODULUS_MPa = 1800.0


def piston_area(diameter: Num) -> Array:
    """Area of a piston, mm2: pi d^2 / 4."""
    return np.asarray(0.25 * np.pi * np.asarray(diameter) ** 2)


def clamp_force(pressure: Num, *, diameters: Array) -> Array:
    """Force of one side's pistons on its pad, N: p times their areas; diameters (..., B), pressure (...).

    Seal friction and retraction are left out. Source: statics.
    """
    return np.asarray(pressure * piston_area(diameters).sum(axis=-1))


def brake_torque(clamp_force: Num, *, friction: Num, effective_radius: Num) -> Array:
    """Torque of a disc between two pads, N mm: T = 2 mu F r, F the clamp force of one side.

    Source: handbook formula of a two-pad disc brake.
    """
    return np.asarray(2.0 * friction * clamp_force * effective_radius)


def pad_drag(clamp_force: Num, *, friction: Num) -> Array:
    """Friction force on one pad, N: mu F. Source: Coulomb."""
    return np.asarray(friction * clamp_force)


def fluid_compression(volume: Num, *, pressure: Num, bulk_modulus: Num = BULK_MODULUS_MPa) -> Array:
    """Volume the fluid itself gives under pressure, mm3: V p / K. Source: definition of the bulk modulus."""
    return np.asarray(volume * pressure / bulk_modulus)


def trapped_fluid(diameters: Array, *, depth: Num) -> Array:
    """Fluid behind the pistons of one side, mm3: their areas times the depth; diameters (..., B)."""
    return np.asarray(depth * piston_area(diameters).sum(axis=-1))


def pad_compression(pressure: Num, *, diameters: Array, compressibility_um_per_MPa: Num) -> Array:
    """Fluid one pad's compression takes, mm3: p c times the piston areas; diameters (..., B).

    c is the pad's shortening per MPa of LINE pressure, straight (a secant of the ISO 6310 curve). Source:
    statics; both pads of a caliper take this twice.
    """
    shortening = 1e-3 * compressibility_um_per_MPa * pressure
    return np.asarray(shortening * piston_area(diameters).sum(axis=-1))
