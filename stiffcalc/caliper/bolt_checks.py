"""Checks of the bolts at the preloads of their life: tightening, service, fatigue, head, thread."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.joint_checks import VDI, bearing_limit
from stiffcalc.caliper.requirement import Context, Subject, View, at_least, at_most
from stiffcalc.caliper.results import Check
from stiffcalc.mechanics import bearing, endurance, fasteners, thread_limits, threads
from stiffcalc.mechanics.tightening import tightening_shear
from stiffcalc.study.schema import Screw

REPEATED = ("service", "fatigue")  # kinds that come often enough to tire a bolt
BENDING = "bending of the bolt is not in it"
ROLLED = {"before": endurance.ROLLED_BEFORE, "after": endurance.ROLLED_AFTER}  # slope of the finite-life line
INSERT_MPa = 1000.0  # tensile strength of a cold-drawn stainless wire insert; common practice, no source


@dataclass(frozen=True)
class Seen:
    """One bolt with its catalogue rows."""

    index: int
    bolt: Screw
    name: str
    size: catalogue.Thread
    grade: catalogue.Grade
    tight: float  # largest preload, N
    shear: float  # torsion at tightening, MPa


def bolts(c: Context) -> Iterator[Check]:
    """Of each bolt check, the bolt with the least margin."""
    if c.answer.tightened is None or not c.body.bolts:
        return
    often: tuple[Rule, ...] = (fatigue,) if c.case.kind in REPEATED else ()
    rules: tuple[Rule, ...] = (tightening, service, *often, head, engagement)
    seen = [_seen(c, j) for j in range(len(c.design.caliper.bolts))]
    for rule in rules:
        found = [check for check in (rule(c, b) for b in seen) if check is not None]
        if found:
            yield min(found, key=lambda check: check.margin)


Rule = Callable[[Context, Seen], Check | None]


def _seen(c: Context, j: int) -> Seen:
    bolt, size = c.design.caliper.bolts[j], catalogue.thread(c.design.caliper.bolts[j].thread)
    tight = float(c.high[0].preload[j])  # at 20 °C, the maximum as tightened
    return Seen(
        index=j,
        bolt=bolt,
        name=f"bolt {j + 1} ({bolt.thread}, {bolt.grade})",
        size=size,
        grade=catalogue.grade(bolt.grade),
        tight=tight,
        shear=float(tightening_shear(tight, thread=size, friction_thread=bolt.friction_thread)),
    )


def tightening(c: Context, b: Seen) -> Check:
    """Tension and torsion of the wrench against yield."""
    subject = Subject(
        id="bolt tightening",
        what=f"equivalent stress at tightening, {b.name}",
        unit="MPa",
        formula=f"sqrt(s^2 + 3 t^2), s = {b.tight:.0f} N / {b.size.A_s:.1f} mm2, t = {b.shear:.0f} MPa",
        source=VDI,
        note="maximum preload, tightened",
    )
    stress = fasteners.service_stress(b.tight, shear=b.shear, thread=b.size, torsion_left=1.0)
    return at_most(subject, float(stress), b.grade.yield_MPa)


def service(c: Context, b: Seen) -> Check | None:
    """Tension under pressure and half the torsion against yield (burst: ultimate), at the stage that is worst."""
    return _worst(_service(c, b, v) for v in c.high if v.held)


def _worst(found: Iterator[Check]) -> Check | None:
    return min(found, key=lambda check: check.margin, default=None)


def _service(c: Context, b: Seen, view: View) -> Check:
    strength, flag = b.grade.strength_factor(view.warmth.bolt_C)
    burst, force = c.case.kind == "burst", float(view.bolt[b.index])
    room = b.grade.ultimate_MPa if burst else b.grade.yield_MPa
    subject = Subject(
        id="bolt service",
        what=f"equivalent stress in service, {b.name}",
        unit="MPa",
        formula=(
            f"sqrt(s^2 + 3 (0.5 t)^2), s = {force:.0f} N / {b.size.A_s:.1f} mm2, t = {b.shear:.0f} MPa; "
            f"allowed {'ultimate' if burst else 'yield'} {room:.0f} x {strength:.2f} at {view.warmth.bolt_C:g} °C"
        ),
        source=VDI,
        note="; ".join(filter(None, (view.note([b.index]), BENDING, flag))),
    )
    stress = float(fasteners.service_stress(force, shear=b.shear, thread=b.size))
    return at_most(subject, stress, room * strength)


def fatigue(c: Context, b: Seen) -> Check | None:
    """Alternating stress between no pressure and this case's against the endurance of rolled threads."""
    return _worst(_fatigue(c, b, v) for v in (*c.low, *c.high) if v.held)


def _fatigue(c: Context, b: Seen, view: View) -> Check:
    cycles = c.case.cycles if c.case.cycles is not None else endurance.ENDLESS
    swing = abs(float(view.answer.change.bolt[0, view.end, view.at, b.index]))
    mean = float(view.bolt[b.index]) - swing / 2
    lasting, formula, note = _endurance(b, mean)
    allowed = endurance.finite_life(lasting, cycles=cycles, slope=ROLLED[b.bolt.rolled])
    few = "" if allowed.inside else "fewer cycles than the rule covers"
    subject = Subject(
        id="bolt fatigue",
        what=f"stress amplitude, {b.name}",
        unit="MPa",
        formula=f"dF / (2 A_s) = {swing:.0f} N / (2 x {b.size.A_s:.1f} mm2); allowed {formula}, at {cycles:.2g} cycles",
        source=f"{VDI}, threads rolled {b.bolt.rolled} heat treatment",
        note="; ".join(filter(None, (view.note([b.index]), BENDING, note, few))),
    )
    amplitude = float(fasteners.stress_amplitude(swing, low=0.0, thread=b.size))
    return at_most(subject, amplitude, float(allowed.value))


def _endurance(b: Seen, mean: float) -> tuple[float, str, str]:
    """Endurance amplitude, MPa, its formula and its flag."""
    before = float(endurance.endurance(thread=b.size))
    if b.bolt.rolled == "before":
        return before, "0.85 (150/d + 45)", ""
    limit = b.grade.yield_MPa * b.size.A_s
    after = endurance.endurance_rolled_after(before, mean_force=mean, yield_force=limit)
    flag = "" if after.inside else "mean force outside the range of the rule for threads rolled after"
    return float(after.value), f"(2 - {mean / limit:.2f}) 0.85 (150/d + 45)", flag


def head(c: Context, b: Seen) -> Check | None:
    """Pressure under the head or washer against what the body's material bears, at the stage that is worst."""
    return _worst(_head(c, b, v) for v in c.high if v.held)


def _head(c: Context, b: Seen, view: View) -> Check:
    limit, how, flag = bearing_limit(c.design.caliper.material, view.warmth.body_C)
    force, own = float(view.bolt[b.index]), catalogue.head(b.size.d).diameter
    washer = b.bolt.washer_diameter
    outer = (
        own
        if washer is None
        else float(bearing.washer_face(own, thickness=b.bolt.washer_thickness, washer=washer))
    )
    thin = washer is not None and outer < washer
    subject = Subject(
        id="head pressure",
        what=f"pressure under the head, {b.name}",
        unit="MPa",
        formula=(
            f"F / (pi/4 (d_W^2 - d_h^2)), F = {force:.0f} N, {outer:g} over {b.bolt.hole:g} mm; allowed {how}"
        ),
        source=VDI,
        note="; ".join(
            filter(
                None,
                (view.note([b.index]), "the washer is too thin to press with its rim" if thin else "", flag),
            )
        ),
    )
    return at_most(subject, float(bearing.head_pressure(force, outer=outer, hole=b.bolt.hole)), limit)


def engagement(c: Context, b: Seen) -> Check:
    """The bolt must break before the engaged threads strip, with the body as hot as it gets."""
    hottest = max(c.high, key=lambda v: v.warmth.body_C)
    metal, body_C = c.design.caliper.material, hottest.warmth.body_C
    ultimate, flag = metal.value_at("ultimate_MPa", body_C)
    found = _stripping(b, threads.ALUMINIUM_SHEAR_RATIO * ultimate)
    sort = " and a wire insert" if b.bolt.insert else ""
    subject = Subject(
        id="engagement",
        what=f"stripping force of the engaged threads, {b.name}",
        unit="N",
        formula=(
            f"lower of tapped {float(found.tapped):.0f} N and bolt thread {float(found.bolt):.0f} N over "
            f"{b.bolt.engagement:g} mm{sort}, body {ultimate:.0f} MPa at {body_C:g} °C; needed R_m A_s"
        ),
        source=f"{VDI} after Alexander; shear ratio of aluminium 0.7, for any body",
        note="; ".join(
            filter(
                None, (hottest.stage, "" if found.inside.all() else "outside the range of the factors", flag)
            )
        ),
    )
    return at_least(subject, float(found.force), b.grade.ultimate_MPa * b.size.A_s)


def _stripping(b: Seen, tapped_shear_MPa: float) -> threads.Stripping:
    """The weaker of the threads that a bolt hangs on."""
    mesh = thread_limits.nominal(b.size)
    bolt_shear = threads.BOLT_SHEAR_RATIO[b.bolt.grade] * b.grade.ultimate_MPa
    if not b.bolt.insert:
        return threads.stripping(
            b.bolt.engagement, mesh=mesh, tapped_shear_MPa=tapped_shear_MPa, bolt_shear_MPa=bolt_shear
        )
    found = threads.insert_stripping(
        b.bolt.engagement,
        mesh=mesh,
        outer=thread_limits.wire_insert(mesh),
        tapped_shear_MPa=tapped_shear_MPa,
        insert_shear_MPa=threads.BOLT_SHEAR_RATIO["12.9"] * INSERT_MPa,
        bolt_shear_MPa=bolt_shear,
    )
    return min((found.inner, found.outer), key=lambda one: float(np.min(one.force)))
