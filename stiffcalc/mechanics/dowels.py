"""Transverse load across a clamp plane: friction first, then dowels or a spigot; N, mm, MPa.

Every argument may be a number or an array; arrays broadcast.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.refusals import refuse_unless
from stiffcalc.mechanics.resilience import circle
from stiffcalc.mechanics.values import Num


def slip_capacity(clamp: Num, *, friction: Num, interfaces: int = 1) -> Array:
    """Transverse force a clamped joint holds by friction, N: q_F mu F. Source: Coulomb; VDI 2230 Part 1."""
    return np.asarray(interfaces * friction * clamp)


def needed_clamp(
    load: Num, *, friction: Num, interfaces: int = 1, torque: Num = 0.0, radius: Num = np.inf
) -> Array:
    """Clamp force, N, that holds a transverse load and a torque about the bolt: F_Q/(q_F mu) + M_Y/(q_M r_a mu).

    torque N mm at the friction radius r_a, mm. Source: VDI 2230 Part 1, R2/1 (seen in public engineering code).
    """
    return np.asarray((load + torque / np.asarray(radius)) / (interfaces * friction))


def group_shear(
    force: tuple[Num, Num], *, torque: Num, x: Array, y: Array, weight: Array
) -> tuple[Array, Array]:
    """Shear along x and y of each part of a group (..., n), N, in proportion to its weight and its movement.

    force along x and y at the group's weighted middle, torque about it, N mm, counter-clockwise (...,). Source:
    eccentric shear of a bolt group, elastic vector method (any handbook of joints, such as Shigley, chapter 8).
    """
    share = weight / weight.sum(axis=-1, keepdims=True)
    dx, dy = (v - (share * v).sum(axis=-1, keepdims=True) for v in (x, y))
    polar = (share * (dx**2 + dy**2)).sum(axis=-1, keepdims=True)
    turn = np.asarray(torque)[..., None] / np.where(polar > 0.0, polar, np.inf)
    across, along = (np.asarray(f)[..., None] for f in force)
    return np.asarray(share * (across - turn * dy)), np.asarray(share * (along + turn * dx))


@dataclass(frozen=True)
class SlipBand:
    """Transverse force at which a joint slips, N, over a band of friction."""

    low: Array  # least clamp, least friction: what may be relied on
    high: Array  # most clamp, most friction: what a dowel may have to wait for


def slip_band(
    least_clamp: Num, most_clamp: Num, *, friction: tuple[Num, Num], interfaces: int = 1
) -> SlipBand:
    """Slip force over the clamp and friction bands (low, high), N. Source: as `slip_capacity`."""
    low, high = friction
    refuse_unless(
        (np.asarray(low) >= 0.0) & (np.asarray(high) >= np.asarray(low)),
        "friction band, higher value",
        found=high,
        allowed="0 <= low <= high; give the lower one first",
    )
    return SlipBand(
        slip_capacity(least_clamp, friction=low, interfaces=interfaces),
        slip_capacity(most_clamp, friction=high, interfaces=interfaces),
    )


def pin_area(diameter: Num, *, bore: Num = 0.0) -> Array:
    """Shear area of a dowel, or of a spigot with a bore, mm2."""
    return np.asarray(circle(diameter) - circle(bore))


def pin_shear(load: Num, *, diameter: Num, bore: Num = 0.0, pins: int = 1, planes: int = 1) -> Array:
    """Mean shear stress of pins, MPa: F / (n m pi/4 d^2); planes 2 where a pin is held on both sides.

    Source: Kent's Mechanical Engineers' Handbook, 12th ed. (seen on a public page).
    """
    return np.asarray(load / (pins * planes * pin_area(diameter, bore=bore)))


def pin_bearing(load: Num, *, diameter: Num, depth: Num, pins: int = 1) -> Array:
    """Mean pressure of pins on their holes, MPa: F / (n d s), depth s of the hole that carries. Source: as above.

    Reckon it on the shallower hole, and on the softer part.
    """
    return np.asarray(load / (pins * np.asarray(diameter) * depth))


def pin_capacity(
    *, diameter: Num, depth: Num, shear_MPa: Num, bearing_MPa: Num, bore: Num = 0.0, pins: int = 1
) -> Array:
    """Transverse force pins in single shear bear, N: the lower of shear and bearing, each pin an equal share.

    Equal shares need reamed fits; with two pins and play one of them carries all (take pins = 1). Source:
    statics; allowed stresses are the caller's.
    """
    shear = pins * shear_MPa * pin_area(diameter, bore=bore)
    return np.asarray(np.minimum(shear, pins * bearing_MPa * np.asarray(diameter) * depth))


def transverse_capacity(friction: Num, *, dowels: Num) -> Array:
    """Transverse force a joint with dowels bears, N: the GREATER of friction and dowels, never their sum.

    A dowel carries only after the joint has slipped through its play, and a slipped joint's friction is not
    relied upon (fretting, preload lost). Source: common practice, no source.
    """
    return np.asarray(np.maximum(friction, dowels))
