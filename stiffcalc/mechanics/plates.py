"""Round floors of bores under pressure: mean deflections, per MPa."""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array

SHEAR = 5.0 / 6.0  # a plate's shear factor (Reissner)


def floor_bending_flexibility(radius: Array, *, thickness: Array, E: Array, nu: Array) -> Array:
    """Mean deflection of a clamped round plate per unit pressure, mm/MPa: a^4 / (192 D), D = E e^3 / 12 (1 -
    nu^2).

    Any shapes that broadcast. Source: Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, clamped
    circular plate w = p (a^2 - r^2)^2 / 64 D, averaged over the area.
    """
    return radius**4 * (1.0 - nu**2) / (16.0 * E * thickness**3)


def floor_shear_flexibility(radius: Array, *, thickness: Array, E: Array, nu: Array) -> Array:
    """Mean deflection by shear per unit pressure, mm/MPa: a^2 / (8 kappa G e), kappa = 5/6.

    Source: derived, w = p (a^2 - r^2) / (4 kappa G e) averaged over the area.
    """
    return radius**2 * (1.0 + nu) / (4.0 * SHEAR * E * thickness)


def floor_edge_flexibility(radius: Array, *, thickness: Array, E: Array, nu: Array) -> Array:
    """Mean deflection by the rotation of the floor's edge in the wall per unit pressure, mm/MPa.

    (16.67 / pi) (1 - nu^2) / 32 * a^3 / (E e^2): the clamped plate's edge moment p a^2 / 8 turns the edge of
    a half-space by 16.67 (1 - nu^2) M / (pi E e^2). Valid for walls deeper than the floor is thick.
    Source: rotation of a beam's root in an elastic half-plane, O'Donnell (1960), coefficient from memory.
    """
    return (16.67 / np.pi) * (1.0 - nu**2) / 32.0 * radius**3 / (E * thickness**2)
