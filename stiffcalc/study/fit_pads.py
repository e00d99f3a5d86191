"""Does a bar fit that is bolted down on the walls: pads, slots, tapped holes against walls, bores, pockets and bolts.

Every rule asks for the bad condition, so that placeholders of unreadable values (NaN) add no fault.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc import catalogue
from stiffcalc.study.breach import Breach, said
from stiffcalc.study.fit_bolts import bearing_diameter, head_diameter, washer_fault
from stiffcalc.study.fit_shapes import slot_faults
from stiffcalc.study.geometry import crown, depth_inside, rectangle
from stiffcalc.study.numbers import NAN, either, hypot, isnt, least, most, overlap
from stiffcalc.study.pads import bolt_places
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Bridge, Pads, Rotor, Screw, Wall


def pad_faults(parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    """Every rule of the bars that are bolted down on the walls."""
    for i, bridge in enumerate(parts.caliper.bridges, start=1):
        if bridge.pads is None:
            continue
        where, seat = f"caliper.bridge[{i}].pads", crown(bridge, parts.caliper, rotor)
        yield from _pad_size_faults(where, bridge.pads)
        yield from _row_faults(where, bridge, bridge.pads)
        yield from _slot_faults(where, bridge, parts)
        for place, wall in parts.walls.items():
            yield from _wall_faults(where, bridge.pads, place, wall, seat)
            yield from _pocket_faults(where, bridge, bridge.pads, (place, wall), seat)
            foot = seat - _tapped(bridge.pads.screw)[1]
            yield from slot_faults(where, bridge, bridge.pads, (place, wall), foot)
        yield from _bore_faults(where, bridge, bridge.pads, parts, seat)
        yield from _other_bolt_faults(where, bridge, bridge.pads, parts, seat)


def _pad_size_faults(where: str, pads: Pads) -> Iterator[Breach]:
    yield from washer_fault(where, pads.screw)
    head, d, hole = head_diameter(pads.screw), 2.0 * _tapped(pads.screw)[0], pads.screw.hole
    allowed = said("from the thread's {:g} to below the head's {:g}", d, head)
    bad = (hole < d) | (hole >= head)
    yield Breach(bad, f"{where}.hole_mm", said("{:g}", hole), allowed, "correct the hole")
    low, high, found = pads.length / 3.0, pads.length * 2.0 / 3.0, said("{:g}", pads.setback)
    third = "{:.4g} to {:.4g}, the pad's middle third, else tightening lifts an edge of the seat"
    bad, mend = (pads.setback < low) | (pads.setback > high), "move the bolts to the pad's middle"
    yield Breach(bad, f"{where}.setback_mm", found, said(third, low, high), mend)


def _row_faults(where: str, bridge: Bridge, pads: Pads) -> Iterator[Breach]:
    """Heads beside each other, and wholly on their pad."""
    bearing = bearing_diameter(pads.screw)
    if pads.bolts_per_side > 1:
        found, mend = said("{:g}", pads.pitch), "move the bolts apart or take fewer"
        allowed = said("at least {:g}, the diameter of a head or washer", bearing)
        yield Breach(pads.pitch < bearing, f"{where}.pitch_mm", found, allowed, mend)
    width = bridge.x[1] - bridge.x[0]
    row = pads.pitch * (pads.bolts_per_side - 1) + bearing
    found, allowed = said("a row of heads {:.4g} mm long", row), said("at most the bar's width, {:g}", width)
    yield Breach(row > width, where, found, allowed, "fewer or smaller bolts, less pitch")
    room = least(pads.setback, pads.length - pads.setback)
    found = said("heads of {:g} mm whose axes stand {:.4g} mm from the pad's edge", bearing, room)
    mend = "lengthen the pad or take smaller bolts"
    yield Breach(room < 0.5 * bearing, where, found, "heads wholly on the pad", mend)


def _slot_faults(where: str, bridge: Bridge, parts: Parts) -> Iterator[Breach]:
    """The slot is open to the wall's top, so no other bridge may stand in its way."""
    for other in parts.caliper.bridges:
        if other is not bridge:
            found, mend = f'a slot under bridge "{other.name}"', "move the bridges apart along x"
            under = overlap(other.x, bridge.x) > 0
            yield Breach(under, where, found, "a slot open to the walls' top", mend)


def _wall_faults(where: str, pads: Pads, place: str, wall: Wall, seat: float) -> Iterator[Breach]:
    found, allowed = said("{:g}", pads.length), said("below the thickness of {}, {:g}", place, wall.thickness)
    mend, long = "shorten the pad or thicken the wall", pads.length >= wall.thickness
    yield Breach(long, f"{where}.length_mm", found, allowed, mend)
    (_, depth), engaged = _tapped(pads.screw), pads.screw.engagement
    found, allowed = said("{:g}", engaged), said("at most the tapped depth, {:g}", depth)
    yield Breach(engaged > depth, f"{where}.engagement_mm", found, allowed, "tap deeper")
    below = seat - wall.bottom_y
    found = said("{:g}", depth)
    allowed = said("below {:.4g}, from the seat to the bottom of {}", below, place)
    yield Breach(depth >= below, f"{where}.engagement_mm", found, allowed, "engage less thread")


def _pocket_faults(
    where: str, bridge: Bridge, pads: Pads, placed: tuple[str, Wall], seat: float
) -> Iterator[Breach]:
    """Metal between a pocket and the slot or a tapped hole."""
    (place, wall), (thread, depth) = placed, _tapped(pads.screw)
    for i, pocket in enumerate(wall.pockets, start=1):
        left = wall.thickness - pocket.depth
        over = (overlap(pocket.x, bridge.x) > 0) & (pocket.y[1] > seat)
        row = bolt_places(bridge, pads)
        bolts = either(overlap(pocket.x, (x - thread, x + thread)) > 0 for x in row)
        beside = (left <= pads.setback + thread) & (overlap(pocket.y, (seat - depth, seat)) > 0)
        found = f"a slot or tapped hole that meets {place}.pockets[{i}]"
        bad, mend = (over & (left <= pads.length)) | (bolts & beside), "move or flatten the pocket"
        yield Breach(bad, where, found, "metal between them", mend)


def _bore_faults(where: str, bridge: Bridge, pads: Pads, parts: Parts, seat: float) -> Iterator[Breach]:
    """Tapped holes go down from the seat; a bore reaches from the inner face to its floor."""
    radius, depth = _tapped(pads.screw)
    deepest = most(*(w.thickness - w.floor for w in parts.walls.values()))
    reached = isnt(pads.setback - radius >= deepest)
    for place, bore in zip(parts.bores, parts.caliper.bores, strict=True):
        down = bore.y - np.clip(bore.y, seat - depth, seat)
        gap = least(*(hypot(x - bore.x, down) for x in bolt_places(bridge, pads)))
        gap = gap - radius - bore.diameter / 2
        found = said("a tapped hole that hits {} by {:.4g} mm", place, -gap)
        mend = "engage less thread or move the bolts"
        yield Breach(reached & (gap <= 0), where, found, "holes beside the bores", mend)


def _other_bolt_faults(where: str, bridge: Bridge, pads: Pads, parts: Parts, seat: float) -> Iterator[Breach]:
    """Bolts and dowels along z must miss the slot and the tapped holes."""
    radius, depth = _tapped(pads.screw)
    caliper = parts.caliper
    standing = [(w, b.x, b.y, b.hole / 2) for w, b in zip(parts.bolts, caliper.bolts, strict=True)]
    standing += [(w, d.x, d.y, d.diameter / 2) for w, d in zip(parts.dowels, caliper.dowels, strict=True)]
    slot = rectangle(bridge.x, (seat, most(*(wall.top_y for wall in parts.walls.values()))))
    row = bolt_places(bridge, pads)
    holes = [rectangle((u - radius, u + radius), (seat - depth, seat)) for u in row]
    mend = "move it, or leave pads out to clamp the bridge by bolts along z"
    for place, x, y, own in standing:
        found = f'{place} in the slot or the tapped holes of "{bridge.name}"'
        met = either(depth_inside(x, y, outline) > -own for outline in (slot, *holes))
        yield Breach(met, where, found, "bolts along z beside them", mend)


def _tapped(screw: Screw) -> tuple[float, float]:
    """Radius and depth of a tapped hole."""
    d = catalogue.thread(screw.thread).d if screw.thread else NAN
    return 0.5 * d, screw.engagement if screw.tapped_depth is None else screw.tapped_depth
