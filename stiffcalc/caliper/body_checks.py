"""Checks of the body's metal: floors, bridges, wall."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from stiffcalc.caliper.batch import column, most, of
from stiffcalc.caliper.body import HalfShape
from stiffcalc.caliper.checked import Checked, Subject, Words, at_most, joined
from stiffcalc.caliper.requirement import Context, allowed_stress
from stiffcalc.condensed import Array
from stiffcalc.mechanics import plates, strength
from stiffcalc.mechanics.joint_state import forces, picked
from stiffcalc.mechanics.stacked import greatest

NO_YIELD = ("service", "fatigue", "assembly")  # kinds in which not even a notch may yield
BORE_WALL = (
    "0.7 to 1.05 times of it in plane FE of two bores in a strip; wall bending is judged by itself; "
    "seal grooves and drillings are not in it"
)
THICK_FLOOR = "floor thicker than a quarter of its bore: outside the range of plate theory"


def bridges(c: Context) -> Iterator[Checked]:
    """Linear stress of the bridges' sections against their own metal, the worst bridge and preload."""
    stress = greatest(np.abs(bridge_stress(c))).swapaxes(1, 2)  # (D, N, S)
    limits = [allowed_stress(b.material, c.case, c.design.limits) for b in c.design.caliper.bridges]
    allowed = np.array([limit for limit, _ in limits])[:, None]
    tension, worst = c.answer.loaded.tension[:, :, c.at], most(stress / allowed)
    which, state = worst.index

    def words(d: int) -> Words:
        n, mx, my = tension[d, state[d], which[d]]
        return Words(
            f"N/A + M/W at the section's corners, N = {n:.0f} N, Mx = {mx:.0f}, My = {my:.0f} N mm; "
            f"allowed {limits[which[d]][1]}",
            "beam theory, unsymmetric bending of the arch section",
            "worst preload" if c.answer.tightened else "",
        )

    names = tuple(f"nominal stress, bridge {b.name}" for b in c.body.bridges)
    yield at_most(Subject("bridge", "MPa", names, words, which), worst.of(stress), worst.of(allowed))


def bridge_stress(c: Context) -> Array:
    """Stress at the corners of every bridge's section, (D, preload states, N, 6), MPa."""
    tension = c.answer.loaded.tension[:, :, c.at].swapaxes(1, 2)
    return np.asarray((tension @ c.metal.bridge_stress.swapaxes(2, 3)).swapaxes(1, 2))


def fillets(c: Context) -> Iterator[Checked]:
    """Peak tension in the fillets between integral bridges and the wall against yield.

    A sharp corner has no peak stress: `validity` asks for its fillet.
    """
    factor, D = c.metal.corner, c.count
    integral = [b.kind == "integral" for b in c.design.caliper.bridges]
    own = np.isfinite(factor.value) & np.array(integral)[:, None]  # infinite where sharp
    if c.case.kind not in NO_YIELD or not own.any():
        return
    tension = greatest(np.maximum(bridge_stress(c)[..., strength.LOWER], 0.0), axis=1)
    peak = np.where(own, factor.value, 0.0) * tension
    worst = most(peak, own)
    which, corner = worst.index
    now = c.design.caliper.material.at(c.case.body_temperature_C)

    def words(d: int) -> Words:
        place = d, which[d], corner[d]
        return Words(
            f"K x tension at the underside, K = {factor.value[place]:.2f}, "
            f"r = {of(c.body.bridges[which[d]].fillet, d):g} mm; "
            f"allowed yield {now.yield_MPa:.0f} at {c.case.body_temperature_C:g} °C",
            "fillet factor fitted to plane and solid FE, mechanics/strength.py",
            "" if factor.inside[place] else "outside the range of the fillet factor",
        )

    names = tuple(f"peak stress in the fillet, bridge {b.name}" for b in c.body.bridges)
    applies = own.reshape(D, -1).any(axis=1)
    subject = Subject("fillet", "MPa", names, words, which)
    yield at_most(subject, worst.of(peak), now.yield_MPa, applies=applies)


def walls(c: Context) -> Iterator[Checked]:
    """Bending of the bored wall out of its plane, worst station of each different half."""
    yield wall(c, "inboard")
    if c.unequal.any():
        yield replace(wall(c, "outboard"), applies=c.unequal)


def wall(c: Context, side: str) -> Checked:
    """Largest bending stress of one wall over its length and the preloads."""
    allowed, how = c.allowed_stress
    line = c.metal.sides[side].line
    here = picked(c.answer.loaded, (slice(None), slice(None), c.at))
    moment = forces(c.answer.pair, here) @ line.bending  # (D, S, Q)
    stress = np.abs(moment) * line.stress[:, None]
    worst = most(stress)
    state, station = worst.index

    def words(d: int) -> Words:
        return Words(
            f"M c / I of the bored section at x = {line.x[d, station[d]]:.0f} mm, "
            f"M = {moment[d, state[d], station[d]]:.0f} N mm; allowed {how}",
            "beam theory, unsymmetric bending; Gere & Timoshenko, Mechanics of Materials",
            "twist, notches and the pressure on the bore walls are not in it",
        )

    subject = Subject(f"wall {side}", "MPa", (f"wall bending stress, {side}",), words)
    return at_most(subject, worst.of(stress), allowed)


def bore_walls(c: Context) -> Iterator[Checked]:
    """Stress round the bores under their own pressure, worst bore of each different half."""
    yield bore_wall(c, "inboard")
    if c.unequal.any():
        yield replace(bore_wall(c, "outboard"), applies=c.unequal)


def bore_wall(c: Context, side: str) -> Checked:
    """Thick cylinder as thin all round as the bore's metal at its thinnest, or the wall's edge beside the bore."""
    (allowed, how), p, metal = c.allowed_stress, c.case.pressure, c.metal.sides[side]
    a, e, stress = 0.5 * metal.walls.bore_d, metal.around, p * metal.ring
    worst = most(stress)

    def words(d: int) -> Words:
        at = d, worst.flat[d]
        return Words(
            f"von Mises of hoop p (b^2 + a^2) / (b^2 - a^2) and radial -p, or at the edge 4 p a^2 / (b^2 - a^2); "
            f"p = {p:g} MPa, a = {a[at]:g} mm, b - a = {e[at]:.3g} mm, the least metal round the bore; allowed {how}",
            "Lamé, thick cylinder; Jeffery, bore beside a straight edge; both from memory",
            BORE_WALL,
        )

    names = tuple(f"stress round the bore, {side}, bore {i + 1}" for i in range(a.shape[1]))
    return at_most(Subject(f"bore wall {side}", "MPa", names, words, worst.flat), worst.of(stress), allowed)


def floors(c: Context) -> Iterator[Checked]:
    """Bending of the floors, worst bore of each different half."""
    yield floor(c, "inboard", c.body.inboard)
    if c.unequal.any():
        yield replace(floor(c, "outboard", c.body.outboard), applies=c.unequal)


def floor(c: Context, side: str, half: HalfShape) -> Checked:
    """Clamped edge, or centre with the edge turning in the wall, whichever is more."""
    (allowed, how), p = c.allowed_stress, c.case.pressure
    metal, nu = c.metal.sides[side], column(c.body.nu)
    a, e = 0.5 * metal.walls.bore_d, metal.floor
    turning = plates.root_fixity(a, thickness=e, nu=nu)
    edge = plates.plate_edge_stress(p, radius=a, thickness=e, fixity=1.0)
    centre = plates.plate_centre_stress(p, radius=a, thickness=e, nu=nu, fixity=turning)
    stress = np.maximum(edge, centre)
    worst = most(stress)

    def words(d: int) -> Words:
        at = d, worst.flat[d]
        law = (
            "edge clamped, 3/4 p (a/e)^2"
            if edge[at] >= centre[at]
            else "centre, edge turning, [3(3+nu)/8 - 3f/4] p (a/e)^2"
        )
        thick = "" if plates.is_thin(a[at], thickness=e[at]) else THICK_FLOOR
        return Words(
            f"{law}, p = {p:g} MPa, a = {a[at]:g} mm, e = {e[at]:.3g} mm; allowed {how}",
            "Timoshenko & Woinowsky-Krieger, circular plates, from memory",
            joined(*floor_notes(half), thick),
        )

    names = tuple(f"floor bending stress, {side}, bore {i + 1}" for i in range(a.shape[1]))
    return at_most(Subject(f"floor {side}", "MPa", names, words, worst.flat), worst.of(stress), allowed)


def floor_notes(half: HalfShape) -> tuple[str, ...]:
    """What the floor's stress leaves out."""
    pocketed = (
        "a pocket over a bore thins its floor by the mean stiffness only"
        if half.pockets or half.shape
        else ""
    )
    return "a notch at the floor's corner is not in it", pocketed
