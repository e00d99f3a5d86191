"""One layout solved at every stage of its life: which preload, at which temperature, at which pressures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper import heat, response
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.heat import ROOM, Warmth
from stiffcalc.caliper.life import COLD, HOT, SETTLED, SOAKED, TIGHTENED, Life, Stage
from stiffcalc.caliper.requirement import HIGH, LOW, View
from stiffcalc.caliper.response import Answer
from stiffcalc.condensed import Array
from stiffcalc.mechanics.joint_state import Pair
from stiffcalc.study.schema import Design, LoadCase

SWEEP_STEPS = 24
# Kinds that come at any time of life; proof and burst are tests of a new part, at the temperature the study gives them.
LIVED = ("service", "fatigue")


@dataclass(frozen=True)
class Solved:
    """One stage answered. Preload states S = (minimum, nominal, maximum)."""

    stage: Stage
    pressure: Array  # (P,)
    answers: Mapping[str, Answer]  # "frame", "front view"

    def at(self, pressure: float) -> int:
        """Index of a pressure."""
        return int(np.searchsorted(self.pressure, pressure))


@dataclass(frozen=True)
class Stages:
    """Every stage of one layout that figures or checks look at."""

    headline: str  # the model the published figures come from
    room: Solved  # settled, 20 °C, over the whole sweep
    own: Mapping[Warmth, Solved]  # settled, at the temperatures of the load cases
    others: Mapping[str, Solved]  # cold, hot, cold after hot soak; headline model only

    def of(self, case: LoadCase) -> Solved:
        """The stage at a load case's own temperature."""
        return self.own[warmth_of(case)]

    def low(self, case: LoadCase) -> tuple[View, ...]:
        """Stages whose minimum preload may govern."""
        return tuple(self._views(case, {SETTLED: self.room, **self._lived(case, (COLD, SOAKED))}, LOW))

    def high(self, case: LoadCase) -> tuple[View, ...]:
        """Stages whose maximum preload may govern; at 20 °C it is the one as tightened."""
        return tuple(self._views(case, {TIGHTENED: self.room, **self._lived(case, (HOT,))}, HIGH))

    def _lived(self, case: LoadCase, names: tuple[str, ...]) -> dict[str, Solved]:
        """Stages that a case of this kind may meet."""
        return {n: self.others[n] for n in names if n in self.others and case.kind in LIVED}

    def _views(self, case: LoadCase, wanted: Mapping[str, Solved], end: int) -> Iterator[View]:
        """The wanted stages and the case's own temperature, each temperature and preload once."""
        own = self.of(case)
        known = {id(s.stage) for s in wanted.values()}
        extra = {} if id(own.stage) in known else {own.stage.name: own}
        for name, solved in {**wanted, **extra}.items():
            preload = solved.stage.preload
            yield View(
                stage=name,
                end=end,
                warmth=solved.stage.warmth,
                preload=preload.min if end == LOW else preload.max,
                answer=solved.answers[self.headline],
                at=solved.at(case.pressure),
            )


def warmth_of(case: LoadCase) -> Warmth:
    """Temperatures of a load case."""
    return Warmth(case.body_temperature_C, case.bolt_temperature_C)


def solve(design: Design, body: Body, pairs: Mapping[str, Pair], life: Life) -> Stages:
    """Answer every stage; `pairs` of each model at 20 °C. Raises `JointError`."""
    headline = "front view" if "front view" in pairs else "frame"
    known = {s.name: s for s in life.stages}
    asked = np.unique([c.pressure for c in design.load_cases])

    def answered(stage: Stage, pressure: Array, models: tuple[str, ...]) -> Solved:
        preload = np.stack([stage.preload.min, stage.preload.nominal, stage.preload.max])[None]
        found = {
            m: response.answer(
                heat.at_warmth(pairs[m], design, body, stage.warmth),
                [body],
                preload=preload,
                pressure=pressure,
            )
            for m in models
        }
        return Solved(stage, pressure, found)

    room = answered(known[SETTLED], sweep_pressures(design), tuple(pairs))
    jointed = bool(pairs[headline].jointed)
    names = [n for n in (HOT, COLD, SOAKED) if n in known and jointed]
    own: dict[Warmth, Solved] = {ROOM: room}
    for warmth in dict.fromkeys(warmth_of(c) for c in design.load_cases):
        if warmth not in own:
            same = next((known[n] for n in names if n != SOAKED and known[n].warmth == warmth), None)
            own[warmth] = answered(same or life.at(warmth), asked, tuple(pairs))
    solved = {id(s.stage): s for s in own.values()}
    others = {n: solved.get(id(known[n])) or answered(known[n], asked, (headline,)) for n in names}
    return Stages(headline, room, own, others)


def sweep_pressures(design: Design) -> Array:
    """An even sweep from 0 to the highest load case, and every load case."""
    cases = [c.pressure for c in design.load_cases]
    return np.unique(np.concatenate([np.linspace(0.0, max(cases), SWEEP_STEPS + 1), cases]))
