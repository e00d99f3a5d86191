"""The best designs of one layout answered by the model that counts, and searched again by what it says."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.compare_chosen import Chosen, Known, anchor, design_of, pick
from stiffcalc.explore.compare_front import Asked, ask
from stiffcalc.explore.compare_polish import Plane, polished
from stiffcalc.explore.compare_search import (
    AXES,
    RADIUS,
    Done,
    Effort,
    Searched,
    around,
    improved,
    shaken,
)
from stiffcalc.explore.search import SAME_MASS, Budget, best

TURNS = 5  # times that the model that counts is asked, at most; the last steps follow
RESERVE = 3e-3  # of a margin and turn, for what rho does not know of the next design
PATIENCE = 3  # turns in which a mass may come back to a design asked about, a lighter mass's it may be
SETTLED = 2e-3  # relative; a smaller gain is none


@dataclass(frozen=True)
class Confirmed:
    """One layout's designs with the answers of those asked about, and what its last steps met."""

    searched: Searched
    known: Known
    planes: list[Plane]

    def chosen(self, mass: float) -> Chosen | None:
        """The design of a budget; None: nothing that holds."""
        return pick(self.searched, mass, self.known)

    def has(self, mass: float) -> bool:
        """Whether that design meets every check but those that the curves show, within its budget."""
        found = self.chosen(mass)
        if found is None or found.asked.missed(AXES) > 0.0:
            return False
        return bool(self.searched.known.mass[found.row] <= (1.0 + SAME_MASS) * mass)

    def stepped(self, masses: Sequence[float], *, front_view: bool, done: Done) -> Confirmed:
        """Last steps at these masses more."""
        s = polished(self.searched, self.known, masses, planes=self.planes, front_view=front_view, done=done)
        return replace(self, searched=s)


def confirmed(
    s: Searched, masses: Sequence[float], effort: Effort, *, front_view: bool, done: Done
) -> Confirmed:
    """Ask about the best design of every mass and search again by what the answers say, until they say nothing new.

    Every margin of the frame is multiplied by rho, its ratio to the answer's margin (both as 1 + margin), as it lies
    between the designs asked about. At last every mass goes on by steps that the answers themselves judge.
    """
    going = [Budget(m) for m in masses]
    known: Known = {}
    idle = Counter[float]()  # turns in which the best design of a mass had been asked about before
    for turn in range(TURNS):
        fresh = {b.mass: row for b in going if (row := best(s.known, b)) not in known}
        before = {b.mass: pick(s, b.mass, known) for b in going}
        for row in dict.fromkeys(fresh.values()):
            done(f"{s.candidate.name}: {'front view' if front_view else 'frame'} of design {row + 1}")
            known[row] = ask(design_of(s, row), front_view=front_view)
        idle.update(b.mass for b in going if b.mass not in fresh)
        over = {m for m, row in fresh.items() if settled(before[m], known[row])}
        going = [b for b in going if b.mass not in over and idle[b.mass] < PATIENCE]
        if not going or turn == TURNS - 1:
            break
        s = _searched_again(s, known, going, effort, reserve=(turn + 1) * RESERVE)
        done(f"{s.candidate.name}: steps again")
    return Confirmed(s, known, []).stepped(masses, front_view=front_view, done=done)


def settled(before: Chosen | None, answer: Asked | ConvergenceError) -> bool:
    """Whether an answer that meets its checks gains next to nothing on the design that a mass had."""
    if before is None or isinstance(answer, ConvergenceError) or answer.missed(AXES) > 0.0:
        return False
    old, new = (a.figures.spread or 0.0 for a in (before.asked, answer))
    return before.asked.missed(AXES) == 0.0 and new > (1.0 - SETTLED) * old


def informed(s: Searched, known: Known, *, reserve: float) -> Searched:
    """The search with margins as the answers have them, less a reserve."""
    own = s.anchored(())
    return s.anchored(tuple(anchor(own, row, a, reserve) for row, a in known.items() if isinstance(a, Asked)))


def _searched_again(
    s: Searched,
    known: Known,
    budgets: Sequence[Budget],
    effort: Effort,
    *,
    reserve: float,
) -> Searched:
    """The search gone on near by with margins as the answers have them, from the leads of other masses too.

    Far from the designs asked about those margins are a guess that the next answers would mostly belie.
    """
    s = shaken(informed(s, known, reserve=reserve), budgets)
    for step in improved(s, budgets, radius=RADIUS, rounds=effort.again, starts=around(s, budgets)):
        s = step
    return s
