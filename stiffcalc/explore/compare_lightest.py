"""Where each layout begins: the lightest of its designs that meets every check by the model that counts.

Mass takes the place of spread as what is made least, without any budget: the same search near the designs asked about,
the same last steps. The mass found, in whole grams, is one more mass at which all layouts that have one are compared,
so that curves that cross between it and the next mass asked for are seen to cross.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from stiffcalc.explore.compare_chosen import design_of
from stiffcalc.explore.compare_front import ask
from stiffcalc.explore.compare_points import RESERVE, Confirmed, informed
from stiffcalc.explore.compare_search import RADIUS, Done, Effort, Searched, improved, shaken
from stiffcalc.explore.search import Budget, best

TURNS = 2  # times that the model that counts is asked before the last steps
GRAM = 3  # decimals of a kg
ANY = Budget(math.inf)


@dataclass(frozen=True)
class Begun:
    """A layout and its lightest design's mass, kg; None: none meets its checks, or it was not looked for."""

    whole: Confirmed
    lightest: float | None
    mass: float | None  # at which it is compared: in whole grams


def begins(
    layouts: Sequence[Confirmed],
    asked: Sequence[float],
    effort: Effort,
    *,
    stated: bool,
    front_view: bool,
    done: Done,
) -> list[Begun]:
    """Every layout with its lightest, and with the designs of all these masses that it can have.

    stated: the masses are the study's, and nothing beyond them is looked at.
    """
    found = [_begun(w, asked, effort, stated=stated, front_view=front_view, done=done) for w in layouts]
    more = sorted({b.mass for b in found if b.mass is not None}.difference(asked))
    return [replace(b, whole=_at(b, more, asked[0], front_view=front_view, done=done)) for b in found]


def _begun(
    whole: Confirmed, asked: Sequence[float], effort: Effort, *, stated: bool, front_view: bool, done: Done
) -> Begun:
    if stated and whole.has(asked[0]):
        return Begun(whole, None, None)
    whole = towards(whole, effort, front_view=front_view, done=done)
    by_mass = replace(whole, searched=whole.searched.turned())
    found = by_mass.chosen(math.inf)
    if found is None or not by_mass.has(math.inf):
        return Begun(whole, None, None)
    mass = float(whole.searched.known.mass[found.row])
    whole_grams = round(math.ceil(mass * 10**GRAM) / 10**GRAM, GRAM)
    return Begun(whole, mass, None if stated and whole_grams > asked[-1] else whole_grams)


def towards(whole: Confirmed, effort: Effort, *, front_view: bool, done: Done) -> Confirmed:
    """The layout with designs towards its lightest."""
    s, known = whole.searched.turned(), whole.known
    for turn in range(TURNS):
        s = informed(s, known, reserve=turn * RESERVE)
        s = _lighter(s, effort) if turn else s
        row = best(s.known, ANY)
        if row not in known:
            known[row] = ask(design_of(s, row), front_view=front_view)
        done(f"{s.candidate.name}: towards the lightest")
    light = replace(whole, searched=s).stepped([math.inf], front_view=front_view, done=done)
    return replace(light, searched=light.searched.turned())


def _lighter(s: Searched, effort: Effort) -> Searched:
    s = shaken(s, [ANY])
    for step in improved(s, [ANY], radius=RADIUS, rounds=effort.again):
        s = step
    return s


def _at(b: Begun, more: Sequence[float], first: float, *, front_view: bool, done: Done) -> Confirmed:
    """Last steps at those of the masses that the layout can have."""
    least = b.mass if b.mass is not None else first if b.whole.has(first) else math.inf
    return b.whole.stepped([m for m in more if m >= least], front_view=front_view, done=done)
