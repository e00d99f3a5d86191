"""Many designs of one study solved at once by the frame, with the stages, load cases and checks of an assessment."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from stiffcalc.caliper import response
from stiffcalc.caliper.body import Body, HalfShape
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import Layout, least_onset, screened
from stiffcalc.caliper.life import lives
from stiffcalc.caliper.measures import weigh
from stiffcalc.caliper.metal import metals
from stiffcalc.caliper.stages import solve_all
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.answers import Answers, gathered
from stiffcalc.explore.answers import Found as Found
from stiffcalc.explore.answers import Solved as Solved
from stiffcalc.mechanics import trees
from stiffcalc.mechanics.joint_state import JointError
from stiffcalc.study.schema import Design, Life, LoadCase, Port

WHOLE = (LoadCase, Life, Port)  # the same in all designs of a batch, numbers too
BATCH = 128  # designs solved at once

T = TypeVar("T")


def answer(design: Design, count: int) -> Answers:
    """Answer a batch of `count` designs of one topology (see `mechanics.trees`), as `solve` does."""
    return gathered(solve(list(trees.unstack(design, count))))


def solve(designs: Sequence[Design], *, batch: int = BATCH) -> list[Found]:
    """Answer each design by the frame, its joint faces moving as planes: exact while closed and without reliefs.

    Designs of one topology are solved together, at most `batch` at once. The error stands in for a design whose joint
    finds no equilibrium.
    """
    return each(designs, _solved, batch=batch)


def key(design: Design) -> Hashable:
    """What designs must have in common to be stacked and answered as one batch (`mechanics.trees.stack`)."""
    return trees.shape(replace(design, name=""), whole=WHOLE)


def each(
    designs: Sequence[Design], read: Callable[[Layout], T], *, batch: int = BATCH, steps: int = 0
) -> list[T | ConvergenceError]:
    """What `read` makes of each design's answer, as `solve`; `steps` of a pressure sweep beside the load cases."""
    bodies = [build(d) for d in designs]
    alike: dict[Hashable, list[int]] = {}
    for i, (design, body) in enumerate(zip(designs, bodies, strict=True)):
        alike.setdefault(topology(design, body), []).append(i)
    found: dict[int, T | ConvergenceError] = {}
    for group in alike.values():
        for some in (group[k : k + batch] for k in range(0, len(group), batch)):
            answers = _batch([designs[i] for i in some], [bodies[i] for i in some], read, steps)
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


def _batch(
    designs: Sequence[Design], bodies: Sequence[Body], read: Callable[[Layout], T], steps: int
) -> Iterator[T | ConvergenceError]:
    """Designs of one topology at once. What finds no equilibrium beside others is asked again alone.

    One that nothing holds together is an error in a batch and a design with failing checks alone: so an answer does
    not depend on its neighbours.
    """
    try:
        found = layouts(designs, bodies, steps=steps)
    except JointError as error:
        if len(designs) == 1:
            yield error
            return
        apart = set(error.designs or range(len(designs)))
        sound = [i for i in range(len(designs)) if i not in apart]
        sub = [designs[i] for i in sound], [bodies[i] for i in sound]
        rest = _batch(*sub, read, steps) if sound else iter(())
        for i in range(len(designs)):
            yield next(_batch([designs[i]], [bodies[i]], read, steps)) if i in apart else next(rest)
        return
    yield from map(read, found)


def _solved(layout: Layout) -> Solved:
    cases = layout.design.load_cases
    onset = min(least_onset(layout, case) for case in cases)
    return Solved(layout.mass, tuple(screened(layout, case) for case in cases), onset)


def layouts(designs: Sequence[Design], bodies: Sequence[Body], *, steps: int = 0) -> list[Layout]:
    """Designs of one topology, solved at every stage of their lives; `steps` of a sweep. Raises `JointError`."""
    pair = response.frame_pair(bodies, give=False)
    known = lives(designs, bodies, pair)
    stages = solve_all(designs, bodies, {"frame": pair}, known, steps=steps)
    rows = zip(designs, bodies, metals(bodies), known, stages, strict=True)
    return [Layout(d, body, metal, weigh(d, body), life, found) for d, body, metal, life, found in rows]
