"""Does a bar fit that is bolted down on the walls: pads, slots, tapped holes against walls, bores, pockets and bolts.

Every comparison asks for the bad condition, so that placeholders of unreadable values (NaN) add no fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from stiffcalc import catalogue
from stiffcalc.errors import Fault
from stiffcalc.study.geometry import crown, depth_inside, rectangle
from stiffcalc.study.pads import bolt_places
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Bridge, Pads, Range, Rotor, Screw, Wall


def pad_faults(parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    """Every fault of the bars that are bolted down on the walls."""
    for i, bridge in enumerate(parts.caliper.bridges, start=1):
        if bridge.pads is None:
            continue
        where, seat = f"caliper.bridge[{i}].pads", crown(bridge, parts.caliper, rotor)
        yield from _pad_size_faults(where, bridge, bridge.pads)
        yield from _row_faults(where, bridge, bridge.pads)
        yield from _slot_faults(where, bridge, bridge.pads, parts)
        for place, wall in parts.walls.items():
            yield from _wall_faults(where, bridge, bridge.pads, place, wall, seat)
        yield from _bore_faults(where, bridge, bridge.pads, parts, seat)
        yield from _other_bolt_faults(where, bridge, bridge.pads, parts, seat)


def _pad_size_faults(where: str, bridge: Bridge, pads: Pads) -> Iterator[Fault]:
    head = _head(pads.screw)
    if pads.screw.washer_diameter is not None and pads.screw.washer_diameter < head:
        found, allowed = f"{pads.screw.washer_diameter:g}", f"at least the head's diameter, {head:g}"
        yield Fault(f"{where}.washer.diameter_mm", found, allowed, "take a larger washer")
    d = catalogue.thread(pads.screw.thread).d if pads.screw.thread else math.nan
    if pads.screw.hole < d or pads.screw.hole >= head:
        allowed = f"from the thread's {d:g} to below the head's {head:g}"
        yield Fault(f"{where}.hole_mm", f"{pads.screw.hole:g}", allowed, "correct the hole")
    low, high = pads.length / 3.0, pads.length * 2.0 / 3.0
    if pads.setback < low or pads.setback > high:
        allowed = (
            f"{low:.4g} to {high:.4g}, the pad's middle third, else tightening lifts an edge of the seat"
        )
        yield Fault(f"{where}.setback_mm", f"{pads.setback:g}", allowed, "move the bolts to the pad's middle")


def _row_faults(where: str, bridge: Bridge, pads: Pads) -> Iterator[Fault]:
    """Heads beside each other, and wholly on their pad."""
    bearing = bearing_diameter(pads.screw)
    if pads.bolts_per_side > 1 and pads.pitch < bearing:
        allowed = f"at least {bearing:g}, the diameter of a head or washer"
        yield Fault(f"{where}.pitch_mm", f"{pads.pitch:g}", allowed, "move the bolts apart or take fewer")
    width = bridge.x[1] - bridge.x[0]
    row = pads.pitch * (pads.bolts_per_side - 1) + bearing
    if row > width:
        found = f"a row of heads {row:.4g} mm long"
        yield Fault(where, found, f"at most the bar's width, {width:g}", "fewer or smaller bolts, less pitch")
    room = min(pads.setback, pads.length - pads.setback)
    if room < 0.5 * bearing:
        found = f"heads of {bearing:g} mm whose axes stand {room:.4g} mm from the pad's edge"
        yield Fault(where, found, "heads wholly on the pad", "lengthen the pad or take smaller bolts")


def _slot_faults(where: str, bridge: Bridge, pads: Pads, parts: Parts) -> Iterator[Fault]:
    """The slot is open to the wall's top, so no other bridge may stand in its way."""
    for other in parts.caliper.bridges:
        if other is not bridge and _common(other.x, bridge.x) > 0:
            found = f'a slot under bridge "{other.name}"'
            yield Fault(where, found, "a slot open to the walls' top", "move the bridges apart along x")


def _wall_faults(
    where: str, bridge: Bridge, pads: Pads, place: str, wall: Wall, seat: float
) -> Iterator[Fault]:
    if pads.length >= wall.thickness:
        found, allowed = f"{pads.length:g}", f"below the thickness of {place}, {wall.thickness:g}"
        yield Fault(f"{where}.length_mm", found, allowed, "shorten the pad or thicken the wall")
    depth = pads.screw.tapped_depth if pads.screw.tapped_depth is not None else pads.screw.engagement
    if pads.screw.engagement > depth:
        allowed = f"at most the tapped depth, {depth:g}"
        yield Fault(f"{where}.engagement_mm", f"{pads.screw.engagement:g}", allowed, "tap deeper")
    if depth >= seat - wall.bottom_y:
        found, allowed = (
            f"{depth:g}",
            f"below {seat - wall.bottom_y:.4g}, from the seat to the bottom of {place}",
        )
        yield Fault(f"{where}.engagement_mm", found, allowed, "engage less thread")
    thread = 0.5 * (catalogue.thread(pads.screw.thread).d if pads.screw.thread else math.nan)
    for i, pocket in enumerate(wall.pockets, start=1):
        left = wall.thickness - pocket.depth
        over = _common(pocket.x, bridge.x) > 0 and pocket.y[1] > seat
        bolts = any(_common(pocket.x, (x - thread, x + thread)) > 0 for x in bolt_places(bridge, pads))
        if (over and left <= pads.length) or (
            bolts and left <= pads.setback + thread and _common(pocket.y, (seat - depth, seat)) > 0
        ):
            found = f"a slot or tapped hole that meets {place}.pockets[{i}]"
            yield Fault(where, found, "metal between them", "move or flatten the pocket")


def _bore_faults(where: str, bridge: Bridge, pads: Pads, parts: Parts, seat: float) -> Iterator[Fault]:
    """Tapped holes go down from the seat; a bore reaches from the inner face to its floor."""
    radius, depth = _tapped(pads.screw)
    bore_depth = max(wall.thickness - wall.floor for wall in parts.walls.values())
    if pads.setback - radius >= bore_depth:
        return
    for place, bore in zip(parts.bores, parts.caliper.bores, strict=True):
        gaps = [
            math.hypot(x - bore.x, bore.y - float(np.clip(bore.y, seat - depth, seat)))
            for x in bolt_places(bridge, pads)
        ]
        gap = min(gaps) - radius - bore.diameter / 2
        if gap <= 0:
            found = f"a tapped hole that hits {place} by {-gap:.4g} mm"
            yield Fault(where, found, "holes beside the bores", "engage less thread or move the bolts")


def _other_bolt_faults(where: str, bridge: Bridge, pads: Pads, parts: Parts, seat: float) -> Iterator[Fault]:
    """Bolts and dowels along z must miss the slot and the tapped holes."""
    radius, depth = _tapped(pads.screw)
    caliper = parts.caliper
    standing = [(w, b.x, b.y, b.hole / 2) for w, b in zip(parts.bolts, caliper.bolts, strict=True)]
    standing += [(w, d.x, d.y, d.diameter / 2) for w, d in zip(parts.dowels, caliper.dowels, strict=True)]
    slot = rectangle(bridge.x, (seat, max(wall.top_y for wall in parts.walls.values())))
    for place, x, y, own in standing:
        holes = [rectangle((u - radius, u + radius), (seat - depth, seat)) for u in bolt_places(bridge, pads)]
        if any(depth_inside(x, y, outline) > -own for outline in (slot, *holes)):
            found = f'{place} in the slot or the tapped holes of "{bridge.name}"'
            mend = "move it, or leave pads out to clamp the bridge by bolts along z"
            yield Fault(where, found, "bolts along z beside them", mend)


def bearing_diameter(screw: Screw) -> float:
    """Outer diameter of what presses on the pad: washer, else head; NaN where the thread is unknown."""
    return _head(screw) if screw.washer_diameter is None else screw.washer_diameter


def _head(screw: Screw) -> float:
    return catalogue.head(catalogue.thread(screw.thread).d).diameter if screw.thread else math.nan


def _tapped(screw: Screw) -> tuple[float, float]:
    """Radius and depth of a tapped hole."""
    d = catalogue.thread(screw.thread).d if screw.thread else math.nan
    return 0.5 * d, screw.engagement if screw.tapped_depth is None else screw.tapped_depth


def _common(a: Range, b: Range) -> float:
    """Length common to two ranges; zero or negative where they are apart; NaN stays NaN."""
    return float(np.minimum(a[1], b[1]) - np.maximum(a[0], b[0]))
