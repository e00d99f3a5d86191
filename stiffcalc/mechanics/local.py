"""Local flexibilities of a wall that beam theory leaves out: floors, roots of bridges, bore walls."""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics import shaped
from stiffcalc.mechanics.constants import FrameConstants
from stiffcalc.mechanics.plates import (
    cylinder_growth,
    floor_bending_flexibility,
    floor_edge_flexibility,
    floor_shear_flexibility,
)
from stiffcalc.mechanics.stacked import inverse
from stiffcalc.mechanics.walls import Walls


def floor_thickness(walls: Walls) -> Array:
    """Thickness of each bore's floor (D, B), mm: what pockets leave, as the mean of the cubes over the bore's
    square.

    Exact where a pocket covers the whole floor or none of it. Source: derived (mean plate stiffness).
    """
    radius = 0.5 * walls.bore_d[:, :, None]
    floor = walls.floor[:, None]
    cube = np.broadcast_to(floor**3, walls.bore_x.shape)

    def covered(centre: Array, strip: Array) -> Array:
        low = np.maximum(centre[:, :, None] - radius, strip[:, None, :, 0])
        high = np.minimum(centre[:, :, None] + radius, strip[:, None, :, 1])
        part: Array = np.maximum(high - low, 0.0) / (2.0 * radius)
        return part

    share = covered(walls.bore_x, walls.pocket_x) * covered(walls.bore_y, walls.pocket_y)
    lost = floor[:, :, None] ** 3 - (floor[:, :, None] - walls.pocket_depth[:, None]) ** 3
    left: Array = np.cbrt(cube - (share * lost).sum(axis=2) - shaped.floor_lost(walls))
    return left


def floor_flexibility(walls: Walls) -> Array:
    """Mean deflection of each floor against its edge per unit force on it (D, B), mm/N."""
    radius, thickness = 0.5 * walls.bore_d, floor_thickness(walls)
    E, nu = walls.E[:, None], walls.nu[:, None]
    per_pressure: Array = (
        floor_bending_flexibility(radius, thickness=thickness, E=E, nu=nu)
        + floor_shear_flexibility(radius, thickness=thickness, E=E, nu=nu)
        + floor_edge_flexibility(radius, thickness=thickness, E=E, nu=nu)
    )
    return per_pressure / (np.pi * radius**2)


def root_flexibility(walls: Walls, *, area: Array, constants: FrameConstants) -> Array:
    """Flexibility (D, N, 3, 3) of the wall where a bridge meets it, on (w, theta_x, theta_y) at its reference
    point.

    An elastic layer of `root` wall thicknesses over the footprint: (root t / E) * (int a a^T dA)^-1, with
    `area` the integral (D, N, 3, 3). Its depth is fitted in studies/solid_check/fit_frame.py.
    """
    depth = constants.root * walls.thickness / walls.E
    return depth[:, None, None, None] * inverse(area)


def bore_growth(walls: Walls, *, constants: FrameConstants) -> Array:
    """Volume by which each bore's cylinder grows per MPa on it (D, B), mm3: 2 pi a depth u * depth / (depth + c 2a).

    u is a thick cylinder's growth, its outer radius the distance to the nearer of the wall's top and bottom; the last
    factor, with c = `bore_restraint`, is what the floor holds back. An estimate: within about 40 %.
    """
    a = 0.5 * walls.bore_d
    low, high = shaped.edges(walls, walls.bore_x)
    outer = np.minimum(walls.bore_y - low, high - walls.bore_y)
    growth = cylinder_growth(np.ones(1), inner=a, outer=outer, E=walls.E[:, None], nu=walls.nu[:, None])
    depth = (walls.thickness - walls.floor)[:, None]
    return 2.0 * np.pi * a * growth * depth**2 / (depth + constants.bore_restraint * walls.bore_d)
