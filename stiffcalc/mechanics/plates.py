"""Round floors of bores under pressure: deflections and stresses; thick cylinders."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.values import Num

SHEAR = 5.0 / 6.0  # a plate's shear factor (Reissner)
EDGE = 16.67 / np.pi  # rotation of a beam's root in a half-plane, O'Donnell (1960), from memory


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
    return EDGE * (1.0 - nu**2) / 32.0 * radius**3 / (E * thickness**2)


def floor_path_flexibility(radius: Num, *, thickness: Num, wall: Num, E: Num) -> Array:
    """How far a floor moves by the way of its force through the wall's depth per unit pressure, mm/MPa:
    (a / 2 E) ln(t / e), beyond a plate and the turning of the floor's edge.

    A floor hangs in the wall by p a / 2 a unit length of its edge, on a depth e at the outer face; a plate spreads that
    over its depth t at once. Beside a force at the corner of a quarter-plane stress goes as 1 / r, from the floor's
    thickness to the wall's, so that the way is a logarithm. Its factor is that of axially symmetric solids of a blind
    bore beside Mindlin's plate (0.46 to 0.55 at nu = 0.33, e/t 0.15 to 0.6, a/e 0.8 to 3.2), where what goes as a^3/e^2
    is the turning of the floor's edge (`studies/solid_check/blind_bore.py`).
    """
    return np.asarray(0.5 * radius * np.log(wall / thickness) / E)


# Stresses, of numbers or arrays that broadcast. `fixity` is the edge moment over that of a clamped edge: 1
# clamped, 0 simply supported. A thick (Mindlin) plate has the same moments: its shear force follows from
# statics. Source: Timoshenko & Woinowsky-Krieger, symmetrical bending of circular plates, edge moments added.


def is_thin(radius: Num, *, thickness: Num) -> NDArray[np.bool_]:
    """Whether plate formulas hold: thickness at most a quarter of the diameter.

    Source: Roark's Formulas for Stress and Strain, flat plates, assumptions of the common case (looked up).
    """
    return np.asarray(thickness <= 0.5 * radius)


def root_fixity(radius: Num, *, thickness: Num, nu: Num) -> Array:
    """Fixity of a floor whose edge turns in the wall: 1 / (1 + c D (1 + nu) / a).

    Source: derived, with the edge flexibility c of `floor_edge_flexibility` and its validity.
    """
    return np.asarray(1.0 / (1.0 + EDGE / 12.0 * (1.0 + nu) * thickness / radius))


def plate_edge_stress(pressure: Num, *, radius: Num, thickness: Num, fixity: Num) -> Array:
    """Radial bending stress at the edge, MPa (tension on the pressure side): 3/4 f p (a/e)^2."""
    return np.asarray(0.75 * fixity * pressure * (radius / thickness) ** 2)


def plate_centre_stress(pressure: Num, *, radius: Num, thickness: Num, nu: Num, fixity: Num) -> Array:
    """Bending stress at the centre, all directions alike, MPa: [3 (3 + nu)/8 - 3/4 f] p (a/e)^2.

    Tension on the side away from the pressure.
    """
    return np.asarray((0.375 * (3.0 + nu) - 0.75 * fixity) * pressure * (radius / thickness) ** 2)


def plate_centre_deflection(
    pressure: Num, *, radius: Num, thickness: Num, E: Num, nu: Num, fixity: Num
) -> Array:
    """Deflection of the centre by bending, mm: p a^4 (5 + nu - 4 f) / (64 D (1 + nu)).

    Shear adds twice `floor_shear_flexibility` times p.
    """
    D = E * thickness**3 / (12.0 * (1.0 - nu**2))
    return np.asarray(pressure * radius**4 * (5.0 + nu - 4.0 * fixity) / (64.0 * D * (1.0 + nu)))


# Thick cylinder under inner pressure, plane stress. Source: Lame, any text.


def cylinder_hoop_stress(pressure: Num, *, inner: Num, outer: Num, radius: Num) -> Array:
    """Hoop stress at a radius, MPa: p a^2 / (b^2 - a^2) (1 + b^2/r^2)."""
    return np.asarray(pressure * inner**2 / (outer**2 - inner**2) * (1.0 + (outer / radius) ** 2))


def edge_stress_beside_bore(pressure: Num, *, radius: Num, distance: Num) -> Array:
    """Tension along a straight edge beside a bore under pressure, MPa: 4 p a^2 / (d^2 - a^2).

    `distance`: of the bore's centre from the edge, which runs on for ever, as does the metal on the other side. On the
    bore itself the hoop stress is at most that of a cylinder of outer radius d. Jeffery's solution in bipolar
    coordinates (Timoshenko & Goodier, Theory of Elasticity), from memory.
    """
    a, d = np.asarray(radius, dtype=float), np.asarray(distance, dtype=float)
    return np.asarray(4.0 * pressure * a**2 / (d**2 - a**2))


def cylinder_radial_stress(pressure: Num, *, inner: Num, outer: Num, radius: Num) -> Array:
    """Radial stress at a radius, MPa: p a^2 / (b^2 - a^2) (1 - b^2/r^2)."""
    return np.asarray(pressure * inner**2 / (outer**2 - inner**2) * (1.0 - (outer / radius) ** 2))


def cylinder_growth(pressure: Num, *, inner: Num, outer: Num, E: Num, nu: Num) -> Array:
    """Growth of the inner radius, mm: (p a / E) [(b^2 + a^2) / (b^2 - a^2) + nu]."""
    return np.asarray(pressure * inner / E * ((outer**2 + inner**2) / (outer**2 - inner**2) + nu))
