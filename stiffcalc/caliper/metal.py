"""What checks ask of a body's metal whatever the load: stresses under unit loads, shape factors, validity of shapes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body
from stiffcalc.condensed import Array
from stiffcalc.mechanics import strength
from stiffcalc.mechanics.beam import beam
from stiffcalc.mechanics.places import Feet, places
from stiffcalc.mechanics.trees import table
from stiffcalc.mechanics.values import Ranged
from stiffcalc.mechanics.wall import footprints
from stiffcalc.mechanics.wall_validity import Span, spans
from stiffcalc.mechanics.walls import Walls


@dataclass(frozen=True)
class WallMetal:
    """One side's walls of D bodies, Q stations along each."""

    walls: Walls
    x: Array  # (D, Q) mm
    bending: Array  # (D, m, Q) moment, N mm, under unit forces at the points
    stress: Array  # (D, Q) MPa per N mm
    spans: tuple[Span, ...]


@dataclass(frozen=True)
class Metal:
    """The metal of D bodies of one topology, N bridges each."""

    bridge_stress: Array  # (D, N, 6, 3) MPa at the sections' extreme points under unit N, Mx, My
    corner: Ranged  # (D, N, 4) fillet factor at the underside's extreme points; infinite where sharp
    sides: Mapping[str, WallMetal]  # "inboard", "outboard"


def metals(body: Body) -> Metal:
    """The metal of a body or a batch of D."""
    batch, D = idealise.bridges(body), body.count
    feet = footprints(batch).feet
    unit = [strength.bridge_stress(batch, np.broadcast_to(f, (*batch.E.shape, 3))) for f in np.eye(3)]
    thinner = table([np.minimum(body.inboard.thickness, body.outboard.thickness)], D)
    inboard = _wall(idealise.walls(body, "inboard"), feet)
    outboard = inboard if body.symmetric else _wall(idealise.walls(body, "outboard"), feet)
    return Metal(
        bridge_stress=np.stack(unit, axis=-1),
        corner=strength.corner_factor(
            table([q.fillet for q in body.bridges], D)[..., None],
            height=strength.corner_height(batch),
            wall=thinner[..., None],
        ),
        sides={"inboard": inboard, "outboard": outboard},
    )


def _wall(walls: Walls, feet: Feet) -> WallMetal:
    place = places(walls, feet)
    line = beam(walls, feet, place)
    return WallMetal(
        walls=walls,
        x=line.x,
        bending=line.bending[:, : place.points.count],
        stress=strength.edge_stress(walls, line.x, line.sections, moment=np.ones_like(line.x)),
        spans=spans(walls, feet),
    )
