"""Designs solved and put into figures, by the same load cases and checks as an assessment."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stiffcalc.caliper import verdict
from stiffcalc.caliper.assess import variant_result
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.results import CaseResult
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.bolt_results import Figures
from stiffcalc.study.schema import Design

FATIGUE = "bolt fatigue"  # id of the check


@dataclass(frozen=True)
class Solved:
    """One design's answer."""

    mass: Masses
    load_cases: tuple[CaseResult, ...]


def solve(designs: Sequence[Design]) -> Iterator[Solved | ConvergenceError]:
    """Answer each design by the frame; the error of one whose joint finds no equilibrium."""
    return (solve_one(design, with_front_view=False) for design in designs)


def solve_one(design: Design, *, with_front_view: bool) -> Solved | ConvergenceError:
    """One design by itself, with the front view or the frame as the model of its figures."""
    try:
        found = variant_result(design, with_front_view=with_front_view)
    except ConvergenceError as error:
        return error
    return Solved(found.mass, found.load_cases)


def figures(solved: Solved) -> Figures:
    """What the matrix shows of an answer."""
    cases = solved.load_cases
    found = verdict.worst(solved)
    tired = [k.margin for c in cases for k in c.checks if k.id == FATIGUE]
    return Figures(
        spread=verdict.governing(solved).spread,
        onset_MPa=min((j.onset_MPa for c in cases for j in c.joints), default=math.inf),
        worst_margin=found[1].margin if found else math.inf,
        governs=f"{found[1].what} ({found[0].name})" if found else "no checks",
        fatigue_margin=min(tired, default=None),
        unmet=verdict.unmet(solved),
        checks=sum(len(c.checks) for c in cases),
        validity=tuple(dict.fromkeys(s for c in cases for s in c.validity)),
    )
