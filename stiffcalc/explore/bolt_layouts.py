"""Candidate bolt layouts of one body: count x size x grade x row position, refused ones kept with their reason.

Two ways to place: as drawn, moved by the row shift; and placed, where the mean of each bridge's bolts keeps to the
drawn one plus the row shift, and of the arrangements that keep every rule the one is taken whose joint opens last.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import product

from stiffcalc import catalogue
from stiffcalc.caliper.preloads import nominal_preload
from stiffcalc.errors import Fault, InputError
from stiffcalc.explore.bolt_choice import Question, opens_last, with_places
from stiffcalc.explore.bolt_places import MOST_EACH, Fitting, Group, drawn, fitting, groups_of
from stiffcalc.explore.bolt_rules import RULES, Refusal, crowding, refusal, site
from stiffcalc.explore.bolt_sizes import bearing, resized
from stiffcalc.study.bolts import MOST
from stiffcalc.study.schema import Bolt, BoltSearch, Design


@dataclass(frozen=True)
class Sharing:
    """A number of bolts shared out over the varied bridges."""

    count: int
    pattern: tuple[int, ...]  # bolts in each, in order of x; empty where the count cannot be shared out
    drawn: bool  # placed as drawn


@dataclass(frozen=True)
class Combination:
    """A place in the matrix. mm."""

    sharing: Sharing
    thread: str
    grade: str
    row_shift: float  # outward positive


@dataclass(frozen=True)
class Candidate:
    """One combination: its design, or why there is none."""

    at: Combination
    arrangement: tuple[str, ...]  # of each varied bridge
    design: Design | None
    refused: Refusal | None
    own: bool  # the study's own bolts
    notes: tuple[str, ...]


def candidates(design: Design, search: BoltSearch) -> tuple[Candidate, ...]:
    """Every combination. Raises `InputError` where there is nothing to vary, or too much."""
    groups = groups_of(design, search)
    shared = tuple(sharings(groups, search))
    size = len(shared) * len(search.threads) * len(search.grades) * len(search.row_shift)
    if size > MOST:
        found = f"{size} combinations, the counts shared out over {len(groups)} bridges"
        raise InputError([Fault("bolts", found, f"at most {MOST}", "shorten counts, threads or grades")])
    metal, own = site(design, search), pattern_bolt(design, search)

    @cache  # grades, and sharings that put as many bolts into a bridge, stand in the same places
    def fit(group: int, n: int, as_drawn: bool, thread: str, shift: float) -> Fitting:
        bolt = resized(own, thread=thread, grade=own.grade)
        if as_drawn:
            return drawn(groups[group], shift=shift, bolt=bolt, metal=metal)
        return fitting(groups[group], n, shift=shift, bolt=bolt, metal=metal)

    def fits(sharing: Sharing, thread: str, shift: float) -> tuple[Fitting, ...]:
        return tuple(fit(i, n, sharing.drawn, thread, shift) for i, n in enumerate(sharing.pattern))

    return tuple(c for sharing in shared for c in _of_sharing(design, search, groups, sharing, fits))


def pattern_bolt(design: Design, search: BoltSearch) -> Bolt:
    """The bolt that all others are made after: the first of the varied bridges, else the first of all."""
    return next(b for g in groups_of(design, search) for b in (*g.bolts, *design.caliper.bolts))


def sharings(groups: Sequence[Group], search: BoltSearch) -> Iterator[Sharing]:
    """As drawn, then each count in every way: both ends alike, middle bridges alike."""
    own = tuple(len(g.bolts) for g in groups)
    middles = range(1, MOST_EACH + 1) if len(groups) > 2 else (0,)
    ways = [(e, *[m] * (len(groups) - 2), e)[: len(groups)] for e in range(1, MOST_EACH + 1) for m in middles]
    for count in search.counts or sorted({sum(w) for w in ways} | {sum(own)}):
        fitting = [w for w in ways if sum(w) == count]
        if sum(own) == count:
            yield Sharing(count, own, drawn=True)
        yield from (Sharing(count, w, drawn=False) for w in fitting)
        if not fitting and sum(own) != count:
            yield Sharing(count, (), drawn=False)


def _of_sharing(
    design: Design,
    search: BoltSearch,
    groups: tuple[Group, ...],
    sharing: Sharing,
    fits: Callable[[Sharing, str, float], tuple[Fitting, ...]],
) -> Iterator[Candidate]:
    """All sizes, grades and row positions of one sharing."""
    own = pattern_bolt(design, search)
    spots = list(product(search.threads, search.row_shift))
    bolts = [_weakest(own, thread, search.grades) for thread, _ in spots]
    places = chosen_places(design, groups, [fits(sharing, *spot) for spot in spots], bolts)
    chosen = dict(zip(spots, places, strict=True))
    for thread, grade, shift in product(search.threads, search.grades, search.row_shift):
        at = Combination(sharing, thread, grade, shift)
        bolt = resized(own, thread=thread, grade=grade)
        yield candidate(design, groups, at, bolt, chosen[thread, shift], head_gap=search.head_gap)


def _weakest(own: Bolt, thread: str, grades: Sequence[str]) -> Bolt:
    """The bolt of that size and of the grade that is tightened least."""
    return min((resized(own, thread=thread, grade=grade) for grade in grades), key=nominal_preload)


def chosen_places(
    design: Design,
    groups: Sequence[Group],
    fits: Sequence[tuple[Fitting, ...]],
    bolts: Sequence[Bolt],
) -> list[tuple[Fitting, ...]]:
    """Each set of fittings with the places to take alone left; refused ones as they are."""
    open_ = [i for i, f in enumerate(fits) if f and not any(x.refused for x in f)]
    asked = [i for i in open_ if any(len(x.places) > 1 for x in fits[i])]
    answers = opens_last(design, groups, [Question(fits[i], bolts[i]) for i in asked]) if asked else []
    taken = dict(zip(asked, answers, strict=True))
    return [
        tuple(_only(x, k) for x, k in zip(f, taken[i], strict=True)) if i in taken else f
        for i, f in enumerate(fits)
    ]


def _only(found: Fitting, k: int) -> Fitting:
    return Fitting((found.names[k],), found.places[k : k + 1], None, found.note)


def candidate(
    design: Design,
    groups: Sequence[Group],
    at: Combination,
    bolt: Bolt,
    taken: Sequence[Fitting],
    *,
    head_gap: float,
) -> Candidate:
    """One combination from what its bridges can hold."""
    bolts = with_places(design, groups, [p for f in taken for p in f.places], bolt)
    own = at.sharing.drawn and set(bolts) == set(design.caliper.bolts)
    refused = None if own else first_refusal(at, taken, bolt) or crowding(bolts, head_gap=head_gap)
    changed = design if own else replace(design, caliper=replace(design.caliper, bolts=bolts))
    return Candidate(
        at=at,
        arrangement=tuple(name for f in taken for name in f.names[:1]),
        design=None if refused else changed,
        refused=refused,
        own=own,
        notes=tuple(dict.fromkeys(f.note for f in taken if f.note)),
    )


def first_refusal(at: Combination, taken: Sequence[Fitting], bolt: Bolt) -> Refusal | None:
    """What no place can mend comes before what a place lacks."""
    if not at.sharing.pattern:
        return Refusal(
            "split", f"{at.sharing.count} bolts {RULES['split'].broken}, ends alike and middles alike"
        )
    head = catalogue.head(catalogue.thread(bolt.thread).d).diameter
    if bearing(bolt) < head:
        return refusal("washer", found=bearing(bolt), needed=head, where="every bolt")
    return next((f.refused for f in taken if f.refused), None)
