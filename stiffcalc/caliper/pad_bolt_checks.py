"""Checks of the short bolts that hold a bar down on the walls; those of one bar are all alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper import bolt_checks
from stiffcalc.caliper.joint_checks import VDI, bearing_limit
from stiffcalc.caliper.pad_checks import SEAT_MODEL, Loaded, loaded_bars
from stiffcalc.caliper.requirement import Context, Subject, at_most
from stiffcalc.caliper.results import Check
from stiffcalc.mechanics import bearing, endurance, fasteners, pads, threads
from stiffcalc.mechanics.tightening import tightening_shear


def bolts(c: Context) -> Iterator[Check]:
    """Every check of every bar's bolts."""
    for one in loaded_bars(c):
        yield from bolts_of(c, one)


def bolts_of(c: Context, one: Loaded) -> Iterator[Check]:
    """Tightening, service, fatigue, head and thread of one bolt of the bar."""
    seen = _seen(one)
    for check in (
        bolt_checks.tightening(c, seen),
        bolt_checks.engagement(c, seen),
        service(c, one, seen),
        head(one, seen),
    ):
        yield replace(check, id=f"bar {check.id} {one.bar.index + 1}")
    if c.case.kind in bolt_checks.REPEATED:
        yield fatigue(c, one, seen)
    if c.case.kind == "burst":
        yield shear(c, one, seen)


def _seen(one: Loaded) -> bolt_checks.Seen:
    screw, size = one.bar.screw, catalogue.thread(one.bar.screw.thread)
    tight = float(one.moments[0].preload.max)
    return bolt_checks.Seen(
        index=-1,
        bolt=screw,
        name=f"bolts of {one.bar.name} ({screw.thread}, {screw.grade})",
        size=size,
        grade=catalogue.grade(screw.grade),
        tight=tight,
        shear=float(tightening_shear(tight, thread=size, friction_thread=screw.friction_thread)),
    )


def pried(one: Loaded, preload: float) -> pads.Tipped:
    """Both a pad's bolts and its turn under the seat's moments (V,), from one preload of each bolt."""
    seat, tip = one.bar.seat, float(one.bar.flexibility(0.0)[1, 1])
    return pads.tipped(
        one.bar.count * preload,
        one.seat_moment,
        seat=seat,
        foundation=1.0 / (tip * seat.inertia),
        bolts=one.bar.count / one.bar.bolt_resilience,
    )


def service(c: Context, one: Loaded, b: bolt_checks.Seen) -> Check:
    """Tension with prying and half the torsion against yield (burst: ultimate), at the greatest preload."""
    strength, flag = b.grade.strength_factor(one.most.warmth.bolt_C)
    room = b.grade.ultimate_MPa if c.case.kind == "burst" else b.grade.yield_MPa
    force = float(np.max(pried(one, float(one.most.preload.max)).bolt)) / one.bar.count
    subject = Subject(
        id="bolt service",
        what=f"equivalent stress in service, {b.name}",
        unit="MPa",
        formula=(
            f"sqrt(s^2 + 3 (0.5 t)^2), s = {force:.0f} N / {b.size.A_s:.1f} mm2, t = {b.shear:.0f} MPa; allowed "
            f"{'ultimate' if c.case.kind == 'burst' else 'yield'} {room:.0f} x {strength:.2f}"
        ),
        source=VDI,
        note="; ".join(
            filter(None, (f"maximum preload, {one.most.name}; bending is in the fatigue check", flag))
        ),
    )
    stress = fasteners.service_stress(force, shear=b.shear, thread=b.size)
    return at_most(subject, float(stress), room * strength)


def fatigue(c: Context, one: Loaded, b: bolt_checks.Seen) -> Check:
    """Amplitude of prying and of bending by the pad's own movement, between no pressure and this case's."""
    cycles = c.case.cycles if c.case.cycles is not None else endurance.ENDLESS
    added, bent = max((_swing(one, float(p)) for p in (one.least.preload.min, one.most.preload.max)), key=sum)
    lasting = float(endurance.endurance(thread=b.size))
    allowed = endurance.finite_life(lasting, cycles=cycles, slope=bolt_checks.ROLLED[b.bolt.rolled])
    few = "" if allowed.inside else "fewer cycles than the rule covers"
    subject = Subject(
        id=f"bar bolt fatigue {one.bar.index + 1}",
        what=f"stress amplitude, {b.name}",
        unit="MPa",
        formula=(
            f"half of prying {added:.1f} MPa and of bending {bent:.1f} MPa (E d3 (3 u/l^2 + 2 theta/l)); "
            f"allowed 0.85 (150/d + 45), at {cycles:.2g} cycles"
        ),
        source=f"{VDI}, threads rolled before heat treatment; {SEAT_MODEL}",
        note="; ".join(filter(None, ("both ends built in: bending is an upper bound", few))),
    )
    return at_most(subject, 0.5 * (added + bent), float(allowed.value))


def _swing(one: Loaded, preload: float) -> tuple[float, float]:
    """Largest change of a bolt's tension and bending, MPa, from one preload."""
    found, size = pried(one, preload), catalogue.thread(one.bar.screw.thread)
    load = np.stack([one.tension[:, 0], one.seat_moment, 0.0 * one.seat_moment], axis=-1)
    slid = load @ one.bar.flexibility(0.0)[0]  # of the seat; its head moves with the pad's turn as well
    bent = pads.bolt_bending(
        slid + found.turn * one.bar.height,
        turn=found.turn,
        length=one.bar.grip + 0.9 * size.d,
        d=size.d3,
        E=catalogue.grade(one.bar.screw.grade).E,
    )
    return float(np.abs(found.added).max()) / (one.bar.count * size.A_s), float(bent.max())


def head(one: Loaded, b: bolt_checks.Seen) -> Check:
    """Pressure under the head or washer against what the bar bears."""
    limit, how, flag = bearing_limit(one.bar.bridge.material, one.most.warmth.body_C)
    force = float(np.max(pried(one, float(one.most.preload.max)).bolt)) / one.bar.count
    own, washer = catalogue.head(b.size.d).diameter, b.bolt.washer_diameter
    outer = (
        own
        if washer is None
        else float(bearing.washer_face(own, thickness=b.bolt.washer_thickness, washer=washer))
    )
    subject = Subject(
        id="head pressure",
        what=f"pressure under the head, {b.name}",
        unit="MPa",
        formula=f"F / (pi/4 (d_W^2 - d_h^2)), F = {force:.0f} N, {outer:g} over {b.bolt.hole:g} mm; allowed {how}",
        source=VDI,
        note="; ".join(filter(None, (f"maximum preload, {one.most.name}", flag))),
    )
    return at_most(subject, float(bearing.head_pressure(force, outer=outer, hole=b.bolt.hole)), limit)


def shear(c: Context, one: Loaded, b: bolt_checks.Seen) -> Check:
    """Burst: the bar may slip, then its bolts bear; the pull as it is without slip, and friction not counted."""
    each = np.abs(pads.group_shear(one.tension[:, 0], torque=one.tension[:, 2], x=one.bar.places))
    k, j = np.unravel_index(int(np.argmax(each)), each.shape)
    factor, flag = b.grade.strength_factor(c.case.bolt_temperature_C)
    ratio = threads.BOLT_SHEAR_RATIO[b.bolt.grade]
    subject = Subject(
        id=f"bar bolt shear {one.bar.index + 1}",
        what=f"shear once the bar has slipped, {b.name}",
        unit="MPa",
        formula=(
            f"(N/n + My x/sum x^2) / A_s = {each[k, j]:.0f} N / {b.size.A_s:.1f} mm2; allowed {ratio:g} x ultimate "
            f"{b.grade.ultimate_MPa:.0f} x {factor:.2f}"
        ),
        source="eccentric shear of a bolt group, any handbook; shear ratio VDI 2230 after Thomala",
        note=flag,
    )
    return at_most(subject, float(each[k, j]) / b.size.A_s, ratio * b.grade.ultimate_MPa * factor)
