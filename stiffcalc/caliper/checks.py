"""Requirements on one load case: what is asked, what is found, by which formula, from which source.

Minimum preload governs opening, slip and seal; maximum preload governs bolt, thread and head pressure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.response import Answer
from stiffcalc.caliper.results import Check, Fluid
from stiffcalc.mechanics import fasteners, hydraulics, opening, plates, threads
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.study.schema import Bolt, Design, LoadCase

PRACTICE = "common practice, no source"
HOLDING = ("service", "proof", "fatigue")  # kinds in which the clamp plane must stay closed
LOW, HIGH = 0, -1  # preload states


@dataclass(frozen=True)
class Context:
    """What a check may look at."""

    design: Design
    body: Body
    case: LoadCase
    answer: Answer
    at: int  # index of the case's pressure
    preload: Preload
    mass: Masses
    fluid: Fluid
    tilt_mrad: tuple[float, ...] | None

    @property
    def allowed_stress(self) -> tuple[float, str]:
        """Allowed stress of the body's material in this case, and how it was got."""
        now = self.design.caliper.material.at(self.case.body_temperature_C)
        factor = self.design.limits.factors[self.case.kind]
        if self.case.kind == "burst":
            return now.ultimate_MPa / factor, f"ultimate {now.ultimate_MPa:.0f} / {factor:g}"
        return now.yield_MPa / factor, f"yield {now.yield_MPa:.0f} / {factor:g}"

    @property
    def clamp_force(self) -> float:
        """Force of one side's pistons, N."""
        bores = np.array([b.diameter for b in self.body.inboard.bores])
        return float(hydraulics.clamp_force(self.case.pressure, diameters=bores))


def at_most(
    id: str, what: str, actual: float, allowed: float, unit: str, *, formula: str, source: str, note: str = ""
) -> Check:
    """A check that wants actual <= allowed; margin = allowed / actual - 1, infinite at no load."""
    margin = allowed / actual - 1 if actual > 0 else float("inf")
    return Check(id, what, actual, allowed, unit, margin, actual <= allowed, source, formula, note)


def at_least(
    id: str, what: str, actual: float, needed: float, unit: str, *, formula: str, source: str, note: str = ""
) -> Check:
    """A check that wants actual >= needed; margin = actual / needed - 1."""
    return Check(id, what, actual, needed, unit, actual / needed - 1, actual >= needed, source, formula, note)


def limits(c: Context) -> Iterator[Check]:
    """The study's own limits; openings are asked of service and fatigue cases only."""
    asked, found = c.design.limits, c.answer.openings
    source = "limit of the study"
    if asked.mass_kg is not None:
        yield at_most(
            "mass",
            "mass with bolts and pistons",
            c.mass.total,
            asked.mass_kg,
            "kg",
            formula="sum of the parts",
            source=source,
        )
    if c.case.kind not in ("service", "fatigue"):
        return
    if asked.clamp_force_N is not None:
        text = f"p A = {c.case.pressure:g} MPa x {c.clamp_force / c.case.pressure:.1f} mm2"
        yield at_least(
            "clamp-force",
            "clamp force of one side",
            c.clamp_force,
            asked.clamp_force_N,
            "N",
            formula=text,
            source=source,
        )
    if asked.spread is not None:
        spread = float(found.spread[0, LOW, c.at])
        yield at_most(
            "spread",
            "spread",
            spread,
            asked.spread,
            "mm",
            formula="area-weighted mean opening of the floors",
            source=source,
            note="minimum preload",
        )
    if asked.tilt_mrad is not None and c.tilt_mrad is not None:
        tilt = max(abs(t) for t in c.tilt_mrad)
        yield at_most(
            "tilt",
            "tilt, largest over the bores",
            tilt,
            asked.tilt_mrad,
            "mrad",
            formula="d(opening)/dy of the bore mouth",
            source=source,
            note="minimum preload",
        )
    if asked.fluid_mm3 is not None:
        yield at_most(
            "fluid",
            "fluid taken",
            c.fluid.total,
            asked.fluid_mm3,
            "mm3",
            formula="floors + bore walls + pads + fluid",
            source=source,
            note="minimum preload",
        )


def floor_stress(c: Context) -> Iterator[Check]:
    """Bending of the floors: the larger of edge and centre stress, worst bore of both halves."""
    allowed, how = c.allowed_stress
    for side, half in (("inboard", c.body.inboard), ("outboard", c.body.outboard)):
        if side == "outboard" and c.body.symmetric:
            return
        radius = np.array([b.diameter / 2 for b in half.bores])
        fixity = plates.root_fixity(radius, thickness=half.floor, nu=c.body.nu)
        edge = plates.plate_edge_stress(c.case.pressure, radius=radius, thickness=half.floor, fixity=1.0)
        centre = plates.plate_centre_stress(
            c.case.pressure, radius=radius, thickness=half.floor, nu=c.body.nu, fixity=fixity
        )
        i = int(np.argmax(np.maximum(edge, centre)))
        stress = float(max(edge[i], centre[i]))
        thin = bool(plates.is_thin(radius[i], thickness=half.floor))
        yield at_most(
            f"floor-{side}",
            f"floor bending stress, {side} bore {i + 1}",
            stress,
            allowed,
            "MPa",
            formula=f"larger of 3/4 p (a/e)^2, edge clamped, and centre with the edge turning; p = {c.case.pressure:g}, a = {radius[i]:g}, e = {half.floor:g}; allowed {how}",
            source="Timoshenko & Woinowsky-Krieger, circular plates (from memory)",
            note="corner radius of the floor not in it"
            if thin
            else "floor thicker than a quarter of the bore: plate theory is outside its range",
        )


def onset(c: Context) -> Iterator[Check]:
    """Every clamped face must stay closed at minimum preload in service and proof."""
    if c.answer.tightened is None or c.case.kind not in HOLDING:
        return
    first = opening.onset(c.answer.pair, c.answer.tightened)
    for i in c.answer.pair.jointed:
        name, p = c.body.bridges[i].name, float(first.pressure[0, LOW, i])
        where = (
            f"first at x = {first.x[0, LOW, i]:.0f}, y = {first.y[0, LOW, i]:.0f} mm"
            if np.isfinite(p)
            else "never"
        )
        yield at_least(
            f"onset-{i + 1}",
            f"onset pressure, {name}",
            p,
            c.case.pressure,
            "MPa",
            formula=f"pressure at which a face point loses contact, {where}",
            source="fibre model of the joint face, derived in mechanics/faces",
            note="minimum preload",
        )


def slip(c: Context) -> Iterator[Check]:
    """Drag of the outboard pad crosses the clamp plane by friction of what is still clamped."""
    if c.answer.tightened is None or not c.case.drag or c.design.caliper.layout != "two-piece":
        return
    pull = c.answer.loaded.tension[0, LOW, c.at, list(c.answer.pair.jointed), 0]
    clamp = float(np.maximum(-pull, 0.0).sum())
    mu, pad = c.design.caliper.joint_friction, c.design.pad.friction_range[1]
    drag = float(hydraulics.pad_drag(c.clamp_force, friction=pad))
    held = float(fasteners.slip_capacity(clamp, friction=mu))
    yield at_least(
        "slip",
        "friction of the clamp plane against the outboard pad's drag",
        held,
        drag,
        "N",
        formula=f"mu F = {mu:g} x {clamp:.0f} N left in the faces; drag = {pad:g} x {c.clamp_force:.0f} N",
        source=f"Coulomb; lowest joint and highest pad friction; {PRACTICE}",
        note="minimum preload; dowels not counted",
    )


def bolts(c: Context) -> Iterator[Check]:
    """Every bolt: stress at tightening and in service, fatigue, pressure under the head, engaged threads."""
    if c.answer.tightened is None:
        return
    each = [list(bolt_checks(c, j, bolt)) for j, bolt in enumerate(c.design.caliper.bolts)]
    for same in zip(*each, strict=True):
        yield min(same, key=lambda check: check.margin)


def bolt_checks(c: Context, j: int, bolt: Bolt) -> Iterator[Check]:
    """The checks of one bolt, always the same number in the same order."""
    size, grade, head = (
        catalogue.thread(bolt.thread),
        catalogue.grade(bolt.grade),
        catalogue.head(catalogue.thread(bolt.thread).d),
    )
    name = f"bolt {j + 1} ({bolt.thread}, {bolt.grade})"
    strength, _ = grade.strength_factor(c.case.bolt_temperature_C)
    most, force = float(c.preload.max[j]), float(c.answer.loaded.bolt[0, HIGH, c.at, j])
    shear = fasteners.tightening_shear(most, thread=size, friction_thread=bolt.friction_thread)
    tight = float(fasteners.service_stress(most, shear=shear, thread=size, torsion_left=1.0))
    yield at_most(
        "bolt-tightening",
        f"equivalent stress at tightening, {name}",
        tight,
        grade.yield_MPa,
        "MPa",
        formula=f"sqrt(s^2 + 3 t^2), s = {most:.0f} / {size.A_s:.1f}, t = {float(shear):.0f}",
        source="VDI 2230 Part 1 (seen in transcription)",
        note="maximum preload",
    )
    stress = float(fasteners.service_stress(force, shear=shear, thread=size))
    yield at_most(
        "bolt-service",
        f"equivalent stress in service, {name}",
        stress,
        grade.yield_MPa * strength,
        "MPa",
        formula=f"sqrt(s^2 + 3 (0.5 t)^2), s = {force:.0f} / {size.A_s:.1f}, t = {float(shear):.0f}; allowed yield {grade.yield_MPa:.0f} x {strength:.2f}",
        source="VDI 2230 Part 1 (seen in transcription)",
        note="maximum preload; bending of the bolt not in it",
    )
    swing = float(np.abs(c.answer.change.bolt[0, :, c.at, j]).max())
    amplitude = float(fasteners.stress_amplitude(swing, low=0.0, thread=size))
    yield at_most(
        "bolt-fatigue",
        f"stress amplitude, {name}",
        amplitude,
        float(fasteners.endurance(thread=size)),
        "MPa",
        formula=f"dF / (2 A_s) = {swing:.0f} / (2 x {size.A_s:.1f}); allowed 0.85 (150/d + 45)",
        source="VDI 2230 Part 1 (seen in transcription), rolled before heat treatment",
        note="worst preload; bending of the bolt not in it",
    )
    bearing = bolt.washer_diameter or head.diameter
    under = float(fasteners.head_pressure(force, outer=bearing, hole=bolt.hole))
    limit, whence = head_limit(c)
    yield at_most(
        "head-pressure",
        f"pressure under the head, {name}",
        under,
        limit,
        "MPa",
        formula=f"F / (pi/4 (d_W^2 - d_h^2)) = {force:.0f} N over {bearing:g} to {bolt.hole:g} mm; allowed {whence}",
        source="VDI 2230 Part 1 (seen in transcription)",
        note="maximum preload",
    )
    yield engagement(c, j, bolt)


def head_limit(c: Context) -> tuple[float, str]:
    """Limiting pressure under a head, and where it comes from."""
    metal = c.design.caliper.material
    if metal.head_pressure_MPa is not None:
        return metal.head_pressure_MPa, f"p_G of {metal.name}"
    return metal.yield_MPa, f"yield of {metal.name}: no p_G known"


def engagement(c: Context, j: int, bolt: Bolt) -> Check:
    """The bolt must break before the tapped thread strips."""
    size, grade = catalogue.thread(bolt.thread), catalogue.grade(bolt.grade)
    now = c.design.caliper.material.at(c.case.body_temperature_C)
    shear = threads.ALUMINIUM_SHEAR_RATIO * now.ultimate_MPa
    found = threads.stripping(
        bolt.engagement,
        thread=size,
        tapped_shear_MPa=shear,
        bolt_shear_MPa=threads.BOLT_SHEAR_RATIO[bolt.grade] * grade.ultimate_MPa,
    )
    needed = grade.ultimate_MPa * size.A_s
    return at_least(
        "engagement",
        f"stripping force of the engaged threads, bolt {j + 1} ({bolt.thread}, {bolt.grade})",
        float(found.force),
        needed,
        "N",
        formula=f"lower of tapped {float(found.tapped):.0f} and bolt thread {float(found.bolt):.0f} over {bolt.engagement:g} mm; needed R_m A_s",
        source="VDI 2230 Part 1 after Alexander (seen in transcription)",
        note="" if bool(found.inside) else "outside the range of the strength-reduction factors",
    )


CHECKS: tuple[Callable[[Context], Iterator[Check]], ...] = (limits, onset, slip, bolts, floor_stress)


def run_checks(context: Context) -> tuple[Check, ...]:
    """Every check that applies, worst margin first."""
    found = [check for rule in CHECKS for check in rule(context)]
    return tuple(sorted(found, key=lambda check: check.margin))
