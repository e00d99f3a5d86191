"""Do the bolts fit: holes in their bridges, heads on the walls, and what each layout asks for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

from stiffcalc import catalogue
from stiffcalc.condensed import Array
from stiffcalc.errors import Fault
from stiffcalc.study.geometry import depth_inside, footprint, rectangle, wall_outline
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Bolt, Dowel, Rotor, Wall


def bolt_faults(parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    """Every fault of the bolts and of the layout they belong to."""
    placed = list(zip(parts.bolts, parts.caliper.bolts, strict=True))
    for where, bolt in placed:
        yield from _size_faults(where, bolt, parts)
        yield from _hole_faults(where, bolt, parts, rotor)
        for place, wall in parts.walls.items():
            yield from _seat_faults(where, bolt, place, wall)
    for (place, a), (other, b) in combinations(placed, 2):
        gap = math.hypot(a.x - b.x, a.y - b.y) - (bearing_diameter(a) + bearing_diameter(b)) / 2
        if gap < 0:
            found = f"a head (or washer) that overlaps the one of {place} by {-gap:.4g} mm"
            yield Fault(other, found, "heads beside each other", "move the bolts apart or take smaller ones")
    yield from _dowel_faults(parts, rotor)
    yield from _layout_faults(parts, rotor)


def _dowel_faults(parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    """Dowels must cross a clamp plane inside a bridge, beside the bolts' holes."""
    caliper = parts.caliper
    held = [
        b
        for b in caliper.bridges
        if b.pads is None and (caliper.layout == "two-piece" or b.kind == "bolted-in")
    ]
    for where, dowel in zip(parts.dowels, caliper.dowels, strict=True):
        rooms = [depth_inside(dowel.x, dowel.y, footprint(b, caliper, rotor)) for b in held]
        if not held or max(rooms) < dowel.diameter / 2:
            found = f"a dowel of {dowel.diameter:g} mm at x {dowel.x:g}, y {dowel.y:g}"
            yield Fault(
                where, found, "a dowel wholly inside a jointed bridge's front outline", "move or remove it"
            )
        for place, bolt in zip(parts.bolts, caliper.bolts, strict=True):
            gap = math.hypot(dowel.x - bolt.x, dowel.y - bolt.y) - (dowel.diameter + bolt.hole) / 2
            if gap < 0 and not _ring(dowel, bolt):
                found = f"a dowel that cuts the hole of {place} by {-gap:.4g} mm"
                yield Fault(
                    where, found, "a dowel beside the holes, or a hollow one round the bolt", "move it"
                )


def _ring(dowel: Dowel, bolt: Bolt) -> bool:
    """A spigot round the bolt: on its axis, and hollow enough to let it through."""
    return (
        bool(bolt.thread)
        and (dowel.x, dowel.y) == (bolt.x, bolt.y)
        and dowel.bore >= catalogue.thread(bolt.thread).d
    )


def bearing_diameter(bolt: Bolt) -> float:
    """Outer diameter of what presses on the wall: washer, else head; NaN where the thread is unknown."""
    if bolt.washer_diameter is not None:
        return bolt.washer_diameter
    return _head(bolt)


def _head(bolt: Bolt) -> float:
    return catalogue.head(catalogue.thread(bolt.thread).d).diameter if bolt.thread else math.nan


def _size_faults(where: str, bolt: Bolt, parts: Parts) -> Iterator[Fault]:
    head = _head(bolt)
    nominal = catalogue.thread(bolt.thread).d if bolt.thread else math.nan
    thickest = max(wall.thickness for wall in parts.walls.values())
    if bolt.washer_diameter is not None and bolt.washer_diameter < head:
        allowed = f"at least the head's diameter, {head:g}"
        yield Fault(
            f"{where}.washer.diameter_mm", f"{bolt.washer_diameter:g}", allowed, "take a larger washer"
        )
    if bolt.hole < nominal:
        yield Fault(
            f"{where}.hole_mm", f"{bolt.hole:g}", f"at least the thread's {nominal:g}", "enlarge the hole"
        )
    if bolt.hole >= head:
        allowed = f"below the head's diameter, {head:g}"
        yield Fault(f"{where}.hole_mm", f"{bolt.hole:g}", allowed, "make the hole smaller")
    if bolt.tapped_depth is not None and bolt.tapped_depth > thickest:
        allowed = f"at most the wall's thickness, {thickest:g}"
        yield Fault(f"{where}.tapped_depth_mm", f"{bolt.tapped_depth:g}", allowed, "tap less deep")
    depth, words = (
        (thickest, "wall's thickness") if bolt.tapped_depth is None else (bolt.tapped_depth, "tapped depth")
    )
    if bolt.engagement > depth:
        allowed = f"at most the {words}, {depth:g}"
        yield Fault(
            f"{where}.engagement_mm", f"{bolt.engagement:g}", allowed, "engage less thread or tap deeper"
        )


def _hole_faults(where: str, bolt: Bolt, parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    caliper = parts.caliper
    radius = bolt.hole / 2
    for place, bore in zip(parts.bores, caliper.bores, strict=True):
        gap = math.hypot(bolt.x - bore.x, bolt.y - bore.y) - radius - bore.diameter / 2
        if gap <= 0:
            found = f"a hole of {bolt.hole:g} mm that hits {place} by {-gap:.4g} mm"
            yield Fault(where, found, "a hole beside the bores", "move the bolt or the bore")
    rooms = [(depth_inside(bolt.x, bolt.y, footprint(b, caliper, rotor)), b.name) for b in caliper.bridges]
    if any(math.isnan(room) for room, _ in rooms):
        return
    room, name = max(rooms, default=(math.nan, ""))
    if room < 0:
        found = f'x {bolt.x:g}, y {bolt.y:g}, {-room:.4g} mm outside the nearest bridge "{name}"'
        yield Fault(
            where,
            found,
            "a bolt inside a bridge's front outline (mind the arch)",
            "move the bolt or the bridge",
        )
    elif room <= radius:
        found = f'a hole of {bolt.hole:g} mm, {room:.4g} mm from the edge of bridge "{name}"'
        yield Fault(
            where,
            found,
            f"more than {radius:g} mm, so that metal is left",
            "move the bolt or widen the bridge",
        )


def _seat_faults(where: str, bolt: Bolt, place: str, wall: Wall) -> Iterator[Fault]:
    """Faults of the ring under the head; either half may hold it, so both must have the room."""
    radius = bearing_diameter(bolt) / 2
    if depth_inside(bolt.x, bolt.y, wall_outline(wall)) < radius:
        found = f"a head (or washer) of {2 * radius:g} mm that hangs over the edge of {place}"
        yield Fault(where, found, "a head wholly on the wall", "move the bolt or take a smaller head")
    for i, pocket in enumerate(wall.pockets, start=1):
        if abs(depth_inside(bolt.x, bolt.y, rectangle(pocket.x, pocket.y))) < radius:
            found = f"a head (or washer) of {2 * radius:g} mm across the edge of {place}.pockets[{i}]"
            yield Fault(
                where, found, "a head wholly outside or wholly inside a pocket", "move the pocket or the bolt"
            )


def loose_bolts(parts: Parts, rotor: Rotor) -> list[str]:
    """Where the bolts and dowels stand that lie in no bolted-in bridge."""
    caliper = parts.caliper
    held = [footprint(b, caliper, rotor) for b in caliper.bridges if b.kind == "bolted-in" and b.pads is None]
    standing: tuple[Bolt | Dowel, ...] = (*caliper.bolts, *caliper.dowels)
    placed = zip((*parts.bolts, *parts.dowels), standing, strict=True)
    return [where for where, part in placed if not any(_may_lie_in(part, outline) for outline in held)]


def _may_lie_in(bolt: Bolt | Dowel, outline: Array) -> bool:
    """True inside, and where either is a placeholder: that has been reported already."""
    return not depth_inside(bolt.x, bolt.y, outline) < 0


def _layout_faults(parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    caliper = parts.caliper
    if caliper.layout == "two-piece" and not caliper.bolts:
        mend = 'add [[caliper.bolt]], or set layout = "monoblock"'
        yield Fault("caliper.bolt", "nothing", "bolts: a two-piece body is held by them", mend)
    if caliper.layout == "monoblock":
        loose = set(loose_bolts(parts, rotor))
        for where in (w for w in parts.bolts if w in loose):
            mend = 'remove it, or set layout = "two-piece"'
            yield Fault(where, "a bolt in a one-piece body", "bolts in bolted-in bridges only", mend)
    for i, bridge in enumerate(caliper.bridges, start=1):
        outline = footprint(bridge, caliper, rotor)
        by_z = bridge.kind == "bolted-in" and bridge.pads is None
        if by_z and not any(_may_lie_in(b, outline) for b in caliper.bolts):
            found = f'bolted-in bridge "{bridge.name}" without bolts'
            mend = 'add [[caliper.bolt]] inside it, give it pads, or set kind = "integral"'
            yield Fault(f"caliper.bridge[{i}]", found, "at least one bolt", mend)
