"""From a validated design to the defined body (design in, geometry out); or a batch of designs to one of bodies."""

from __future__ import annotations

from typing import Any

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper import measures
from stiffcalc.caliper.abutments import abutment_shapes
from stiffcalc.caliper.batch import differ
from stiffcalc.caliper.body import (
    Body,
    BoltShape,
    BoreShape,
    BridgeShape,
    HalfShape,
    PadShape,
    PocketShape,
    PortShape,
)
from stiffcalc.caliper.lug_metal import lug_shape
from stiffcalc.mechanics import resilience
from stiffcalc.mechanics.trees import column, number
from stiffcalc.study import reach
from stiffcalc.study.geometry import crown, rectangle, wall_outline
from stiffcalc.study.pads import bolt_places
from stiffcalc.study.schema import Bolt, Bore, Bridge, Caliper, Design, Port, Screw, Wall


def build(design: Design, count: int | None = None) -> Body:
    """The body of a design at room temperature; of a batch of `count` designs where a count is given.

    Raises ValueError where a bolt or port of a batch does not stand in the same bridge in all.
    """
    c = design.caliper
    half_gap = design.rotor.thickness / 2 + design.pad.thickness + design.pad.running_clearance
    if count is not None:
        half_gap = number(column(half_gap, count))
    bridges = tuple(bridge_shape(b, design) for b in c.bridges)
    inboard = half_shape(c.inboard, c.bores)
    return Body(
        inboard=inboard,
        outboard=half_shape(c.outboard, c.bores) if differ(c.inboard, c.outboard).any() else inboard,
        half_gap=half_gap,
        bridges=bridges,
        bolts=tuple(bolt_shape(b, c, bridges, half_gap) for b in c.bolts),
        E=c.material.E,
        nu=c.material.nu,
        ports=tuple(port_shape(p, bridges) for p in c.ports),
        abutments=abutment_shapes(c),
        lugs=tuple(lug_shape(g, half_gap, c.inboard.thickness) for g in c.lugs),
    )


def bridge_at(bridges: tuple[BridgeShape, ...], x: float) -> int:
    """The first bridge that has x between its ends. Raises ValueError where it is not the same in a whole batch."""
    for i, b in enumerate(bridges):
        inside = (b.x0 <= np.asarray(x)) & (np.asarray(x) <= b.x1)
        if inside.all():
            return i
        if inside.any():
            break
    raise ValueError("bolts and ports of one batch must stand in the same bridge in all designs")


def half_shape(wall: Wall, bores: tuple[Bore, ...]) -> HalfShape:
    """One wall with its bores and pockets."""
    return HalfShape(
        outline=wall_outline(wall),
        thickness=wall.thickness,
        floor=wall.floor,
        bores=tuple(BoreShape(b.x, b.y, b.diameter) for b in bores),
        pockets=tuple(PocketShape(rectangle(p.x, p.y), p.depth) for p in wall.pockets),
        shape=wall.shape,
    )


def bridge_shape(bridge: Bridge, design: Design) -> BridgeShape:
    """One bridge; without a y range its underside is the rotor circle, but never below both walls' bottoms."""
    c = design.caliper
    y0, y1 = bridge.y if bridge.y is not None else (reach.bottom(c, bridge.x), reach.top(c, bridge.x))
    clear = design.rotor.outer_radius + design.rotor.edge_clearance
    return BridgeShape(
        name=bridge.name,
        x0=bridge.x[0],
        x1=bridge.x[1],
        y0=y0,
        y1=y1,
        arch=clear if bridge.y is None else None,
        fillet=bridge.fillet,
        E=bridge.material.E,
        nu=bridge.material.nu,
        jointed=bridge.pads is None and (c.layout == "two-piece" or bridge.kind == "bolted-in"),
        pads=pad_shape(bridge, design),
        reliefs=bridge.reliefs,
        land=bridge.land,
    )


def pad_shape(bridge: Bridge, design: Design) -> PadShape | None:
    """The pads of a bar that is bolted down on the walls."""
    if bridge.pads is None:
        return None
    pads, screw = bridge.pads, bridge.pads.screw
    thread = catalogue.thread(screw.thread)
    return PadShape(
        length=pads.length,
        seat=crown(bridge, design.caliper, design.rotor),
        x=tuple(bolt_places(bridge, pads)),
        setback=pads.setback,
        hole=screw.hole,
        bearing=bearing_diameter(screw, thread.d),
        tapped=thread.d2,
        depth=screw.engagement if screw.tapped_depth is None else screw.tapped_depth,
    )


def port_shape(port: Port, bridges: tuple[BridgeShape, ...]) -> PortShape:
    """One port and the bridge it lies in."""
    return PortShape(
        x=port.x, y=port.y, diameter=port.diameter, seal=port.seal_diameter, bridge=bridge_at(bridges, port.x)
    )


def bearing_diameter(screw: Screw, d: float) -> float:
    """Outer diameter that presses on the wall: of the washer, or of the head of a screw of size d."""
    return catalogue.head(d).diameter if screw.washer_diameter is None else screw.washer_diameter


def bolt_shape(bolt: Bolt, c: Caliper, bridges: tuple[BridgeShape, ...], half_gap: float) -> BoltShape:
    """One bolt with its bridge and its spring between head face and first engaged threads."""
    thread = catalogue.thread(bolt.thread)
    E = catalogue.grade(bolt.grade).E
    grip = c.inboard.thickness + 2 * half_gap + c.outboard.thickness - bolt.engagement + bolt.washer_thickness
    length = grip + bolt.engagement
    free: Any = np.clip(measures.threaded(thread.d, length) - bolt.engagement, 0.0, grip)
    # The tapped part itself is the wall, so the anchor adds nothing here.
    parts = resilience.bolt(
        thread.d,
        root_area=resilience.circle(thread.d3),
        shank=grip - free,
        free_thread=free,
        E=E,
        anchor=0.0,
        anchor_E=E,
    )
    return BoltShape(
        x=bolt.x,
        y=bolt.y,
        diameter=thread.d,
        hole=bolt.hole,
        bearing=bearing_diameter(bolt, thread.d),
        E=E,
        bridge=bridge_at(bridges, bolt.x),
        flexibility=number(parts.total),
    )
