"""From the defined body to what each wall model is given: arrays for the frame, a plate plan for the front view."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stiffcalc.caliper.body import Body, BridgeShape, HalfShape
from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges, reference
from stiffcalc.mechanics.elastic_faces import FITTED as FACES
from stiffcalc.mechanics.elastic_faces import ElasticFaces, FaceConstants, with_give
from stiffcalc.mechanics.face_cells import SPLIT
from stiffcalc.mechanics.face_images import FaceBolts, pressed_faces
from stiffcalc.mechanics.pads import PadConstants, pad_flexibility
from stiffcalc.mechanics.port_push import SealDisc, pushed
from stiffcalc.mechanics.trees import column, table
from stiffcalc.mechanics.voids import Void
from stiffcalc.mechanics.walls import Walls
from stiffcalc.milling import shared, slabs
from stiffcalc.plane.mesh import Disc
from stiffcalc.plane.plan import FITTED, Head, PlatePlan, Pocket, Rib, RootConstants, root_footprint

CORNERS = 48  # of a circle drawn as a polygon
ARCH_STEP_MM = 8.0  # a chord of 8 mm leaves the rotor circle by 0.05 mm; finer ones only crowd the mesh


def bores_mean_y(body: Body) -> float:
    """Area-weighted mean y of the bores: the line on which middle opening and bow are read."""
    bores = body.inboard.bores
    area = sum(b.diameter**2 for b in bores)
    return sum(b.y * b.diameter**2 for b in bores) / area


def cut_stations(body: Body, count: int = 9) -> Array:
    """Stations x at which the wall's line is read, evenly from the first bridge's middle to the last one's.

    (count,), of a batch (D, count).
    """
    middles = table([0.5 * (b.x0 + b.x1) for b in body.bridges], body.count)
    if middles.shape[1] < 2:
        middles = np.broadcast_to(body.inboard.outline[..., 0], (body.count, body.inboard.outline.shape[-2]))
    found = np.linspace(middles.min(axis=1), middles.max(axis=1), count, axis=-1)
    return found if np.ndim(body.half_gap) else found[0]


def walls(body: Body, side: str) -> Walls:
    """The walls of one side of a body or a batch of D; `side` is "inboard" or "outboard"."""
    half: HalfShape = getattr(body, side)
    D = body.count

    def ends(outlines: list[Array], axis: int) -> Array:
        """Least and greatest place along an axis, (D, n, 2)."""
        found = np.empty((D, len(outlines), 2))
        for i, outline in enumerate(outlines):
            found[:, i, 0], found[:, i, 1] = outline[..., axis].min(axis=-1), outline[..., axis].max(axis=-1)
        return found

    pockets = [p.outline for p in half.pockets]
    return Walls(
        x=ends([half.outline], 0)[:, 0],
        y=ends([half.outline], 1)[:, 0],
        thickness=column(half.thickness, D),
        floor=column(half.floor, D),
        bore_x=table([b.x for b in half.bores], D),
        bore_y=table([b.y for b in half.bores], D),
        bore_d=table([b.diameter for b in half.bores], D),
        pocket_x=ends(pockets, 0),
        pocket_y=ends(pockets, 1),
        pocket_depth=table([p.depth for p in half.pockets], D),
        hole_x=table([q.x for q in body.bolts], D),
        hole_y=table([q.y for q in body.bolts], D),
        hole_d=table([q.hole for q in body.bolts], D),
        bearing_d=table([q.bearing for q in body.bolts], D),
        cut_x=np.atleast_2d(cut_stations(body)),
        E=column(body.E, D),
        nu=column(body.nu, D),
        slabs=None if half.shape is None else shared(slabs(half.shape), D),
    )


def bridges(body: Body) -> Bridges:
    """The bridges of a body or a batch of D."""
    return body.prisms


def clamp_faces(
    body: Body, *, give: bool, fine: bool = True, constants: FaceConstants = FACES
) -> ElasticFaces:
    """The joint faces of a body or a batch of D, cut into cells; without `give` they move as planes.

    With `fine`, faces with ports, reliefs or lands that give way are cut finer.
    """
    D = body.count
    jointed = [i for i, b in enumerate(body.bridges) if b.jointed]
    voids = face_voids(body)
    shapes, split = bridges(body), SPLIT if give and fine and voids else 1
    place = np.stack([table([getattr(q, k) for q in body.bolts], D) for k in ("x", "y")], axis=-1)
    height = body.half_gap + (body.inboard.thickness + body.outboard.thickness) / 2
    owner = tuple(jointed.index(q.bridge) if q.bridge in jointed else -1 for q in body.bolts)
    bolts = FaceBolts(place, table([height] * len(body.bolts), D), owner)
    pressed = pressed_faces(shapes, bolts, jointed=jointed, voids=voids, split=split, constants=constants)
    if body.ports:
        pressed = replace(pressed, fluid=pushed(pressed.cells, shapes, discs(body)))
    if not give:
        return pressed
    E, nu = (table([getattr(body.bridges[i], k) for i in jointed], D) for k in ("E", "nu"))
    return with_give(pressed, E=E, nu=nu, constants=constants)


def discs(body: Body) -> tuple[SealDisc, ...]:
    """What the fluid of every port presses on: the disc within its seal's outer edge."""
    jointed = [i for i, b in enumerate(body.bridges) if b.jointed]
    return tuple(SealDisc(jointed.index(p.bridge), p.bridge, p.x, p.y, p.seal) for p in body.ports)


def face_voids(body: Body) -> tuple[Void, ...]:
    """Where the joint faces do not touch: within the seals of ports, in reliefs, beside lands. The same in a batch."""
    voids = []
    for face, i in enumerate(i for i, b in enumerate(body.bridges) if b.jointed):
        bridge = body.bridges[i]
        voids += [Void(circle(p.x, p.y, p.seal), face) for p in body.ports if p.bridge == i]
        voids += [Void(np.array(outline), face) for outline in bridge.reliefs]
        if bridge.land is not None:
            voids.append(Void(np.array(bridge.land), face, outside=True))
    return tuple(voids)


def circle(x: float, y: float, diameter: float) -> Array:
    """Polygon (N, 2) with a circle's area, counter-clockwise."""
    angle = 2.0 * np.pi * (np.arange(CORNERS) + 0.5) / CORNERS
    radius = 0.5 * diameter * np.sqrt(2.0 * np.pi / CORNERS / np.sin(2.0 * np.pi / CORNERS))
    return np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle)])


def pad_flexibilities(body: Body, index: int, *, constants: PadConstants) -> Array:
    """What one pad of bridge `index`, which has pads, adds on each side of a body or a batch of D, (D, 3, 3)."""
    shape, (_, y_r) = body.bridges[index], reference(bridges(body))
    pads = shape.pads
    assert pads is not None
    return pad_flexibility(
        width=shape.x1 - shape.x0,
        height=shape.y1 - pads.seat,
        length=pads.length,
        lever=y_r[:, index] - pads.seat,
        E_wall=body.E,
        E_bar=shape.E,
        constants=constants,
    )


def footprint_outline(bridge: BridgeShape, *, step: float = ARCH_STEP_MM) -> Array:
    """Where a bridge meets the wall: its section's outline (N, 2) counter-clockwise, an arch as chords of `step` mm."""
    if bridge.arch is None:
        x = np.array([bridge.x0, bridge.x1])
        low = np.full(2, bridge.y0)
    else:
        x = np.linspace(bridge.x0, bridge.x1, 1 + max(2, int((bridge.x1 - bridge.x0) / step)))
        low = np.maximum(bridge.y0, np.sqrt(np.maximum(bridge.arch**2 - x**2, 0.0)))
    under = np.column_stack([x, low])
    return np.vstack([under, [(bridge.x1, bridge.y1), (bridge.x0, bridge.y1)]])


def plate_plan(body: Body, side: str, *, root: RootConstants = FITTED) -> PlatePlan:
    """One half as the front view takes it; `root`: how the bridges' roots yield and stiffen."""
    half: HalfShape = getattr(body, side)
    x_b, y_r = (v[0] for v in reference(bridges(body)))
    feet = tuple(
        root_footprint(
            footprint_outline(b),
            x=float(x),
            y=float(y),
            thickness=half.thickness,
            length=body.half_gap,
            E=body.E,
            E_bridge=b.E,
            constants=root,
        )
        for b, x, y in zip(body.bridges, x_b, y_r, strict=True)
    )
    return PlatePlan(
        outline=half.outline if half.shape is None else half.shape.outline,
        thickness=half.thickness,
        floor=half.floor,
        bores=tuple(Disc(b.x, b.y, b.diameter) for b in half.bores),
        footprints=feet,
        E=body.E,
        nu=body.nu,
        pockets=tuple(Pocket(p.outline, p.depth) for p in (half.shape or half).pockets),
        ribs=tuple(Rib(r.outline, r.height) for r in half.shape.ribs) if half.shape else (),
        heads=tuple(Head(b.x, b.y, b.hole, b.bearing) for b in body.bolts),
        cuts=tuple(cut_stations(body)),
        cut_y=bores_mean_y(body),
    )
