"""From the defined body to what each wall model is given: arrays for the frame, a plate plan for the front view."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from stiffcalc.caliper.body import Body, BridgeShape, HalfShape
from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges, reference
from stiffcalc.mechanics.elastic_faces import FITTED as FACES
from stiffcalc.mechanics.elastic_faces import ElasticFaces, FaceConstants, pressing_only, with_give
from stiffcalc.mechanics.face_cells import Void, cut_faces
from stiffcalc.mechanics.pads import PadConstants, pad_flexibility
from stiffcalc.mechanics.walls import Walls
from stiffcalc.milling import Slabs, shared, slabs
from stiffcalc.plane.mesh import Disc
from stiffcalc.plane.plan import FITTED, Head, PlatePlan, Pocket, Rib, RootConstants, root_footprint

CORNERS = 48  # of a circle drawn as a polygon
ARCH_STEP_MM = 8.0  # a chord of 8 mm leaves the rotor circle by 0.05 mm; finer ones only crowd the mesh


def bores_mean_y(body: Body) -> float:
    """Area-weighted mean y of the bores: the line on which middle opening and bow are read."""
    bores = body.inboard.bores
    weight = np.array([b.diameter**2 for b in bores])
    return float(np.average([b.y for b in bores], weights=weight))


def cut_stations(body: Body, count: int = 9) -> Array:
    """Stations x at which the wall's line is read, evenly from the first bridge's middle to the last one's."""
    middles = [0.5 * (b.x0 + b.x1) for b in body.bridges]
    if len(middles) > 1:
        return np.linspace(min(middles), max(middles), count)
    x = body.inboard.outline[:, 0]
    return np.linspace(x.min(), x.max(), count)


def walls(bodies: Sequence[Body], side: str) -> Walls:
    """The walls of one side of D bodies of one topology; `side` is "inboard" or "outboard"."""
    halves: list[HalfShape] = [getattr(b, side) for b in bodies]

    def bolts(get: Callable[..., float]) -> Array:
        return table([[get(q) for q in b.bolts] for b in bodies])

    def bores(get: Callable[..., float]) -> Array:
        return table([[get(q) for q in h.bores] for h in halves])

    boxes = np.array(
        [[(*p.outline.min(axis=0), *p.outline.max(axis=0)) for p in h.pockets] for h in halves], dtype=float
    ).reshape(len(halves), -1, 4)
    outlines = [h.outline for h in halves]
    return Walls(
        x=np.array([(o[:, 0].min(), o[:, 0].max()) for o in outlines]),
        y=np.array([(o[:, 1].min(), o[:, 1].max()) for o in outlines]),
        thickness=np.array([h.thickness for h in halves]),
        floor=np.array([h.floor for h in halves]),
        bore_x=bores(lambda q: q.x),
        bore_y=bores(lambda q: q.y),
        bore_d=bores(lambda q: q.diameter),
        pocket_x=boxes[..., [0, 2]],
        pocket_y=boxes[..., [1, 3]],
        pocket_depth=table([[p.depth for p in h.pockets] for h in halves]),
        hole_x=bolts(lambda q: q.x),
        hole_y=bolts(lambda q: q.y),
        hole_d=bolts(lambda q: q.hole),
        bearing_d=bolts(lambda q: q.bearing),
        cut_x=np.array([cut_stations(b) for b in bodies]),
        E=np.array([b.E for b in bodies]),
        nu=np.array([b.nu for b in bodies]),
        slabs=_slabs(halves),
    )


def _slabs(halves: Sequence[HalfShape]) -> Slabs | None:
    """Of shaped walls, which are alike in all."""
    shape = halves[0].shape
    if any(h.shape != shape for h in halves):
        raise ValueError("bodies of one batch need walls of the same shape")
    return None if shape is None else shared(slabs(shape), len(halves))


def bridges(bodies: Sequence[Body]) -> Bridges:
    """The bridges of D bodies of one topology, each with the holes of its own bolts (padded with diameter 0)."""
    most = max(
        (sum(q.bridge == i for q in b.bolts) for b in bodies for i in range(len(b.bridges))), default=0
    )

    def shape(get: Callable[[BridgeShape], object]) -> Array:
        return np.array([[get(q) for q in b.bridges] for b in bodies], dtype=float)

    holes = np.zeros((len(bodies), len(bodies[0].bridges), most, 3))
    for d, body in enumerate(bodies):
        for i in range(len(body.bridges)):
            own = [(q.x, q.y, q.hole) for q in body.bolts if q.bridge == i]
            holes[d, i, : len(own)] = np.reshape(own, (-1, 3))
    return Bridges(
        x=shape(lambda q: (q.x0, q.x1)),
        y=shape(lambda q: (q.y0, q.y1)),
        arch=shape(lambda q: q.arch or 0.0),
        length=np.array([[2 * b.half_gap] * len(b.bridges) for b in bodies]),
        hole_x=holes[..., 0],
        hole_y=holes[..., 1],
        hole_d=holes[..., 2],
        E=shape(lambda q: q.E),
    )


def clamp_faces(bodies: Sequence[Body], *, give: bool, constants: FaceConstants = FACES) -> ElasticFaces:
    """The joint faces of D bodies of one topology, cut into cells; without `give` they move as planes.

    Raises ValueError where ports, reliefs or lands are not the same in all.
    """
    if any(_steps(b) != _steps(bodies[0]) for b in bodies):
        raise ValueError("bodies of one batch need the same ports, reliefs and lands")
    shapes, first = bridges(bodies), bodies[0]
    jointed = [i for i, b in enumerate(first.bridges) if b.jointed]
    cells = cut_faces(shapes, jointed=jointed, voids=face_voids(first))
    bolts = np.stack([table([[getattr(q, k) for q in b.bolts] for b in bodies]) for k in ("x", "y")], axis=-1)
    heights = table(
        [[b.half_gap + (b.inboard.thickness + b.outboard.thickness) / 2] * len(b.bolts) for b in bodies]
    )
    owner = [jointed.index(q.bridge) if q.bridge in jointed else -1 for q in first.bolts]
    pressed = pressing_only(cells, bolts=bolts, heights=heights, owner=owner, constants=constants)
    if not give:
        return pressed
    E, nu = (np.array([[getattr(b.bridges[i], k) for i in jointed] for b in bodies]) for k in ("E", "nu"))
    return with_give(pressed, E=E, nu=nu, constants=constants)


def _steps(body: Body) -> object:
    """What does not touch of a body's joint faces."""
    return body.ports, [(b.reliefs, b.land) for b in body.bridges]


def face_voids(body: Body) -> tuple[Void, ...]:
    """Where the joint faces do not touch: within the seals of ports, in reliefs, beside lands."""
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


def pad_flexibilities(bodies: Sequence[Body], index: int, *, constants: PadConstants) -> Array:
    """What one pad of bridge `index` adds on each side of D bodies, (D, 3, 3); every body has pads there."""
    _, y_r = reference(bridges(bodies))
    shapes = [b.bridges[index] for b in bodies]
    pads = [s.pads for s in shapes if s.pads is not None]
    return pad_flexibility(
        width=np.array([s.x1 - s.x0 for s in shapes]),
        height=np.array([s.y1 - p.seat for s, p in zip(shapes, pads, strict=True)]),
        length=np.array([p.length for p in pads]),
        lever=y_r[:, index] - np.array([p.seat for p in pads]),
        E_wall=np.array([b.E for b in bodies]),
        E_bar=np.array([s.E for s in shapes]),
        constants=constants,
    )


def table(rows: list[list[float]]) -> Array:
    """Rows of equal length as (D, n), n = 0 included."""
    return np.array(rows, dtype=float).reshape(len(rows), -1)


def footprint_outline(bridge: BridgeShape) -> Array:
    """Where a bridge meets the wall: its section's outline (N, 2), counter-clockwise, the arch as a polyline."""
    if bridge.arch is None:
        x = np.array([bridge.x0, bridge.x1])
        low = np.full(2, bridge.y0)
    else:
        x = np.linspace(bridge.x0, bridge.x1, 1 + max(2, int((bridge.x1 - bridge.x0) / ARCH_STEP_MM)))
        low = np.maximum(bridge.y0, np.sqrt(np.maximum(bridge.arch**2 - x**2, 0.0)))
    under = np.column_stack([x, low])
    return np.vstack([under, [(bridge.x1, bridge.y1), (bridge.x0, bridge.y1)]])


def plate_plan(body: Body, side: str, *, root: RootConstants = FITTED) -> PlatePlan:
    """One half as the front view takes it; `root`: how the bridges' roots yield and stiffen."""
    half: HalfShape = getattr(body, side)
    x_b, y_r = (v[0] for v in reference(bridges([body])))
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
