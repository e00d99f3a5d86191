"""Every check of a load case: the study's own limits here, joint and body checks from their modules."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from stiffcalc.caliper import (
    abutment_checks,
    body_checks,
    bolt_checks,
    grip_checks,
    joint_checks,
    pad_bolt_checks,
    pad_checks,
    port_checks,
)
from stiffcalc.caliper.batch import of
from stiffcalc.caliper.checked import Checked, Checks, Subject, Words, at_least, at_most
from stiffcalc.caliper.requirement import LOW, Context
from stiffcalc.study.sections import IN_USE

ASKED = "limit of the study"


def mass(c: Context) -> Iterator[Checked]:
    """Mass of all that is counted."""
    if c.design.limits.mass_kg is not None:
        subject = _asked("mass", "mass with bolts and pistons", "kg", "body + bolts + pistons + fittings")
        yield at_most(subject, c.mass.total, c.design.limits.mass_kg)


def clamp_force(c: Context) -> Iterator[Checked]:
    """Clamp force of one side at the highest pressure in use; a lighter stop need not reach it."""
    needed, force, p = c.design.limits.clamp_force_N, c.clamp_force, c.case.pressure
    if needed is None or c.case.kind not in IN_USE:
        return
    if p < max(case.pressure for case in c.design.load_cases if case.kind in IN_USE):
        return

    def words(d: int) -> Words:
        return Words(f"p A = {p:g} MPa x {of(force, d) / p:.1f} mm2", ASKED)

    yield at_least(Subject("clamp force", "N", ("clamp force of one side",), words), force, needed)


def opening(c: Context) -> Iterator[Checked]:
    """Spread, tilt and fluid, at minimum preload."""
    asked = c.design.limits
    if c.case.kind not in IN_USE:
        return
    if asked.spread is not None:
        text = "area-weighted mean opening of the bore floors"
        subject = _asked("spread", "spread", "mm", text, "minimum preload")
        yield at_most(subject, c.answer.openings.spread[:, LOW, c.at], asked.spread, applies=c.held)
    if asked.tilt_mrad is not None and c.tilt_mrad is not None:
        text = "largest d(opening)/dy of the bore mouths"
        subject = _asked("tilt", "tilt, largest over the bores", "mrad", text, "minimum preload")
        yield at_most(subject, np.abs(c.tilt_mrad).max(axis=-1), asked.tilt_mrad, applies=c.held)
    if asked.fluid_mm3 is not None:
        text = "floors + bore walls + pads + compression of the fluid"
        subject = _asked("fluid", "fluid taken", "mm3", text, "minimum preload")
        yield at_most(subject, c.fluid, asked.fluid_mm3, applies=c.held)


def _asked(id_: str, what: str, unit: str, formula: str, note: str = "") -> Subject:
    """A figure that the study itself limits."""
    return Subject(id_, unit, (what,), lambda _: Words(formula, ASKED, note))


Rule = Callable[[Context], Iterator[Checked]]
CHECKS: tuple[Rule, ...] = (
    mass,
    clamp_force,
    opening,
    joint_checks.holds,
    joint_checks.onset,
    grip_checks.residual,
    grip_checks.slip,
    joint_checks.face_pressure,
    port_checks.ports,
    abutment_checks.abutments,
    bolt_checks.bolts,
    pad_checks.seats,
    pad_bolt_checks.bolts,
    body_checks.bridges,
    body_checks.fillets,
    body_checks.walls,
    body_checks.bore_walls,
    body_checks.floors,
)


def run_checks(context: Context) -> Checks:
    """Every check that applies; the body's need a joint that holds."""
    held = context.held
    rows: list[Checked] = []
    for rule in CHECKS:
        body = rule.__module__ == body_checks.__name__
        if body and not held.any():
            continue
        if body and not held.all():
            rows += [replace(row, applies=row.applies & held) for row in rule(context)]
        else:
            rows += rule(context)
    return Checks(tuple(rows))
