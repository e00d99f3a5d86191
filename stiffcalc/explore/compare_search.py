"""The search for one layout's least spread at several masses: designs of its free dimensions, by the frame."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.explore import sampling
from stiffcalc.explore.compare_layouts import Candidate
from stiffcalc.explore.compare_rho import Anchor, corrected, recorrected
from stiffcalc.explore.refine import refine
from stiffcalc.explore.sampling import Choice
from stiffcalc.explore.search import (
    Budget,
    Evaluation,
    Space,
    beside,
    first,
    generation,
    joined,
    leading,
)
from stiffcalc.explore.sweep_chunk import EVALUATED, MARGIN, REFUSED, Columns, Job, decoded, evaluated
from stiffcalc.study.schema import SweepPlan
from stiffcalc.study.sweep import MOST_SEED

AXES = ("spread", "mass")  # checks that the curves themselves show
SHAKEN, SHAKE = 40, 0.1  # designs about the best one of each mass, and how far they lie off, of a range
RADIUS = 0.04  # of the steps that follow
AROUND = (0.9, 1.1)  # of a mass: whose designs are starts for it too
SPREAD_OUT = (5.0, 35.0, 65.0, 95.0)  # percent of the masses drawn: budgets of the first generations
SEED_OF_MASSES = MOST_SEED + 1  # no study's own: masses chosen are the same for every seed


@dataclass(frozen=True)
class Effort:
    """How much is evaluated for each layout."""

    first: int  # designs spread over all dimensions, twice
    early: int  # generations before the masses are chosen
    generations: int
    each: int  # designs of a generation for each mass
    rounds: int  # of steps by slopes
    again: int  # of such steps once the front view has answered
    shakes: int  # times that chance about the best designs, then steps by slopes again, follow


EFFORTS = {
    "quick": Effort(64, 1, 3, 6, 6, 3, 0),
    "usual": Effort(256, 2, 8, 12, 12, 8, 3),
    "thorough": Effort(1024, 4, 24, 24, 30, 12, 10),
}

Done = Callable[[str], None]


@dataclass(frozen=True)
class Searched:
    """All designs of one layout evaluated so far."""

    candidate: Candidate
    source: Mapping[str, object]
    known: Evaluation
    random: np.random.Generator
    anchors: tuple[Anchor, ...] = ()  # by which the margins of `known` are corrected
    by_mass: bool = False  # mass and cost are in each other's place

    @property
    def space(self) -> Space:
        """The cube of its free dimensions."""
        stepped = np.array([bool(k.levels) for k in self.candidate.keys], dtype=bool)
        return Space(len(stepped), stepped)

    def evaluate(self, x: Array) -> Evaluation:
        """Designs of the cube by the frame, margins corrected."""
        found = read(self.candidate, columns(self.candidate, self.source, x), x)
        return corrected(_exchanged(found) if self.by_mass else found, self.anchors)

    def turned(self) -> Searched:
        """The same designs, mass and cost in each other's place: what is least within a budget is the other."""
        return replace(self, known=_exchanged(self.known), by_mass=not self.by_mass)

    def anchored(self, anchors: tuple[Anchor, ...]) -> Searched:
        """The same designs, their margins corrected by other anchors."""
        return replace(self, known=recorrected(self.known, self.anchors, anchors), anchors=anchors)


def job(candidate: Candidate, source: Mapping[str, object]) -> Job:
    """What evaluates designs of a layout; of its plan only layout and keys count."""
    plan = SweepPlan("sobol", 1, 0, "least spread", 0, candidate.name, candidate.keys, ())
    return Job(source, candidate.changes, plan)


def choices(candidate: Candidate, x: Array) -> Array:
    """What designs (n, d) of the cube take of each key, (n, d)."""
    return np.stack([sampling.chosen(k, u) for k, u in zip(candidate.keys, x.T, strict=True)], axis=-1)


def choice(candidate: Candidate, x: Array) -> Choice:
    """What one design of the cube takes of each key."""
    return tuple(float(v) for v in choices(candidate, x[None])[0])


def columns(candidate: Candidate, source: Mapping[str, object], x: Array) -> Columns:
    """The columns of designs (n, d) of the cube."""
    return evaluated(job(candidate, source), choices(candidate, x))


def read(candidate: Candidate, found: Columns, x: Array) -> Evaluation:
    """What the search needs of the columns: spread, whole mass, margins of all checks but those the curves show.

    A design with a margin that is no number (minus infinity in the columns) cannot be had: it never meets its checks.
    """
    names = [n for n in found if n.startswith(MARGIN) and n.removeprefix(MARGIN) not in AXES]
    margins = {n.removeprefix(MARGIN): np.asarray(found[n], dtype=float) for n in names}
    held = (found["status"] == EVALUATED) & np.isfinite(np.asarray(found["spread_mm"], dtype=float))
    for margin in margins.values():
        held &= ~np.isneginf(margin)
    return Evaluation(
        x=x,
        cost=np.where(held, np.asarray(found["spread_mm"], dtype=float), np.nan),
        mass=np.asarray(found["mass_kg"], dtype=float) + candidate.extra,
        margins={n: np.where(np.isnan(m), np.inf, m) for n, m in margins.items()},
    )


def begin(
    candidate: Candidate, source: Mapping[str, object], effort: Effort, *, seed: int, number: int, done: Done
) -> Searched:
    """Designs spread over the cube, a few generations, and the way to the lightest.

    Raises InputError where none of them can be had.
    """
    start = Searched(candidate, source, _NONE, np.random.default_rng([seed, number]))
    seeds = (SEED_OF_MASSES, seed)
    known = joined([first(start.evaluate, start.space, count=effort.first, seed=n) for n in seeds])
    if not np.isfinite(known.cost).any():
        raise InputError([_nothing(candidate, source, known.x)])
    done(f"{candidate.name}: first designs")
    masses = np.percentile(known.mass[np.isfinite(known.cost)], SPREAD_OUT)
    found = Searched(candidate, source, known, start.random)
    for _ in range(effort.early):
        found = grown(found, [Budget(float(m)) for m in masses], effort.each)
        done(f"{candidate.name}: early generation")
    found = lightened(found, effort)
    done(f"{candidate.name}: lightest")
    return found


_NONE = Evaluation(np.empty((0, 0)), np.empty(0), np.empty(0), {})


def _nothing(candidate: Candidate, source: Mapping[str, object], x: Array) -> Fault:
    """Why no design could be had: the most frequent reason."""
    found = columns(candidate, source, x)
    said = [decoded(found["reason_texts"][i]) for i in found["reason"]]
    reason, count = Counter(s for s in said if s).most_common(1)[0] if any(said) else ("no design holds", 0)
    return Fault(
        "explore",
        f"no design of '{candidate.name}' that can be had among {len(x)} ({count} times: {reason})",
        "free dimensions within which bodies are possible",
        "narrow their ranges about a body that stiffcalc assess answers",
    )


def grown(s: Searched, budgets: Sequence[Budget], each: int) -> Searched:
    """One generation more."""
    x = generation(s.known, budgets, each, s.random)
    return replace(s, known=joined([s.known, s.evaluate(x)]))


def lightened(s: Searched, effort: Effort) -> Searched:
    """Designs towards the lightest that meets its checks: mass takes the place of cost."""
    much = replace(effort, each=len(SPREAD_OUT) * effort.each)
    return searched(s.turned(), [np.inf], much, done=lambda word: None).turned()


def _exchanged(found: Evaluation) -> Evaluation:
    """Cost and mass in each other's place; designs that cannot be had stay so."""
    return replace(found, cost=np.where(np.isfinite(found.cost), found.mass, np.nan), mass=found.cost)


def searched(s: Searched, masses: Sequence[float], effort: Effort, *, done: Done) -> Searched:
    """Generations for the masses, then steps by slopes."""
    budgets = [Budget(m) for m in masses]
    for _ in range(effort.generations):
        s = grown(s, budgets, effort.each)
        done(f"{s.candidate.name}: generation")
    for step in improved(s, budgets, radius=0.1, rounds=effort.rounds, starts=around(s, budgets)):
        s = step
        done(f"{s.candidate.name}: steps by slopes")
    for _ in range(effort.shakes):
        s = shaken(s, budgets)
        for step in improved(s, budgets, radius=RADIUS, rounds=effort.again):
            s = step
        done(f"{s.candidate.name}: chance about the best")
    return s


def shaken(s: Searched, budgets: Sequence[Budget]) -> Searched:
    """Designs by chance about the best of every mass more."""
    x = beside(s.known, budgets, SHAKEN, SHAKE, s.random)
    return replace(s, known=joined([s.known, s.evaluate(x)]))


def improved(
    s: Searched,
    budgets: Sequence[Budget],
    *,
    radius: float,
    rounds: int,
    starts: Sequence[tuple[Budget, int]] = (),
) -> Iterator[Searched]:
    """All designs known after each round of steps."""
    found = refine(
        s.evaluate, s.space, s.known, budgets, radius=radius, least=1e-3, rounds=rounds, starts=starts
    )
    for known in found:
        yield replace(s, known=known)


def around(s: Searched, budgets: Sequence[Budget]) -> list[tuple[Budget, int]]:
    """Where the designs stand that lead at somewhat less and more mass: the best of this one may be of their kind."""
    places = {(b, leading(s.known, Budget(share * b.mass))): None for b in budgets for share in AROUND}
    return [(b, row) for b, row in places if row != leading(s.known, b)]


def barred(s: Searched, x: Array, reach: float) -> tuple[str, ...]:
    """Why designs a little beside one cannot be had: rules of the study file that are about to be broken."""
    steps = np.concatenate([np.diag(np.full(len(x), by)) for by in (-reach, reach)])
    inside = np.clip(x + steps, 0.0, 1.0)
    found = columns(s.candidate, s.source, inside)
    said = [decoded(found["reason_texts"][i]) for i in found["reason"][found["status"] == REFUSED]]
    return tuple(
        dict.fromkeys(
            f"{t.split(': found ')[0]}: {t.split('; allowed: ')[-1].split('; mend: ')[0]}" for t in said
        )
    )
