"""Pads: the ends of a bar laid across the opening, bolted down on a seat of each wall; N, mm, MPa, N mm.

The bar pulls its pad along z with N, tips it about x with Mx and turns it about y with My (plan). The bolts stand
along y in one row along x, so all three go through the clamped seat: N and My by its friction, Mx by uneven pressure.
A bolt in a clearance hole carries no shear until the pad has slipped. Every argument may be a number or an array;
arrays broadcast (bolts on the last axis where there is one).

Along the seat zeta runs from its inner edge (at the wall's inner face) to L. The moment on the seat is M = Mx + N e, e
the height of the bar's reference point above the seat; positive M presses the inner edge and lifts the outer one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.refusals import refuse_unless
from stiffcalc.mechanics.values import Num

# Flexibility


@dataclass(frozen=True)
class PadConstants:
    """What a clamped pad gives beyond the root of the same bridge in one piece, dimensionless.

    (wall, bar): shares that go with 1/E of the wall and of the bar; a third figure times h/L, the pad's own height over
    its length, goes with the bar. slide and couple: on (N, M) at the seat; tip: on M; turn: on My.
    """

    slide: tuple[float, float]
    couple: tuple[float, float]
    tip: tuple[float, float, float]
    turn: tuple[float, float, float]


# Fitted by studies/solid_check/fit_pads.py to 8 local blocks and 14 whole bodies. On the blind ones (8 and 14): tip
# +2 %, scatter 8 %, worst 18 %; turn +5 %, 6 %, 15 %; couple -7 %, 13 %, -24 %; what pads add to the opening (4 to 10 %
# of it, front view) -3 %, 16 %, 35 %; the opening itself -0.4 %, 0.9 %, -2.2 %.
FITTED = PadConstants(
    slide=(1.58, 0.79), couple=(0.72, 0.45), tip=(2.89, 2.24, 3.28), turn=(2.20, 1.43, 3.66)
)


def pad_flexibility(
    *,
    width: Num,
    height: Num,
    length: Num,
    lever: Num,
    E_wall: Num,
    E_bar: Num,
    constants: PadConstants = FITTED,
) -> Array:
    """What one clamped pad adds to the root of the same bridge in one piece, (..., 3, 3).

    On (w, theta_x, theta_y) per (N, Mx, My) at the bridge's reference point, `lever` above the seat; width (x), height
    (y) and length (z) of the pad; nothing slips or lifts. Form, from two elastic bodies bonded over a strip b x L: each
    tips like a pressed half-plane, 16 (1 - nu^2) / (pi E b L^2) (4.5 for aluminium), and the pad bends as a cantilever
    that is loaded over its height, 13 h / (35 E I) (4.5 h/L); turning and sliding alike. The wall's own root is taken
    off, for the bridge in one piece has it; so the constants are fitted, studies/solid_check/fit_pads.py. What rough
    surfaces give is not in it.
    """
    b, h, L, e, of_wall, of_bar = np.broadcast_arrays(
        *(
            np.asarray(v, dtype=float)
            for v in (width, height, length, lever, 1.0 / np.asarray(E_wall), 1.0 / np.asarray(E_bar))
        )
    )

    def give(wall: float, bar: float, tall: float = 0.0) -> Array:
        return np.asarray(wall * of_wall + (bar + tall * h / L) * of_bar)

    slide = give(*constants.slide) / b
    couple = give(*constants.couple) / (L * np.sqrt(b * L))
    tip = give(*constants.tip) / (b * L**2)
    found = np.zeros((*b.shape, 3, 3))
    found[..., 0, 0] = slide + 2.0 * e * couple + e**2 * tip
    found[..., 0, 1] = found[..., 1, 0] = couple + e * tip
    found[..., 1, 1] = tip
    found[..., 2, 2] = give(*constants.turn) / (b**2 * L)
    return found


def seat_moment(pull: Num, moment: Num, *, lever: Num) -> Array:
    """M on the seat of a bar's N and Mx, N mm: Mx + N e. Source: statics."""
    return np.asarray(moment + np.asarray(pull) * lever)


# Friction


@dataclass(frozen=True)
class Grip:
    """What the friction of one pad holds alone: a force along the seat, N, or a torque about y, N mm."""

    force: Array
    torque: Array


def grip(clamp: Array, *, x: Array, hole: Num, bearing: Num, friction: Num) -> Grip:
    """Friction of a pad clamped by bolts of force `clamp` (..., n), N, at x (..., n) from their centre, mm.

    Each bolt's share of the seat pressure lies in a ring round it; the ring's mean radius is that of its bearing face,
    2/3 (R^3 - r^3)/(R^2 - r^2), for the pressure spreads from there. Force: mu sum F. Torque: mu sum F max(|x|, r_m),
    a lower bound, for the mean distance of a ring's points from any centre exceeds both. Source: Coulomb; derived.
    """
    R, r = 0.5 * np.asarray(bearing, dtype=float), 0.5 * np.asarray(hole, dtype=float)
    refuse_unless((r > 0.0) & (r < R), "pad bearing face", found=2.0 * R, allowed="wider than its hole")
    ring = 2.0 / 3.0 * (R**3 - r**3) / (R**2 - r**2)
    arm = np.maximum(np.abs(x), np.asarray(ring)[..., None])
    mu = np.asarray(friction)
    return Grip(force=mu * np.asarray(clamp).sum(axis=-1), torque=mu * (clamp * arm).sum(axis=-1))


def pull_needed(pull: Num, *, torque: Num, grip: Grip) -> Array:
    """Pull alone that uses a pad's friction as much as `pull` with `torque` does, N: |N| + |My| F_0 / M_0.

    The straight line between both ends of what can be held. Friction under known pressure obeys the bound theorems of
    plasticity: what can be held is a convex set, so the line lies inside it (two bolts across the pull: on it).
    Source: derived; Calladine, Plasticity for Engineers, for the theorems, from memory.
    """
    return np.asarray(np.abs(pull) + np.abs(torque) * grip.force / grip.torque)


def group_shear(force: Num, *, torque: Num, x: Array) -> Array:
    """Shear of each bolt of a row (..., n) when the pad has slipped and the bolts bear, N: F/n + M x / sum x^2.

    `force` across the row, `torque` about its centre. A single bolt carries no torque. Source: eccentric shear of a
    bolt group, elastic vector method (any handbook of joints, such as Shigley, chapter 8).
    """
    place = np.asarray(x, dtype=float)
    square = (place**2).sum(axis=-1, keepdims=True)
    share = np.where(square > 0.0, place / np.where(square > 0.0, square, 1.0), 0.0)
    return np.asarray(np.asarray(force)[..., None] / place.shape[-1] + np.asarray(torque)[..., None] * share)


# Pressure and tipping


@dataclass(frozen=True)
class Seat:
    """One pad's seat: b' (holes smeared out over the length) and L, mm, and its bolts' distance from the inner edge."""

    width: Array
    length: Array
    setback: Array

    @property
    def area(self) -> Array:
        """mm2."""
        return self.width * self.length

    @property
    def inertia(self) -> Array:
        """About its middle, mm4."""
        return self.width * self.length**3 / 12.0

    @property
    def offset(self) -> Array:
        """Bolts from the seat's middle, positive outward, mm."""
        return self.setback - 0.5 * self.length


def seat(*, width: Num, length: Num, setback: Num, holes: Num, hole: Num) -> Seat:
    """Seat of a pad with `holes` clearance holes of diameter `hole`. Raises ValueError where no metal is left."""
    b, L, s = np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in (width, length, setback)))
    net = b - np.asarray(holes) * 0.25 * np.pi * np.asarray(hole) ** 2 / L
    refuse_unless(net > 0.0, "pad width less its holes", found=net, allowed="above 0; fewer or smaller bolts")
    refuse_unless((s > 0.0) & (s < L), "pad setback", found=s, allowed="bolts over the pad, 0 to its length")
    return Seat(np.asarray(net), np.asarray(L), np.asarray(s))


def edge_pressures(clamp: Num, moment: Num, *, seat: Seat) -> tuple[Array, Array]:
    """Pressure at the inner and at the outer edge of a closed seat, MPa; negative: it lifts. Source: beam theory."""
    mean = np.asarray(clamp) / seat.area
    slope = (np.asarray(clamp) * seat.offset - moment) * 0.5 * seat.length / seat.inertia
    return np.asarray(mean - slope), np.asarray(mean + slope)


def closed_moments(clamp: Num, *, seat: Seat) -> tuple[Array, Array]:
    """Least and greatest moment under which the whole seat stays pressed, N mm: F (s - 2L/3) and F (s - L/3).

    Kern of a rectangle: the resultant must stay in the middle third. Source: derived, beam theory.
    """
    F = np.asarray(clamp)
    return np.asarray(F * (seat.setback - seat.length * 2.0 / 3.0)), np.asarray(
        F * (seat.setback - seat.length / 3.0)
    )


@dataclass(frozen=True)
class Tipped:
    """A pad under its moment. All bolts together; changes are from the tightened state."""

    bolt: Array  # N
    added: Array  # N, change of it
    turn: Array  # rad, change of the pad's angle
    contact: Array  # share of the seat's length that is pressed, 1: closed


STEPS = 60  # halvings of the contact length: below rounding


def tipped(clamp: Num, moment: Num, *, seat: Seat, foundation: Num, bolts: Num) -> Tipped:
    """Bolt force of a pad that is pried: seat as fibres that only press, bolts as springs, exact beyond lift-off too.

    foundation k, MPa/mm: stiffness of the seat; bolts K, N/mm: all bolts of the pad. While closed
    dF = K* m M / (k I + K* m^2), K* = K / (1 + K/(k A)), m the bolts' offset from the seat's middle. Beyond, with the
    contact length c and a the bolts' distance from the pressed edge, F = F_0 (1 + r (1 + 12 m^2/L^2)) / (1 - 2 r L
    (a - c)/c^2), r = K/(k A), and M = F (a - c/3). Source: derived, statics and a Winkler bed.
    """
    F0, M = (np.asarray(v, dtype=float) for v in (clamp, moment))
    side = np.where(M >= 0.0, 1.0, -1.0)
    arm = np.where(M >= 0.0, seat.setback, seat.length - seat.setback)
    low, high = closed_moments(F0, seat=seat)
    closed = (low <= M) & (high >= M)
    m, rock = arm - 0.5 * seat.length, np.asarray(foundation) * seat.inertia
    ratio = np.asarray(bolts) / (np.asarray(foundation) * seat.area)
    spring = np.asarray(bolts) / (1.0 + ratio)
    turned = np.abs(M) / (rock + spring * m**2)
    tight = F0 * (1.0 + ratio * (1.0 + 12.0 * m**2 / seat.length**2))
    c = _contact(tight, np.abs(M), arm=arm, length=seat.length, ratio=ratio)
    pried = np.abs(M) / (arm - c / 3.0)  # statics; holds for slack bolts (F_0 = 0) too
    opened = 2.0 * pried / (np.asarray(foundation) * seat.width * c**2) + F0 * m / rock
    added = np.where(closed, spring * m * turned, pried - F0)
    return Tipped(
        bolt=np.asarray(F0 + added),
        added=np.asarray(added),
        turn=np.asarray(side * np.where(closed, turned, opened)),
        contact=np.where(closed, 1.0, c / seat.length),
    )


def _pried(tight: Array, c: Array, *, arm: Array, length: Array, ratio: Array) -> Array:
    return np.asarray(tight / (1.0 - 2.0 * ratio * length * (arm - c) / c**2))


def _contact(tight: Array, moment: Array, *, arm: Array, length: Array, ratio: Array) -> Array:
    """Contact length c at which F(c) (arm - c/3) = moment, by bisection; F grows without bound at its lower end."""
    reach = ratio * length
    low = np.asarray(-reach + np.sqrt(reach**2 + 2.0 * reach * arm))
    low, high = (v + np.zeros(np.broadcast(low, moment).shape) for v in (low, length))
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        force = _pried(tight, middle, arm=arm, length=length, ratio=ratio)
        short = force * (arm - middle / 3.0) > moment  # more than there is: the contact is longer
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return np.asarray(high)


def bolt_bending(shift: Num, *, turn: Num, length: Num, d: Num, E: Num) -> Array:
    """Bending stress of a bolt whose head is shifted and turned against its thread, MPa: E d (3 u/l^2 + 2 theta/l).

    Both ends taken as built in and both effects at their worst together: an upper bound. shift u, mm; turn theta, rad;
    length l: what may bend, mm; d: diameter at the thread's root, mm. Source: slope deflection, 6 E I u/l^2 and
    4 E I theta/l (any text).
    """
    return np.asarray(
        np.asarray(E) * d * (3.0 * np.abs(shift) / np.asarray(length) ** 2 + 2.0 * np.abs(turn) / length)
    )


def covered(*, width: Num, length: Num, setback: Num, x: Array, reach: Num) -> NDArray[np.bool_]:
    """Whether the pressure cones of the bolts, of radius `reach` at the seat, reach its farthest corner.

    Outside them a seat is hardly pressed whatever the sum says. x (..., n) of the bolts from the pad's middle.
    """
    far = np.maximum(np.asarray(setback), np.asarray(length) - setback)
    edge = 0.5 * np.asarray(width) - np.abs(np.asarray(x)).max(axis=-1)
    return np.asarray(np.hypot(far, edge) <= reach)
