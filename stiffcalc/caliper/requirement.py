"""What a check looks at, and the two shapes a check can take."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.body import Body
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.response import Answer
from stiffcalc.caliper.results import Check, Fluid
from stiffcalc.mechanics import hydraulics
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.study.schema import Design, LoadCase

PRACTICE = "common practice, no source"
LOW, HIGH = 0, -1  # preload states: minimum governs opening, slip, seal; maximum governs bolt, thread, head


@dataclass(frozen=True)
class Context:
    """One load case of one layout, solved."""

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
        """Allowed stress of the body's material in this case, MPa, and how it was got."""
        now = self.design.caliper.material.at(self.case.body_temperature_C)
        factor = self.design.limits.factors[self.case.kind]
        name, strength = (
            ("yield", now.yield_MPa) if self.case.kind != "burst" else ("ultimate", now.ultimate_MPa)
        )
        where = f"{name} {strength:.0f} at {self.case.body_temperature_C:g} °C"
        return strength / factor, f"{where} / {factor:g}"

    @property
    def clamp_force(self) -> float:
        """Force of one side's pistons, N."""
        bores = np.array([b.diameter for b in self.body.inboard.bores])
        return float(hydraulics.clamp_force(self.case.pressure, diameters=bores))


@dataclass(frozen=True)
class Subject:
    """What a check is about, and where its formula comes from."""

    id: str
    what: str
    unit: str
    formula: str
    source: str
    note: str = ""


def at_most(subject: Subject, actual: float, allowed: float) -> Check:
    """A check that wants actual <= allowed; margin = allowed / actual - 1, infinite at no load."""
    margin = allowed / actual - 1 if actual > 0 else float("inf")
    return _check(subject, actual, allowed, margin)


def at_least(subject: Subject, actual: float, needed: float) -> Check:
    """A check that wants actual >= needed; margin = actual / needed - 1, infinite where nothing is needed."""
    margin = actual / needed - 1 if needed > 0 else float("inf")
    return _check(subject, actual, needed, margin)


def _check(s: Subject, actual: float, allowed: float, margin: float) -> Check:
    return Check(s.id, s.what, actual, allowed, s.unit, margin, margin >= 0, s.source, s.formula, s.note)
