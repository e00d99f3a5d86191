"""A layout, or a batch of D, at every stage of life: which preload, at which temperature, at which pressures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper import heat, response
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.heat import ROOM, Warmth
from stiffcalc.caliper.life import COLD, HOT, SETTLED, SOAKED, TIGHTENED, Life, Stage
from stiffcalc.caliper.requirement import HIGH, LOW, View
from stiffcalc.caliper.response import Answer
from stiffcalc.condensed import Array
from stiffcalc.mechanics import stacked
from stiffcalc.mechanics.joint_state import Pair, states_of
from stiffcalc.study.schema import Design, LoadCase

SWEEP_STEPS = 24
# Kinds that come at any time of life; proof and burst are tests of a new part, at the temperature the study gives them.
LIVED = ("service", "fatigue")
READ = {COLD: ("min",), SOAKED: ("min",), HOT: ("max",)}  # ends of the preload interval that may govern there


@dataclass(frozen=True)
class Solved:
    """One stage answered. Preload states S as `Life.ends`, or the one end that is read (`READ`)."""

    stage: Stage
    pressure: Array  # (P,)
    answers: Mapping[str, Answer]  # "frame", "front view"

    def at(self, pressure: float) -> int:
        """Index of a pressure."""
        at = int(np.searchsorted(self.pressure, pressure))
        assert self.pressure[at] == pressure, "asked at a pressure that was not solved"
        return at

    def one(self, d: int, stage: Stage) -> Solved:
        """That of one layout of a batch, `stage` being its own."""
        return Solved(stage, self.pressure, {name: stacked.one(a, d) for name, a in self.answers.items()})


@dataclass(frozen=True)
class Stages:
    """Every stage that figures or checks look at."""

    headline: str  # the model the published figures come from
    room: Solved  # settled, 20 °C, over the whole sweep
    own: Mapping[Warmth, Solved]  # settled, at the temperatures of the load cases, over the whole sweep
    others: Mapping[str, Solved]  # cold, hot, cold after hot soak; headline model only

    def one(self, d: int) -> Stages:
        """Those of one layout of a batch, D = 1; what stands in two places is one object there too."""
        every = (self.room, *self.own.values(), *self.others.values())
        stages = {id(s.stage): s.stage.one(d) for s in every}
        cut = {id(s): s.one(d, stages[id(s.stage)]) for s in {id(s): s for s in every}.values()}
        return Stages(
            self.headline,
            cut[id(self.room)],
            {w: cut[id(s)] for w, s in self.own.items()},
            {n: cut[id(s)] for n, s in self.others.items()},
        )

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


def solve(
    design: Design, body: Body, pairs: Mapping[str, Pair], life: Life, *, steps: int = SWEEP_STEPS
) -> Stages:
    """Answer every stage of a layout or a batch of D; `pairs` of each model at 20 °C, `steps` of the sweep there.

    Raises `JointError`, and for more than one layout `UnheldError` where nothing holds one of them.
    """
    headline = "front view" if "front view" in pairs else "frame"
    lived = np.unique([c.pressure for c in design.load_cases if c.kind in LIVED])

    def answered(
        stage: Stage, pressure: Array, models: Iterable[str], ends: Sequence[str] = life.ends
    ) -> Solved:
        preload = np.stack([getattr(stage.preload, end) for end in ends], axis=1)
        found = {}
        for m in models:
            same = pairs[m] is life.pairs.get(ROOM)
            pair = life.pairs[stage.warmth] if same else heat.at_warmth(pairs[m], design, body, stage.warmth)
            tight = stage.tight if same else None
            if tight is not None:
                tight = states_of(tight, [life.ends.index(end) for end in ends])
            found[m] = response.answer(pair, body, preload=preload, pressure=pressure, tight=tight)
        return Solved(stage, pressure, found)

    jointed = bool(pairs[headline].jointed)
    read = {id(stage) for stage in life.stages}
    asked = {w: _asked(design, w, lived if id(stage) in read else (), steps) for w, stage in life.own.items()}
    own = {w: answered(stage, asked[w], tuple(pairs)) for w, stage in life.own.items()}
    there = {id(stage): own[w] for w, stage in life.own.items()}
    others = {
        stage.name: there.get(id(stage)) or answered(stage, lived, (headline,), READ[stage.name])
        for stage in life.stages
        if jointed and len(lived) and stage.name in READ
    }
    return Stages(headline, own[ROOM], own, others)


def _asked(design: Design, warmth: Warmth, others: Iterable[float], steps: int) -> Array:
    """Pressures at a temperature of load cases: of the sweep, or its own cases' and `others`; at 20 °C every case's."""
    if steps:
        return sweep_pressures(design, steps)
    own = [c.pressure for c in design.load_cases if warmth in (ROOM, warmth_of(c))]
    return np.unique([*own, *others])


def sweep_pressures(design: Design, steps: int = SWEEP_STEPS) -> Array:
    """An even sweep from 0 to the highest load case, and every load case."""
    cases = [c.pressure for c in design.load_cases]
    return np.unique(np.concatenate([np.linspace(0.0, max(cases), steps + 1), cases]))
