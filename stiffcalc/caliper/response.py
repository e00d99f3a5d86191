"""How the body answers pressure: two wall models, one joint, openings read from the solved states.

Both models end in a `Pair`; everything after that is shared, so a difference between them is the wall's alone.
Axes: D designs, S preload states, P pressures.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.root_pressure import closed_faces
from stiffcalc.caliper.wall_depth import with_depth
from stiffcalc.condensed import Array, Flexibility, add
from stiffcalc.mechanics import joint
from stiffcalc.mechanics.elastic_faces import FITTED as FACES
from stiffcalc.mechanics.elastic_faces import FaceConstants, seat_flexibility
from stiffcalc.mechanics.faces import elastic_layer
from stiffcalc.mechanics.hydraulics import piston_area
from stiffcalc.mechanics.joint_state import (
    Checks,
    Pair,
    Response,
    State,
    UnheldError,
    change,
    picked,
    plus,
    with_states,
)
from stiffcalc.mechanics.opening import Onset, contributions, onset
from stiffcalc.mechanics.pads import FITTED as PADS
from stiffcalc.mechanics.pads import PadConstants
from stiffcalc.mechanics.trees import number, table
from stiffcalc.mechanics.wall import WallLine, condensed_wall, footprints
from stiffcalc.plane.front_view import FrontView, front_view


@dataclass(frozen=True)
class Openings:
    """What opens, both halves together, mm and rad; leading axes as the states they were read from."""

    spread: Array  # (...)
    by_bore: Array  # (..., B)
    tilt: Array  # (..., B) d(opening)/dy of each bore's mouth
    yaw: Array  # (...) d(opening)/dx along the row of bores
    bore_wall: Array  # (..., B) mm3
    cut_opening: Array  # (..., K), K = 0 where the frame left the cuts out
    cut_slope: Array  # (..., K)


@dataclass(frozen=True)
class Answer:
    """States of one body (or a batch) over preloads and pressures, as changes from the tightened state."""

    pair: Pair
    change: Response  # (D, S, P)
    loaded: Response  # (D, S, P) forces as they are
    tightened: State | None  # (D, S); None where nothing is tightened
    checks: Checks  # (D, S, P)
    openings: Openings
    onset: Onset | None  # (D, 1) of the joint tightened to the first preload state
    warm: Response | None = None  # (D, S) what unlike growth of bridges adds; None: nothing

    @cached_property
    def held(self) -> NDArray[np.bool_]:
        """Whether something holds the halves together, (D, S, P)."""
        return np.asarray(np.isfinite(self.loaded.rigid).all(axis=-1))

    @cached_property
    def contributions(self) -> Mapping[str, Array]:
        """Where the spread comes from, (D, S, P) mm each, summing to it."""
        return contributions(self.pair, self.change)


def frame_pair(body: Body, *, give: bool = True, fine: bool = True) -> Pair:
    """Join a body or a batch of D by the closed-form frame; `give` and `fine` as in `joined`."""
    return frame(body, give=give, fine=fine)[0]


def frame(
    body: Body, *, give: bool = True, fine: bool = True, brief: bool = False
) -> tuple[Pair, dict[str, WallLine]]:
    """`frame_pair`, and the walls of both sides as the beams that it took them for; `brief` as in `condensed_wall`."""
    feet = footprints(idealise.bridges(body))
    inboard = condensed_wall(idealise.walls(body, "inboard"), feet, brief=brief)
    outboard = (
        inboard if body.symmetric else condensed_wall(idealise.walls(body, "outboard"), feet, brief=brief)
    )
    pair = joined(body, add(inboard[0], outboard[0]), give=give, fine=fine)
    return pair, {"inboard": inboard[1], "outboard": outboard[1]}


def front_view_pair(body: Body, *, give: bool = True) -> tuple[Pair, tuple[FrontView, FrontView]]:
    """Join one body by the front view, `give` as in `joined`; also returns the views of both halves."""
    outboard = front_view(idealise.plate_plan(body, "outboard"))
    plan = idealise.plate_plan(body, "inboard")
    inboard = outboard if body.symmetric else front_view(plan)
    halves = (
        with_depth(inboard.flexibility, body, "inboard"),
        with_depth(outboard.flexibility, body, "outboard"),
    )
    pair = joined(body, add(*halves), give=give)
    closed = closed_faces(body, pair, {"inboard": inboard, "outboard": outboard})
    return replace(pair, closed=closed), (inboard, outboard)


def joined(
    body: Body, both: Flexibility, *, give: bool = True, fine: bool = True, constants: FaceConstants = FACES
) -> Pair:
    """Close the halves with bridges, faces and bolts.

    With `give` the faces are elastic, cell by cell; without, they move as planes on an elastic bed, which is
    less true once they open and so much faster that thousands of designs can be loaded at once. `fine` as in
    `idealise.clamp_faces`.
    """
    bridges, D = idealise.bridges(body), body.count
    jointed = [b.jointed for b in body.bridges]
    return joint.join(
        with_pads(both, body),
        bridges=bridges,
        jointed=jointed,
        layer=elastic_layer(bridges),
        clamp=idealise.clamp_faces(body, give=give, fine=fine, constants=constants) if any(jointed) else None,
        bolt_flexibility=table([bolt_flexibility(body, i, constants) for i in range(len(body.bolts))], D),
        bore_area=piston_area(table([b.diameter for b in body.inboard.bores], D)),
    )


def with_pads(both: Flexibility, body: Body, *, constants: PadConstants = PADS) -> Flexibility:
    """Both halves with what bars give that are bolted down on the walls, as a part of its own."""
    where = [i for i, b in enumerate(body.bridges) if b.pads is not None]
    if not where:
        return both
    own = np.zeros_like(both.F)
    for i in where:
        at = slice(3 * i, 3 * i + 3)
        own[:, at, at] = 2.0 * idealise.pad_flexibilities(body, i, constants=constants)
    return replace(both, F=both.F + own, parts={**both.parts, "pads of bars": own})


def bolt_flexibility(body: Body, index: int, constants: FaceConstants = FACES) -> float:
    """mm/N of a whole bolt and of what gives way under its head and thread."""
    bearing = np.asarray(body.bolts[index].bearing)
    seat = number(seat_flexibility(E=np.asarray(body.E), bearing=bearing, constants=constants))
    return bar_flexibility(body, index) + seat


def bar_flexibility(body: Body, index: int) -> float:
    """mm/N of a whole bolt alone: a plain bar from outer face to outer face where it does not state its own."""
    bolt = body.bolts[index]
    if bolt.flexibility is not None:
        return bolt.flexibility
    length = 2 * body.half_gap + body.inboard.thickness + body.outboard.thickness
    return length / (bolt.E * np.pi * bolt.diameter**2 / 4)


def answer(pair: Pair, body: Body, *, preload: Array, pressure: Array, tight: State | None = None) -> Answer:
    """Tighten to preload (D, S, J), then load to pressure (P,). Without joint faces preload plays no part.

    tight: the joint so tightened (D, S), where it has been solved already.

    Where nothing holds one body's halves together its states are NaN and `held` is False; for a batch of bodies that
    raises `UnheldError`. Raises `JointError` where no equilibrium is found.
    """
    if not pair.jointed:
        state = joint.glued(pair, np.broadcast_to(pressure, (body.count, 1, len(pressure))))
        warm = None if pair.grown is None else with_states(joint.glued_grown(pair).response, 1)
        return Answer(
            pair=pair,
            change=state.response,
            loaded=state.response if warm is None else plus(state.response, warm),
            tightened=None,
            checks=state.checks,
            openings=openings(pair, state.response, body),
            onset=None,
            warm=warm,
        )
    tight, state = _loaded(pair, preload, pressure, tight)
    moved = change(state.response, tight.response)
    return Answer(
        pair=pair,
        change=moved,
        loaded=state.response,
        tightened=tight,
        checks=state.checks,
        openings=openings(pair, moved, body),
        onset=first_loss(pair, tight),
        warm=_warm(pair, preload, tight),
    )


def first_loss(pair: Pair, tight: State) -> Onset:
    """Onset of the joint tightened to the first preload state, (D, 1, N)."""
    return onset(pair, replace(tight, response=picked(tight.response, (slice(None), slice(1)))))


def _warm(pair: Pair, preload: Array, tight: State) -> Response | None:
    """What the growth of unlike bridges does to the tightened joint (D, S), its bolts' forces being what they are."""
    if pair.grown is None:
        return None
    try:
        return change(tight.response, joint.tighten(replace(pair, grown=None), preload).response)
    except UnheldError:
        if len(preload) > 1:
            raise
        return change(tight.response, blank(pair, preload.shape[:2]).response)


def _loaded(pair: Pair, preload: Array, pressure: Array, tight: State | None) -> tuple[State, State]:
    """Tightened (D, S) and loaded (D, S, P)."""
    try:
        tight = tight or joint.tighten(pair, preload)
        return tight, joint.load(pair, tight, np.broadcast_to(pressure, (*preload.shape[:2], len(pressure))))
    except UnheldError:
        if len(preload) > 1:
            raise
        return _loaded_one_by_one(pair, preload, pressure)


def _loaded_one_by_one(pair: Pair, preload: Array, pressure: Array) -> tuple[State, State]:
    """As `_loaded` for one body; what nothing holds, and every pressure above it, is NaN."""
    tight, loaded = blank(pair, preload.shape[:2]), blank(pair, (*preload.shape[:2], len(pressure)))
    for s in range(preload.shape[1]):
        try:
            one = joint.tighten(pair, preload[:, s])
            _put(tight, (slice(None), s), one)
            for k, p in enumerate(pressure):
                _put(loaded, (slice(None), s, k), joint.load(pair, one, np.array([p])))
        except UnheldError:
            continue
    return tight, loaded


def blank(pair: Pair, lead: tuple[int, ...]) -> State:
    """A state of NaN with those leading axes, to be filled."""
    half, bridges = pair.flexibility, pair.bridge_flexibility.shape[1]
    n = half.points
    own = {
        "pressure": (),
        "tension": (bridges, 3),
        "bolt": (n.bolts,),
        "separation": (bridges, 3),
        "rigid": (3,),
        "points": (n.count,),
        "outputs": (half.outputs.R.shape[1],),
        "cells": (pair.clamp.cells.count if pair.clamp is not None and pair.clamp.give is not None else 0,),
    }
    response = Response(**{name: np.full((*lead, *shape), np.nan) for name, shape in own.items()})
    residual, equilibrium, energy = np.full((3, *lead), np.nan)
    return State(response, Checks(residual, equilibrium, energy, np.zeros(lead, dtype=np.intp)))


def _put(whole: State, at: tuple[int | slice, ...], one: State) -> None:
    """Write one state into its place of a blank one."""
    for into, found in ((whole.response, one.response), (whole.checks, one.checks)):
        for name, values in vars(found).items():
            getattr(into, name)[at] = values


def openings(pair: Pair, moved: Response, body: Body) -> Openings:
    """Read spread, tilt, yaw and the rest from movements of both halves."""
    points = pair.flexibility.points
    extra = tuple(range(1, moved.pressure.ndim))
    area = np.expand_dims(pair.bore_area, extra)
    by_bore = moved.points[..., points.bore]
    o, b = moved.outputs, points.bores
    mouth = o[..., : 2 * b]
    cuts = o[..., 3 * b :]
    x = np.expand_dims(table([q.x for q in body.inboard.bores], body.count), extra)
    return Openings(
        spread=(by_bore * area).sum(axis=-1) / area.sum(axis=-1),
        by_bore=by_bore,
        tilt=mouth[..., 0::2],
        yaw=slope(x, by_bore, weight=area) if b > 1 else -mouth[..., 1],
        bore_wall=o[..., 2 * b : 3 * b],
        cut_opening=cuts[..., 0::2],
        cut_slope=cuts[..., 1::2],
    )


def slope(x: Array, value: Array, *, weight: Array) -> Array:
    """Weighted least-squares slope of value over x along the last axis; 0 where all x coincide."""
    dx = x - (weight * x).sum(axis=-1, keepdims=True) / weight.sum(axis=-1, keepdims=True)
    moment = (weight * dx**2).sum(axis=-1)
    found: Array = (weight * dx * value).sum(axis=-1) / np.where(moment > 0, moment, 1.0)
    return found
