"""Do lugs hang on the inboard wall, and clear of everything else.

Every rule asks for the bad condition, so that placeholders of unreadable values (NaN) add no fault.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from stiffcalc.milling import slabs
from stiffcalc.study.breach import Breach, said
from stiffcalc.study.fit import reach
from stiffcalc.study.fit_bolts import bearing_diameter
from stiffcalc.study.fit_shapes import each
from stiffcalc.study.geometry import crown, depth_inside, rectangle, wall_outline
from stiffcalc.study.lugs import PROUD
from stiffcalc.study.numbers import hypot, most, overlap
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Lug, Rotor, Wall


def lug_faults(parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    """Every rule of the lugs."""
    wall = parts.caliper.inboard
    placed = [(f"caliper.lug[{i}]", lug) for i, lug in enumerate(parts.caliper.lugs, start=1)]
    for where, lug in placed:
        allowed = said("below diameter_mm = {:g}", lug.diameter)
        found, mend = said("{:g}", lug.hole), "take a finer hole or a wider boss"
        yield Breach(lug.hole >= lug.diameter, f"{where}.hole_mm", found, allowed, mend)
        yield from (_on_wall if lug.stands == PROUD else _beside_wall)(where, lug, wall)
        yield from _head_faults(where, lug, parts)
        yield from _bar_faults(where, lug, parts, rotor)
    for (place, a), (other, b) in combinations(placed, 2):
        gap = hypot(a.x - b.x, a.y - b.y) - (a.diameter + b.diameter) / 2
        found = said("an overlap of {:.4g} mm with {}", -gap, place)
        yield Breach(gap < 0, other, found, "lugs beside each other", "move them apart")


def _beside_wall(where: str, lug: Lug, wall: Wall) -> Iterator[Breach]:
    """It overlaps the wall, whose metal its hole leaves alone, and is no higher."""
    room = depth_inside(lug.x, lug.y, wall_outline(wall))
    found = said(lambda r: f"a lug whose axis is {reach(r)} the inboard wall's edge", room)
    allowed = said("less than {:g} mm outside, so that boss and wall overlap", lug.diameter / 2)
    yield Breach(-room >= lug.diameter / 2, where, found, allowed, "move it nearer or make it wider")
    allowed = said("at least {:g} mm outside, so that its hole leaves the wall whole", lug.hole / 2)
    yield Breach(-room < lug.hole / 2, where, found, allowed, f'move it out, or set stands = "{PROUD}"')
    allowed = said("at most {:g}, the wall's thickness", wall.thickness)
    found = said("{:g}", lug.height)
    yield Breach(lug.height > wall.thickness, f"{where}.height_mm", found, allowed, "make it shorter")


def _on_wall(where: str, lug: Lug, wall: Wall) -> Iterator[Breach]:
    """It stands wholly on the wall's outer face, beside its pockets."""
    radius = lug.diameter / 2
    room = depth_inside(lug.x, lug.y, wall_outline(wall))
    found = said(lambda r: f"a lug whose axis is {reach(r)} the inboard wall's edge", room)
    allowed = said("at least {:g} mm inside, so that all of it stands on the wall", radius)
    yield Breach(room < radius, where, found, allowed, "move it in, or let it stand beside the wall")
    milled = _milled(lug, wall)
    found = said("a lug over metal milled {:.4g} mm deep", milled)
    yield Breach(milled > 0, where, found, "a lug on the outer face itself", "move the lug or the pocket")


def _milled(lug: Lug, wall: Wall) -> float:
    """Largest depth milled under a lug."""
    if wall.shape is not None:
        cut = slabs(wall.shape)

        def deepest(x: float, y: float, diameter: float) -> float:
            depth = cut.depths_over(x, y, diameter)[1]
            return depth if depth < wall.thickness else 0.0  # beyond the outline: refused already

        found: float = each(deepest, lug.x, lug.y, lug.diameter)
        return found
    depths = [0.0]
    for pocket in wall.pockets:
        over = depth_inside(lug.x, lug.y, rectangle(pocket.x, pocket.y)) > -lug.diameter / 2
        depths.append(over * pocket.depth)
    return most(*depths)


def _head_faults(where: str, lug: Lug, parts: Parts) -> Iterator[Breach]:
    for place, bolt in zip(parts.bolts, parts.caliper.bolts, strict=True):
        gap = hypot(lug.x - bolt.x, lug.y - bolt.y) - (lug.diameter + bearing_diameter(bolt)) / 2
        found = said("a lug that overlaps the head of {} by {:.4g} mm", place, -gap)
        yield Breach(gap < 0, where, found, "a lug beside the heads", "move the lug or the bolt")


def _bar_faults(where: str, lug: Lug, parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    """Slots of bars on pads are open to the wall's top, and would cut a lug there."""
    radius = lug.diameter / 2
    for i, bridge in enumerate(parts.caliper.bridges, start=1):
        if bridge.pads is not None:
            common = overlap((lug.x - radius, lug.x + radius), bridge.x)
            met = (common > 0) & (lug.y + radius > crown(bridge, parts.caliper, rotor))
            found = f"a lug in the slot of caliper.bridge[{i}]"
            yield Breach(met, where, found, "a lug beside the slots of bars", "move the lug")
