"""Many designs of one study solved at once by the frame, with the stages, load cases and checks of an assessment."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass

from stiffcalc.caliper import response
from stiffcalc.caliper.body import Body, HalfShape
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import Layout, least_onset, screened
from stiffcalc.caliper.life import lives
from stiffcalc.caliper.measures import Masses, weigh
from stiffcalc.caliper.metal import metals
from stiffcalc.caliper.results import CaseResult
from stiffcalc.caliper.stages import solve_all
from stiffcalc.errors import ConvergenceError
from stiffcalc.mechanics.joint_state import JointError
from stiffcalc.study.schema import Design

BATCH = 128  # designs solved at once


@dataclass(frozen=True)
class Solved:
    """One design's answer."""

    mass: Masses
    load_cases: tuple[CaseResult, ...]  # with no figures but the spread
    onset_MPa: float  # least of all joint faces and load cases; inf: never within the linear range


Found = Solved | ConvergenceError


def solve(designs: Sequence[Design], *, batch: int = BATCH) -> list[Found]:
    """Answer each design by the frame, its joint faces moving as planes: exact while closed and without reliefs.

    Designs of one topology are solved together, at most `batch` at once. The error stands in for a design whose joint
    finds no equilibrium.
    """
    bodies = [build(d) for d in designs]
    alike: dict[Hashable, list[int]] = {}
    for i, (design, body) in enumerate(zip(designs, bodies, strict=True)):
        alike.setdefault(topology(design, body), []).append(i)
    found: dict[int, Found] = {}
    for group in alike.values():
        for some in (group[k : k + batch] for k in range(0, len(group), batch)):
            answers = _batch([designs[i] for i in some], [bodies[i] for i in some])
            found |= dict(zip(some, answers, strict=True))
    return [found[i] for i in range(len(designs))]


def topology(design: Design, body: Body) -> Hashable:
    """What designs must have in common to be solved as one batch: which parts there are, and what they meet."""
    bridges = tuple((b.jointed, b.pads is not None, b.reliefs, b.land) for b in body.bridges)
    halves = tuple(_parts(h) for h in (body.inboard, body.outboard))
    bolts = tuple(b.bridge for b in body.bolts)
    return bridges, halves, bolts, body.ports, design.load_cases, design.life


def _parts(half: HalfShape) -> Hashable:
    return len(half.bores), len(half.pockets), half.outline.shape


def _batch(designs: Sequence[Design], bodies: Sequence[Body]) -> Iterator[Found]:
    """Designs of one topology at once. What finds no equilibrium beside others is asked again alone.

    One that nothing holds together is an error in a batch and a design with failing checks alone: so an answer does
    not depend on its neighbours.
    """
    try:
        found = layouts(designs, bodies)
    except JointError as error:
        if len(designs) == 1:
            yield error
            return
        apart = set(error.designs or range(len(designs)))
        sound = [i for i in range(len(designs)) if i not in apart]
        rest = _batch([designs[i] for i in sound], [bodies[i] for i in sound]) if sound else iter(())
        for i in range(len(designs)):
            yield next(_batch([designs[i]], [bodies[i]])) if i in apart else next(rest)
        return
    for layout in found:
        cases = layout.design.load_cases
        onset = min(least_onset(layout, case) for case in cases)
        yield Solved(layout.mass, tuple(screened(layout, case) for case in cases), onset)


def layouts(designs: Sequence[Design], bodies: Sequence[Body]) -> list[Layout]:
    """Designs of one topology, solved at every stage of their lives. Raises `JointError`."""
    pair = response.frame_pair(bodies, give=False)
    known = lives(designs, bodies, pair)
    stages = solve_all(designs, bodies, {"frame": pair}, known, steps=0)
    each = zip(designs, bodies, metals(bodies), known, stages, strict=True)
    return [Layout(d, body, metal, weigh(d, body), life, found) for d, body, metal, life, found in each]
