"""Designs of a search that the model that counts has answered: which of them a mass takes, what they say of rho."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.compare_front import Asked
from stiffcalc.explore.compare_rho import Anchor
from stiffcalc.explore.compare_search import AXES, Searched, choice, job
from stiffcalc.explore.search import SAME_MASS
from stiffcalc.study.schema import Design

LOST = -0.9  # a margin of the answer below it, also one that is no number, says no more than this
Known = dict[int, Asked | ConvergenceError]  # designs asked about, by row of the search


@dataclass(frozen=True)
class Chosen:
    """The design of one budget."""

    row: int
    asked: Asked


def cost_of(s: Searched, row: int, answer: Asked) -> float | None:
    """What a search makes least, of a design asked about: the answer's spread, or the mass; None: it does not hold."""
    spread = answer.figures.spread
    return spread if spread is None or not s.by_mass else float(s.known.cost[row])


def design_of(s: Searched, row: int) -> Design:
    """A design that the search knows."""
    return job(s.candidate, s.source).design(changes_of(s, row))


def changes_of(s: Searched, row: int) -> dict[str, object]:
    """All paths that it sets in the base."""
    return job(s.candidate, s.source).changes(choice(s.candidate, s.known.x[row]))


def anchor(own: Searched, row: int, answer: Asked, reserve: float) -> Anchor:
    """rho of every check that both models have, less a reserve; `own` holds the frame's own margins."""
    found, worst = {}, answer.worst()
    for name, margins in own.known.margins.items():
        here, there = float(margins[row]), worst.get(name, math.nan)
        if math.isfinite(here) and here > -1.0 and there < math.inf:
            found[name] = (1.0 + max(there, LOST)) / (1.0 + here) / (1.0 + reserve)
    return Anchor(own.known.x[row], found)


def pick(s: Searched, mass: float, known: Known) -> Chosen | None:
    """Of the designs asked about within a mass the one of least spread that meets its checks.

    Where there is none, the one that misses least; None where none holds. Of a search by mass, the lightest.
    """
    found = [
        (a.missed(AXES) + max(0.0, float(s.known.mass[row]) / mass - 1.0 - SAME_MASS), cost, row, a)
        for row, a in known.items()
        if isinstance(a, Asked) and (cost := cost_of(s, row, a)) is not None
    ]
    if not found:
        return None
    _, _, row, asked = min(found, key=lambda f: f[:3])
    return Chosen(row, asked)
