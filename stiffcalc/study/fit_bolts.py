"""Do the bolts fit: holes in their bridges, heads on the walls, and what each layout asks for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from stiffcalc import catalogue
from stiffcalc.condensed import Array
from stiffcalc.study.breach import Breach, said
from stiffcalc.study.fit_shapes import seat_faults
from stiffcalc.study.geometry import depth_inside, footprint, rectangle, wall_outline
from stiffcalc.study.numbers import NAN, either, hypot, isnt, most, plain
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Bolt, Bridge, Dowel, Rotor, Screw, Wall


def bolt_faults(parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    """Every rule of the bolts and of the layout they belong to."""
    placed = list(zip(parts.bolts, parts.caliper.bolts, strict=True))
    outlines = [footprint(b, parts.caliper, rotor) for b in parts.caliper.bridges]
    for where, bolt in placed:
        yield from _size_faults(where, bolt, parts)
        yield from _hole_faults(where, bolt, parts, outlines)
        for place, wall in parts.walls.items():
            yield from _seat_faults(where, bolt, place, wall)
            yield from seat_faults(where, (bolt.x, bolt.y, bearing_diameter(bolt)), place, wall)
    for (place, a), (other, b) in combinations(placed, 2):
        gap = hypot(a.x - b.x, a.y - b.y) - (bearing_diameter(a) + bearing_diameter(b)) / 2
        found = said("a head (or washer) that overlaps the one of {} by {:.4g} mm", place, -gap)
        mend = "move the bolts apart or take smaller ones"
        yield Breach(gap < 0, other, found, "heads beside each other", mend)
    yield from _dowel_faults(parts, outlines)
    yield from _layout_faults(parts, rotor, outlines)


def _dowel_faults(parts: Parts, outlines: Sequence[Array]) -> Iterator[Breach]:
    """Dowels must cross a clamp plane inside a bridge, beside the bolts' holes."""
    caliper = parts.caliper
    held = [
        outline
        for b, outline in zip(caliper.bridges, outlines, strict=True)
        if b.pads is None and (caliper.layout == "two-piece" or b.kind == "bolted-in")
    ]
    for where, dowel in zip(parts.dowels, caliper.dowels, strict=True):
        room = most(*(depth_inside(dowel.x, dowel.y, outline) for outline in held))
        found = said("a dowel of {:g} mm at x {:g}, y {:g}", dowel.diameter, dowel.x, dowel.y)
        allowed, mend = "a dowel wholly inside a jointed bridge's front outline", "move or remove it"
        yield Breach(room < dowel.diameter / 2 if held else True, where, found, allowed, mend)
        for place, bolt in zip(parts.bolts, caliper.bolts, strict=True):
            gap = hypot(dowel.x - bolt.x, dowel.y - bolt.y) - (dowel.diameter + bolt.hole) / 2
            found = said("a dowel that cuts the hole of {} by {:.4g} mm", place, -gap)
            allowed = "a dowel beside the holes, or a hollow one round the bolt"
            yield Breach((gap < 0) & isnt(_ring(dowel, bolt)), where, found, allowed, "move it")


def _ring(dowel: Dowel, bolt: Bolt) -> bool:
    """A spigot round the bolt: on its axis, and hollow enough to let it through."""
    return (dowel.x == bolt.x) & (dowel.y == bolt.y) & (dowel.bore >= _nominal(bolt))


def bearing_diameter(bolt: Screw) -> float:
    """Outer diameter of what presses on the wall or a pad: washer, else head; NaN where the thread is unknown."""
    return head_diameter(bolt) if bolt.washer_diameter is None else bolt.washer_diameter


def head_diameter(bolt: Screw) -> float:
    """Outer diameter of a bolt's head; NaN where the thread is unknown."""
    return catalogue.head(catalogue.thread(bolt.thread).d).diameter if bolt.thread else NAN


def _nominal(bolt: Bolt) -> float:
    return catalogue.thread(bolt.thread).d if bolt.thread else NAN


def washer_fault(where: str, bolt: Screw) -> Iterator[Breach]:
    """A washer no smaller than the head."""
    if bolt.washer_diameter is not None:
        head, place = head_diameter(bolt), f"{where}.washer.diameter_mm"
        found, allowed = said("{:g}", bolt.washer_diameter), said("at least the head's diameter, {:g}", head)
        yield Breach(bolt.washer_diameter < head, place, found, allowed, "take a larger washer")


def _size_faults(where: str, bolt: Bolt, parts: Parts) -> Iterator[Breach]:
    yield from washer_fault(where, bolt)
    head, nominal, found = head_diameter(bolt), _nominal(bolt), said("{:g}", bolt.hole)
    allowed = said("at least the thread's {:g}", nominal)
    yield Breach(bolt.hole < nominal, f"{where}.hole_mm", found, allowed, "enlarge the hole")
    allowed = said("below the head's diameter, {:g}", head)
    yield Breach(bolt.hole >= head, f"{where}.hole_mm", found, allowed, "make the hole smaller")
    depth, words = most(*(wall.thickness for wall in parts.walls.values())), "wall's thickness"
    if bolt.tapped_depth is not None:
        found, allowed = said("{:g}", bolt.tapped_depth), said("at most the {}, {:g}", words, depth)
        deep = bolt.tapped_depth > depth
        yield Breach(deep, f"{where}.tapped_depth_mm", found, allowed, "tap less deep")
        depth, words = bolt.tapped_depth, "tapped depth"
    found, allowed = said("{:g}", bolt.engagement), said("at most the {}, {:g}", words, depth)
    mend = "engage less thread or tap deeper"
    yield Breach(bolt.engagement > depth, f"{where}.engagement_mm", found, allowed, mend)


def _hole_faults(where: str, bolt: Bolt, parts: Parts, outlines: Sequence[Array]) -> Iterator[Breach]:
    caliper = parts.caliper
    radius = bolt.hole / 2
    for place, bore in zip(parts.bores, caliper.bores, strict=True):
        gap = hypot(bolt.x - bore.x, bolt.y - bore.y) - radius - bore.diameter / 2
        found = said("a hole of {:g} mm that hits {} by {:.4g} mm", bolt.hole, place, -gap)
        yield Breach(gap <= 0, where, found, "a hole beside the bores", "move the bolt or the bore")
    if not outlines:
        return
    rooms = _rooms(bolt, caliper.bridges, outlines)
    room, names = plain(rooms.max(axis=0)), np.array([b.name for b in caliper.bridges])
    name = plain(names[rooms.argmax(axis=0)])
    found = said('x {:g}, y {:g}, {:.4g} mm outside the nearest bridge "{}"', bolt.x, bolt.y, -room, name)
    allowed, mend = "a bolt inside a bridge's front outline (mind the arch)", "move the bolt or the bridge"
    yield Breach(room < 0, where, found, allowed, mend)
    found = said('a hole of {:g} mm, {:.4g} mm from the edge of bridge "{}"', bolt.hole, room, name)
    metal, mend = (
        said("more than {:g} mm, so that metal is left", radius),
        "move the bolt or widen the bridge",
    )
    yield Breach((room >= 0) & (room <= radius), where, found, metal, mend)


def _rooms(bolt: Bolt, bridges: Sequence[Bridge], outlines: Sequence[Array]) -> Array:
    """Distance of a bolt from each bridge's edge (N, ...), positive inside; -inf beside it if another one holds it.

    NaN of a bridge that has been reported already stays NaN.
    """
    beside = [
        bool(np.all((bolt.x < np.minimum(*b.x)) | (np.maximum(*b.x) < bolt.x)) and np.isfinite(o).all())
        for b, o in zip(bridges, outlines, strict=True)
    ]
    near = [depth_inside(bolt.x, bolt.y, o) for o, away in zip(outlines, beside, strict=True) if not away]
    if not near or not np.all(np.max(np.broadcast_arrays(*near), axis=0) >= 0.0):
        return np.stack(np.broadcast_arrays(*(depth_inside(bolt.x, bolt.y, o) for o in outlines)))
    found = iter(near)
    return np.stack(np.broadcast_arrays(*(-np.inf if away else next(found) for away in beside)))


def _seat_faults(where: str, bolt: Bolt, place: str, wall: Wall) -> Iterator[Breach]:
    """Rules of the ring under the head; either half may hold it, so both must have the room."""
    radius = bearing_diameter(bolt) / 2
    found = said("a head (or washer) of {:g} mm that hangs over the edge of {}", 2 * radius, place)
    mend = "move the bolt or take a smaller head"
    over = depth_inside(bolt.x, bolt.y, wall_outline(wall)) < radius
    yield Breach(over, where, found, "a head wholly on the wall", mend)
    allowed, mend = "a head wholly outside or wholly inside a pocket", "move the pocket or the bolt"
    for i, pocket in enumerate(wall.pockets, start=1):
        across = abs(depth_inside(bolt.x, bolt.y, rectangle(pocket.x, pocket.y))) < radius
        words = f"a head (or washer) of {{:g}} mm across the edge of {place}.pockets[{i}]"
        yield Breach(across, where, said(words, 2 * radius), allowed, mend)


def loose_bolts(parts: Parts, rotor: Rotor) -> dict[str, bool]:
    """Whether each of the bolts and dowels, by where it stands, lies in no bolted-in bridge."""
    caliper = parts.caliper
    held = [footprint(b, caliper, rotor) for b in caliper.bridges if b.kind == "bolted-in" and b.pads is None]
    standing: tuple[Bolt | Dowel, ...] = (*caliper.bolts, *caliper.dowels)
    placed = zip((*parts.bolts, *parts.dowels), standing, strict=True)
    return {where: isnt(either(_may_lie_in(part, o) for o in held)) for where, part in placed}


def _may_lie_in(bolt: Bolt | Dowel, outline: Array) -> bool:
    """True inside, and where either is a placeholder: that has been reported already."""
    return isnt(depth_inside(bolt.x, bolt.y, outline) < 0)


def _layout_faults(parts: Parts, rotor: Rotor, outlines: Sequence[Array]) -> Iterator[Breach]:
    caliper = parts.caliper
    mend = 'add [[caliper.bolt]], or set layout = "monoblock"'
    none = caliper.layout == "two-piece" and not caliper.bolts
    yield Breach(none, "caliper.bolt", "nothing", "bolts: a two-piece body is held by them", mend)
    if caliper.layout == "monoblock":
        loose, mend = loose_bolts(parts, rotor), 'remove it, or set layout = "two-piece"'
        for where in parts.bolts:
            found, allowed = "a bolt in a one-piece body", "bolts in bolted-in bridges only"
            yield Breach(loose[where], where, found, allowed, mend)
    mend = 'add [[caliper.bolt]] inside it, give it pads, or set kind = "integral"'
    for i, (bridge, outline) in enumerate(zip(caliper.bridges, outlines, strict=True), start=1):
        if bridge.kind == "bolted-in" and bridge.pads is None:
            empty = isnt(either(_may_lie_in(b, outline) for b in caliper.bolts))
            found = f'bolted-in bridge "{bridge.name}" without bolts'
            yield Breach(empty, f"caliper.bridge[{i}]", found, "at least one bolt", mend)
