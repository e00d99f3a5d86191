"""Nominal stresses of bridges and walls from their forces, and the factor of the fillet between the two; N, mm, MPa.

Sections stay plane. Axes: D designs, N bridges, Q stations along the wall.
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics import shaped
from stiffcalc.mechanics.bridges import Bridges, area_matrix, reference, underside
from stiffcalc.mechanics.sections import Sections, sections_at
from stiffcalc.mechanics.stacked import apply, inverse
from stiffcalc.mechanics.values import Num, Ranged
from stiffcalc.mechanics.walls import Walls

LOWER = slice(0, 4)  # the extreme points of the underside, see `extreme_points`

# ln(K - 1) = c0 + c1 L + c2 L^2, L = ln(r/h), and the rise over a thin wall: studies/solid_check/corner_fit.py.
CORNER = (-1.5918, -0.9249, -0.0502)
CORNER_RANGE = (0.03, 0.6)  # of r/h
THIN_WALL, THIN_FROM = 0.451, 0.688
THIN_RANGE = 1.6  # of h/t, the solids' largest


def extreme_points(bridges: Bridges) -> Array:
    """Corners of each section's hull (D, N, 6, 2), mm: four of the underside from x0 to x1, then the top two.

    Between the ends, where the arch meets a flat underside; where it does not, an end is repeated. The arch
    itself bulges into the metal, so that a stress linear in x and y is extreme at these points.
    """
    kink = np.sqrt(np.maximum(bridges.arch**2 - bridges.y[..., 0] ** 2, 0.0))
    start, end = bridges.x[..., 0], bridges.x[..., 1]
    x = np.stack([start, np.clip(-kink, start, end), np.clip(kink, start, end), end, end, start], axis=-1)
    y = underside(bridges, x)
    y[..., 4:] = bridges.y[..., 1, None]
    return np.stack([x, y], axis=-1)


def bridge_stress(bridges: Bridges, forces: Array) -> Array:
    """Linear stress at the extreme points of each bridge (D, N, 6), MPa, tension positive; holes taken out.

    forces (D, N, 3): (N, Mx, My) = int sigma a dA with a = [1, y - y_r, -(x - x_b)] about `bridges.reference`.
    Source: derived, sigma = a . (int a a^T dA)^-1 forces.
    """
    return apply(unit_stress(bridges), forces)


def unit_stress(bridges: Bridges) -> Array:
    """`bridge_stress` per unit of N, Mx and My, (D, N, 6, 3)."""
    x_b, y_r = (v[..., None] for v in reference(bridges))
    points = extreme_points(bridges)
    x, y = points[..., 0] - x_b, points[..., 1] - y_r
    return np.asarray(np.stack([np.ones_like(x), y, -x], axis=-1) @ inverse(area_matrix(bridges)))


def corner_height(bridges: Bridges) -> Array:
    """Height of each section over its extreme points of the underside (D, N, 4), mm."""
    return np.asarray(bridges.y[..., 1, None] - extreme_points(bridges)[..., LOWER, 1])


def corner_factor(radius: Num, *, height: Num, wall: Num) -> Ranged:
    """Peak stress in the fillet between a bridge's underside and the wall, over the linear stress at the underside.

    K(r/h) of a one-sided corner with a thick wall, times 1 + 0.451 (h/t - 0.688) where h/t is above that; h the
    section's height there, t the wall's thickness. Infinite for r = 0: a sharp corner has no peak stress.
    Source: fitted to plane finite elements and to 3-D solids, see studies/solid_check/corner_fit.py. On bridges
    kept out of the fit it gave 0.95 to 1.26 of the solids' peak 4 mm from the bridge's sides; the sharp corner
    between a side and the wall is not in it. A symmetric shoulder of the handbooks (Peterson) lies 10 to 35 %
    lower: it has no bending round the corner.
    """
    ratio, slender = np.asarray(radius / height, dtype=float), np.asarray(height / wall, dtype=float)
    thin = 1.0 + THIN_WALL * np.maximum(slender - THIN_FROM, 0.0)
    inside = (ratio >= CORNER_RANGE[0]) & (ratio <= CORNER_RANGE[1]) & (slender <= THIN_RANGE)
    return Ranged(np.asarray(_thick_corner(ratio) * thin), inside)


def _thick_corner(ratio: Array) -> Array:
    """K(r/h) under a thick wall; infinite at 0."""
    log = np.log(np.where(ratio > 0.0, ratio, 1.0))
    return np.where(ratio > 0.0, 1.0 + np.exp(np.polynomial.polynomial.polyval(log, CORNER)), np.inf)


def wall_stress(walls: Walls, x: Array, *, moment: Array) -> Array:
    """Largest bending stress (magnitude) of the bored wall at stations x (D, Q), MPa.

    moment (D, Q) = int sigma (z - z_c) dA, N mm, the in-plane moment being zero: sigma = M [(z - z_c) -
    (Iyz/Iv)(y - y_c)] / (Iw - Iyz^2/Iv) at the wall's four edges. Twist and notches are not in it.
    Source: unsymmetric bending, Gere & Timoshenko, Mechanics of Materials.
    """
    return edge_stress(walls, x, sections_at(walls, x), moment=moment)


def edge_stress(walls: Walls, x: Array, s: Sections, *, moment: Array) -> Array:
    """`wall_stress` where the sections at the stations are known."""
    middle, half_depth = walls.y.mean(axis=1)[:, None], 0.5 * walls.thickness[:, None]
    slope = s.Iyz / s.Iv
    reach = [
        np.abs(p * half_depth - s.z - slope * (edge - middle - s.y))
        for p in (-1.0, 1.0)
        for edge in shaped.edges(walls, x)
    ]
    return np.asarray(np.abs(moment) * np.max(reach, axis=0) / s.I_bending)
