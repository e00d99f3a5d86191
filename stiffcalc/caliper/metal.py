"""What checks ask of a body's metal whatever the load: stresses under unit loads, shape factors, validity of shapes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body, HalfShape
from stiffcalc.condensed import Array
from stiffcalc.mechanics import plates, strength
from stiffcalc.mechanics.local import floor_thickness
from stiffcalc.mechanics.places import Feet
from stiffcalc.mechanics.trees import table
from stiffcalc.mechanics.values import Ranged
from stiffcalc.mechanics.wall import WallLine, footprints, wall_line
from stiffcalc.mechanics.wall_validity import Span, spans
from stiffcalc.mechanics.walls import Walls
from stiffcalc.study.geometry import depth_inside


@dataclass(frozen=True)
class WallMetal:
    """One side's walls of D bodies."""

    walls: Walls
    floor: Array  # (D, B) thickness of each bore's floor, mm
    line: WallLine
    spans: tuple[Span, ...]
    around: Array  # (D, B) least metal round each bore, mm
    ring: Array  # (D, B) equivalent stress there, as a multiple of the pressure


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
    inboard = _wall(body.inboard, idealise.walls(body, "inboard"), feet, known.get("inboard"))
    outboard = inboard
    if not body.symmetric:
        outboard = _wall(body.outboard, idealise.walls(body, "outboard"), feet, known.get("outboard"))
    return Metal(
        bridge_stress=strength.unit_stress(batch),
        corner=strength.corner_factor(
            table([q.fillet for q in body.bridges], D)[..., None],
            height=strength.corner_height(batch),
            wall=thinner[..., None],
        ),
        sides={"inboard": inboard, "outboard": outboard},
    )


def _wall(half: HalfShape, walls: Walls, feet: Feet, line: WallLine | None) -> WallMetal:
    radius = 0.5 * walls.bore_d
    edge = table([depth_inside(b.x, b.y, half.outline) for b in half.bores], len(radius))
    beside = _metal_beside(walls)
    around = np.minimum(beside, edge - radius)
    hoop = plates.cylinder_hoop_stress(1.0, inner=radius, outer=radius + around, radius=radius)
    mises = np.sqrt(hoop**2 + hoop + 1.0)  # with -1 radially
    ring = np.maximum(mises, plates.edge_stress_beside_bore(1.0, radius=radius, distance=edge))
    return WallMetal(
        walls, floor_thickness(walls), line or wall_line(walls, feet), spans(walls, feet), around, ring
    )


def _metal_beside(walls: Walls) -> Array:
    """Least metal from each bore to a bolt's hole, or half of that to the next bore, which shares it, (D, B) mm."""
    between = _apart(walls, walls.bore_x, walls.bore_y, walls.bore_d)
    between[:, np.eye(between.shape[1], dtype=bool)] = np.inf
    holes = _apart(walls, walls.hole_x, walls.hole_y, walls.hole_d)
    drilled = np.broadcast_to((walls.hole_d > 0.0)[:, None], holes.shape)
    to_holes = holes.min(axis=-1, initial=np.inf, where=drilled)
    return np.asarray(np.minimum(0.5 * between.min(axis=-1), to_holes))


def _apart(walls: Walls, x: Array, y: Array, diameter: Array) -> Array:
    """Metal between every bore and circles (D, n), (D, B, n)."""
    away = np.hypot(x[:, None] - walls.bore_x[..., None], y[:, None] - walls.bore_y[..., None])
    return np.asarray(away - 0.5 * (walls.bore_d[..., None] + diameter[:, None]))
