"""Spread of a blank milled to a depth of its own over every triangle, in every load case, and its slopes.

Held while depths move: the settled minimum preload of each load case at its temperature, as the blank's first state
gives it, and what the wall gives in its depth. The mesh stays, so that slopes are exact.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.caliper import heat, idealise, response
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.build import build
from stiffcalc.caliper.heat import Warmth
from stiffcalc.caliper.life import life
from stiffcalc.caliper.wall_depth import with_depth
from stiffcalc.condensed import Array, Flexibility, add
from stiffcalc.explore.pocket_blank import SIDES, Start
from stiffcalc.mechanics.joint_state import Pair
from stiffcalc.mechanics.spread_work import spread_work
from stiffcalc.plane.depths import milled, slopes
from stiffcalc.plane.front_view import front_view, solved
from stiffcalc.plane.model import Model, model_of
from stiffcalc.plane.plan import polygon_area
from stiffcalc.study.schema import Design, LoadCase

Depths = Mapping[str, Array]  # of each milled side, (e,) mm


@dataclass(frozen=True)
class Blank:
    """A meshed blank: `models` of the sides that are milled, the other half as it is."""

    design: Design
    body: Body
    copies: int  # halves that one side stands for
    models: Mapping[str, Model]
    others: tuple[Flexibility, ...]
    cases: tuple[LoadCase, ...]  # those with pressure


@dataclass(frozen=True)
class Found:
    """What depths give."""

    spread: Array  # (cases,) mm
    slopes: Depths  # of the weighted sum of spreads, per mm of depth of one triangle


def meshed(start: Start, *, elements: int) -> Blank:
    """Mesh the blank with about `elements` triangles a half."""
    body = build(start.blank)
    models, others = {}, []
    for side in SIDES:
        plan = idealise.plate_plan(body, side)
        if side in start.sides:
            size = float(np.sqrt(polygon_area(plan.outline) / elements / 0.433))
            models[side] = model_of(replace(plan, mesh_size=size))
        elif start.copies == 1:
            others.append(with_depth(front_view(plan).flexibility, body, side))
    pressed = tuple(c for c in start.blank.load_cases if c.pressure > 0.0)
    return Blank(start.blank, body, start.copies, models, tuple(others), pressed)


def preloads(blank: Blank, depths: Depths) -> tuple[Array, ...]:
    """Settled minimum preload (J,) of each load case at its temperature, N. Raises `JointError`."""
    pair = _pair(blank, {side: _half(blank, side, depths[side])[0] for side in blank.models})
    known = life(blank.design, blank.body, pair)
    return tuple(known.own[_warmth(c)].preload.min[0] for c in blank.cases)


def evaluate(blank: Blank, depths: Depths, held: tuple[Array, ...], weight: Array) -> Found:
    """Spread of every case, and slopes of weight (cases,) . spread. Raises `JointError`."""
    halves = {side: _half(blank, side, depths[side]) for side in blank.models}
    pair = _pair(blank, {side: half for side, (half, _, _) in halves.items()})
    points = pair.flexibility.points.count
    spread, work = np.zeros(len(blank.cases)), np.zeros((points, points + 1))
    for i, (case, preload) in enumerate(zip(blank.cases, held, strict=True)):
        warm = heat.at_warmth(pair, blank.design, blank.body, _warmth(case))
        found = spread_work(warm, preload=preload, pressure=np.array([case.pressure]))
        spread[i] = found.spread[0]
        softer = 1.0 / heat.modulus_ratio(blank.design.caliper.material, case.body_temperature_C)
        work += weight[i] * softer * found.work[0]
    grown = {side: blank.copies * slopes(model, U, work) for side, (_, model, U) in halves.items()}
    return Found(spread, grown)


def _warmth(case: LoadCase) -> Warmth:
    return Warmth(case.body_temperature_C, case.bolt_temperature_C)


def _half(blank: Blank, side: str, depth: Array) -> tuple[Flexibility, Model, Array]:
    model = milled(blank.models[side], depth)
    view, U = solved(model)
    return with_depth(view.flexibility, blank.body, side), model, U


def _pair(blank: Blank, halves: Mapping[str, Flexibility]) -> Pair:
    every = [*halves.values(), *blank.others]
    return response.joined(blank.body, add(every[0], every[-1]))
