"""Named sets of faces: which triangles of a mesh are a bore, a floor, a clamp face, a thread; by where they lie.

Every border of a set is an edge of the CAD model, so a triangle is in a set or out of it, and in one set at most.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper.body import AbutmentShape, BridgeShape, HalfShape, LugShape
from stiffcalc.condensed import Array
from stiffcalc.solid.elements import Index
from stiffcalc.solid.shapes import SIDES, Assembly, ClampFace, ScrewShape, clamp_faces, half_part
from stiffcalc.solid.tets import Tets
from stiffcalc.study.geometry import depths_inside

TOUCH = 1e-4  # mm
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class FaceSet:
    """One named set: triangles (by index) of one part, corners turned so that their normal leaves the part."""

    name: str
    part: str
    what: str
    triangles: Index


@dataclass(frozen=True)
class _Where:
    """Corners (F, 3, 3) of all triangles, their middles, and the part each belongs to."""

    a: Assembly
    corners: Array
    part: Index
    parts: tuple[str, ...]

    @property
    def middle(self) -> Array:
        return np.asarray(self.corners.mean(axis=1))

    def of(self, part: str) -> Mask:
        """Triangles of one part."""
        return np.asarray(self.part == self.parts.index(part))

    def flat(self, axis: int, value: float) -> Mask:
        """All corners at one value of a coordinate."""
        return np.asarray((np.abs(self.corners[..., axis] - value) < TOUCH).all(axis=1))

    def round_z(self, x: float, y: float, diameter: float) -> Mask:
        """On a cylinder along z, not across it."""
        away = np.hypot(self.corners[..., 0] - x, self.corners[..., 1] - y)
        on = (np.abs(away - diameter / 2) < TOUCH).all(axis=1)
        return np.asarray(on & (np.ptp(self.corners[..., 2], axis=1) > TOUCH))

    def within(self, x: float, y: float, diameter: float) -> Mask:
        """Middle inside a circle seen along z."""
        return np.asarray(np.hypot(self.middle[:, 0] - x, self.middle[:, 1] - y) < diameter / 2)


def face_sets(a: Assembly, mesh: Tets) -> tuple[FaceSet, ...]:
    """Every set of an assembly, in the order of `sets.csv`; a set that no triangle belongs to is left out."""
    where = _Where(a, mesh.nodes[mesh.triangles[:, :3]], mesh.triangle_part, mesh.parts)
    found = [FaceSet(n, p, w, np.flatnonzero(m)) for n, p, w, m in _named(where)]
    return tuple(s for s in found if len(s.triangles))


Named = tuple[str, str, str, Mask]


def _named(w: _Where) -> Iterator[Named]:
    for side, sign in SIDES:
        yield from _half(w, side, w.a.half(side), sign)
    for abutment in w.a.body.abutments:
        yield _abutment(w, abutment)
    for k, lug in enumerate(w.a.body.lugs, start=1):
        yield from _lug(w, k, lug)
    for face in clamp_faces(w.a):
        yield from _clamp(w, face)
    for i in sorted(w.a.separate):
        yield from _pads(w, i, w.a.body.bridges[i])
    for screw in w.a.screws:
        yield from _screw(w, screw)
    if w.a.mirrored:
        part = half_part("inboard")
        yield "symmetry_z0", part, "plane of symmetry inside the metal, z = 0", w.of(part) & w.flat(2, 0.0)


def _half(w: _Where, side: str, half: HalfShape, sign: float) -> Iterator[Named]:
    """Bores, floors and fillets of one half."""
    part, h = half_part(side), w.a.body.half_gap
    own, bottom = w.of(part), sign * (h + half.thickness - half.floor)
    for k, b in enumerate(half.bores, start=1):
        inside = (sign * w.middle[:, 2] > h - TOUCH) & (sign * w.middle[:, 2] < sign * bottom + TOUCH)
        yield (
            f"bore_{side}_{k}",
            part,
            f"bore wall, {side} bore {k}",
            own & inside & w.round_z(b.x, b.y, b.diameter),
        )
        floor = own & w.flat(2, bottom) & w.within(b.x, b.y, b.diameter)
        yield f"floor_{side}_{k}", part, f"bore floor, {side} bore {k}", floor
    for i, bridge in w.a.own():
        if bridge.fillet > 0:
            words = f"fillet under {bridge.name}, {side}"
            yield f"fillet_{side}_{w.a.names[i]}", part, words, own & _fillet(w, bridge, sign)


def _abutment(w: _Where, a: AbutmentShape) -> Named:
    """A patch on a bridge's flank."""
    y, z = w.middle[:, 1], dict(SIDES)[a.half] * w.middle[:, 2]
    inside = (y > a.y0) & (y < a.y1) & (z > a.z0) & (z < a.z1)
    end, part = "trailing" if a.x > 0 else "leading", half_part(a.half)
    words = f"abutment at the {end} end, flank of {w.a.body.bridges[a.bridge].name}, {a.half}"
    return a.name, part, words, w.of(part) & w.flat(0, a.x) & inside


def _lug(w: _Where, k: int, lug: LugShape) -> Iterator[Named]:
    """The end of a lug that is away from the disc, and its hole."""
    part = half_part("inboard")
    end = w.flat(2, -lug.z1) & w.within(lug.x, lug.y, lug.diameter)
    tapped = f", tapped {lug.thread}" if lug.thread else ""
    yield f"lug_{k}_face", part, f"outer end of lug {k}, z = {-lug.z1:g}", w.of(part) & end
    hole = w.of(part) & w.round_z(lug.x, lug.y, lug.hole)
    yield f"lug_{k}_hole", part, f"hole of lug {k}{tapped}", hole


def _fillet(w: _Where, bridge: BridgeShape, sign: float) -> Mask:
    """On the round of a fillet: its radius about the circle (or line) of its centres."""
    x, y, z = np.moveaxis(w.corners, -1, 0)
    r, h = bridge.fillet, w.a.body.half_gap
    out = y - bridge.y0 if bridge.arch is None else np.hypot(x, y) - bridge.arch
    on = np.abs(np.hypot(out + r, sign * z - (h - r)) - r) < TOUCH
    beside = (x > bridge.x0 - TOUCH) & (x < bridge.x1 + TOUCH) & (out < TOUCH) & (sign * z < h + TOUCH)
    # A triangle across the end of the fillet has its corners on the round too, but lies in a plane of constant x.
    return np.asarray((on & beside).all(axis=1) & (np.ptp(x, axis=1) > TOUCH))


def _clamp(w: _Where, face: ClampFace) -> Iterator[Named]:
    """What touches in one clamp plane, what stands back, what lies inside a port's seal; both parts."""
    bridge = w.a.body.bridges[face.bridge]
    middle = w.middle[:, :2]
    in_plane = w.flat(2, face.z) & _in_section(middle, bridge)
    sealed = np.zeros(len(middle), dtype=bool)
    back = np.zeros(len(middle), dtype=bool)
    for outline in bridge.reliefs:
        back |= depths_inside(middle, np.array(outline)) > 0
    if bridge.land is not None:
        back |= depths_inside(middle, np.array(bridge.land)) < 0
    for part, name in (face.lower, face.upper):
        own, tail = w.of(part) & in_plane, name.removeprefix("clamp_")
        for k, port in enumerate(w.a.body.ports, start=1):
            if port.bridge == face.bridge:
                ring = w.within(port.x, port.y, port.seal)
                sealed |= ring
                words = f"inside the seal of port {k}, no contact"
                yield f"port_seal_{k}_{tail}", part, words, own & ring
        yield f"relief_{tail}", part, "stands back from the clamp plane, no contact", own & back & ~sealed
        yield name, part, f"clamp face, {bridge.name}, z = {face.z:g}", own & ~back & ~sealed


def _in_section(points: Array, bridge: BridgeShape) -> Mask:
    """Inside a bridge's section seen along z."""
    x, y = points.T
    low = np.full(len(x), bridge.y0)
    if bridge.arch is not None:
        low = np.maximum(low, np.sqrt(np.maximum(bridge.arch**2 - x**2, 0.0)) - TOUCH)
    return np.asarray((x > bridge.x0) & (x < bridge.x1) & (y > low) & (y < bridge.y1))


def _pads(w: _Where, index: int, bridge: BridgeShape) -> Iterator[Named]:
    """Seats of a bar's pads, on the wall and on the bar."""
    if bridge.pads is None:
        return
    name, h = w.a.names[index], w.a.body.half_gap
    inside = (w.middle[:, 0] > bridge.x0) & (w.middle[:, 0] < bridge.x1)
    for side, sign in SIDES:
        z = sign * w.middle[:, 2]
        seat = w.flat(1, bridge.pads.seat) & inside & (z > h) & (z < h + bridge.pads.length)
        wall, bar = half_part(side), f"bridge_{name}"
        yield f"pad_seat_{side}_{name}", wall, f"seat of {bridge.name} in the {side} wall", w.of(wall) & seat
        yield f"pad_{name}_{side}", bar, f"underside of {bridge.name}'s pad, {side}", w.of(bar) & seat


def _screw(w: _Where, s: ScrewShape) -> Iterator[Named]:
    """Where a screw presses and engages, on it and on the parts it holds."""
    depth, away = s.local(w.corners)
    number = s.name.removeprefix("bolt_")
    at_seat = (np.abs(depth) < TOUCH).all(axis=1)
    lies = (depth > s.grip - TOUCH) & (depth < s.grip + s.engaged + TOUCH)
    along = np.ptp(depth, axis=1) > TOUCH

    def on(diameter: float) -> Mask:
        return np.asarray(((np.abs(away - diameter / 2) < TOUCH) & lies).all(axis=1) & along)

    mid_depth, mid_away = s.local(w.middle)
    ring = at_seat & (mid_away < s.bearing / 2) & (mid_away > min(s.hole, s.diameter) / 2)
    own, near, far = w.of(s.name), w.of(s.near), w.of(s.far)
    hole = s.hole if s.thread == s.diameter else s.thread
    yield f"head_seat_{number}", s.near, f"under the head of {s.name}", near & ring
    yield f"thread_{number}", s.far, f"engaged length of the hole of {s.name}", far & on(hole)
    yield f"{s.name}_seat", s.name, f"underside of the head (or washer) of {s.name}", own & ring
    yield f"{s.name}_thread", s.name, f"engaged length of {s.name}", own & on(s.thread)
    outside = (mid_depth < -TOUCH) & (depth <= TOUCH).all(axis=1)
    yield f"{s.name}_head", s.name, f"head (and washer) of {s.name}, free surface", own & outside
    across = own & (np.abs(depth - 0.5 * s.grip) < TOUCH).all(axis=1)
    yield f"{s.name}_cut", s.name, f"across the shank of {s.name}, for the preload", _first(w, across)


def _first(w: _Where, mask: Mask) -> Mask:
    """An inner face is listed for both volumes it parts: each triangle once."""
    _, rows = np.unique(np.round(w.middle[mask], 6), axis=0, return_index=True)
    found = np.zeros_like(mask)
    found[np.flatnonzero(mask)[rows]] = True
    return found


def outward(mesh: Tets) -> Tets:
    """The same mesh with every triangle turned so that its normal leaves the part it is listed for."""
    sides = np.concatenate([np.sort(mesh.tets[:, list(c)], axis=1) for c in combinations(range(4), 3)])
    inner = np.concatenate([mesh.tets[:, k] for k in (3, 2, 1, 0)])
    owner = np.tile(mesh.part, 4)
    wanted = np.sort(mesh.triangles[:, :3], axis=1)
    size = len(mesh.nodes)

    def key(corners: Index, part: Index) -> Array:
        return np.asarray(
            ((corners[:, 0] * size + corners[:, 1]) * size + corners[:, 2]) * len(mesh.parts) + part
        )

    keys = key(sides, owner)
    order = np.argsort(keys, kind="stable")
    at = order[np.searchsorted(keys[order], key(wanted, mesh.triangle_part))]
    a, b, c = (mesh.nodes[mesh.triangles[:, k]] for k in range(3))
    inward = np.einsum("fk,fk->f", np.cross(b - a, c - a), mesh.nodes[inner[at]] - a) > 0
    turned = np.where(inward[:, None], mesh.triangles[:, [0, 2, 1, 5, 4, 3]], mesh.triangles)
    return replace(mesh, triangles=turned)
