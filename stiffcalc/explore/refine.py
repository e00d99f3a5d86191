"""The best designs of several budgets improved step by step: linear programmes within a trust region, in batches.

Slopes are central differences over the cube; where a design on one side cannot be had, that way is barred. Each step
is solved for several radii, its miss by curvature mended with the same slopes, and taken only if the design that comes
out is better, what it misses at its price. Source of the method: sequential linear programming with move limits,
R. T. Haftka, Z. Gürdal, Elements of Structural Optimization, 3rd ed. 1992, ch. 6 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from stiffcalc.condensed import Array
from stiffcalc.explore.search import (
    MISSED,
    Budget,
    Evaluate,
    Evaluation,
    Space,
    joined,
    judged,
    leading,
    merit,
)

RADII = (1.0, 0.4, 0.1)  # shares of the radius that are tried
WIDER, NARROWER = 1.6, 0.4
SPAN = 0.25  # of the radius: distance of the designs that slopes are taken from
LEAST_SPAN, MOST_SPAN = 1e-3, 0.02
NEAR = 1.0  # margins beyond are not looked at in a step
SPARE = 2e-5  # of a margin, so that rounding does not lose it
BETTER = 2e-4  # relative gain below which a step counts as none


@dataclass(frozen=True)
class Place:
    """Where the search for one budget stands."""

    budget: Budget
    row: int  # of the known design that leads
    radius: float
    alone: bool = False  # goes on from designs of its own alone


@dataclass(frozen=True)
class Slopes:
    """Of cost (relative) and margins at one place, per unit of the cube, and which ways are open."""

    names: tuple[str, ...]  # of the margins; "": the mass's
    cost: Array  # (d,)
    margins: Array  # (c, d)
    here: Array  # (c,)
    low: Array  # (d,) how far down a step may go, 0 or less
    high: Array


def refine(
    evaluate: Evaluate,
    space: Space,
    known: Evaluation,
    budgets: Sequence[Budget],
    *,
    radius: float,
    least: float,
    rounds: int,
    starts: Sequence[tuple[Budget, int]] = (),
) -> Iterator[Evaluation]:
    """All designs known after each round of steps, until every radius is below `least` or `rounds` are done.

    starts: more places to begin from, a budget and a row each, that go their own way until then: one that misses its
    budget at first may end where the design that leads now never comes.
    """
    places = [Place(b, leading(known, b), radius) for b in budgets]
    places += [Place(b, row, radius, alone=True) for b, row in starts]
    for _ in range(rounds):
        going = [p for p in places if p.radius >= least]
        if not going:
            return
        start = len(known)
        beside = [on_each_side(known.x[p.row], p.radius, space) for p in going]
        known = joined([known, evaluate(np.concatenate(beside))])
        ends = start + np.cumsum([len(b) for b in beside])
        slopes = [
            slopes_at(known, p.row, np.arange(end - len(b), end), p.budget, space)
            for p, b, end in zip(going, beside, ends, strict=True)
        ]
        known = _stepped(evaluate, known, going, slopes)
        known, mended = _mended(evaluate, known, going, slopes)
        each = np.arange(len(going))
        whose = [*np.repeat(each, [len(b) for b in beside]), *np.repeat(each, len(RADII)), *mended]
        moved = {
            id(p): _moved(known, p, start + np.flatnonzero(np.equal(whose, i))) for i, p in enumerate(going)
        }
        places = [moved.get(id(p), p) for p in places]
        yield known


def _span(radius: float) -> float:
    return float(np.clip(SPAN * radius, LEAST_SPAN, MOST_SPAN))


def on_each_side(x: Array, radius: float, space: Space) -> Array:
    """Designs a little down and up each dimension that has slopes, (2 d', d)."""
    free = np.flatnonzero(~space.stepped)
    steps = np.zeros((2, len(free), len(x)))
    steps[:, np.arange(len(free)), free] = [[-_span(radius)], [_span(radius)]]
    return np.clip(x + steps.reshape(-1, len(x)), 0.0, 1.0)


def slopes_at(known: Evaluation, row: int, rows: NDArray[np.intp], budget: Budget, space: Space) -> Slopes:
    """At the design of a row, from the designs `rows` on each side of it: their first half down, their second up."""
    free = np.flatnonzero(~space.stepped)
    d, x = space.size, known.x[row]
    ends = np.stack([rows[: len(free)], rows[len(free) :]])  # (2, d')
    there = np.isfinite(known.cost[ends])
    ends = np.where(there, ends, row)
    across = known.x[ends[1], free] - known.x[ends[0], free]
    per = np.divide(1.0, across, out=np.zeros(len(free)), where=across > 0.0)
    names = [n for n, m in judged(_rows(known, [row]), budget).items() if m[0] < NEAR]
    near = judged(_rows(known, ends.ravel()), budget)
    own = judged(_rows(known, [row]), budget)
    margins = np.zeros((len(names), d))
    for i, n in enumerate(names):
        low, high = np.minimum(near[n].reshape(2, -1), NEAR + 1.0)
        margins[i, free] = (high - low) * per
    cost = np.zeros(d)
    cost[free] = (known.cost[ends[1]] - known.cost[ends[0]]) * per / abs(known.cost[row])
    low, high = np.zeros(d), np.zeros(d)
    low[free] = np.where(there[0], -x[free], 0.0)
    high[free] = np.where(there[1], 1.0 - x[free], 0.0)
    return Slopes(tuple(names), cost, margins, np.array([own[n][0] for n in names]), low, high)


def _rows(known: Evaluation, rows: Sequence[int] | NDArray[np.intp]) -> Evaluation:
    at = np.asarray(rows, dtype=np.intp)
    return Evaluation(
        known.x[at], known.cost[at], known.mass[at], {n: m[at] for n, m in known.margins.items()}
    )


def _stepped(
    evaluate: Evaluate, known: Evaluation, going: Sequence[Place], slopes: Sequence[Slopes]
) -> Evaluation:
    """Each place's steps at every radius evaluated."""
    trials = [
        known.x[p.row] + programme(s, radius=share * p.radius, here=s.here)
        for p, s in zip(going, slopes, strict=True)
        for share in RADII
    ]
    return joined([known, evaluate(np.clip(trials, 0.0, 1.0))])


def _mended(
    evaluate: Evaluate, known: Evaluation, going: Sequence[Place], slopes: Sequence[Slopes]
) -> tuple[Evaluation, list[int]]:
    """The steps just evaluated, moved by the same slopes to where their margins are met again; whose each is."""
    start, tried = len(known) - len(going) * len(RADII), len(RADII)
    trials, whose = [], []
    for i, (p, s) in enumerate(zip(going, slopes, strict=True)):
        for k, share in enumerate(RADII):
            row = start + i * tried + k
            if not np.isfinite(known.cost[row]):
                continue
            by = known.x[row] - known.x[p.row]
            found = judged(_rows(known, [row]), p.budget)
            names = [
                n for n, m in judged(_rows(known, [p.row]), p.budget).items() if m[0] < NEAR
            ]  # as in the slopes
            here = np.array([found[n][0] for n in names]) - s.margins @ by
            trials.append(known.x[p.row] + programme(s, radius=share * p.radius, here=here))
            whose.append(i)
    return (joined([known, evaluate(np.clip(trials, 0.0, 1.0))]) if trials else known), whose


def programme(s: Slopes, *, radius: float, here: Array) -> Array:
    """The step (d,) of least cost by the slopes within the radius, margins kept where they can be.

    Each margin may be missed at a price, so that there is always an answer. A margin that is missing is to be won back.
    """
    d, c = len(s.cost), len(here)
    prices = np.concatenate([s.cost, np.full(c, MISSED)])
    rows = np.hstack([-s.margins, -np.eye(c)])
    bounds = [
        *zip(np.maximum(s.low, -radius), np.minimum(s.high, radius), strict=True),
        *([(0.0, None)] * c),
    ]
    found = linprog(prices, A_ub=rows, b_ub=here - SPARE, bounds=bounds, method="highs")
    return np.asarray(found.x[:d]) if found.status == 0 else np.zeros(d)


def _moved(known: Evaluation, place: Place, own: NDArray[np.intp]) -> Place:
    """The place after a round: at the design that leads, its radius by how far that is and whether it pays.

    own: rows that the round evaluated for this place.
    """
    among = np.array([place.row, *own]) if place.alone else np.arange(len(known))
    row = int(among[leading(_rows(known, among), place.budget)])
    if row == place.row:
        return replace(place, radius=NARROWER * place.radius)
    both = _rows(known, [place.row, row])
    before, after = merit(both, place.budget)
    gain = (before - after) / abs(before)
    far = float(np.abs(both.x[1] - both.x[0]).max())
    if gain < BETTER:
        return replace(place, row=row, radius=NARROWER * place.radius)
    return replace(place, row=row, radius=WIDER * min(far, place.radius))
