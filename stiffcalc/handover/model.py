"""From a design to the assembly that is handed over: which bridges are parts, where screws sit and engage."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper import measures
from stiffcalc.caliper.body import Body, BoltShape, HalfShape
from stiffcalc.caliper.build import build
from stiffcalc.milling import slabs
from stiffcalc.solid.shapes import SIDES, Assembly, ScrewShape, half_part, slugs
from stiffcalc.study.geometry import depth_inside
from stiffcalc.study.schema import Bolt, Design, Pads


def assembly(design: Design) -> Assembly:
    """The assembly of one design."""
    body = build(design)
    names = slugs([b.name for b in body.bridges])
    c = design.caliper
    separate = frozenset(i for i, b in enumerate(c.bridges) if b.kind == "bolted-in")
    placed = zip(c.bolts, body.bolts, strict=True)
    screws = [_through(body, k, bolt, shape) for k, (bolt, shape) in enumerate(placed, start=1)]
    for i, bridge in enumerate(c.bridges):
        if bridge.pads is not None:
            screws += _on_pads(body, i, names[i], bridge.pads)
    return Assembly(body, tuple(screws), separate, c.layout == "two-piece", names)


def _through(body: Body, number: int, bolt: Bolt, shape: BoltShape) -> ScrewShape:
    """A bolt along z: head on the inboard half, thread at the outer end of the outboard half."""
    metal = measures.bolt_metal(bolt, body)
    near, far = (body.half_gap + h.thickness - _sunk(h, shape) for h in (body.inboard, body.outboard))
    return ScrewShape(
        name=f"bolt_{number}",
        seat=(shape.x, shape.y, -near),
        axis=(0.0, 0.0, 1.0),
        diameter=metal.diameter,
        thread=metal.diameter,
        grip=near + far - bolt.engagement,
        engaged=bolt.engagement,
        head_diameter=metal.head_diameter,
        head_height=metal.head_height,
        washer=metal.washer_thickness,
        bearing=shape.bearing,
        hole=shape.hole,
        near=half_part("inboard"),
        far=half_part("outboard"),
    )


def _sunk(half: HalfShape, bolt: BoltShape) -> float:
    """Depth of the pocket the bolt stands in; the reader has refused heads across a pocket's edge."""
    if half.shape is not None:
        return float(slabs(half.shape).depth_at(np.asarray(bolt.x), np.asarray(bolt.y)))
    return max((p.depth for p in half.pockets if depth_inside(bolt.x, bolt.y, p.outline) > 0), default=0.0)


def _on_pads(body: Body, index: int, name: str, pads: Pads) -> Iterator[ScrewShape]:
    """Screws of a bar along y, heads on its top; the wall's hole has the thread's pitch diameter."""
    bridge = body.bridges[index]
    shape = bridge.pads
    assert shape is not None
    metal = measures.pad_screw(pads.screw, bridge)
    for side, sign in SIDES:
        for k, x in enumerate(np.sort(shape.x), start=1):
            yield ScrewShape(
                name=f"bolt_{name}_{side}_{k}",
                seat=(float(x), bridge.y1, sign * (body.half_gap + shape.setback)),
                axis=(0.0, -1.0, 0.0),
                diameter=metal.diameter,
                thread=shape.tapped,
                grip=bridge.y1 - shape.seat,
                engaged=pads.screw.engagement,
                head_diameter=metal.head_diameter,
                head_height=metal.head_height,
                washer=metal.washer_thickness,
                bearing=shape.bearing,
                hole=shape.hole,
                near=f"bridge_{name}",
                far=half_part(side),
            )
