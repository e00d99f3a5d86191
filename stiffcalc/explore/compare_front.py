"""Designs of a comparison as an assessment answers them: front view and frame, joint faces that give way."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stiffcalc.caliper import response, verdict
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import Layout, case_result
from stiffcalc.caliper.life import life
from stiffcalc.caliper.measures import weigh
from stiffcalc.caliper.metal import metals
from stiffcalc.caliper.results import CaseResult, Check, counted
from stiffcalc.caliper.stages import solve
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.answers import Solved
from stiffcalc.explore.bolt_results import Figures
from stiffcalc.explore.bolt_solve import figures
from stiffcalc.study.schema import Design


@dataclass(frozen=True)
class Asked:
    """One design's answer by the model that counts; `frame` beside it where the front view ran."""

    case: CaseResult  # the service case of highest pressure
    load_cases: tuple[CaseResult, ...]
    figures: Figures
    frame_spread: float | None

    @property
    def checks(self) -> list[tuple[CaseResult, Check]]:
        """Every check of every load case."""
        return [(c, k) for c in self.load_cases for k in c.checks]

    def worst(self) -> Mapping[str, float]:
        """The least margin of each check, by its id; one that is no number counts as minus infinity: never met."""
        found: dict[str, float] = {}
        for _, k in self.checks:
            found[k.id] = min(counted(k.margin), found.get(k.id, math.inf))
        return found

    def missed(self, without: Sequence[str] = ()) -> float:
        """Sum of what is missing to the checks, those with the ids `without` left out."""
        return sum(max(0.0, -m) for name, m in self.worst().items() if name not in without)


def ask(design: Design, *, front_view: bool) -> Asked | ConvergenceError:
    """The front view's answer (the frame's without it) at the load cases alone; as `assess` answers the design."""
    try:
        body = build(design)
        pairs = {"frame": response.frame_pair(body)}
        if front_view:
            pairs["front view"], _ = response.front_view_pair(body)
        known = life(design, body, pairs["front view" if front_view else "frame"])
        stages = solve(design, body, pairs, known, steps=0)
    except ConvergenceError as error:
        return error
    layout = Layout(design, body, metals(body), weigh(design, body), known, stages)
    cases = tuple(case_result(layout, case) for case in design.load_cases)
    onset = min((j.onset_MPa for c in cases for j in c.joints), default=float("inf"))
    solved = Solved(layout.mass, cases, onset)
    case = verdict.governing(solved)
    frame = case.models["frame"].spread if "frame" in case.models else None
    return Asked(case, cases, figures(solved), frame)
