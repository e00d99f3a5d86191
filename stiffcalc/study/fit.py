"""Does the metal fit: bores, pockets and bridges of a caliper against its walls, the rotor and each other.

Every comparison asks for the bad condition, so that placeholders of unreadable values (NaN) add no fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from stiffcalc.errors import Fault
from stiffcalc.study.geometry import depth_inside, footprint, rectangle, top, underside, wall_outline
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Bore, Bridge, Pocket, Rotor, Wall


def body_faults(parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    """Every geometric fault of walls, bores, pockets and bridges."""
    for where, wall in parts.walls.items():
        yield from _wall_faults(where, wall)
        yield from _bores_in_wall(where, wall, parts)
        yield from _pocket_faults(where, wall, parts.caliper.bores)
    yield from _bore_faults(parts, rotor)
    yield from _bridge_faults(parts, rotor)
    yield from _piston_faults(parts)


def _wall_faults(where: str, wall: Wall) -> Iterator[Fault]:
    if wall.bottom_y >= wall.top_y:
        yield Fault(
            f"{where}.top_y_mm", f"{wall.top_y:g}", f"above bottom_y_mm = {wall.bottom_y:g}", "raise the top"
        )
    if wall.floor >= wall.thickness:
        mend = "thin the floor or thicken the wall"
        yield Fault(f"{where}.floor_mm", f"{wall.floor:g}", f"below thickness_mm = {wall.thickness:g}", mend)


def _bores_in_wall(where: str, wall: Wall, parts: Parts) -> Iterator[Fault]:
    outline = wall_outline(wall)
    for place, bore in zip(parts.bores, parts.caliper.bores, strict=True):
        room = depth_inside(bore.x, bore.y, outline)
        if room <= bore.diameter / 2:
            found = f"a bore of {bore.diameter:g} mm whose centre is {_reach(room)} the edge of {where}"
            yield Fault(
                place,
                found,
                f"more than {bore.diameter / 2:g} mm inside",
                "move the bore or enlarge the wall",
            )


def _reach(room: float) -> str:
    return f"{room:.4g} mm inside" if room >= 0 else f"{-room:.4g} mm outside"


def _bore_faults(parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    placed = list(zip(parts.bores, parts.caliper.bores, strict=True))
    for where, bore in placed:
        radius = math.hypot(bore.x, bore.y)
        if radius > rotor.outer_radius:
            found = f"a centre {radius:.4g} mm from the rotor's axis"
            allowed = f"at most the rotor's outer radius, {rotor.outer_radius:g} mm"
            yield Fault(where, found, allowed, "move the bore over the disc")
    for (place, a), (other, b) in combinations(placed, 2):
        gap = math.hypot(a.x - b.x, a.y - b.y) - (a.diameter + b.diameter) / 2
        if gap <= 0:
            found = f"an overlap of {-gap:.4g} mm with {place}"
            yield Fault(other, found, "bores with metal between them", "move them apart or make them smaller")


def _pocket_faults(where: str, wall: Wall, bores: tuple[Bore, ...]) -> Iterator[Fault]:
    placed = [(f"{where}.pockets[{i}]", pocket) for i, pocket in enumerate(wall.pockets, start=1)]
    half = wall.length / 2
    for place, pocket in placed:
        (x0, x1), (y0, y1) = pocket.x, pocket.y
        outside = np.max([-half - x0, x1 - half, wall.bottom_y - y0, y1 - wall.top_y])
        if outside > 0:
            yield Fault(
                place, f"a pocket {outside:.4g} mm outside the wall", "inside the wall", "make it smaller"
            )
        yield from _pocket_depth(place, pocket, wall, bores)
    for (place, a), (other, b) in combinations(placed, 2):
        if _overlap(a.x, b.x) > 0 and _overlap(a.y, b.y) > 0:
            yield Fault(other, f"an overlap with {place}", "pockets beside each other", "move them apart")


def _pocket_depth(place: str, pocket: Pocket, wall: Wall, bores: tuple[Bore, ...]) -> Iterator[Fault]:
    outline = rectangle(pocket.x, pocket.y)
    behind_bore = any(depth_inside(b.x, b.y, outline) > -b.diameter / 2 for b in bores)
    metal, words = (wall.floor, "floor") if behind_bore else (wall.thickness, "wall's thickness")
    if pocket.depth >= metal:
        allowed = f"below {metal:g}, the {words} there"
        yield Fault(f"{place}.depth_mm", f"{pocket.depth:g}", allowed, "make the pocket shallower or move it")


def _overlap(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Length common to two ranges; zero or negative where they are apart."""
    # numpy's minimum hands NaN on, Python's own depends on the order
    return float(np.minimum(a[1], b[1]) - np.maximum(a[0], b[0]))


def _bridge_faults(parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    placed = [(f"caliper.bridge[{i}]", b) for i, b in enumerate(parts.caliper.bridges, start=1)]
    for where, bridge in placed:
        yield from _bridge_in_walls(where, bridge, parts)
        yield from _bridge_over_rotor(where, bridge, parts, rotor)
    for (place, a), (other, b) in combinations(placed, 2):
        if _overlap(a.x, b.x) > 0 and _overlap(_span(a, parts, rotor), _span(b, parts, rotor)) > 0:
            found = f'an overlap of {_overlap(a.x, b.x):.4g} mm along x with {place} "{a.name}"'
            yield Fault(
                f"{other}.x_mm", found, "bridges beside each other", "move them apart or make them one"
            )


def _span(bridge: Bridge, parts: Parts, rotor: Rotor) -> tuple[float, float]:
    return float(underside(bridge, parts.caliper, rotor)[1].min()), top(bridge, parts.caliper)


def _bridge_in_walls(where: str, bridge: Bridge, parts: Parts) -> Iterator[Fault]:
    for place, wall in parts.walls.items():
        half = wall.length / 2
        if bridge.x[0] < -half or bridge.x[1] > half:
            found = f"[{bridge.x[0]:g}, {bridge.x[1]:g}]"
            allowed = f"within the length of {place}, {-half:g} to {half:g}"
            yield Fault(f"{where}.x_mm", found, allowed, "move the bridge or lengthen the wall")
        if bridge.y and (bridge.y[0] < wall.bottom_y or bridge.y[1] > wall.top_y):
            found = f"[{bridge.y[0]:g}, {bridge.y[1]:g}]"
            allowed = f"within the height of {place}, {wall.bottom_y:g} to {wall.top_y:g}"
            yield Fault(f"{where}.y_mm", found, allowed, "lower the bridge or raise the wall's top")


def _bridge_over_rotor(where: str, bridge: Bridge, parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    _, y = underside(bridge, parts.caliper, rotor)
    high = top(bridge, parts.caliper)
    if y.max() >= high:
        found = f"an underside at y {y.max():.4g} and a top at y {high:.4g} (it floats above the metal)"
        mend = "raise the wall's top, or lower rotor radius or clearance"
        yield Fault(where, found, "underside below the top", mend)
        return
    clear = rotor.outer_radius + rotor.edge_clearance
    nearest = math.hypot(min(max(0.0, bridge.x[0]), bridge.x[1]), y[0])
    if bridge.y is not None and nearest < clear:
        found = f"{bridge.y[0]:g}, an underside {nearest:.4g} mm from the rotor's axis"
        allowed = f"at least {clear:g} mm, rotor radius and edge clearance"
        yield Fault(
            f"{where}.y_mm[1]", found, allowed, "raise it, or leave y_mm out to follow the rotor circle"
        )
    outline = footprint(bridge, parts.caliper, rotor)
    for place, bore in zip(parts.bores, parts.caliper.bores, strict=True):
        gap = -depth_inside(bore.x, bore.y, outline) - bore.diameter / 2
        if gap < 0:
            found = f'a footprint of "{bridge.name}" that covers {place} by {-gap:.4g} mm'
            yield Fault(where, found, "a bridge beside the bores", "move the bridge or the bore")


def _piston_faults(parts: Parts) -> Iterator[Fault]:
    caliper = parts.caliper
    smallest = min((bore.diameter for bore in caliper.bores), default=math.nan)
    depth = min(wall.thickness - wall.floor for wall in parts.walls.values())
    piston = caliper.piston
    if piston.wall >= smallest / 2:
        allowed = f"below {smallest / 2:g}, the radius of the smallest bore"
        yield Fault("caliper.piston.wall_mm", f"{piston.wall:g}", allowed, "thin the piston's wall")
    for where, length in (
        ("caliper.piston.crown_mm", piston.crown),
        ("caliper.fluid_depth_mm", caliper.fluid_depth),
    ):
        if length >= depth > 0:
            yield Fault(where, f"{length:g}", f"below {depth:g}, the depth of the bores", "make it smaller")
