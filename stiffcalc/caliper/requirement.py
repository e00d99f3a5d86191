"""What a check looks at, and the two shapes a check can take."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.body import Body
from stiffcalc.caliper.heat import Warmth
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.metal import Metal
from stiffcalc.caliper.response import Answer
from stiffcalc.caliper.results import Check, Fluid
from stiffcalc.catalogue import Material
from stiffcalc.condensed import Array
from stiffcalc.mechanics import hydraulics
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.study.schema import Design, Limits, LoadCase

PRACTICE = "common practice, no source"
LOW, HIGH = 0, -1  # preload states: minimum governs opening, slip, seal; maximum governs bolt, thread, head


@dataclass(frozen=True)
class View:
    """One end of the preload interval at one stage of life, answered at the case's pressure."""

    stage: str
    end: int  # LOW or HIGH
    warmth: Warmth
    preload: Array  # (J,) N without pressure
    answer: Answer
    at: int

    @property
    def held(self) -> bool:
        """Whether something holds the halves together."""
        return bool(self.answer.held[0, self.end, self.at])

    @property
    def words(self) -> str:
        """Such as "minimum preload, cold after hot soak"."""
        return f"{'minimum' if self.end == LOW else 'maximum'} preload, {self.stage}"

    def note(self, bolts: Iterable[int]) -> str:
        """`words` with the preload of the bolts meant, the least at the low end, the most at the high one."""
        own = self.preload[list(bolts)]
        if not own.size:
            return self.words
        return f"{self.words} ({(own.min() if self.end == LOW else own.max()) / 1e3:.1f} kN)"

    @property
    def tension(self) -> Array:
        """N, Mx, My of the bridges (N, 3)."""
        found: Array = self.answer.loaded.tension[0, self.end, self.at]
        return found

    @property
    def bolt(self) -> Array:
        """Bolt forces (J,), N."""
        found: Array = self.answer.loaded.bolt[0, self.end, self.at]
        return found


def allowed_stress(material: Material, case: LoadCase, limits: Limits) -> tuple[float, str]:
    """Yield (ultimate for burst) at the body's temperature over the factor of the case's kind, MPa, and in words."""
    now, factor = material.at(case.body_temperature_C), limits.factors[case.kind]
    name, strength = ("yield", now.yield_MPa) if case.kind != "burst" else ("ultimate", now.ultimate_MPa)
    return strength / factor, f"{name} {strength:.0f} at {case.body_temperature_C:g} °C / {factor:g}"


@dataclass(frozen=True)
class Context:
    """One load case of one layout, solved at its own temperature, and the other stages of life that may govern."""

    design: Design
    body: Body
    metal: Metal
    case: LoadCase
    answer: Answer
    at: int  # index of the case's pressure
    preload: Preload  # at the case's temperature, settled
    mass: Masses
    fluid: Fluid | None  # None where nothing holds the halves together
    tilt_mrad: tuple[float, ...] | None
    low: tuple[View, ...]  # least preloads: settled, cold, cold after hot soak, the case's own temperature
    high: tuple[View, ...]  # greatest preloads: tightened, hot, the case's own temperature

    @property
    def held(self) -> bool:
        """Whether something holds the halves together in this case, at its own temperature and any preload."""
        return bool(self.answer.held[0, :, self.at].all())

    def bolts_of(self, bridge: int) -> tuple[int, ...]:
        """Bolts through one bridge."""
        return tuple(j for j, b in enumerate(self.body.bolts) if b.bridge == bridge)

    @property
    def allowed_stress(self) -> tuple[float, str]:
        """Allowed stress of the body's material in this case, MPa, and how it was got."""
        return allowed_stress(self.design.caliper.material, self.case, self.design.limits)

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
