"""The best designs of one layout answered by the model that counts, and searched again by what it says."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.compare_front import Asked, ask
from stiffcalc.explore.compare_search import (
    AXES,
    RADIUS,
    Done,
    Effort,
    Searched,
    choice,
    improved,
    job,
    shaken,
)
from stiffcalc.explore.search import SAME_MASS, Budget, best, judged
from stiffcalc.study.schema import Design

TURNS = 4  # times that the model that counts is asked, at most
RESERVE = (
    3e-3  # of a margin, for what rho does not know of the next design; three times that more at every turn
)
NEAR = 0.02  # margins below may be what stops the search


@dataclass(frozen=True)
class Chosen:
    """The design of one budget."""

    row: int
    asked: Asked


@dataclass(frozen=True)
class Confirmed:
    """One layout's designs, a budget each (None: nothing that holds), after everything."""

    searched: Searched
    chosen: tuple[Chosen | None, ...]
    asked: int


def confirmed(
    s: Searched, masses: Sequence[float], effort: Effort, *, front_view: bool, done: Done
) -> Confirmed:
    """Ask about the best design of every mass; where the answer leaves room or misses a check, search again.

    Every margin of the frame is multiplied by rho, its ratio to the answer's margin at the design asked about (both as
    1 + margin), one for each mass and check.
    """
    budgets, going = [Budget(m) for m in masses], list(range(len(masses)))
    known: dict[int, Asked | ConvergenceError] = {}
    for turn in range(TURNS):
        rows = {i: best(s.known, budgets[i]) for i in going}
        for row in (r for r in dict.fromkeys(rows.values()) if r not in known):
            done(f"{s.candidate.name}: {'front view' if front_view else 'frame'} of design {row + 1}")
            known[row] = ask(design_of(s, row), front_view=front_view)
        answers = {i: known[row] for i, row in rows.items()}
        for i, answer in answers.items():
            if isinstance(answer, Asked):
                budgets[i] = replace(budgets[i], ratios=ratios(s, rows[i], answer, turn))
        going = [i for i in going if _again(s, rows[i], budgets[i], answers[i])]
        if not going or turn == TURNS - 1:
            break
        s = shaken(s, [budgets[i] for i in going])
        for step in improved(s, [budgets[i] for i in going], radius=RADIUS, rounds=effort.again):
            s = step
            done(f"{s.candidate.name}: steps again")
    return Confirmed(s, tuple(pick(s, m, known) for m in masses), len(known))


def design_of(s: Searched, row: int) -> Design:
    """A design that the search knows."""
    return job(s.candidate, s.source).design(changes_of(s, row))


def changes_of(s: Searched, row: int) -> dict[str, object]:
    """All paths that it sets in the base."""
    return job(s.candidate, s.source).changes(choice(s.candidate, s.known.x[row]))


def ratios(s: Searched, row: int, answer: Asked, turn: int) -> Mapping[str, float]:
    """rho of every check that both models have, less a reserve that grows with the turn."""
    found, worst = {}, answer.worst()
    reserve = RESERVE * (1 + 3 * turn)
    for name, margins in s.known.margins.items():
        own, other = float(margins[row]), worst.get(name, math.nan)
        if math.isfinite(own) and math.isfinite(other) and min(own, other) > -1.0:
            found[name] = (1.0 + other) / (1.0 + own) / (1.0 + reserve)
    return found


def _again(s: Searched, row: int, budget: Budget, answer: Asked | ConvergenceError) -> bool:
    """Whether the next search may find better: a check is missed, or one that stopped it leaves room after all."""
    if isinstance(answer, ConvergenceError):
        return False
    if answer.missed(AXES) > 0.0:
        return True
    corrected = judged(s.known, budget)
    return any(m[row] < NEAR < corrected[name][row] for name, m in s.known.margins.items())


def pick(s: Searched, mass: float, known: Mapping[int, Asked | ConvergenceError]) -> Chosen | None:
    """Of the designs asked about within a mass the one of least spread that meets its checks.

    Where there is none, the one that misses least; None where none holds.
    """
    found = [
        (a.missed(AXES) + max(0.0, float(s.known.mass[row]) / mass - 1.0 - SAME_MASS), spread, row, a)
        for row, a in known.items()
        if isinstance(a, Asked) and (spread := a.figures.spread) is not None
    ]
    if not found:
        return None
    _, _, row, asked = min(found, key=lambda f: f[:3])
    return Chosen(row, asked)
