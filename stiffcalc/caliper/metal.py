"""What checks ask of a body's metal whatever the load: stresses under unit loads, shape factors, validity of shapes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body
from stiffcalc.condensed import Array
from stiffcalc.mechanics import strength
from stiffcalc.mechanics.places import Feet
from stiffcalc.mechanics.trees import table
from stiffcalc.mechanics.values import Ranged
from stiffcalc.mechanics.wall import WallLine, footprints, wall_line
from stiffcalc.mechanics.wall_validity import Span, spans
from stiffcalc.mechanics.walls import Walls


@dataclass(frozen=True)
class WallMetal:
    """One side's walls of D bodies."""

    walls: Walls
    line: WallLine
    spans: tuple[Span, ...]


@dataclass(frozen=True)
class Metal:
    """The metal of D bodies of one topology, N bridges each."""

    bridge_stress: Array  # (D, N, 6, 3) MPa at the sections' extreme points under unit N, Mx, My
    corner: Ranged  # (D, N, 4) fillet factor at the underside's extreme points; infinite where sharp
    sides: Mapping[str, WallMetal]  # "inboard", "outboard"


def metals(body: Body, lines: Mapping[str, WallLine] | None = None) -> Metal:
    """The metal of a body or a batch of D; `lines` of both sides where the frame has found them already."""
    batch, D = idealise.bridges(body), body.count
    feet = footprints(batch).feet
    thinner = table([np.minimum(body.inboard.thickness, body.outboard.thickness)], D)
    known = lines or {}
    inboard = _wall(idealise.walls(body, "inboard"), feet, known.get("inboard"))
    outboard = inboard
    if not body.symmetric:
        outboard = _wall(idealise.walls(body, "outboard"), feet, known.get("outboard"))
    return Metal(
        bridge_stress=strength.unit_stress(batch),
        corner=strength.corner_factor(
            table([q.fillet for q in body.bridges], D)[..., None],
            height=strength.corner_height(batch),
            wall=thinner[..., None],
        ),
        sides={"inboard": inboard, "outboard": outboard},
    )


def _wall(walls: Walls, feet: Feet, line: WallLine | None) -> WallMetal:
    return WallMetal(walls, line or wall_line(walls, feet), spans(walls, feet))
