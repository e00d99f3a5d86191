"""The job: dimensions of one layout's sections sized for least mass. No files, no printing.

Rounds. Each begins with the full response at its point and sections on adaptive meshes, which say what every limit is
used to; a search on moving meshes (`size_round`, `size_search`) then goes to its best point, where the next round
begins. It ends where a round leaves the dimensions where they were: the figures reported are then those of adaptive
meshes and of the full response at the very dimensions reported.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.assess import (
    CAUTIONS,
    LEFT_OUT,
    Progress,
    catalogue_notes,
    silent,
    solved,
    variant_result,
)
from stiffcalc.caliper.cases import Layout
from stiffcalc.caliper.results import Check
from stiffcalc.caliper.section_read import Reading
from stiffcalc.caliper.section_study import LEFT_OUT_HERE, described, reading
from stiffcalc.caliper.section_uses import Limit, largest, uses
from stiffcalc.condensed import Array
from stiffcalc.errors import InputError, StiffcalcError
from stiffcalc.explore.size_job import Job
from stiffcalc.explore.size_results import FREE, HIGH_END, LOW_END, Held, Sized, SizeResult, Step, Unmet
from stiffcalc.explore.size_round import Round, mass, opened
from stiffcalc.explore.size_search import least
from stiffcalc.explore.size_state import Entry, Kept, State, Turn
from stiffcalc.explore.size_words import verdict
from stiffcalc.study.schema import Study
from stiffcalc.version import __version__

MOST_ITERATIONS = 25  # of one round
STILL = 0.005  # of a range: a round that moves no dimension further has found where it ends
DIGITS = 3  # decimals of a mm to which rounds end
MET = 1.005  # a use up to which a limit counts as met: scatter of meshes
ACTIVE = 0.98
AT_BOUND = 1e-3  # of a range
HOW = (
    "Forces: at every design asked about, each finite step too, N, Mx and preloads by the frame at those dimensions, "
    "plus what the full response differs from it at the round's point; renewed at every round.",
    "Slopes: differences over 0.0002 of each range on one mesh, whose nodes move and whose elements stay; a section is "
    "meshed anew where its parts change or its worst triangle loses half its quality, which the history says.",
    "Limits: fillets and hole edges against yield and fatigue, all metal 2 mm from sharp corners and ends of heads "
    "against the allowed stress of the load case, rotation where asked; every load case at its own temperature, both "
    "ends of the preload. What an assessment checks besides is not a limit here; it is asked at the end.",
)


@dataclass(frozen=True)
class Looked:
    """A point looked at with the full response and adaptive meshes."""

    layout: Layout
    readings: tuple[Reading, ...]
    uses: Mapping[Limit, float]


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
    while not finished(state.turns, job):
        if not state.turns or state.turns[-1].end is not None:
            x = (state.turns[-1].end if state.turns else None) or _given(job, job.start)
            progress(f"round {len(state.turns) + 1}: full response and adaptive meshes")
            seen[len(state.turns)] = found = look(job, np.array(x))
            state.limits = state.limits or list(found.uses)
            if list(found.uses) != state.limits:
                raise StiffcalcError("a round ended where nothing holds the halves together in a load case")
            state.turns.append(Turn(x, mass(found.layout), list(found.uses.values())))
            save()
            continue
        _search(job, state, seen.get(len(state.turns) - 1), save, progress)
    return _result(study, job, state, seen, progress)


def look(job: Job, x: Array) -> Looked:
    """The full response and adaptive meshes at x."""
    design, faults = job.read(x)
    if faults:
        raise InputError(faults)
    layout, _ = solved(design, with_front_view=job.front_view)
    found = tuple(reading(layout, i, side=side, accuracy=job.accuracy) for i, side in job.cuts)
    return Looked(layout, found, {k: v for r in found for k, v in largest(uses(r, job.plan)).items()})


def _search(
    job: Job, state: State, looked: Looked | None, save: Callable[[], None], progress: Progress
) -> None:
    """The search of the last round, to its end."""
    turn, number = state.turns[-1], len(state.turns)
    x = np.array(turn.x)

    def open_() -> Round:
        layout = looked.layout if looked else solved(job.read(x)[0], with_front_view=job.front_view)[0]
        return opened(job, x, layout, dict(zip(state.limits, turn.uses, strict=True)))

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


def finished(turns: Sequence[Turn], job: Job) -> bool:
    """Whether the last round's point is where the one before began, or rounds have run out."""
    if len(turns) < 2 or turns[-1].end is not None:
        return False
    return len(turns) > job.plan.rounds or still(turns, job)


def still(turns: Sequence[Turn], job: Job) -> bool:
    """Whether the last round moved nothing."""
    last, before = np.array(turns[-1].x), np.array(turns[-2].x)
    return bool(np.all(np.abs(last - before) <= STILL * (job.high - job.low)))


def best(turns: Sequence[Turn]) -> int:
    """The round whose point is reported: the last that moved nothing, else the lightest that meets every limit."""
    met = [i for i, t in enumerate(turns) if max(t.uses) <= MET]
    if met:
        return min(met, key=lambda i: turns[i].mass)
    return min(range(len(turns)), key=lambda i: max(turns[i].uses))


def _result(
    study: Study, job: Job, state: State, seen: Mapping[int, Looked], progress: Progress
) -> SizeResult:
    turns = state.turns
    settled = still(turns, job)
    at = len(turns) - 1 if settled else best(turns)
    first, last = turns[0], turns[at]
    progress("checks of an assessment by the frame")
    looked = [seen[i] if i in seen else look(job, np.array(turns[i].x)) for i in (0, at)]
    checks, unmet = _checks(job, np.array(last.x))
    dimensions = tuple(_sized(job, i, first.x[i], last.x[i]) for i in range(len(last.x)))
    limits = _held(state.limits, first, last)
    met = max(last.uses) <= MET
    return SizeResult(
        title=study.title,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        layout=job.layout,
        cautions=CAUTIONS,
        defaults_used=(*job.plan.defaults_used, *study.defaults_used),
        how=HOW,
        notices=(*(() if job.front_view else (LEFT_OUT,)), LEFT_OUT_HERE, *catalogue_notes(study)),
        inputs=study.source,
        model=looked[1].layout.headline,
        verdict=verdict(dimensions, limits, (first.mass, last.mass), settled=settled, met=met, unmet=unmet),
        settled=settled,
        met=met,
        start_mass=first.mass,
        end_mass=last.mass,
        rounds=len(turns),
        dimensions=dimensions,
        limits=limits,
        history=tuple(_history(state)),
        unmet=unmet,
        checks=checks,
        changes=job.changes(np.array(last.x)),
        before=tuple(described(r) for r in looked[0].readings),
        after=tuple(described(r) for r in looked[1].readings),
    )


def _sized(job: Job, i: int, start: float, end: float) -> Sized:
    d = job.plan.dimensions[i]
    near = AT_BOUND * (d.high - d.low)
    bound = LOW_END if end - d.low <= near else HIGH_END if d.high - end <= near else FREE
    return Sized(d.paths, d.low, d.high, float(job.drawn[i]), start, end, bound)


def _held(limits: Sequence[Limit], first: Turn, last: Turn) -> tuple[Held, ...]:
    rows = zip(limits, first.uses, last.uses, strict=True)
    found = [Held(limit, a, b, b >= ACTIVE) for limit, a, b in rows]
    return tuple(sorted(found, key=lambda h: -h.end_use))


def _checks(job: Job, x: Array) -> tuple[int, tuple[Unmet, ...]]:
    """How many checks an assessment by the frame makes of a design, and those it does not meet."""
    own, before = (_checked(job, p) for p in (x, job.start))
    started = {(case, c.id): c.margin for case, c in before}
    unmet = [Unmet(case, c.what, c.margin, started.get((case, c.id))) for case, c in own if not c.met]
    return len(own), tuple(sorted(unmet, key=lambda u: u.margin))


def _checked(job: Job, x: Array) -> list[tuple[str, Check]]:
    found = variant_result(job.read(x)[0], with_front_view=False)
    return [(case.name, check) for case in found.load_cases for check in case.checks]


def _history(state: State) -> Iterator[Step]:
    """Every point of a round and every design asked about, in their order."""
    for number, turn in enumerate(state.turns, start=1):
        point = Entry(turn.x, turn.mass, turn.uses)
        yield _step(number, point, state.limits, checked=True)
        for entry in turn.entries:
            yield _step(number, entry, state.limits, checked=False)


def _step(number: int, entry: Entry, limits: Sequence[Limit], *, checked: bool) -> Step:
    top = int(np.argmax(entry.uses)) if entry.uses else None
    return Step(
        round=number,
        iterate=checked or entry.cost_slope is not None,
        checked=checked,
        x=tuple(entry.x),
        mass=entry.cost,
        worst_use=None if top is None else entry.uses[top],
        worst=None if top is None else limits[top],
        notes=tuple(entry.notes),
    )
