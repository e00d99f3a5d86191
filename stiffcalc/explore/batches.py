"""Many designs of one study solved at once by the frame, with the stages, load cases and checks of an assessment."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from stiffcalc.caliper import response
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import Layout, Screened, screening
from stiffcalc.caliper.cases import least_onset as case_onset
from stiffcalc.caliper.life import ENDS, EXTREMES, life
from stiffcalc.caliper.measures import weigh
from stiffcalc.caliper.metal import metals
from stiffcalc.caliper.stages import solve as solve_stages
from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.answers import Answers, Index, Piece, gathered
from stiffcalc.explore.answers import Found as Found
from stiffcalc.explore.answers import Solved as Solved
from stiffcalc.mechanics import trees
from stiffcalc.mechanics.joint_state import JointError
from stiffcalc.milling import WallShape
from stiffcalc.study.schema import Design, Life, LoadCase, Port

WHOLE = (LoadCase, Life, Port, WallShape)  # the same in all designs of a batch, numbers too
BATCH = 4096  # designs solved at once, 0.4 GB of memory; fewer cost more calls

T = TypeVar("T")


def answer(design: Design, count: int, *, batch: int = BATCH) -> Answers:
    """Answer a batch of `count` designs of one key (see `mechanics.trees`), as `solve` does."""
    pieces: list[Piece] = []
    errors: dict[int, ConvergenceError] = {}
    for designs, found in solved(design, count, batch=batch, brief=True):
        if isinstance(found, ConvergenceError):
            errors |= dict.fromkeys(designs.tolist(), found)
        else:
            mass = trees.column(found.mass.total, len(designs))
            pieces.append(Piece(designs, mass, least_onset(found), screenings(found)))
    return gathered(pieces, errors, count)


def solve(designs: Sequence[Design], *, batch: int = BATCH) -> list[Found]:
    """Answer each design by the frame, its joint faces moving as planes: exact while closed and without reliefs.

    Designs of one key are solved together, at most `batch` at once. The error stands in for a design whose joint
    finds no equilibrium.
    """
    return together(designs, _answered, batch=batch, brief=True)


def key(design: Design) -> Hashable:
    """What designs must have in common to be stacked and answered as one batch (`mechanics.trees.stack`)."""
    return trees.shape(replace(design, name=""), whole=WHOLE), _bridges_of_bolts(design)


def _bridges_of_bolts(design: Design) -> tuple[int, ...]:
    c = design.caliper
    return tuple(next(i for i, b in enumerate(c.bridges) if b.x[0] <= q.x <= b.x[1]) for q in c.bolts)


def alike(designs: Sequence[Design]) -> list[list[int]]:
    """Places of designs, those of one key together."""
    groups: dict[Hashable, list[int]] = {}
    for i, design in enumerate(designs):
        groups.setdefault(key(design), []).append(i)
    return list(groups.values())


def together(
    designs: Sequence[Design],
    read: Callable[[Layout], Sequence[T]],
    *,
    batch: int = BATCH,
    steps: int = 0,
    brief: bool = False,
) -> list[T | ConvergenceError]:
    """What `read` makes of each design's answer, as `solve`; it is given whole batches.

    steps: of a pressure sweep beside the load cases.
    """
    found: dict[int, T | ConvergenceError] = {}
    for group in alike(designs):
        whole = stacked_designs([designs[i] for i in group])
        for own, answer_ in solved(whole, len(group), batch=batch, steps=steps, brief=brief):
            parts = [answer_] * len(own) if isinstance(answer_, ConvergenceError) else read(answer_)
            found |= {group[d]: part for d, part in zip(own, parts, strict=True)}
    return [found[i] for i in range(len(designs))]


def solved(
    design: Design, count: int, *, batch: int = BATCH, steps: int = 0, brief: bool = False
) -> Iterator[tuple[Index, Layout | ConvergenceError]]:
    """Designs of one key, at most `batch` at once: which of them, and their layouts or why there is no equilibrium.

    What finds no equilibrium beside others is asked again alone: one that nothing holds together is an error in a batch
    and a design with failing checks alone. So an answer does not depend on its neighbours.
    """

    def found(own: Design, designs: Index) -> Iterator[tuple[Index, Layout | ConvergenceError]]:
        try:
            yield designs, layout(own, len(designs), steps=steps, brief=brief)
            return
        except JointError as error:
            if len(designs) == 1:
                yield designs, error
                return
            apart = np.isin(np.arange(len(designs)), error.designs or range(len(designs)))
        for some in (np.flatnonzero(~apart), *(np.array([d]) for d in np.flatnonzero(apart))):
            if len(some):
                yield from found(trees.taken(own, some), designs[some])

    for designs in np.array_split(np.arange(count), max(1, -(-count // batch))):
        yield from found(design if len(designs) == count else trees.taken(design, designs), designs)


def screenings(found: Layout) -> tuple[Screened, ...]:
    """Every load case's checks and sentences."""
    return tuple(screening(found, case) for case in found.design.load_cases)


def least_onset(found: Layout) -> Array:
    """Least onset pressure of all joint faces and load cases, (D,)."""
    return np.asarray(np.minimum.reduce([case_onset(found, case) for case in found.design.load_cases]))


def _answered(found: Layout) -> list[Solved]:
    cases, onset = screenings(found), least_onset(found)
    return [
        Solved(trees.single(found.mass, d), tuple(c.one(d) for c in cases), float(onset[d]))
        for d in range(len(onset))
    ]


def stacked_designs(designs: Sequence[Design]) -> Design:
    """Designs of one key as one batch, under the first one's name."""
    return trees.stack([replace(d, name=designs[0].name) for d in designs], whole=WHOLE)


def layout(design: Design, count: int, *, steps: int = 0, brief: bool = False) -> Layout:
    """A batch of `count` designs solved at every stage of life; `steps` of a sweep. Raises `JointError`.

    `brief` leaves out nominal preloads, openings along the wall and where the spread comes from, which no check reads.
    """
    body = build(design, count)
    pair, lines = response.frame(body, give=False, brief=brief)
    known = life(design, body, pair, ends=EXTREMES if brief else ENDS)
    stages = solve_stages(design, body, {"frame": pair}, known, steps=steps)
    return Layout(design, body, metals(body, lines), weigh(design, body), known, stages)
