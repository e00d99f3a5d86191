"""Designs solved and put into figures, by the same stages, load cases and checks as an assessment."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stiffcalc.caliper import response, verdict
from stiffcalc.caliper.assess import variant_result
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import Layout, case_result
from stiffcalc.caliper.life import lives
from stiffcalc.caliper.measures import Masses, weigh
from stiffcalc.caliper.metal import metals
from stiffcalc.caliper.results import CaseResult
from stiffcalc.caliper.stages import solve_all
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.bolt_results import Figures
from stiffcalc.mechanics.joint_state import JointError
from stiffcalc.study.schema import Design

FATIGUE = "bolt fatigue"  # id of the check
BATCH = 128  # designs solved at once


@dataclass(frozen=True)
class Solved:
    """One design's answer."""

    mass: Masses
    load_cases: tuple[CaseResult, ...]


Found = Solved | ConvergenceError


def solve(designs: Sequence[Design]) -> list[Found]:
    """Answer each design by the frame, its joint faces moving as planes: exact while closed and without reliefs.

    All of one study: the same load cases. The error stands in for a design whose joint finds no equilibrium.
    """
    bodies = [build(d) for d in designs]
    topologies = [tuple(q.bridge for q in body.bolts) for body in bodies]
    found: dict[int, Found] = {}
    for topology in dict.fromkeys(topologies):
        alike = [i for i, t in enumerate(topologies) if t == topology]
        for batch in (alike[k : k + BATCH] for k in range(0, len(alike), BATCH)):
            answers = _batch([designs[i] for i in batch], [bodies[i] for i in batch])
            found |= dict(zip(batch, answers, strict=True))
    return [found[i] for i in range(len(designs))]


def _batch(designs: Sequence[Design], bodies: Sequence[Body]) -> Iterator[Found]:
    """Designs of one topology at once; what finds no equilibrium is taken out and the rest solved again."""
    try:
        layouts = _layouts(designs, bodies)
    except JointError as error:
        sound = [i for i in range(len(designs)) if i not in error.designs]
        rest = _batch([designs[i] for i in sound], [bodies[i] for i in sound]) if sound else iter(())
        yield from (next(rest) if i in sound else error for i in range(len(designs)))
        return
    for layout in layouts:
        cases = tuple(case_result(layout, case) for case in layout.design.load_cases)
        yield Solved(layout.mass, cases)


def _layouts(designs: Sequence[Design], bodies: Sequence[Body]) -> list[Layout]:
    pair = response.frame_pair(bodies, give=False)
    known = lives(designs, bodies, pair)
    stages = solve_all(designs, bodies, {"frame": pair}, known, steps=0)
    each = zip(designs, bodies, metals(bodies), known, stages, strict=True)
    return [Layout(d, body, metal, weigh(d, body), life, found) for d, body, metal, life, found in each]


def solve_one(design: Design, *, front_view: bool = True) -> Found:
    """One design as an assessment answers it, its faces giving way; figures are the front view's if asked."""
    try:
        found = variant_result(design, with_front_view=front_view)
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
