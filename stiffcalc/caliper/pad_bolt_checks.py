"""Checks of the short bolts that hold a bar down on the walls; those of one bar are all alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper import bolt_checks
from stiffcalc.caliper.batch import column, most, of
from stiffcalc.caliper.bolt_rows import Seen, seen
from stiffcalc.caliper.checked import Checked, Subject, Words, at_most, joined
from stiffcalc.caliper.joint_checks import VDI, bearing_limit
from stiffcalc.caliper.pad_checks import SEAT_MODEL, Loaded, loaded_bars
from stiffcalc.caliper.requirement import Context
from stiffcalc.condensed import Array
from stiffcalc.mechanics import bearing, endurance, fasteners, pads, threads


def bolts(c: Context) -> Iterator[Checked]:
    """Every check of every bar's bolts."""
    for one in loaded_bars(c):
        yield from (replace(row, applies=one.applies) for row in bolts_of(c, one))


def bolts_of(c: Context, one: Loaded) -> Iterator[Checked]:
    """Tightening, service, fatigue, head and thread of one bolt of the bar."""
    tight = np.broadcast_to(one.moments[0].preload.max, len(one.tension))
    b = seen([one.bar.screw], [f"bolts of {one.bar.name}"], tight[:, None])
    for row in (
        bolt_checks.tightening(b),
        bolt_checks.engagement(c, b),
        service(c, one, b),
        head(one, b),
    ):
        yield replace(row, subject=replace(row.subject, id=f"bar {row.id} {one.bar.index + 1}"))
    if c.case.kind in bolt_checks.REPEATED:
        yield fatigue(c, one, b)
    if c.case.kind == "burst":
        yield shear(c, one, b)


def pried(one: Loaded, preload: Array) -> pads.Tipped:
    """Both a pad's bolts and its turn under the seat's moments (D, V), from one preload (D,) of each bolt."""
    tip = one.bar.flexibility(0.0)[..., 1, 1]
    return pads.tipped(
        column(one.bar.count * preload),
        one.seat_moment,
        seat=one.seat,
        foundation=column(1.0 / (tip * one.bar.seat.inertia)),
        bolts=column(one.bar.count / one.bar.bolt_resilience),
    )


def _greatest(one: Loaded) -> Array:
    """Greatest force of one bolt over life, at the greatest preload, (D,) N."""
    force = pried(one, one.most_force).bolt
    return most(force, one.held).of(force) / one.bar.count


def service(c: Context, one: Loaded, b: Seen) -> Checked:
    """Tension with prying and half the torsion against yield (burst: ultimate), at the greatest preload."""
    grade, at = b.grade(0), one.most.flat
    factors = [grade.strength_factor(m.warmth.bolt_C) for m in one.moments]
    burst, area = c.case.kind == "burst", float(b.size.A_s[0])
    room = grade.ultimate_MPa if burst else grade.yield_MPa
    force, torsion = _greatest(one), b.shear[:, 0]

    def words(d: int) -> Words:
        strength, flag = factors[at[d]]
        return Words(
            f"sqrt(s^2 + 3 (0.5 t)^2), s = {force[d]:.0f} N / {area:.1f} mm2, t = {torsion[d]:.0f} MPa; allowed "
            f"{'ultimate' if burst else 'yield'} {room:.0f} x {strength:.2f}",
            VDI,
            joined(f"maximum preload, {one.moments[at[d]].name}; bending is in the fatigue check", flag),
        )

    stress = fasteners.service_stress(force, shear=torsion, thread=catalogue.thread(one.bar.screw.thread))
    names = (f"equivalent stress in service, {b.names[0]}",)
    allowed = room * np.array([factor for factor, _ in factors])[at]
    return at_most(Subject("bolt service", "MPa", names, words), stress, allowed)


def fatigue(c: Context, one: Loaded, b: Seen) -> Checked:
    """Amplitude of prying and of bending by the pad's own movement, between no pressure and this case's."""
    cycles = c.case.cycles if c.case.cycles is not None else endurance.ENDLESS
    low, high = (_swing(one, p) for p in (one.least_force, one.most_force))
    added, bent = np.where(high.sum(axis=0) > low.sum(axis=0), high, low)
    lasting = endurance.endurance(thread=catalogue.thread(one.bar.screw.thread))
    allowed = endurance.finite_life(lasting, cycles=cycles, slope=bolt_checks.ROLLED[one.bar.screw.rolled])
    few = "" if allowed.inside else "fewer cycles than the rule covers"

    def words(d: int) -> Words:
        return Words(
            f"half of prying {added[d]:.1f} MPa and of bending {bent[d]:.1f} MPa (E d3 (3 u/l^2 + 2 theta/l)); "
            f"allowed 0.85 (150/d + 45), at {cycles:.2g} cycles",
            f"{VDI}, threads rolled before heat treatment; {SEAT_MODEL}",
            joined("both ends built in: bending is an upper bound", few),
        )

    names = (f"stress amplitude, {b.names[0]}",)
    subject = Subject(f"bar bolt fatigue {one.bar.index + 1}", "MPa", names, words)
    return at_most(subject, 0.5 * (added + bent), allowed.value)


def _swing(one: Loaded, preload: Array) -> Array:
    """Largest change of a bolt's tension and bending, MPa (2, D), from one preload (D,)."""
    one = replace(one, tension=one.swing)
    found, size = pried(one, preload), catalogue.thread(one.bar.screw.thread)
    load = np.stack([one.tension[..., 0], one.seat_moment, 0.0 * one.seat_moment], axis=-1)
    own = one.bar.flexibility(0.0)[..., 0, :]
    slid = (load * own[..., None, :]).sum(axis=-1)  # of the seat; its head moves with the pad's turn as well
    bent = pads.bolt_bending(
        slid + found.turn * column(one.bar.height),
        turn=found.turn,
        length=column(one.bar.grip + 0.9 * size.d),
        d=size.d3,
        E=catalogue.grade(one.bar.screw.grade).E,
    )
    added = np.abs(found.added) / (one.bar.count * size.A_s)
    return np.stack([most(v, one.held).of(v) for v in (added, bent)])


def head(one: Loaded, b: Seen) -> Checked:
    """Pressure under the head or washer against what the bar bears."""
    limits = [bearing_limit(one.bar.bridge.material, m.warmth.body_C) for m in one.moments]
    force, at, outer, hole = _greatest(one), one.most.flat, b.outer()[..., 0], one.bar.screw.hole

    def words(d: int) -> Words:
        _, how, flag = limits[at[d]]
        return Words(
            f"F / (pi/4 (d_W^2 - d_h^2)), F = {force[d]:.0f} N, {of(outer, d):g} over {of(hole, d):g} mm; "
            f"allowed {how}",
            VDI,
            joined(f"maximum preload, {one.moments[at[d]].name}", flag),
        )

    pressure = bearing.head_pressure(force, outer=outer, hole=hole)
    allowed = np.array([limit for limit, *_ in limits])[at]
    names = (f"pressure under the head, {b.names[0]}",)
    return at_most(Subject("head pressure", "MPa", names, words), pressure, allowed)


def shear(c: Context, one: Loaded, b: Seen) -> Checked:
    """Burst: the bar may slip, then its bolts bear; the pull as it is without slip, and friction not counted."""
    places = one.bar.places[..., None, :]
    each = np.abs(pads.group_shear(one.tension[..., 0], torque=one.tension[..., 2], x=places))  # (D, V, n)
    force, area = most(each, one.held[..., None]).of(each), float(b.size.A_s[0])
    grade = b.grade(0)
    factor, flag = grade.strength_factor(c.case.bolt_temperature_C)
    ratio = threads.BOLT_SHEAR_RATIO[one.bar.screw.grade]

    def words(d: int) -> Words:
        return Words(
            f"(N/n + My x/sum x^2) / A_s = {force[d]:.0f} N / {area:.1f} mm2; allowed {ratio:g} x ultimate "
            f"{grade.ultimate_MPa:.0f} x {factor:.2f}",
            "eccentric shear of a bolt group, any handbook; shear ratio VDI 2230 after Thomala",
            flag,
        )

    names = (f"shear once the bar has slipped, {b.names[0]}",)
    subject = Subject(f"bar bolt shear {one.bar.index + 1}", "MPa", names, words)
    return at_most(subject, force / area, ratio * grade.ultimate_MPa * factor)
