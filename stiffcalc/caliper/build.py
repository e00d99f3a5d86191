"""From a validated design to the defined body (design in, geometry out)."""

from __future__ import annotations

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper import measures
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
from stiffcalc.condensed import Array
from stiffcalc.mechanics import resilience
from stiffcalc.study import reach
from stiffcalc.study.geometry import crown, wall_outline
from stiffcalc.study.pads import bolt_places
from stiffcalc.study.schema import Bolt, Bore, Bridge, Caliper, Design, Port, Wall


def build(design: Design) -> Body:
    """The body of a design at room temperature."""
    c = design.caliper
    half_gap = design.rotor.thickness / 2 + design.pad.thickness + design.pad.running_clearance
    bridges = tuple(bridge_shape(b, design) for b in c.bridges)
    return Body(
        inboard=half_shape(c.inboard, c.bores),
        outboard=half_shape(c.outboard, c.bores),
        half_gap=half_gap,
        bridges=bridges,
        bolts=tuple(bolt_shape(b, c, bridges, half_gap) for b in c.bolts),
        E=c.material.E,
        nu=c.material.nu,
        ports=tuple(port_shape(p, bridges) for p in c.ports),
    )


def rectangle(x: tuple[float, float], y: tuple[float, float]) -> Array:
    """Corners of a rectangle, counter-clockwise (4, 2)."""
    return np.array([(x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])], dtype=float)


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
        bearing=screw.washer_diameter or catalogue.head(thread.d).diameter,
        tapped=thread.d2,
        depth=screw.engagement if screw.tapped_depth is None else screw.tapped_depth,
    )


def port_shape(port: Port, bridges: tuple[BridgeShape, ...]) -> PortShape:
    """One port and the bridge it lies in."""
    bridge = next(i for i, b in enumerate(bridges) if b.x0 <= port.x <= b.x1)
    return PortShape(x=port.x, y=port.y, diameter=port.diameter, seal=port.seal_diameter, bridge=bridge)


def bolt_shape(bolt: Bolt, c: Caliper, bridges: tuple[BridgeShape, ...], half_gap: float) -> BoltShape:
    """One bolt with its bridge and its spring between head face and first engaged threads."""
    thread = catalogue.thread(bolt.thread)
    head = catalogue.head(thread.d)
    E = catalogue.grade(bolt.grade).E
    grip = c.inboard.thickness + 2 * half_gap + c.outboard.thickness - bolt.engagement + bolt.washer_thickness
    length = grip + bolt.engagement
    free = max(0.0, min(measures.threaded(thread.d, length) - bolt.engagement, grip))
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
        bearing=bolt.washer_diameter or head.diameter,
        E=E,
        bridge=next(i for i, b in enumerate(bridges) if b.x0 <= bolt.x <= b.x1),
        flexibility=float(parts.total),
    )
