"""Do abutments lie on metal that the pads' backing plates can reach.

Every rule asks for the bad condition, so that placeholders of unreadable values (NaN) add no fault.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from stiffcalc.study.abutments import HALVES, flank, halves_of, plates
from stiffcalc.study.breach import Breach, said
from stiffcalc.study.geometry import footprint, top, underside_of
from stiffcalc.study.numbers import either, isnt, overlap, pick, plain, unread
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Abutment, Bridge, Pad, Rotor

FEW = 100.0  # hundredths of a millimetre, to which the lowest place is told


def abutment_faults(parts: Parts, rotor: Rotor, pad: Pad) -> Iterator[Breach]:
    """Every rule of the abutments."""
    bridges = {b.name: b for b in parts.caliper.bridges}
    placed = []
    for i, abutment in enumerate(parts.caliper.abutments, start=1):
        where, bridge = f"caliper.abutment[{i}]", bridges.get(abutment.bridge)
        if bridge is None:
            allowed = ", ".join(f'"{name}"' for name in bridges if name)
            unknown = bool(abutment.bridge and allowed)
            yield Breach(unknown, f"{where}.bridge", f'"{abutment.bridge}"', allowed, "name a bridge")
            continue
        placed.append((where, abutment, bridge))
        yield from _bridge_faults(where, bridge, pad)
        yield from _place_faults(where, abutment, bridge, parts, rotor)
        yield from _reach_faults(where, abutment, rotor, pad)
    yield from _overlap_faults(placed)
    if placed and len(placed) == len(parts.caliper.abutments):
        yield from _trailing_faults(placed)


def _bridge_faults(where: str, bridge: Bridge, pad: Pad) -> Iterator[Breach]:
    """Whether the bridge can take the drag of the pad."""
    own = bridge.kind == "bolted-in"
    found = f'"{bridge.name}", a part of its own'
    yield Breach(own, f"{where}.bridge", found, "a bridge of one piece with the halves", "take an end bridge")
    across = (bridge.x[0] < 0) & (bridge.x[1] > 0)
    found, allowed = f'"{bridge.name}", which stands across x = 0', "a bridge before or behind the pad"
    yield Breach(across, f"{where}.bridge", found, allowed, "take an end bridge")
    inside = isnt(across) & (abs(flank(bridge)) < pad.length / 2)
    words = said('the flank of "{}" at x {:g}', bridge.name, flank(bridge))
    room = said("at or beyond the pad's end, x {:g} or more either way", pad.length / 2)
    yield Breach(inside, f"{where}.bridge", words, room, "shorten the pad or move the bridge")


def _place_faults(
    where: str, abutment: Abutment, bridge: Bridge, parts: Parts, rotor: Rotor
) -> Iterator[Breach]:
    """The patch lies on the flank's own metal, which no other bridge covers."""
    caliper, x = parts.caliper, flank(bridge)
    under = underside_of(footprint(bridge, caliper, rotor))
    low, high = pick(bridge.x[0] >= 0, plain(under[..., 0]), plain(under[..., -1])), top(bridge, caliper)
    off = (abutment.y[0] < low) | (abutment.y[1] > high)
    allowed = said(
        'on the flank of "{}", y {:.2f} to {:g}', bridge.name, np.ceil(FEW * np.asarray(low)) / FEW, high
    )
    found = said("[{:g}, {:g}]", *abutment.y)
    yield Breach(off, f"{where}.y_mm", found, allowed, "move the patch or lower its ends")
    for other in caliper.bridges:
        if other.name == bridge.name:
            continue
        y = underside_of(footprint(other, caliper, rotor)).min(axis=-1), top(other, caliper)
        covers = (other.x[0] <= x) & (x <= other.x[1]) & (overlap(abutment.y, y) > 0)
        text = f'a patch that "{other.name}" covers'
        yield Breach(covers, where, text, "an open flank", "move the patch or the bridge")


def _reach_faults(where: str, abutment: Abutment, rotor: Rotor, pad: Pad) -> Iterator[Breach]:
    """The patch ends at the wall, and the backing plate bears on it whether new or worn."""
    half_gap = rotor.thickness / 2 + pad.thickness + pad.running_clearance
    found = said("[{:g}, {:g}]", *abutment.z)
    allowed = said("up to {:g}, half the gap between the walls", half_gap)
    yield Breach(abutment.z[1] > half_gap, f"{where}.z_mm", found, allowed, "end it at the wall")
    for state, plate in zip(("new", "worn"), plates(rotor, pad), strict=True):
        beside = overlap(abutment.z, plate) <= 0
        allowed = said("over the backing plate of a {} pad, z {:g} to {:g}", state, *plate)
        yield Breach(beside, f"{where}.z_mm", found, allowed, "lengthen the patch along z")


def _overlap_faults(placed: list[tuple[str, Abutment, Bridge]]) -> Iterator[Breach]:
    for (place, a, one), (other, b, two) in combinations(placed, 2):
        if one is two and set(halves_of(a)) & set(halves_of(b)):
            both = (overlap(a.y, b.y) > 0) & (overlap(a.z, b.z) > 0)
            found, allowed = f"an overlap with {place}", "patches beside each other"
            yield Breach(both, other, found, allowed, "move them apart or make them one")


def _trailing_faults(placed: list[tuple[str, Abutment, Bridge]]) -> Iterator[Breach]:
    """Where there are abutments each pad has one that its drag pushes at."""
    known = isnt(unread(sum(flank(bridge) for *_, bridge in placed)))
    for half in HALVES if all(a.half for _, a, _ in placed) else ():
        met = either(flank(bridge) > 0 for _, a, bridge in placed if half in halves_of(a))
        found = f"no abutment of the {half} half at the trailing end"
        allowed = "one on a bridge with x above 0 in each half: forward drag pushes there"
        yield Breach(known & isnt(met), "caliper.abutment", found, allowed, "add one")
