"""The assembly with gmsh's CAD kernel: halves, bridges that are parts of their own, screws; imprints of the faces.

A fillet between a bridge's underside and a wall is built exactly: the square corner less a circle, turned about the
rotor's axis (or drawn along x under a flat underside), kept where there is wall behind it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import ModuleType

import numpy as np

from stiffcalc.caliper.body import BridgeShape, HalfShape, LugShape, PadShape
from stiffcalc.condensed import Array
from stiffcalc.contours import Arc, Contour, straight
from stiffcalc.milling import WallShape
from stiffcalc.solid.session import Tag
from stiffcalc.solid.shapes import SIDES, Assembly, ScrewShape, clamp_faces, half_part

BIG = 1.0e4  # mm, beyond any body
FLUSH = 1e-6  # mm
ROOM = 1.0  # mm by which a tool reaches beyond what it cuts

Parts = dict[str, list[Tag]]


@dataclass(frozen=True)
class Cad:
    """gmsh and the assembly that is built with it."""

    gmsh: ModuleType
    a: Assembly

    @property
    def occ(self) -> ModuleType:
        """The CAD kernel."""
        kernel: ModuleType = self.gmsh.model.occ
        return kernel

    def box(self, x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> Tag:
        """A box between two values of each coordinate."""
        (x0, x1), (y0, y1), (z0, z1) = (sorted(v) for v in (x, y, z))
        return 3, self.occ.addBox(x0, y0, z0, x1 - x0, y1 - y0, z1 - z0)

    def rod(self, start: Iterable[float], along: Iterable[float], diameter: float) -> Tag:
        """A cylinder from a point along a vector."""
        return 3, self.occ.addCylinder(*start, *along, 0.5 * diameter)

    def polygon(self, outline: Array | Contour, z: float) -> Tag:
        """A plane face with corners (N, 2), or with arcs."""
        sides = (outline if isinstance(outline, Contour) else straight(outline)).sides()
        starts, _, bends = zip(*sides, strict=True)
        points = [self.occ.addPoint(x, y, z) for x, y in starts]
        ends = points[1:] + points[:1]
        lines = [self.line(a, b, bent, z) for a, b, bent in zip(points, ends, bends, strict=True)]
        return 2, self.occ.addPlaneSurface([self.occ.addCurveLoop(lines)])

    def line(self, start: int, end: int, bent: Arc | None, z: float) -> int:
        """A straight side between two points, or an arc."""
        if bent is None:
            return int(self.occ.addLine(start, end))
        third = self.occ.addPoint(*bent.middle, z)
        side = int(self.occ.addCircleArc(start, third, end, center=False))
        self.occ.remove([(0, third)])
        return side

    def prism(self, outline: Array | Contour, z: float, height: float) -> Tag:
        """A prism on corners (N, 2), or on an outline with arcs."""
        return self.solid_of(self.occ.extrude([self.polygon(outline, z)], 0, 0, height))

    def solid_of(self, made: list[Tag]) -> Tag:
        """The volume among what an extrusion made."""
        return next(e for e in made if e[0] == 3)

    def disc(self, centre: Iterable[float], diameter: float, normal: Iterable[float]) -> Tag:
        """A plane circle."""
        r = 0.5 * diameter
        return 2, self.occ.addDisk(*centre, r, r, zAxis=list(normal))


def build(gmsh: ModuleType, a: Assembly, *, imprints: bool, fillets: bool = True) -> Parts:
    """Volumes of every part by name. With `imprints` the borders of all face sets are edges, and halves in one piece
    are two volumes that share z = 0; without, they are one volume."""
    cad = Cad(gmsh, a)
    parts: Parts = {half_part(side): [_half(cad, side, sign, fillets=fillets)] for side, sign in SIDES}
    parts |= {f"bridge_{a.names[i]}": [_bar(cad, a.body.bridges[i])] for i in sorted(a.separate)}
    parts |= {s.name: [_screw(cad, s)] for s in a.screws}
    if imprints:
        parts = {name: _imprinted(cad, name, solids) for name, solids in parts.items()}
    if not a.split:
        low, high = (parts.pop(half_part(side)) for side, _ in SIDES)
        parts = _one_piece(cad, low, high, imprints=imprints) | parts
    cad.occ.synchronize()
    _drop_loose(gmsh)
    return parts


def _one_piece(cad: Cad, low: list[Tag], high: list[Tag], *, imprints: bool) -> Parts:
    """Both halves as one volume, or as two that share their faces."""
    if not imprints:
        whole, _ = cad.occ.fuse(low, high)
        return {"body": list(whole)}
    _, pieces = cad.occ.fragment(low, high)
    return {
        half_part("inboard"): _solids(pieces[: len(low)]),
        half_part("outboard"): _solids(pieces[len(low) :]),
    }


def _solids(pieces: list[list[Tag]]) -> list[Tag]:
    return [tag for piece in pieces for tag in piece if tag[0] == 3]


def _half(cad: Cad, side: str, sign: float, *, fillets: bool) -> Tag:
    """One wall with its share of the bridges, less bores, pockets, slots and holes."""
    half, h = cad.a.half(side), cad.a.body.half_gap
    wall = cad.prism(_front(half), sign * h, sign * half.thickness)
    added = [_bridge(cad, b, (0.0, sign * h)) for _, b in cad.a.own()]
    if fillets:
        added += [f for _, b in cad.a.own() if b.fillet > 0 for f in _fillet(cad, b, half, sign)]
    lugs = cad.a.body.lugs if side == "inboard" else ()
    added += [cad.rod((g.x, g.y, sign * g.z0), (0, 0, sign * (g.z1 - g.z0)), g.diameter) for g in lugs]
    solid = cad.occ.fuse([wall], added)[0] if added else [wall]
    tools = [*_cuts(cad, half, sign), *_slots(cad, half, sign), *_holes(cad, half_part(side))]
    tools += [_lug_hole(cad, g, sign) for g in lugs]
    (result,), _ = cad.occ.cut(solid, tools)
    return int(result[0]), int(result[1])


def _lug_hole(cad: Cad, g: LugShape, sign: float) -> Tag:
    """Through the boss; where that stands on the wall, to the wall's face."""
    start = g.z0 - ROOM if g.beside else g.z0
    return cad.rod((g.x, g.y, sign * start), (0, 0, sign * (g.z1 + ROOM - start)), g.hole)


def _bridge(cad: Cad, bridge: BridgeShape, z: tuple[float, float]) -> Tag:
    """A box over the bridge's section, its underside cut by the rotor circle."""
    box = cad.box((bridge.x0, bridge.x1), (bridge.y0, bridge.y1), z)
    if bridge.arch is None:
        return box
    low, high = min(z) - ROOM, max(z) + ROOM
    (result,), _ = cad.occ.cut([box], [cad.rod((0, 0, low), (0, 0, high - low), 2 * bridge.arch)])
    return int(result[0]), int(result[1])


def _fillet(cad: Cad, bridge: BridgeShape, half: HalfShape, sign: float) -> list[Tag]:
    """The metal of one fillet: none where no wall stands below the underside."""
    h, r = cad.a.body.half_gap, bridge.fillet
    underside = bridge.y0 if bridge.arch is None else bridge.arch
    face = _corner(cad, underside, sign * h, r, sign)
    if bridge.arch is None:
        ring = [cad.solid_of(cad.occ.extrude([face], bridge.x1 - bridge.x0, 0, 0))]
        cad.occ.translate(ring, bridge.x0, 0, 0)
    else:
        ring = [cad.solid_of(cad.occ.revolve([face], 0, 0, 0, 0, 0, 1, np.pi))]
        cad.occ.rotate(ring, 0, 0, 0, 0, 0, 1, -0.5 * np.pi)
    wall = cad.prism(_front(half), sign * (h - r), sign * r)
    within = cad.box((bridge.x0, bridge.x1), (bridge.y0 - BIG, bridge.y1), (sign * (h - r), sign * h))
    kept, _ = cad.occ.intersect(ring, [wall])
    kept, _ = cad.occ.intersect(kept, [within]) if kept else ([], [])
    return list(kept)


def _corner(cad: Cad, y: float, z: float, r: float, sign: float) -> Tag:
    """In the plane x = 0: the corner below y and before z, less a circle of radius r tangent to both."""
    occ = cad.occ
    corner, foot = occ.addPoint(0, y, z), occ.addPoint(0, y - r, z)
    middle, end = occ.addPoint(0, y - r, z - sign * r), occ.addPoint(0, y, z - sign * r)
    lines = [occ.addLine(corner, foot), occ.addCircleArc(foot, middle, end), occ.addLine(end, corner)]
    return 2, occ.addPlaneSurface([occ.addCurveLoop(lines)])


def _cuts(cad: Cad, half: HalfShape, sign: float) -> list[Tag]:
    """Bores from the inner face and pockets from the outer face of one wall."""
    h, depth = cad.a.body.half_gap, half.thickness - half.floor
    bores = [cad.rod((b.x, b.y, sign * h), (0, 0, sign * depth), b.diameter) for b in half.bores]
    if half.shape is not None:
        return bores + _milled(cad, half, half.shape, sign)
    return bores + [
        cad.prism(p.outline, sign * (h + half.thickness - p.depth), sign * (p.depth + ROOM))
        for p in half.pockets
    ]


def _front(half: HalfShape) -> Array | Contour:
    """The front outline, with its arcs where it has any."""
    return half.outline if half.shape is None else half.shape.outline


def _milled(cad: Cad, half: HalfShape, shape: WallShape, sign: float) -> list[Tag]:
    """Pockets of any outline less the ribs that they leave."""
    outer, tools = cad.a.body.half_gap + half.thickness, []
    for pocket in shape.pockets:
        start, high = sign * (outer - pocket.depth), pocket.depth + ROOM
        cut = [cad.prism(pocket.outline, start, sign * high)]
        for rib in shape.ribs:
            top = high if rib.height >= pocket.depth else rib.height
            cut, _ = cad.occ.cut(cut, [cad.prism(rib.outline, start, sign * top)])
        tools += cut
    return tools


def _slots(cad: Cad, half: HalfShape, sign: float) -> list[Tag]:
    """Slots of bars on pads, open to the wall's top, and their tapped holes."""
    tools = []
    for i in sorted(cad.a.separate):
        bridge = cad.a.body.bridges[i]
        if bridge.pads is not None:
            top = float(half.outline[:, 1].max()) + ROOM
            tools.append(_pad(cad, bridge, bridge.pads, top, sign))
            tools += _pad_holes(
                cad, bridge.pads, bridge.pads.tapped, sign, (bridge.pads.seat - bridge.pads.depth, top)
            )
    return tools


def _pad(cad: Cad, bridge: BridgeShape, pads: PadShape, top: float, sign: float) -> Tag:
    h = cad.a.body.half_gap
    return cad.box((bridge.x0, bridge.x1), (pads.seat, top), (sign * h, sign * (h + pads.length)))


def _pad_holes(cad: Cad, pads: PadShape, diameter: float, sign: float, y: tuple[float, float]) -> list[Tag]:
    z = sign * (cad.a.body.half_gap + pads.setback)
    return [cad.rod((x, y[0], z), (0, y[1] - y[0], 0), diameter) for x in pads.x]


def _bar(cad: Cad, bridge: BridgeShape) -> Tag:
    """A bridge that is a part of its own, with its pads where it has any."""
    h = cad.a.body.half_gap
    solid = [_bridge(cad, bridge, (-h, h))]
    if bridge.pads is not None:
        ends = [_pad(cad, bridge, bridge.pads, bridge.y1, sign) for _, sign in SIDES]
        solid, _ = cad.occ.fuse(solid, ends)
        clear = (bridge.pads.seat - ROOM, bridge.y1 + ROOM)
        tools = [t for _, s in SIDES for t in _pad_holes(cad, bridge.pads, bridge.pads.hole, s, clear)]
        solid, _ = cad.occ.cut(solid, tools)
    holes = [
        cad.rod((b.x, b.y, -h - ROOM), (0, 0, 2 * (h + ROOM)), b.hole)
        for b in cad.a.body.bolts
        if cad.a.body.bridges[b.bridge] is bridge
    ]
    if holes:
        solid, _ = cad.occ.cut(solid, holes)
    (dim, tag) = solid[0]
    return int(dim), int(tag)


def _holes(cad: Cad, part: str) -> list[Tag]:
    """Bolt holes along z; in the tapped half two in a row, so that the engaged length is a face of its own."""
    tools = []
    for bolt, screw in zip(cad.a.body.bolts, cad.a.screws, strict=False):
        if screw.far == part:
            start = screw.at(screw.grip)[2]
            tools.append(cad.rod((bolt.x, bolt.y, -ROOM), (0, 0, start + ROOM), bolt.hole))
            tools.append(cad.rod((bolt.x, bolt.y, start), (0, 0, BIG), bolt.hole))
        else:
            tools.append(cad.rod((bolt.x, bolt.y, ROOM), (0, 0, -BIG), bolt.hole))
    return tools


def _screw(cad: Cad, s: ScrewShape) -> Tag:
    """Head, washer and shank as one volume."""
    back = tuple(-v for v in s.axis)
    pieces = [cad.rod(s.at(-s.washer), [s.head_height * v for v in back], s.head_diameter)]
    if s.washer > 0:
        pieces.append(cad.rod(s.seat, [s.washer * v for v in back], s.bearing))
    free = cad.rod(s.at(-s.washer), [(s.grip + s.washer) * v for v in s.axis], s.diameter)
    pieces.append(cad.rod(s.at(s.grip), [s.engaged * v for v in s.axis], s.thread))
    # Equal diameters in a row must stay two faces: the engaged one is a set.
    cad.gmsh.option.setNumber("Geometry.OCCUnionUnify", 0)
    whole, _ = cad.occ.fuse([free], pieces)
    cad.gmsh.option.setNumber("Geometry.OCCUnionUnify", 1)
    return int(whole[0][0]), int(whole[0][1])


def _imprinted(cad: Cad, name: str, solids: list[Tag]) -> list[Tag]:
    """The part with the borders of its face sets as edges, a screw with a cut across its free shank."""
    marks = [
        *_clamp_marks(cad, name),
        *_abutment_marks(cad, name),
        *_lug_marks(cad, name),
        *_ring_marks(cad, name),
        *_cut_mark(cad, name),
    ]
    if not marks:
        return solids
    _, pieces = cad.occ.fragment(solids, marks)
    return _solids(pieces[: len(solids)])


def _clamp_marks(cad: Cad, name: str) -> list[Tag]:
    """Reliefs, lands and port seals in every clamp plane, and the section of a bridge that stands on a larger face."""
    marks = []
    for face in clamp_faces(cad.a):
        if name not in (face.lower[0], face.upper[0]):
            continue
        bridge = cad.a.body.bridges[face.bridge]
        shapes = [np.array(o) for o in (*bridge.reliefs, *([bridge.land] if bridge.land else []))]
        marks += [cad.polygon(o, face.z) for o in shapes]
        ports = [p for p in cad.a.body.ports if p.bridge == face.bridge]
        marks += [cad.disc((p.x, p.y, face.z), p.seal, (0, 0, 1)) for p in ports]
        if face.bridge in cad.a.separate and name != f"bridge_{cad.a.names[face.bridge]}":
            marks.append(_section(cad, bridge, face.z))
    return marks


def _abutment_marks(cad: Cad, name: str) -> list[Tag]:
    """Patches on the bridges' flanks that take the pads' drag."""
    marks = []
    for a in cad.a.body.abutments:
        if half_part(a.half) == name:
            z0, z1 = (dict(SIDES)[a.half] * z for z in (a.z0, a.z1))
            corners = (a.y0, z0), (a.y1, z0), (a.y1, z1), (a.y0, z1)
            points = [cad.occ.addPoint(a.x, y, z) for y, z in corners]
            lines = [cad.occ.addLine(points[k - 1], points[k]) for k in range(4)]
            marks.append((2, cad.occ.addPlaneSurface([cad.occ.addCurveLoop(lines)])))
    return marks


def _lug_marks(cad: Cad, name: str) -> list[Tag]:
    """Ends of lugs that are flush with the wall's outer face."""
    outer = cad.a.body.half_gap + cad.a.body.inboard.thickness
    flush = [g for g in cad.a.body.lugs if g.beside and abs(g.z1 - outer) < FLUSH]
    own = flush if name == half_part("inboard") else []
    return [cad.disc((g.x, g.y, -g.z1), g.diameter, (0, 0, 1)) for g in own]


def _section(cad: Cad, bridge: BridgeShape, z: float) -> Tag:
    """A bridge's section as a plane face."""
    size = (bridge.x1 - bridge.x0, bridge.y1 - bridge.y0)
    whole = (2, cad.occ.addRectangle(bridge.x0, bridge.y0, z, *size))
    if bridge.arch is None:
        return whole
    (kept,), _ = cad.occ.cut([whole], [cad.disc((0, 0, z), 2 * bridge.arch, (0, 0, 1))])
    return int(kept[0]), int(kept[1])


def _ring_marks(cad: Cad, name: str) -> list[Tag]:
    """Where heads or washers press."""
    return [cad.disc(s.seat, s.bearing, s.axis) for s in cad.a.screws if s.near == name]


def _cut_mark(cad: Cad, name: str) -> list[Tag]:
    """Across the middle of a screw's grip: where a preload can be put in."""
    return [cad.disc(s.at(0.5 * s.grip), 1.5 * s.diameter, s.axis) for s in cad.a.screws if s.name == name]


def _drop_loose(gmsh: ModuleType) -> None:
    """Imprinted faces that lie outside the metal bound nothing."""
    loose = [
        (2, tag) for _, tag in gmsh.model.getEntities(2) if not len(gmsh.model.getAdjacencies(2, tag)[0])
    ]
    if loose:
        gmsh.model.occ.remove(loose, recursive=True)
        gmsh.model.occ.synchronize()
    edges = [
        (1, tag) for _, tag in gmsh.model.getEntities(1) if not len(gmsh.model.getAdjacencies(1, tag)[0])
    ]
    points = [
        (0, tag) for _, tag in gmsh.model.getEntities(0) if not len(gmsh.model.getAdjacencies(0, tag)[0])
    ]
    if edges or points:
        gmsh.model.occ.remove([*edges, *points], recursive=True)
        gmsh.model.occ.synchronize()


def volumes(gmsh: ModuleType, parts: Mapping[str, list[Tag]]) -> dict[str, float]:
    """CAD volume of every part, mm3."""
    return {name: sum(gmsh.model.occ.getMass(*tag) for tag in tags) for name, tags in parts.items()}
