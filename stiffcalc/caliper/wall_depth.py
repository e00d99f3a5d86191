"""What a plate does not know of the wall's depth, added to a half that the front view has solved.

A plate is its mid-plane: a floor's edge turns in nothing softer than the wall, its force is in the mid-plane at once,
and so is what a head presses. In metal all three have a way to go.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body
from stiffcalc.condensed import Array, Flexibility
from stiffcalc.mechanics.head_path import head_column
from stiffcalc.mechanics.hydraulics import piston_area
from stiffcalc.mechanics.plates import floor_edge_flexibility, floor_path_flexibility


def with_depth(half: Flexibility, body: Body, side: str) -> Flexibility:
    """The half with the give of floors at their edges and of the wall under floors and heads, by `parts` of its own."""
    floors, heads = _floors(half, body, side), _heads(half, body, side)
    parts = {**half.parts, "floor": half.parts["floor"] + floors, "root": half.parts["root"] + heads}
    return replace(half, F=half.F + floors + heads, parts=parts)


def _floors(half: Flexibility, body: Body, side: str) -> Array:
    """Of each bore on itself, (D, m, m): its floor's edge turns, and its force goes down through the wall."""
    walls = idealise.walls(body, side)
    radius, E = walls.bore_d / 2, walls.E[:, None]
    floor, wall = walls.floor[:, None], walls.thickness[:, None]
    give = floor_edge_flexibility(radius, thickness=floor, E=E, nu=walls.nu[:, None])
    give = give + floor_path_flexibility(radius, thickness=floor, wall=wall, E=E)
    own = np.zeros_like(half.F)
    bores = np.arange(half.points.count)[half.points.bore]
    own[:, bores, bores] = give / piston_area(walls.bore_d)
    return own


def _heads(half: Flexibility, body: Body, side: str) -> Array:
    """Of each head on its bridge's root and the other way round, (D, m, m)."""
    points, bridges = half.points, idealise.bridges(body)
    column = head_column(bridges, idealise.walls(body, side), bolts=bolt_places(body), owner=owners(body))
    own = np.zeros_like(half.F)
    own[:, points.bridge, points.bolt] = column.reshape(len(own), points.bridge.stop, points.bolts)
    return np.asarray(own + own.swapaxes(1, 2))


def bolt_places(body: Body) -> Array:
    """(1, J, 2) mm of one body."""
    return np.array([(q.x, q.y) for q in body.bolts], dtype=float).reshape(1, -1, 2)


def owners(body: Body) -> list[int]:
    """The bridge above whose root each head presses straight down; -1 where the bar's pads take its force."""
    return [q.bridge if body.bridges[q.bridge].pads is None else -1 for q in body.bolts]
