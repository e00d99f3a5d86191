"""From the best field to rectangles of the right mass or spread: several sets are tried, the front view picks one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.explore.pocket_blank import Start, walled
from stiffcalc.explore.pocket_boxes import (
    Box,
    Rules,
    Tries,
    Worth,
    boxes,
    by_cost,
    by_likeness,
    deepened,
    tries,
)
from stiffcalc.explore.pocket_pair import Blank, evaluate, meshed
from stiffcalc.explore.pocket_raster import Raster
from stiffcalc.study.schema import Design, Pocket, PocketPlan

# prices per mm3 tried, in shares of what milling costs where the field is free to move: ever more is milled
PRICES = 0.8 * 1.15 ** np.arange(14)
RAISED = (1.0, 1.1, 1.25)  # factors on the field that is followed
TRIED = 5  # sets of rectangles that can carry the volume, of each kind
SHALLOWEST = 0.05

Sets = Mapping[str, tuple[Box, ...]]
Solve = Callable[[Blank, Mapping[str, Array]], float]


@dataclass(frozen=True)
class Proposal:
    """The rectangles of each side; `volume` mm3 of all sides, each once; `short`: less than was to be had."""

    sets: Sets
    volume: float
    short: bool


@dataclass(frozen=True)
class Wanted:
    """What rectangles are for: `volume` mm3 with the least value, or, with `value`, the most volume that gives it."""

    start: Start
    plan: PocketPlan
    volume: float
    value: float | None
    solve: Solve  # value of a blank with further depths
    rank: Callable[
        [Sets], float
    ]  # value of rectangles with what is idle beside their steps: the least is taken
    elements: int


@dataclass(frozen=True)
class Costs:
    """What milling costs on the pixels of one side (ny, nx): see `pocket_boxes`; height: metal before it is milled."""

    pixels: Raster
    K: Array
    height: Array
    field: Array  # depth wanted


def propose(costs: Mapping[str, Costs], price: float, wanted: Wanted) -> Proposal:
    """The best of several sets of rectangles; price: of a mm3 where the best field is free to move."""
    plan, bridges = wanted.plan, wanted.start.blank.caliper.bridges
    edges = np.array([v for b in bridges for v in b.x]), np.array([v for b in bridges for v in b.y or ()])
    rules = Rules(plan.count, plan.cutter, plan.room.rib, edges)
    every = {side: tries(c.pixels, c.K, c.height, c.field, rules) for side, c in costs.items()}
    found: list[tuple[float, Proposal]] = []
    most: Sets = dict.fromkeys(costs, ())
    ways: tuple[tuple[Iterable[float], Callable[[Tries, float], Worth]], ...]
    ways = ((price * PRICES, by_cost), (RAISED, by_likeness))
    for steps, way in ways:
        before = len(found)
        for step in steps:
            sets = {side: boxes(among, way(among, float(step)), rules) for side, among in every.items()}
            if _volume(_deepest(sets)) >= wanted.volume:
                found.append(_sized(sets, wanted))
            elif _volume(_deepest(sets)) > _volume(_deepest(most)):
                most = sets
            if len(found) - before == TRIED:
                break
    if not any(most.values()) and not found:
        given = f"{plan.cutter:g}, with which no rectangle fits beside heads, feet, bores and ribs"
        raise InputError(
            [Fault("pockets.cutter_mm", given, "a cutter that finds room", "take a smaller one")]
        )
    if not found:
        found.append(_sized(most, wanted))
    return min(found, key=lambda f: f[0])[1]


def _volume(sets: Sets) -> float:
    return sum(b.area * b.depth for own in sets.values() for b in own)


def _scaled(sets: Sets, factor: float) -> Sets:
    return {side: deepened(own, factor) for side, own in sets.items()}


def _deepest(sets: Sets) -> Sets:
    return {side: tuple(replace(b, depth=b.most) for b in own) for side, own in sets.items()}


def _reach(sets: Sets) -> float:
    """Factor that brings the shallowest box to the depth allowed."""
    return max(b.most / b.depth for own in sets.values() for b in own)


def _sized(sets: Sets, wanted: Wanted) -> tuple[float, Proposal]:
    """One set of rectangles with its depths brought to volume or value, and what it is ranked by."""
    start, volume, value = wanted.start, wanted.volume, wanted.value
    short = _volume(_deepest(sets)) <= volume
    sized = (
        _deepest(sets) if short else _scaled(sets, _root(lambda k: _volume(_scaled(sets, k)) - volume, sets))
    )
    if value is None:
        return wanted.rank(sized), Proposal(sized, _volume(sized), short)
    body = meshed(replace(start, blank=cut(start, sized)), elements=wanted.elements)

    def at(k: float) -> float:
        extra = {side: _further(body, side, own, deepened(own, k)) for side, own in sized.items()}
        return wanted.solve(body, extra)

    short = at(_reach(sized)) < value
    final = _deepest(sized) if short else _scaled(sized, _root(lambda k: at(k) - value, sized))
    return -_volume(final), Proposal(final, _volume(final), short)


def _root(gap: Callable[[float], float], sets: Sets) -> float:
    """The factor on all depths that closes a gap which grows with it."""
    return float(brentq(gap, SHALLOWEST, _reach(sets), xtol=1e-5))


def _further(body: Blank, side: str, old: Sequence[Box], new: Sequence[Box]) -> Array:
    """Depth (e,) to be taken off the meshed body so that its pockets are as deep as the new ones."""
    mesh = body.models[side].mesh
    extra = np.zeros(len(mesh.triangles))
    for i, (a, b) in enumerate(zip(old, new, strict=True)):
        extra[mesh.groups[f"pocket {i}"]] = b.depth - a.depth
    return extra


def cut(start: Start, sets: Sets) -> Design:
    """The blank with the rectangles cut."""
    walls = {}
    for side in start.milled:
        own = sets[side if side in sets else start.sides[0]]
        pockets = tuple(Pocket(b.x, b.y, b.depth) for b in own)
        walls[side] = replace(getattr(start.blank.caliper, side), pockets=pockets)
    return walled(start.blank, walls)


def evaluated(held: tuple[Array, ...], weight: Array) -> Solve:
    """The weighted spread of a body with further depths, preloads held."""

    def solve(body: Blank, depths: Mapping[str, Array]) -> float:
        return float(weight @ evaluate(body, depths, held, weight).spread)

    return solve
