"""The defined body rebuilt with gmsh's CAD kernel as curved 10-node tetrahedra.

A body of equal halves is cut at z = 0, and at x = 0 as well where it mirrors about that plane; unequal halves are
built whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import gmsh
import numpy as np

from stiffcalc.caliper.body import Body, BoltShape, BoreShape, BridgeShape, HalfShape
from stiffcalc.condensed import Array
from stiffcalc.contours import Contour, straight
from stiffcalc.milling import Milled, Rib, WallShape
from stiffcalc.solid.tets import plane_normals
from stiffcalc.solid.unfolded import unfolded

BIG = 1.0e4  # mm, beyond any body


@dataclass(frozen=True)
class Sizes:
    """Element sizes, mm, and elements round a circle; small at the re-entrant edges, which govern convergence."""

    general: float = 9.0
    root: float = 2.0  # where a bridge meets the wall
    face: float = 5.0  # joint face
    round_mouth: int = 16  # bore at the inner face
    round_floor: int = 36  # bore at its floor
    round_hole: int = 10
    round_ring: int = 14  # under a bolt's head

    def scaled(self, factor: float) -> Sizes:
        """The same grading with every element `factor` times as large."""
        lengths = (self.general, self.root, self.face)
        around = (self.round_mouth, self.round_floor, self.round_hole, self.round_ring)
        return Sizes(*(v * factor for v in lengths), *(max(10, round(n / factor)) for n in around))


@dataclass(frozen=True)
class TetMesh:
    """Nodes (N, 3) mm; tets (T, 10) in gmsh's node order; `quarter` when cut at x = 0; `whole` when both halves."""

    nodes: Array
    tets: np.ndarray
    quarter: bool
    whole: bool
    cad_volume: float  # of what was meshed, mm3


def mesh_body(body: Body, *, sizes: Sizes, quarter: bool) -> TetMesh:
    """Mesh `body`: its half z >= 0 (x >= 0 too if `quarter`) when symmetric, else both halves."""
    whole = not body.symmetric
    with _model():
        tag = _solid(body, quarter=quarter, whole=whole)
        volume = gmsh.model.occ.getMass(3, tag)
        _set_sizes(body, sizes)
        gmsh.model.mesh.generate(3)
        nodes, tets = _read_tets([b for half in (body.inboard, body.outboard) for b in half.bores])
    return TetMesh(nodes, tets, quarter, whole, volume)


def x_symmetric(body: Body) -> bool:
    """True when outline, bores, pockets, bridges and bolts all mirror about x = 0."""
    return all(
        _mirrors(rows)
        for rows in (
            body.outboard.outline,
            _all_corners(body.outboard.shape),
            *(p.outline for p in _joined_pockets(body.outboard)),
            _rows([(b.x, b.y, b.diameter) for b in body.outboard.bores]),
            _rows([(0.5 * (b.x0 + b.x1), b.x1 - b.x0, b.y0, b.y1, b.arch or 0.0) for b in body.bridges]),
            _rows([(b.x, b.y, b.diameter, b.hole, b.bearing, b.E) for b in body.bolts]),
        )
    )


@contextmanager
def _model() -> Iterator[None]:
    gmsh.initialize(interruptible=False)
    options = {
        "General.Terminal": 0,
        "General.NumThreads": 1,
        "Mesh.ElementOrder": 2,
        "Mesh.MeshSizeExtendFromBoundary": 1,
        "Mesh.Algorithm3D": 1,
        "Mesh.HighOrderOptimize": 0,  # it ends the process on webs of some micrometres
        "Mesh.Optimize": 1,
    }
    try:
        for key, value in options.items():
            gmsh.option.setNumber(key, value)
        gmsh.model.add("body")
        yield
    finally:
        gmsh.finalize()


def _solid(body: Body, *, quarter: bool, whole: bool) -> int:
    """Build the solid and return its volume tag."""
    occ = gmsh.model.occ
    sides = [(body.outboard, 1.0)] + ([(body.inboard, -1.0)] if whole else [])
    low = -body.half_gap if whole else 0.0
    walls = [_prism(h.outline, s * body.half_gap, s * h.thickness) for h, s in sides]
    bridges = [_bridge(b, low, body.half_gap) for b in body.bridges]
    solid, _ = occ.fuse(walls[:1], walls[1:] + bridges)
    tools = [t for h, s in sides for t in _cuts(h, s, body.half_gap)]
    tools += [(3, occ.addCylinder(b.x, b.y, -BIG, 0, 0, 2 * BIG, 0.5 * b.hole)) for b in body.bolts]
    solid, _ = occ.cut(solid, tools)
    rings = [_ring(b, s * (body.half_gap + h.thickness)) for b in body.bolts for h, s in sides]
    if quarter:
        solid, _ = occ.cut(solid, [_left()])
        rings = [r for ring in rings for r in occ.cut([ring], [_left()])[0]]
    if rings:
        solid, _ = occ.fragment(solid, rings)
    occ.synchronize()
    (volume,) = gmsh.model.getEntities(3)
    return int(volume[1])


def _left() -> tuple[int, int]:
    return 3, gmsh.model.occ.addBox(-BIG, -BIG, -BIG, BIG, 2 * BIG, 2 * BIG)


def _prism(outline: Array | Contour, z: float, height: float) -> tuple[int, int]:
    occ = gmsh.model.occ
    sides = (outline if isinstance(outline, Contour) else straight(outline)).sides()
    starts, _, bends = zip(*sides, strict=True)
    points = [occ.addPoint(float(x), float(y), z) for x, y in starts]
    ends = points[1:] + points[:1]
    lines = [_line(a, b, bent and bent.middle, z) for a, b, bent in zip(points, ends, bends, strict=True)]
    face = occ.addPlaneSurface([occ.addCurveLoop(lines)])
    return next(e for e in occ.extrude([(2, face)], 0, 0, height) if e[0] == 3)


def _line(start: int, end: int, middle: tuple[float, float] | None, z: float) -> int:
    """A straight line, or an arc over a third point."""
    occ = gmsh.model.occ
    if middle is None:
        return int(occ.addLine(start, end))
    third = occ.addPoint(*middle, z)
    bent = int(occ.addCircleArc(start, third, end, center=False))
    occ.remove([(0, third)])
    return bent


def _bridge(bridge: BridgeShape, z0: float, z1: float) -> tuple[int, int]:
    occ = gmsh.model.occ
    size = (bridge.x1 - bridge.x0, bridge.y1 - bridge.y0, z1 - z0)
    box = (3, occ.addBox(bridge.x0, bridge.y0, z0, *size))
    if bridge.arch is None:
        return box
    rotor = (3, occ.addCylinder(0, 0, z0 - 1, 0, 0, z1 - z0 + 2, bridge.arch))
    (result,), _ = occ.cut([box], [rotor])
    return result


def _cuts(half: HalfShape, side: float, gap: float) -> list[tuple[int, int]]:
    """Bores from the inner face and pockets from the outer face of one wall."""
    depth = half.thickness - half.floor
    bores = [
        (3, gmsh.model.occ.addCylinder(b.x, b.y, side * gap, 0, 0, side * depth, 0.5 * b.diameter))
        for b in half.bores
    ]
    outer = side * (gap + half.thickness)
    if half.shape is None:
        return bores + [_prism(p.outline, outer, -side * p.depth) for p in half.pockets]
    return bores + [
        piece for p in half.shape.pockets for piece in _milled(p, half.shape.ribs, outer=outer, side=side)
    ]


def _milled(pocket: Milled, ribs: Iterable[Rib], *, outer: float, side: float) -> list[tuple[int, int]]:
    """What a cutter takes: the pocket less the ribs that it leaves standing."""
    tools = [(3, _prism(pocket.outline, outer, -side * pocket.depth)[1])]
    for rib in ribs:
        height = min(rib.height, pocket.depth)
        kept = _prism(rib.outline, outer - side * pocket.depth, side * height)
        tools, _ = gmsh.model.occ.cut(tools, [kept])
    return list(tools)


def _ring(bolt: BoltShape, z: float) -> tuple[int, int]:
    occ = gmsh.model.occ
    disks = [(2, occ.addDisk(bolt.x, bolt.y, z, 0.5 * d, 0.5 * d)) for d in (bolt.bearing, bolt.hole)]
    (ring,), _ = occ.cut(disks[:1], disks[1:])
    return ring


def _set_sizes(body: Body, sizes: Sizes) -> None:
    for dim, tag in gmsh.model.getEntities(0):
        point = np.array(gmsh.model.getValue(dim, tag, []))
        gmsh.model.mesh.setSize([(dim, tag)], _size_at(point, body, sizes))


def _size_at(point: Array, body: Body, sizes: Sizes) -> float:
    """Smallest of the sizes that claim this corner of the solid."""
    x, y, z = point
    claims = [sizes.general]
    at_mouth = abs(abs(z) - body.half_gap) < 1e-6
    bore = sizes.round_mouth if at_mouth else sizes.round_floor
    rounds = [(b.x, b.y, b.diameter, bore) for h in (body.inboard, body.outboard) for b in h.bores]
    rounds += [(b.x, b.y, b.hole, sizes.round_hole) for b in body.bolts]
    rounds += [(b.x, b.y, b.bearing, sizes.round_ring) for b in body.bolts]
    claims += [np.pi * d / n for cx, cy, d, n in rounds if abs(np.hypot(x - cx, y - cy) - 0.5 * d) < 1e-3]
    on_bridge = any(b.x0 - 1e-6 <= x <= b.x1 + 1e-6 and b.y0 - 1e-6 <= y <= b.y1 + 1e-6 for b in body.bridges)
    if on_bridge and abs(z) <= body.half_gap + 1e-6:
        claims.append(sizes.face if abs(z) < 1e-6 else sizes.root)
    return float(min(claims))


def _read_tets(bores: Iterable[BoreShape] = ()) -> tuple[Array, np.ndarray]:
    """Nodes used by the tetrahedra, renumbered from 0, none of which folds over; `bores` stay round if others can."""
    tags, xyz, _ = gmsh.model.mesh.getNodes()
    kinds, _, connectivity = gmsh.model.mesh.getElements(3)
    assert list(kinds) == [11]
    used, tets = np.unique(connectivity[0], return_inverse=True)
    order = np.argsort(tags)
    nodes, tets = xyz.reshape(-1, 3)[order[np.searchsorted(tags[order], used)]], tets.reshape(-1, 10)
    x, y, _ = nodes.T
    kept = np.zeros(len(nodes), dtype=bool)
    for b in bores:
        kept |= np.abs(np.hypot(x - b.x, y - b.y) - 0.5 * b.diameter) < 1e-3
    return unfolded(nodes, tets, ways=plane_normals(gmsh, used), kept=kept), tets


def _all_corners(shape: WallShape | None) -> Array:
    """Corners of all pockets and ribs with their depths and heights, and of their arcs the middles."""
    if shape is None:
        return np.zeros((0, 3))
    cut = [(p.outline, p.depth) for p in shape.pockets] + [
        (r.outline, -min(r.height, 1e3)) for r in shape.ribs
    ]
    spots = [(*c[:2], size) for outline, size in cut for c in outline.corners]
    spots += [(*bent.middle, size) for outline, size in cut for *_, bent in outline.sides() if bent]
    return np.array(spots).reshape(-1, 3)


def _joined_pockets(half: HalfShape) -> list:
    return [type(half.pockets[0])(np.vstack([p.outline for p in half.pockets]), 0.0)] if half.pockets else []


def _rows(rows: list[tuple[float, ...]]) -> Array:
    return np.array(rows, dtype=float).reshape(len(rows), len(rows[0]) if rows else 1)


def _mirrors(rows: Array) -> bool:
    """True when the set of rows maps onto itself under x -> -x (x is the first column)."""
    if rows.size == 0:
        return True
    mirrored = rows * np.r_[-1.0, np.ones(rows.shape[1] - 1)]
    distance = np.abs(rows[:, None] - mirrored[None]).max(axis=-1)
    return bool((distance.min(axis=1) < 1e-9).all())
