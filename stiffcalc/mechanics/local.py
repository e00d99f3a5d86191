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
    """Thickness of each bore's floor (D, B), mm: what pockets leave, as the mean of the cubes over the bore's disc.

    Exact where a pocket covers the whole floor or none of it. Source: derived (mean plate stiffness).
    """
    floor = walls.floor[:, None]
    cube = np.broadcast_to(floor**3, walls.bore_x.shape)
    lost = floor[:, :, None] ** 3 - (floor[:, :, None] - walls.pocket_depth[:, None]) ** 3
    left: Array = np.cbrt(cube - (_covered(walls) * lost).sum(axis=2) - shaped.floor_lost(walls))
    return left


def _covered(walls: Walls) -> Array:
    """Share of each bore's disc that lies over each pocket, (D, B, P)."""
    radius = 0.5 * walls.bore_d[:, :, None, None]
    x = (walls.pocket_x[:, None] - walls.bore_x[:, :, None, None]) / radius
    y = (walls.pocket_y[:, None] - walls.bore_y[:, :, None, None]) / radius
    near = _aside(x) ** 2 + _aside(y) ** 2 < 1.0
    share = np.zeros(near.shape)
    if near.any():  # pockets lie beside bores as a rule
        share[near] = _share_of_disc(x[near], y[near])
    return share


def _aside(strip: Array) -> Array:
    """Distance (...) of a strip (..., 2) from nought; 0 where it holds it."""
    return np.asarray(np.maximum(np.maximum(strip[..., 0], -strip[..., 1]), 0.0))


def _share_of_disc(x: Array, y: Array) -> Array:
    """Share (n,) of the unit disc in rectangles x (n, 2) by y (n, 2).

    With G the integral of a half chord, the rectangle's four corners give sgn(y) (G(x) - G(k)) + y k, counted with
    alternate signs; k is x, but where the circle is lower than |y| the place where it is as high. Source: derived.
    """
    x, y = np.clip(x, -1.0, 1.0)[:, :, None], np.clip(y, -1.0, 1.0)[:, None]
    high = np.sqrt(1.0 - y**2)
    within = np.clip(x, -high, high)
    corner = np.sign(y) * (_half_chords(x) - _half_chords(within)) + y * within
    return np.asarray(np.diff(np.diff(corner, axis=1), axis=2)[:, 0, 0] / np.pi)


def _half_chords(x: Array) -> Array:
    """Area between the unit circle and its diameter from the middle to x."""
    return np.asarray(0.5 * (x * np.sqrt(1.0 - x**2) + np.arcsin(x)))


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
