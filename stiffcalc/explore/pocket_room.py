"""How deep the outer face may be milled at any place of one half."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper.body import Body, BridgeShape, HalfShape
from stiffcalc.caliper.idealise import footprint_outline
from stiffcalc.condensed import Array
from stiffcalc.study.geometry import depths_inside, rectangle
from stiffcalc.study.schema import PocketRoom


@dataclass(frozen=True)
class Room:
    """One half of the blank with what may be taken from it."""

    body: Body
    half: HalfShape
    rules: PocketRoom
    least: float  # wall that stays, mm
    floor: float  # that stays behind a bore, and beside it as far as the rules say


def depth_allowed(room: Room, places: Array) -> Array:
    """Greatest depth (k,) mm at places (k, 2): none outside the wall, under heads, behind feet, in what is kept."""
    half = room.half
    depth = np.full(len(places), half.thickness - room.least)
    for bore in half.bores:
        near = np.hypot(*(places - (bore.x, bore.y)).T) <= bore.diameter / 2 + room.rules.bore
        depth[near] = np.minimum(depth[near], max(0.0, half.floor - room.floor))
    for bolt in room.body.bolts:
        depth[np.hypot(*(places - (bolt.x, bolt.y)).T) <= bolt.bearing / 2 + room.rules.seat] = 0.0
    for outline in kept(room):
        depth[depths_inside(places, outline) >= 0.0] = 0.0
    depth[depths_inside(places, half.outline) < 0.0] = 0.0
    return depth


def over_bores(room: Room, places: Array) -> NDArray[np.bool_]:
    """Which of the places (k, 2) lie behind a bore."""
    gaps = [np.hypot(*(places - (b.x, b.y)).T) - b.diameter / 2 for b in room.half.bores]
    return np.asarray(np.min(gaps, axis=0) <= 0.0)


def kept(room: Room) -> list[Array]:
    """Outlines (N, 2) where nothing is milled: feet of bridges, slots of bars and their bolts, what the study names."""
    bridges = room.body.bridges
    feet = [footprint_outline(b) for b in bridges if b.pads is None and not room.rules.behind_bridges]
    slots = [_slot(b, room) for b in bridges if b.pads is not None]
    return [*feet, *slots, *(rectangle(x, y) for x, y in room.rules.keep)]


def _slot(bridge: BridgeShape, room: Room) -> Array:
    """A bar's pad in its slot and the metal round the threads below it: it leaves no more wall than a pocket would."""
    assert bridge.pads is not None
    rib = room.rules.rib
    top = float(room.half.outline[:, 1].max())
    return rectangle((bridge.x0 - rib, bridge.x1 + rib), (bridge.pads.seat - bridge.pads.depth - rib, top))
