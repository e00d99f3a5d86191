"""The job: dimensions of one layout's sections sized for least mass. No files, no printing.

Rounds. Each begins with the full response at its point and sections on adaptive meshes, which say what every limit is
used to; a search on moving meshes (`size_round`, `size_search`) then goes to its best point, where the next round
begins. It ends where a round leaves the dimensions where they were: the figures reported are then those of adaptive
meshes and of the full response at the very dimensions reported.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from stiffcalc.caliper.assess import Progress, silent, solved
from stiffcalc.condensed import Array
from stiffcalc.errors import StiffcalcError
from stiffcalc.explore.size_answer import best, met, result, settled
from stiffcalc.explore.size_job import Job
from stiffcalc.explore.size_look import Looked, look
from stiffcalc.explore.size_results import SizeResult
from stiffcalc.explore.size_round import Round, mass, opened
from stiffcalc.explore.size_search import least
from stiffcalc.explore.size_state import Kept, State, Turn
from stiffcalc.study.schema import Study

MOST_ITERATIONS = 25  # of one round
DIGITS = 3  # decimals of a mm to which rounds end


def size(
    study: Study,
    job: Job,
    *,
    state: State,
    save: Callable[[], None] = lambda: None,
    progress: Progress = silent,
) -> SizeResult:
    """Go on from `state` (a new one at first) until dimensions stay or rounds run out.

    `save` is called after everything that changes `state`. Raises InputError where a round ends at a
    design that has no section, ConvergenceError where contact or a joint's equilibrium is not found.
    """
    seen: dict[int, Looked] = {}
    while not finished(state, job):
        if not state.turns or state.turns[-1].end is not None:
            x = (state.turns[-1].end if state.turns else None) or _given(job, job.start)
            progress(f"round {len(state.turns) + 1}: full response and adaptive meshes")
            seen[len(state.turns)] = found = look(job, np.array(x), state.limits)
            state.limits = state.limits or list(found.uses)
            if list(found.uses) != state.limits:
                raise StiffcalcError("a round ended where nothing holds the halves together in a load case")
            state.turns.append(Turn(x, mass(found.layout), list(found.uses.values())))
            save()
            continue
        _search(job, state, seen.get(len(state.turns) - 1), save, progress)
    at = best(state.turns, state.limits, job)
    progress("checks of an assessment")
    looked = [seen[i] if i in seen else look(job, np.array(state.turns[i].x), state.limits) for i in (0, at)]
    return result(study, job, state, at, looked)


def _search(
    job: Job, state: State, looked: Looked | None, save: Callable[[], None], progress: Progress
) -> None:
    """The search of the last round, to its end."""
    turn, number = state.turns[-1], len(state.turns)
    x = np.array(turn.x)

    def open_() -> Round:
        layout = looked.layout if looked else solved(job.read(x)[0], with_front_view=job.front_view)[0]
        known, first = (dict(zip(state.limits, t.uses, strict=True)) for t in (turn, state.turns[0]))
        return opened(job, x, layout, known, first)

    told = len(turn.entries)

    def tell() -> None:
        nonlocal told
        save()
        last = turn.entries[-1]
        if len(turn.entries) > told and last.cost is not None:
            told = len(turn.entries)
            progress(
                f"round {number}, design {len(turn.entries)}: {last.cost:.4f} kg, worst use {max(last.uses):.3f}"
            )

    found = least(Kept(turn, open_, tell), start=x, low=job.low, high=job.high, most=MOST_ITERATIONS)
    turn.end = _given(job, found.x)
    turn.iterations, turn.ended = found.iterations, found.ended
    save()


def _given(job: Job, x: Array) -> list[float]:
    """Dimensions as they are given: to `DIGITS`, inside their ranges."""
    return [float(v) for v in np.clip(np.round(x, DIGITS), job.low, job.high)]


def finished(state: State, job: Job) -> bool:
    """Whether rounds have run out, or the last one moved nothing.

    Where its point misses a limit by the little that it moved, one round more corrects that.
    """
    turns = state.turns
    if len(turns) < 2 or turns[-1].end is not None:
        return False
    done = settled(turns, job) and (met(turns[-1], state.limits) or settled(turns[:-1], job))
    return done or len(turns) > job.plan.rounds
