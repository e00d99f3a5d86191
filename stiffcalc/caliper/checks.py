"""Every check of a load case: the study's own limits here, joint and body checks from their modules."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from stiffcalc.caliper import body_checks, bolt_checks, joint_checks, pad_bolt_checks, pad_checks, port_checks
from stiffcalc.caliper.requirement import LOW, Context, Subject, at_least, at_most
from stiffcalc.caliper.results import Check

FUNCTION = ("service", "fatigue")  # kinds in which opening and clamp force are asked of the caliper
ASKED = "limit of the study"


def mass(c: Context) -> Iterator[Check]:
    """Mass with bolts and pistons."""
    if c.design.limits.mass_kg is not None:
        subject = Subject("mass", "mass with bolts and pistons", "kg", "body + bolts + pistons", ASKED)
        yield at_most(subject, c.mass.total, c.design.limits.mass_kg)


def clamp_force(c: Context) -> Iterator[Check]:
    """Clamp force of one side."""
    needed = c.design.limits.clamp_force_N
    if needed is not None and c.case.kind in FUNCTION:
        text = f"p A = {c.case.pressure:g} MPa x {c.clamp_force / c.case.pressure:.1f} mm2"
        yield at_least(
            Subject("clamp force", "clamp force of one side", "N", text, ASKED), c.clamp_force, needed
        )


def opening(c: Context) -> Iterator[Check]:
    """Spread, tilt and fluid, at minimum preload."""
    asked = c.design.limits
    if c.case.kind not in FUNCTION or c.fluid is None:
        return
    if asked.spread is not None:
        text = "area-weighted mean opening of the bore floors"
        subject = Subject("spread", "spread", "mm", text, ASKED, "minimum preload")
        yield at_most(subject, float(c.answer.openings.spread[0, LOW, c.at]), asked.spread)
    if asked.tilt_mrad is not None and c.tilt_mrad is not None:
        text = "largest d(opening)/dy of the bore mouths"
        subject = Subject("tilt", "tilt, largest over the bores", "mrad", text, ASKED, "minimum preload")
        yield at_most(subject, max(abs(t) for t in c.tilt_mrad), asked.tilt_mrad)
    if asked.fluid_mm3 is not None:
        text = "floors + bore walls + pads + compression of the fluid"
        subject = Subject("fluid", "fluid taken", "mm3", text, ASKED, "minimum preload")
        yield at_most(subject, c.fluid.total, asked.fluid_mm3)


CHECKS: tuple[Callable[[Context], Iterator[Check]], ...] = (
    mass,
    clamp_force,
    opening,
    joint_checks.holds,
    joint_checks.onset,
    joint_checks.residual,
    joint_checks.slip,
    joint_checks.face_pressure,
    port_checks.ports,
    bolt_checks.bolts,
    pad_checks.seats,
    pad_bolt_checks.bolts,
    body_checks.bridges,
    body_checks.fillets,
    body_checks.walls,
    body_checks.floors,
)


def run_checks(context: Context) -> tuple[Check, ...]:
    """Every check that applies, worst margin first; the body's need a joint that holds."""
    rules = CHECKS if context.held else [r for r in CHECKS if r.__module__ != body_checks.__name__]
    found = [check for rule in rules for check in rule(context)]
    return tuple(sorted(found, key=lambda check: check.margin))
