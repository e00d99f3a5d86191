"""One design of a matrix or a sweep as an assessment answers it, and what such a search shows of an answer."""

from __future__ import annotations

import math

from stiffcalc.caliper import verdict
from stiffcalc.caliper.assess import variant_result
from stiffcalc.caliper.results import counted
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.answers import Found, Solved
from stiffcalc.explore.bolt_results import Figures
from stiffcalc.study.schema import Design

FATIGUE = "bolt fatigue"  # id of the check


def solve_one(design: Design, *, front_view: bool = True) -> Found:
    """One design as an assessment answers it, its faces giving way; figures are the front view's if asked."""
    try:
        found = variant_result(design, with_front_view=front_view)
    except ConvergenceError as error:
        return error
    onset = min((j.onset_MPa for c in found.load_cases for j in c.joints), default=math.inf)
    return Solved(found.mass, found.load_cases, onset)


def figures(solved: Solved) -> Figures:
    """What the matrix shows of an answer; a margin that is no number is the worst, as in `Answers`."""
    cases = solved.load_cases
    every = [(c, k) for c in cases for k in c.checks]
    found = min(every, key=lambda pair: round(counted(pair[1].margin), 9), default=None)
    tired = [counted(k.margin) for _, k in every if k.id == FATIGUE]
    return Figures(
        spread=verdict.governing(solved).spread,
        onset_MPa=solved.onset_MPa,
        worst_margin=counted(found[1].margin) if found else math.inf,
        governs=f"{found[1].what} ({found[0].name})" if found else "no checks",
        fatigue_margin=min(tired, default=None),
        unmet=verdict.unmet(solved),
        checks=len(every),
        validity=tuple(dict.fromkeys(s for c in cases for s in c.validity)),
    )
