"""Which layout is better at equal mass, where that changes and what limits each: computed, then said in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, groupby, pairwise

from stiffcalc.explore.compare_limits import kinds
from stiffcalc.explore.compare_results import Crossing, Curve, Gap, Point, kg
from stiffcalc.explore.compare_scatter import of_difference
from stiffcalc.quantities import percent

SURE = 2.0  # standard uncertainties by which two layouts must differ to be told apart
MOST_SAID = 3  # crossings in the verdict
OUTSIDE = ", outside the study's own limits of spread or mass"


def met(curve: Curve, i: int) -> Point | None:
    """The point at one mass, if it meets its checks."""
    point = curve.points[i]
    return point if point is not None and point.meets else None


def gaps(curves: Sequence[Curve], masses: Sequence[float]) -> tuple[Gap, ...]:
    """Every two layouts at every mass at which both meet their checks."""
    found = []
    for (a, b), (i, mass) in ((p, m) for p in combinations(curves, 2) for m in enumerate(masses)):
        one, other = met(a, i), met(b, i)
        if one is None or other is None or one.scatter is None or other.scatter is None:
            continue
        u, difference = of_difference(one.scatter, other.scatter), other.spread - one.spread
        found.append(Gap(a.name, b.name, mass, difference, u, abs(difference) > SURE * u))
    return tuple(found)


def crossings(found: Sequence[Gap]) -> tuple[Crossing, ...]:
    """Where the sign of a difference changes between two masses that follow each other."""
    crossed = []
    for _, same in groupby(found, key=lambda g: (g.first, g.second)):
        for a, b in pairwise(same):
            if a.difference * b.difference >= 0.0:
                continue
            share = a.difference / (a.difference - b.difference)
            below, above = (a.first, a.second) if a.difference > 0.0 else (a.second, a.first)
            mass = a.budget + share * (b.budget - a.budget)
            crossed.append(Crossing(below, above, mass, (a.budget, b.budget), a.apart and b.apart))
    return tuple(crossed)


def verdict(
    curves: Sequence[Curve], masses: Sequence[float], found: Sequence[Gap], crossed: Sequence[Crossing]
) -> str:
    """The answer in sentences."""
    if not any(met(c, i) for c in curves for i in range(len(masses))):
        return f"No layout meets its checks at any mass. {_reasons(curves)}"
    return " ".join([*_leaders(curves, masses), *_sizes(curves, masses, found), *_crossed(curves, crossed)])


def _best(curves: Sequence[Curve], i: int) -> Curve | None:
    there = [(p.spread, n, c) for n, c in enumerate(curves) if (p := met(c, i))]
    return min(there)[2] if there else None


def _leaders(curves: Sequence[Curve], masses: Sequence[float]) -> Iterator[str]:
    """Who opens least, from which mass to which, and where that is outside the study's own limits."""
    best = [_best(curves, i) for i in range(len(masses))]
    order = [(b.name, (p := met(b, i)) is not None and p.within) if b else None for i, b in enumerate(best)]
    said = []
    for leader, same in groupby(range(len(masses)), key=lambda i: order[i]):
        where = _range(masses, list(same))
        if leader is None:
            said.append(f"no layout meets its checks {where}")
            continue
        name, within = leader
        said.append(f"'{name}' {where}{'' if within else OUTSIDE}")
    yield f"Least spread at equal mass: {'; '.join(said)}."


def _range(masses: Sequence[float], at: Sequence[int]) -> str:
    if len(at) == 1:
        return f"at {kg(masses[at[0]])} kg"
    return f"from {kg(masses[at[0]])} to {kg(masses[at[-1]])} kg"


def _sizes(curves: Sequence[Curve], masses: Sequence[float], found: Sequence[Gap]) -> Iterator[str]:
    """One piece against two in the middle of the masses that both reach, else the first two layouts there."""
    pair = _kinds_at(curves, masses)
    if pair is None:
        return
    i, a, b = pair
    gap = next((g for g in found if g.budget == masses[i] and {g.first, g.second} == {a.name, b.name}), None)
    one, other = met(a, i), met(b, i)
    if gap is None or one is None or other is None:
        return
    more = abs(gap.difference)
    sure = "so the two are told apart" if gap.apart else "so the two are not told apart"
    yield (
        f"At {kg(masses[i])} kg '{a.name}' opens {_um(one.spread)}, '{b.name}' {_um(other.spread)}: {_um(more)} "
        f"({percent(more / one.spread)}) more. The standard uncertainty of that difference from preload, friction, "
        f"modulus and model is {gap.uncertainty * 1e3:.1f} µm, {sure}."
    )
    doubtful = sum(not g.apart for g in found)
    if doubtful:
        yield (
            f"Of {len(found)} differences between layouts at equal mass, {doubtful} "
            f"{'is within twice its' if doubtful == 1 else 'are within twice their'} uncertainty."
        )


def _kinds_at(curves: Sequence[Curve], masses: Sequence[float]) -> tuple[int, Curve, Curve] | None:
    """A mass and two layouts, the better first: the best of each kind where there are both kinds.

    The mass next to the middle of those that both have.
    """
    groups = [[c for c in curves if c.two_piece], [c for c in curves if not c.two_piece]]
    both = []
    for i in range(len(masses)):
        if all(groups):
            best = [b for g in groups if (b := _best(g, i))]
        else:
            first = _best(curves, i)
            rest = _best([c for c in curves if c is not first], i)
            best = [b for b in (first, rest) if b]
        if len(best) == 2:
            one, other = best if _spread(best[0], i) <= _spread(best[1], i) else best[::-1]
            both.append((i, one, other))
    if not both:
        return None
    middle = (masses[both[0][0]] + masses[both[-1][0]]) / 2.0
    return min(both, key=lambda found: abs(masses[found[0]] - middle))


def _spread(curve: Curve, i: int) -> float:
    point = met(curve, i)
    return float("inf") if point is None else point.spread


def _crossed(curves: Sequence[Curve], crossed: Sequence[Crossing]) -> Iterator[str]:
    if not crossed:
        if len(curves) > 1:
            yield "No two curves cross where both layouts meet their checks."
        return
    for c in crossed[:MOST_SAID]:
        doubt = "" if c.told else ", beside which they are not told apart"
        yield f"'{c.first}' and '{c.second}' cross near {c.crossing_mass:.2f} kg{doubt}; the second is better above."
    if len(crossed) > MOST_SAID:
        yield f"{len(crossed) - MOST_SAID} more crossings are in the table."


def limits_said(curves: Sequence[Curve], masses: Sequence[float]) -> Iterator[str]:
    """What limits each layout, most often first, and where it begins; a sentence each."""
    for c in curves:
        there = [p for i in range(len(masses)) if (p := met(c, i))]
        but = "" if c.begin is None or c.begin.within else " but the study's own limits"
        begins = (
            f"; its lightest design that meets every check{but} weighs {c.lightest:.3f} kg"
            if c.lightest
            else ""
        )
        if not there:
            yield f"'{c.name}' meets its checks at no mass asked: {_missed(c)}{begins}."
            continue
        count: dict[str, int] = {}
        for p in there:
            for kind in kinds(p.limits):
                count[kind] = count.get(kind, 0) + 1
        named = [f"{k} ({n} of {len(there)})" for k, n in sorted(count.items(), key=lambda i: -i[1])]
        yield f"'{c.name}' is limited by {', '.join(named) or 'nothing found'}{begins}."


def _missed(curve: Curve) -> str:
    """What the design that comes nearest misses."""
    points = [p for p in curve.points if p is not None]
    if not points:
        return "none holds"
    missed = [
        limit.what for limit in points[-1].limits if limit.margin is not None and not limit.margin >= 0.0
    ]
    return "; ".join(missed[:2]) or "no design within the masses asked"


def _reasons(curves: Sequence[Curve]) -> str:
    return " ".join(f"'{c.name}': {_missed(c)}." for c in curves)


def _um(value: float) -> str:
    return f"{value * 1e3:.0f} µm"
