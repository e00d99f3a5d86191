"""Does the metal fit: bores, pockets and bridges of a caliper against its walls, the rotor and each other.

Every rule asks for the bad condition, so that placeholders of unreadable values (NaN) add no fault.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.study.breach import Breach, said
from stiffcalc.study.fit_shapes import shape_faults
from stiffcalc.study.geometry import depth_inside, footprint, rectangle, top, underside, wall_outline
from stiffcalc.study.numbers import either, hypot, isnt, least, most, overlap, pick, plain
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Bore, Bridge, Pocket, Range, Rotor, Wall


def body_faults(parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    """Every geometric rule of walls, bores, pockets and bridges."""
    for where, wall in parts.walls.items():
        yield from _wall_faults(where, wall)
        yield from _bores_in_wall(where, wall, parts)
        yield from _pocket_faults(where, wall, parts.caliper.bores)
        yield from shape_faults(where, wall, parts, rotor)
    yield from _bore_faults(parts, rotor)
    yield from _bridge_faults(parts, rotor)
    yield from _piston_faults(parts)


def _wall_faults(where: str, wall: Wall) -> Iterator[Breach]:
    above = said("above bottom_y_mm = {:g}", wall.bottom_y)
    found = said("{:g}", wall.top_y)
    yield Breach(wall.bottom_y >= wall.top_y, f"{where}.top_y_mm", found, above, "raise the top")
    below, mend = said("below thickness_mm = {:g}", wall.thickness), "thin the floor or thicken the wall"
    yield Breach(wall.floor >= wall.thickness, f"{where}.floor_mm", said("{:g}", wall.floor), below, mend)


def _bores_in_wall(where: str, wall: Wall, parts: Parts) -> Iterator[Breach]:
    outline = wall_outline(wall)
    for place, bore in zip(parts.bores, parts.caliper.bores, strict=True):
        room = depth_inside(bore.x, bore.y, outline)
        words = f"a bore of {{:g}} mm whose centre is {{}} the edge of {where}"
        found = said(lambda d, r, words=words: words.format(d, reach(r)), bore.diameter, room)
        allowed = said("more than {:g} mm inside", bore.diameter / 2)
        yield Breach(room <= bore.diameter / 2, place, found, allowed, "move the bore or enlarge the wall")


def reach(room: float) -> str:
    """A depth inside an outline in words."""
    return f"{room:.4g} mm inside" if room >= 0 else f"{-room:.4g} mm outside"


def _bore_faults(parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    placed = list(zip(parts.bores, parts.caliper.bores, strict=True))
    allowed = said("at most the rotor's outer radius, {:g} mm", rotor.outer_radius)
    for where, bore in placed:
        radius = hypot(bore.x, bore.y)
        found = said("a centre {:.4g} mm from the rotor's axis", radius)
        yield Breach(radius > rotor.outer_radius, where, found, allowed, "move the bore over the disc")
    for (place, a), (other, b) in combinations(placed, 2):
        gap = hypot(a.x - b.x, a.y - b.y) - (a.diameter + b.diameter) / 2
        found = said("an overlap of {:.4g} mm with {}", -gap, place)
        mend = "move them apart or make them smaller"
        yield Breach(gap <= 0, other, found, "bores with metal between them", mend)


def _pocket_faults(where: str, wall: Wall, bores: tuple[Bore, ...]) -> Iterator[Breach]:
    placed = [(f"{where}.pockets[{i}]", pocket) for i, pocket in enumerate(wall.pockets, start=1)]
    half = wall.length / 2
    for place, pocket in placed:
        (x0, x1), (y0, y1) = pocket.x, pocket.y
        outside = most(-half - x0, x1 - half, wall.bottom_y - y0, y1 - wall.top_y)
        found = said("a pocket {:.4g} mm outside the wall", outside)
        yield Breach(outside > 0, place, found, "inside the wall", "make it smaller")
        yield _pocket_depth(place, pocket, wall, bores)
    for (place, a), (other, b) in combinations(placed, 2):
        both = (overlap(a.x, b.x) > 0) & (overlap(a.y, b.y) > 0)
        yield Breach(both, other, f"an overlap with {place}", "pockets beside each other", "move them apart")


def _pocket_depth(place: str, pocket: Pocket, wall: Wall, bores: tuple[Bore, ...]) -> Breach:
    outline = rectangle(pocket.x, pocket.y)
    behind = either(depth_inside(b.x, b.y, outline) > -b.diameter / 2 for b in bores)
    metal = pick(behind, wall.floor, wall.thickness)
    allowed = said(_metal_there, metal, behind)
    found, mend = said("{:g}", pocket.depth), "make the pocket shallower or move it"
    return Breach(pocket.depth >= metal, f"{place}.depth_mm", found, allowed, mend)


def _metal_there(metal: float, behind_bore: bool) -> str:
    what = "floor" if behind_bore else "wall's thickness"
    return f"below {metal:g}, the {what} there"


def _bridge_faults(parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    placed = []
    for i, bridge in enumerate(parts.caliper.bridges, start=1):
        where, under = f"caliper.bridge[{i}]", underside(bridge, parts.caliper, rotor)[1]
        yield from _bridge_in_walls(where, bridge, parts)
        yield from _bridge_over_rotor(where, bridge, parts, rotor, under)
        lowest: float = plain(under.min(axis=-1))
        placed.append((where, bridge, (lowest, top(bridge, parts.caliper))))
    for (place, a, high), (other, b, low) in combinations(placed, 2):
        common = overlap(a.x, b.x)
        found = said('an overlap of {:.4g} mm along x with {} "{}"', common, place, a.name)
        mend, both = "move them apart or make them one", (common > 0) & (overlap(high, low) > 0)
        yield Breach(both, f"{other}.x_mm", found, "bridges beside each other", mend)


def _bridge_in_walls(where: str, bridge: Bridge, parts: Parts) -> Iterator[Breach]:
    for place, wall in parts.walls.items():
        if wall.shape is not None:
            continue  # its foot is asked for as a whole
        half = wall.length / 2
        found = said("[{:g}, {:g}]", *bridge.x)
        allowed = said("within the length of {}, {:g} to {:g}", place, -half, half)
        out = (bridge.x[0] < -half) | (bridge.x[1] > half)
        yield Breach(out, f"{where}.x_mm", found, allowed, "move the bridge or lengthen the wall")
        if bridge.y is None:
            continue
        found = said("[{:g}, {:g}]", *bridge.y)
        allowed = said("within the height of {}, {:g} to {:g}", place, wall.bottom_y, wall.top_y)
        out = (bridge.y[0] < wall.bottom_y) | (bridge.y[1] > wall.top_y)
        yield Breach(out, f"{where}.y_mm", found, allowed, "lower the bridge or raise the wall's top")


def _bridge_over_rotor(
    where: str, bridge: Bridge, parts: Parts, rotor: Rotor, under: Array
) -> Iterator[Breach]:
    highest, high = plain(under.max(axis=-1)), top(bridge, parts.caliper)
    floats = highest >= high  # and then nothing more is asked of it
    found = said("an underside at y {:.4g} and a top at y {:.4g} (it floats above the metal)", highest, high)
    mend = "raise the wall's top, or lower rotor radius or clearance"
    yield Breach(floats, where, found, "underside below the top", mend)
    sound = isnt(floats)
    if bridge.y is not None:
        yield _over_edge(where, bridge, bridge.y, rotor, sound=sound)
    low, far = np.minimum(*bridge.x), np.maximum(*bridge.x)
    for place, bore in zip(parts.bores, parts.caliper.bores, strict=True):
        radius = bore.diameter / 2
        if np.all((bore.x + radius < low) | (far < bore.x - radius)):
            continue  # beside it, whatever its outline
        gap = -depth_inside(bore.x, bore.y, footprint(bridge, parts.caliper, rotor)) - radius
        found = said('a footprint of "{}" that covers {} by {:.4g} mm', bridge.name, place, -gap)
        mend = "move the bridge or the bore"
        yield Breach(sound & (gap < 0), where, found, "a bridge beside the bores", mend)


def _over_edge(where: str, bridge: Bridge, y: Range, rotor: Rotor, *, sound: bool) -> Breach:
    """A flat underside must clear the rotor's edge."""
    clear = rotor.outer_radius + rotor.edge_clearance
    nearest = hypot(np.clip(0.0, *bridge.x), y[0])
    found = said("{:g}, an underside {:.4g} mm from the rotor's axis", y[0], nearest)
    allowed = said("at least {:g} mm, rotor radius and edge clearance", clear)
    mend = "raise it, or leave y_mm out to follow the rotor circle"
    return Breach(sound & (nearest < clear), f"{where}.y_mm[1]", found, allowed, mend)


def _piston_faults(parts: Parts) -> Iterator[Breach]:
    caliper, piston = parts.caliper, parts.caliper.piston
    smallest = least(*(bore.diameter for bore in caliper.bores))
    allowed = said("below {:g}, the radius of the smallest bore", smallest / 2)
    found, mend = said("{:g}", piston.wall), "thin the piston's wall"
    yield Breach(piston.wall >= smallest / 2, "caliper.piston.wall_mm", found, allowed, mend)
    depth = least(*(wall.thickness - wall.floor for wall in parts.walls.values()))
    allowed = said("below {:g}, the depth of the bores", depth)
    for where, length in (
        ("caliper.piston.crown_mm", piston.crown),
        ("caliper.fluid_depth_mm", caliper.fluid_depth),
    ):
        bad = (length >= depth) & (depth > 0)
        yield Breach(bad, where, said("{:g}", length), allowed, "make it smaller")
