"""What a sizing came to: which round's point is reported, what holds it, what an assessment says of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from stiffcalc.caliper.assess import CAUTIONS, LEFT_OUT, catalogue_notes
from stiffcalc.caliper.results import Check, worst_first
from stiffcalc.caliper.section_study import LEFT_OUT_HERE, described
from stiffcalc.caliper.section_uses import Limit
from stiffcalc.condensed import Array
from stiffcalc.explore.batches import screenings
from stiffcalc.explore.size_checks import RESERVE
from stiffcalc.explore.size_job import Job
from stiffcalc.explore.size_look import Looked
from stiffcalc.explore.size_results import FREE, HIGH_END, LOW_END, Held, Sized, SizeResult, Step, Unmet
from stiffcalc.explore.size_state import Entry, State, Turn
from stiffcalc.explore.size_words import verdict
from stiffcalc.study.schema import Study
from stiffcalc.version import __version__

STILL = 0.005  # of a range: a round that moves no dimension further has found where it ends
MET = 1.005  # a section's use up to which a limit counts as met: scatter of meshes; checks have none
ACTIVE = 0.98
IDLE = 1e-6  # of a use over a whole range
AT_BOUND = 1e-3  # of a range
HOW = (
    "Forces: at every design asked about, each finite step too, N, Mx and preloads by the frame at those dimensions, "
    "plus what the full response differs from it at the round's point; renewed at every round.",
    "Slopes: differences over 0.0002 of each range on one mesh, whose nodes move and whose elements stay; a section is "
    "meshed anew where its parts change or its worst triangle loses half its quality, which the history says.",
    "Limits: fillets and hole edges against yield and fatigue, all metal 2 mm from sharp corners and ends of heads "
    "against the allowed stress of the load case, rotation where asked; every load case at its own temperature, both "
    "ends of the preload.",
)
HELD = (
    "Checks: each that the full response meets at the start and the frame makes too is a limit in each load case, by "
    "its worst place: the frame's use plus what the full response differs from it at the round's point, kept 0.2 % "
    "clear. Others are reported at the end: what is missed at the start, and tilt, which only the front view knows."
)
NOT_HELD = "Checks of an assessment are not limits (hold_checks = false); they are asked at the end."


def over(turn: Turn, limits: Sequence[Limit]) -> float:
    """By how much the worst limit is missed at a round's point; 0 and less: met."""
    rows = zip(turn.uses, limits, strict=True)
    return max(use - (1.0 if limit.check else MET) for use, limit in rows)


def met(turn: Turn, limits: Sequence[Limit]) -> bool:
    """Whether a round's point meets every limit."""
    return over(turn, limits) <= 0.0


def settled(turns: Sequence[Turn], job: Job) -> bool:
    """Whether the last of several rounds' points is where the one before it was."""
    if len(turns) < 2:
        return False
    last, before = np.array(turns[-1].x), np.array(turns[-2].x)
    return bool(np.all(np.abs(last - before) <= STILL * (job.high - job.low)))


def best(turns: Sequence[Turn], limits: Sequence[Limit], job: Job) -> int:
    """The round whose point is reported: the last where it settled, else the lightest that meets every limit."""
    fine = [i for i, t in enumerate(turns) if met(t, limits)]
    if settled(turns, job) and (len(turns) - 1 in fine or not fine):
        return len(turns) - 1
    if fine:
        return min(fine, key=lambda i: turns[i].mass)
    return min(range(len(turns)), key=lambda i: over(turns[i], limits))


def result(study: Study, job: Job, state: State, at: int, looked: Sequence[Looked]) -> SizeResult:
    """The answer from the point of round `at`; `looked`: the start and that point."""
    turns = state.turns
    start, end = looked
    first, last = turns[0], turns[at]
    ended = at == len(turns) - 1 and settled(turns, job)
    checks, unmet = _unmet(start, end)
    dimensions = tuple(_sized(job, i, first.x[i], last.x[i]) for i in range(len(last.x)))
    limits, fine = _held(state, job, first, last), met(last, state.limits)
    masses, model = (first.mass, last.mass), end.layout.headline
    return SizeResult(
        title=study.title,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        layout=job.layout,
        cautions=CAUTIONS,
        defaults_used=(*job.plan.defaults_used, *study.defaults_used),
        how=(*HOW, HELD if job.plan.hold_checks else NOT_HELD),
        notices=(*(() if job.front_view else (LEFT_OUT,)), LEFT_OUT_HERE, *catalogue_notes(study)),
        inputs=study.source,
        model=model,
        verdict=verdict(dimensions, limits, masses, settled=ended, met=fine, unmet=unmet, model=model),
        settled=ended,
        met=fine,
        start_mass=first.mass,
        end_mass=last.mass,
        rounds=len(turns),
        dimensions=dimensions,
        limits=limits,
        history=tuple(_history(state)),
        unmet=unmet,
        checks=checks,
        changes=job.changes(np.array(last.x)),
        before=tuple(described(r) for r in start.readings),
        after=tuple(described(r) for r in end.readings),
    )


def _sized(job: Job, i: int, start: float, end: float) -> Sized:
    d = job.plan.dimensions[i]
    near = AT_BOUND * (d.high - d.low)
    bound = LOW_END if end - d.low <= near else HIGH_END if d.high - end <= near else FREE
    return Sized(d.paths, d.low, d.high, float(job.drawn[i]), start, end, bound)


def _held(state: State, job: Job, first: Turn, last: Turn) -> tuple[Held, ...]:
    """Limits, most used first. One that dimensions cannot bring to its end holds nothing, however much is used."""
    rows = zip(state.limits, first.uses, last.uses, reach(state.turns, job.high - job.low), strict=True)
    found = [
        Held(limit, a, b, b >= ACTIVE and b + r >= 1.0 - RESERVE and r > IDLE) for limit, a, b, r in rows
    ]
    return tuple(sorted(found, key=lambda h: -h.end_use))


def reach(turns: Sequence[Turn], span: Array) -> list[float]:
    """By how much a dimension's range moves the use of each limit, by the steepest slope; infinite without slopes."""
    slopes = [e.use_slopes for t in turns for e in t.entries if e.use_slopes is not None]
    if not slopes:
        return [float("inf")] * len(turns[0].uses)
    return [float(r) for r in np.max(np.abs(np.array(slopes)) * span, axis=(0, 2))]


def _unmet(start: Looked, end: Looked) -> tuple[int, tuple[Unmet, ...]]:
    """How many checks an assessment makes of the sized layout, and those it does not meet."""
    started: dict[tuple[str, str], float] = {}
    for case, check in _checked(start):
        started.setdefault((case, check.id), check.margin)
    own = _checked(end)
    unmet = [Unmet(case, c.what, c.margin, started.get((case, c.id))) for case, c in own if not c.met]
    return len(own), tuple(sorted(unmet, key=lambda u: worst_first(u.margin)))


def _checked(found: Looked) -> list[tuple[str, Check]]:
    """Checks by load case, worst first."""
    return [(s.case.name, check) for s in screenings(found.layout) for check in s.checks.one(0)]


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
