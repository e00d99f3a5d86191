"""Checks of the bolted joint: onset, slip, bolts, heads, threads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.requirement import HIGH, LOW, PRACTICE, Context, Subject, at_least, at_most
from stiffcalc.caliper.results import Check
from stiffcalc.mechanics import (
    bearing,
    dowels,
    endurance,
    fasteners,
    hydraulics,
    opening,
    thread_limits,
    threads,
)
from stiffcalc.mechanics.tightening import tightening_shear
from stiffcalc.study.schema import Bolt

HOLDING = ("service", "proof", "fatigue")  # kinds in which the clamp plane must stay closed
REPEATED = ("service", "fatigue")  # kinds that come often enough to tire a bolt
VDI = "VDI 2230 Part 1 (seen in transcription)"
ENDLESS = 2e6  # cycles taken where the load case states none: the endurance limit
TIRING = "largest over the preload range; bending of the bolt is not in it"


def onset(c: Context) -> Iterator[Check]:
    """Every clamped face must stay closed at minimum preload in service and proof."""
    if c.answer.tightened is None or c.case.kind not in HOLDING:
        return
    first = opening.onset(c.answer.pair, c.answer.tightened)
    for i in c.answer.pair.jointed:
        p, x, y = (float(v[0, LOW, i]) for v in (first.pressure, first.x, first.y))
        where = f"x = {x:.0f}, y = {y:.0f} mm" if np.isfinite(p) else "nowhere"
        subject = Subject(
            id=f"onset {i + 1}",
            what=f"onset pressure, {c.body.bridges[i].name}",
            unit="MPa",
            formula=f"pressure at which the first point of the face loses contact: {where}",
            source="fibre model of the joint face, derived in mechanics/faces.py",
            note="minimum preload; against solids mostly within 20 %, up to 50 % late on unevenly clamped faces",
        )
        yield at_least(subject, p, c.case.pressure)


def slip(c: Context) -> Iterator[Check]:
    """Drag of the outboard pad crosses the clamp plane by friction of what is still clamped."""
    if c.answer.tightened is None or not c.case.drag or c.design.caliper.layout != "two-piece":
        return
    pull = c.answer.loaded.tension[0, LOW, c.at, list(c.answer.pair.jointed), 0]
    clamp = float(np.maximum(-pull, 0.0).sum())
    mu, pad = c.design.caliper.joint_friction, c.design.pad.friction_range[1]
    subject = Subject(
        id="slip",
        what="friction of the clamp plane against the outboard pad's drag",
        unit="N",
        formula=f"mu F = {mu:g} x {clamp:.0f} N left in the faces; drag {pad:g} x {c.clamp_force:.0f} N",
        source=f"Coulomb; lowest joint and highest pad friction; {PRACTICE}",
        note="minimum preload; dowels are not counted",
    )
    drag = float(hydraulics.pad_drag(c.clamp_force, friction=pad))
    yield at_least(subject, float(dowels.slip_capacity(clamp, friction=mu)), drag)


def bolts(c: Context) -> Iterator[Check]:
    """Of each bolt check, the bolt with the least margin."""
    if c.answer.tightened is None:
        return
    often = (fatigue,) if c.case.kind in REPEATED else ()
    rules = (tightening, service, *often, head, engagement)
    seen = [_bolt_view(c, j) for j in range(len(c.design.caliper.bolts))]
    for rule in rules:
        if seen:
            yield min((rule(c, view) for view in seen), key=lambda check: check.margin)


@dataclass(frozen=True)
class _Seen:
    """One bolt with its catalogue rows and forces, N."""

    bolt: Bolt
    name: str
    size: catalogue.Thread
    grade: catalogue.Grade
    tight: float  # largest preload
    force: float  # in this case, at largest preload
    swing: float  # largest change from no pressure, over the preload range
    shear: float  # torsion at tightening, MPa


def _bolt_view(c: Context, j: int) -> _Seen:
    bolt = c.design.caliper.bolts[j]
    size, tight = catalogue.thread(bolt.thread), float(c.preload.max[j])
    return _Seen(
        bolt=bolt,
        name=f"bolt {j + 1} ({bolt.thread}, {bolt.grade})",
        size=size,
        grade=catalogue.grade(bolt.grade),
        tight=tight,
        force=float(c.answer.loaded.bolt[0, HIGH, c.at, j]),
        swing=float(np.abs(c.answer.change.bolt[0, :, c.at, j]).max()),
        shear=float(tightening_shear(tight, thread=size, friction_thread=bolt.friction_thread)),
    )


def tightening(c: Context, b: _Seen) -> Check:
    """Tension and torsion of the wrench against yield."""
    subject = Subject(
        id="bolt tightening",
        what=f"equivalent stress at tightening, {b.name}",
        unit="MPa",
        formula=f"sqrt(s^2 + 3 t^2), s = {b.tight:.0f} N / {b.size.A_s:.1f} mm2, t = {b.shear:.0f} MPa",
        source=VDI,
        note="maximum preload",
    )
    stress = fasteners.service_stress(b.tight, shear=b.shear, thread=b.size, torsion_left=1.0)
    return at_most(subject, float(stress), b.grade.yield_MPa)


def service(c: Context, b: _Seen) -> Check:
    """Tension under pressure and half the torsion against yield (burst: ultimate) at temperature."""
    strength, flag = b.grade.strength_factor(c.case.bolt_temperature_C)
    burst = c.case.kind == "burst"
    room = b.grade.ultimate_MPa if burst else b.grade.yield_MPa
    subject = Subject(
        id="bolt service",
        what=f"equivalent stress in service, {b.name}",
        unit="MPa",
        formula=(
            f"sqrt(s^2 + 3 (0.5 t)^2), s = {b.force:.0f} N / {b.size.A_s:.1f} mm2, t = {b.shear:.0f} MPa; "
            f"allowed {'ultimate' if burst else 'yield'} {room:.0f} x {strength:.2f} at "
            f"{c.case.bolt_temperature_C:g} °C"
        ),
        source=VDI,
        note="; ".join(filter(None, ("maximum preload; bending of the bolt is not in it", flag))),
    )
    stress = float(fasteners.service_stress(b.force, shear=b.shear, thread=b.size))
    return at_most(subject, stress, room * strength)


def fatigue(c: Context, b: _Seen) -> Check:
    """Alternating stress between no pressure and this case's against the endurance of rolled threads."""
    cycles = c.case.cycles if c.case.cycles is not None else ENDLESS
    allowed = endurance.finite_life(endurance.endurance(thread=b.size), cycles=cycles)
    subject = Subject(
        id="bolt fatigue",
        what=f"stress amplitude, {b.name}",
        unit="MPa",
        formula=(
            f"dF / (2 A_s) = {b.swing:.0f} N / (2 x {b.size.A_s:.1f} mm2); "
            f"allowed 0.85 (150/d + 45), at {cycles:.2g} cycles"
        ),
        source=f"{VDI}, threads rolled before heat treatment",
        note="; ".join(filter(None, (TIRING, "" if allowed.inside else "fewer cycles than the rule covers"))),
    )
    amplitude = float(fasteners.stress_amplitude(b.swing, low=0.0, thread=b.size))
    return at_most(subject, amplitude, float(allowed.value))


def head(c: Context, b: _Seen) -> Check:
    """Pressure under the head or washer against what the body's material bears."""
    metal = c.design.caliper.material
    known = metal.head_pressure_MPa is not None
    limit = metal.head_pressure_MPa if metal.head_pressure_MPa is not None else metal.yield_MPa
    outer = b.bolt.washer_diameter or catalogue.head(b.size.d).diameter
    subject = Subject(
        id="head pressure",
        what=f"pressure under the head, {b.name}",
        unit="MPa",
        formula=(
            f"F / (pi/4 (d_W^2 - d_h^2)), F = {b.force:.0f} N, {outer:g} over {b.bolt.hole:g} mm; "
            f"allowed {'limiting pressure' if known else 'yield, no limiting pressure known,'} of {metal.name}"
        ),
        source=VDI,
        note="maximum preload",
    )
    return at_most(subject, float(bearing.head_pressure(b.force, outer=outer, hole=b.bolt.hole)), limit)


def engagement(c: Context, b: _Seen) -> Check:
    """The bolt must break before the tapped thread strips."""
    metal = c.design.caliper.material.at(c.case.body_temperature_C)
    found = threads.stripping(
        b.bolt.engagement,
        mesh=thread_limits.nominal(b.size),
        tapped_shear_MPa=threads.ALUMINIUM_SHEAR_RATIO * metal.ultimate_MPa,
        bolt_shear_MPa=threads.BOLT_SHEAR_RATIO[b.bolt.grade] * b.grade.ultimate_MPa,
    )
    subject = Subject(
        id="engagement",
        what=f"stripping force of the engaged threads, {b.name}",
        unit="N",
        formula=(
            f"lower of tapped {float(found.tapped):.0f} N and bolt thread {float(found.bolt):.0f} N over "
            f"{b.bolt.engagement:g} mm; needed R_m A_s"
        ),
        source=f"{VDI} after Alexander; shear ratio of aluminium 0.7, for any body",
        note="" if bool(found.inside) else "outside the range of the strength-reduction factors",
    )
    return at_least(subject, float(found.force), b.grade.ultimate_MPa * b.size.A_s)
