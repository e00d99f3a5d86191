"""Last steps of a comparison, each judged by the model that counts: its own slopes where the search's are belied.

Steps are linear programmes as in `refine`, from the best design asked about: margins as answered, slopes of the search
times rho. Where an answer misses a margin by far more than foretold (a joint's corner that lifts all at once), the
slopes of that margin there, by finite steps of the model that counts, are one more plane that the margin must stay
above (cutting planes: J. E. Kelley, J. SIAM 8 (1960) 703, from memory). A margin missed by little is asked for anew,
with that much to spare.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.explore.compare_chosen import Chosen, Known, anchor, cost_of, design_of, pick
from stiffcalc.explore.compare_front import Asked, ask
from stiffcalc.explore.compare_results import kg
from stiffcalc.explore.compare_rho import Anchor
from stiffcalc.explore.compare_search import AXES, Done, Searched
from stiffcalc.explore.refine import NEAR, Slopes, on_each_side, programme, slopes_at
from stiffcalc.explore.search import MISSED, SAME_MASS, Budget, joined

STEPS = 24  # asked about for each mass, at most
CUTS = 4  # times that slopes are taken of the model that counts, for each mass
MENDS = 3  # times that a margin missed by little is asked for anew
RADIUS, LEAST, MOST = 0.1, 4e-3, 0.2  # of a step
WIDER, NARROWER = 1.6, 0.4
USED = 0.99  # of a mass: less is left unused
SPARE = 1e-3  # of a margin
WORTH = 2e-3  # relative gain that a step must promise
WORTH_MASS = 5e-4  # the same of a mass, which is better known
GAINED = 5e-4  # relative gain that counts
FAR = 0.03  # a margin missed by so much more than foretold is on another slope
LOST = -0.7  # a margin near its least, -1, has no slope
SPAN = 0.02  # of a finite step
REACH = 0.4  # of the cube: how far from it a plane counts


@dataclass(frozen=True)
class Plane:
    """A margin and its slopes at one design, by the model that counts."""

    name: str
    x: Array
    margin: float
    slopes: Array

    def at(self, x: Array) -> float:
        """The margin by it at another design."""
        return float(self.margin + self.slopes @ (x - self.x))


@dataclass(frozen=True)
class Place:
    """Where the steps of one mass stand."""

    chosen: Chosen
    slopes: Slopes
    rho: Anchor
    radius: float
    spare: Mapping[str, float] = field(default_factory=dict)  # asked for beyond SPARE, by margin
    mends: int = 0


def polished(
    s: Searched,
    known: Known,
    masses: Sequence[float],
    *,
    planes: list[Plane],
    front_view: bool,
    done: Done,
) -> Searched:
    """The search with the designs of these steps; `known` gets their answers, `planes` what they met. Lightest first.

    Of a search by mass, with no budget but infinity, the steps go to the lightest design that meets its checks.
    """
    for mass in masses:
        budget = Budget(mass)
        for start in (_led, _full):
            found = start(s, known, budget)
            s = s if found is None else _mass(s, known, budget, found, planes, front_view)
        done(f"{s.candidate.name}: last steps {'to the lightest' if s.by_mass else f'at {kg(mass)} kg'}")
    return s


def _led(s: Searched, known: Known, budget: Budget) -> Chosen | None:
    return pick(s, budget.mass, known)


def _full(s: Searched, known: Known, budget: Budget) -> Chosen | None:
    """Where the design that leads leaves mass unused, cliffs may hold it: the best that uses it, what it misses priced.

    None where the mass is used, or nothing that uses it was asked about.
    """
    led = pick(s, budget.mass, known)
    if led is None or s.known.mass[led.row] >= USED * budget.mass:
        return None
    found = [
        Chosen(row, a)
        for row, a in known.items()
        if isinstance(a, Asked)
        and cost_of(s, row, a) is not None
        and USED * budget.mass <= s.known.mass[row] <= (1.0 + SAME_MASS) * budget.mass
    ]
    return min(found, key=lambda c: _merit(s, c, budget), default=None)


def _mass(
    s: Searched, known: Known, budget: Budget, start: Chosen, planes: list[Plane], front_view: bool
) -> Searched:
    rho = anchor(s.anchored(()), start.row, start.asked, 0.0)
    place, cuts = Place(start, _slopes(s, rho, budget), rho, RADIUS), 0
    for _ in range(STEPS):
        x = _step(s, place, budget, planes)
        if x is None or place.radius < LEAST:
            break
        s, row = _asked(s, known, x, front_view)
        answer = known.get(row)
        if not isinstance(answer, Asked) or cost_of(s, row, answer) is None:
            place = _nearer(place)
            continue
        trial = Chosen(row, answer)
        if _merit(s, trial, budget) < (1.0 - GAINED) * _merit(s, place.chosen, budget):
            rho = _rho(s, trial, place.rho, planes)
            place = Place(trial, _slopes(s, rho, budget), rho, min(MOST, WIDER * place.radius))
            continue
        short = _short(s, place, trial, planes)
        belied = [n for n, by in short.items() if by > FAR]
        if belied and cuts < CUTS and min(answer.worst()[n] for n in belied) > LOST:
            cuts += 1
            s = _cut(s, known, place, trial, belied, planes, front_view)
            place = replace(place, spare={}, mends=0)
        elif short and not belied and place.mends < MENDS:
            spare = {n: place.spare.get(n, 0.0) + short.get(n, 0.0) for n in {**place.spare, **short}}
            place = replace(place, spare=spare, mends=place.mends + 1)
        else:
            place = _nearer(place)
    return s


def _nearer(place: Place) -> Place:
    return replace(place, radius=NARROWER * place.radius, spare={}, mends=0)


def _merit(s: Searched, chosen: Chosen, budget: Budget) -> float:
    over = max(0.0, float(s.known.mass[chosen.row]) / budget.mass - 1.0 - SAME_MASS)
    cost = cost_of(s, chosen.row, chosen.asked)
    assert cost is not None  # only such are chosen
    return cost * (1.0 + MISSED * (chosen.asked.missed(AXES) + over))


def _rho(s: Searched, chosen: Chosen, before: Anchor, planes: Sequence[Plane]) -> Anchor:
    """rho at a design; as before for a margin that a plane gives there, since the search's slope is not its own."""
    found, worst = anchor(s.anchored(()), chosen.row, chosen.asked, 0.0), chosen.asked.worst()
    on = {p.name for p in _near(found.x, planes) if abs(p.at(found.x) - worst[p.name]) < FAR}
    return replace(
        found, rho={n: max(r, before.rho.get(n, r)) if n in on else r for n, r in found.rho.items()}
    )


def _slopes(s: Searched, rho: Anchor, budget: Budget) -> Slopes:
    """Slopes of the search at the design of an anchor, its margins times rho."""
    near = replace(s.anchored(()), anchors=(rho,))
    found = near.evaluate(np.concatenate([rho.x[None], on_each_side(rho.x, RADIUS, s.space)]))
    return slopes_at(found, 0, np.arange(1, len(found)), budget, s.space)


def _near(x: Array, planes: Sequence[Plane]) -> list[Plane]:
    return [p for p in planes if np.abs(p.x - x).max() < REACH]


def _step(s: Searched, place: Place, budget: Budget, planes: Sequence[Plane]) -> Array | None:
    """The next design (d,), within the mass by the search; None where no step promises anything."""
    x, own, near = s.known.x[place.chosen.row], place.slopes, _near(s.known.x[place.chosen.row], planes)
    names = (*own.names, *(p.name for p in near))
    spare = np.array([place.spare.get(n, 0.0) + (SPARE if n else 0.0) for n in names])
    here = np.array([*own.here, *(p.at(x) for p in near)]) - spare
    both = replace(
        own, names=names, here=here, margins=np.concatenate([own.margins, *(p.slopes[None] for p in near)])
    )
    by = programme(both, radius=place.radius, here=here)
    over = float(s.evaluate(np.clip(x + by, 0.0, 1.0)[None]).mass[0]) / budget.mass - 1.0 - SAME_MASS
    if over > 0.0:  # the mass is no plane
        heavy = np.equal(names, "")
        told = float((here + both.margins @ by)[heavy].sum())
        by = programme(both, radius=place.radius, here=here - np.where(heavy, over + told, 0.0))
    missed = place.chosen.asked.missed(AXES) > 0.0
    worth = WORTH_MASS if s.by_mass else WORTH
    if (not missed and float(-own.cost @ by) < worth) or float(np.abs(by).max()) < SPARE:
        return None
    found: Array = np.clip(x + by, 0.0, 1.0)
    return found


def _asked(s: Searched, known: Known, x: Array, front_view: bool) -> tuple[Searched, int]:
    """The search with one design more, and its row; answered if it can be had."""
    row = len(s.known)
    s = replace(s, known=joined([s.known, s.evaluate(x[None])]))
    if np.isfinite(s.known.cost[row]):
        known[row] = ask(design_of(s, row), front_view=front_view)
    return s, row


def _short(s: Searched, place: Place, trial: Chosen, planes: Sequence[Plane]) -> dict[str, float]:
    """By how much margins that a design misses lie below what was foretold of it."""
    x, at = s.known.x[place.chosen.row], s.known.x[trial.row]
    own, worst = place.slopes, trial.asked.worst()
    told: dict[str, float] = {}
    pairs = zip(own.names, own.here + own.margins @ (at - x), strict=True)
    for name, value in (*pairs, *((p.name, p.at(at)) for p in _near(x, planes))):
        told[name] = min(float(value), told.get(name, np.inf))
    fallen = {n: told[n] - place.spare.get(n, 0.0) - worst[n] for n in told if worst.get(n, 0.0) < 0.0}
    return {n: by for n, by in fallen.items() if by > 0.0}


def _bounded(margin: float) -> float:
    """A margin that a slope leads to: one that is no number (minus infinity) as lost, one without bound as large."""
    return float(np.nan_to_num(margin, neginf=-1.0, posinf=1.0 + NEAR))


def _cut(
    s: Searched,
    known: Known,
    place: Place,
    trial: Chosen,
    names: Sequence[str],
    planes: list[Plane],
    front_view: bool,
) -> Searched:
    """Planes of the margins belied, from one design more along each dimension, towards where the steps stand."""
    x, at, worst = s.known.x[place.chosen.row], s.known.x[trial.row], trial.asked.worst()
    slopes = {n: np.zeros(len(at)) for n in names}
    for d in np.flatnonzero(~s.space.stepped):
        by = SPAN if x[d] >= at[d] else -SPAN
        by = by if 0.0 <= at[d] + by <= 1.0 else -by
        moved = at.copy()
        moved[d] += by
        s, row = _asked(s, known, moved, front_view)
        answer = known.get(row)
        if isinstance(answer, Asked):
            for n in names:
                slopes[n][d] = (_bounded(answer.worst()[n]) - worst[n]) / by
    planes += [Plane(n, at, worst[n], slopes[n]) for n in names]
    return s
