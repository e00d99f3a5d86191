"""Do ports, reliefs and lands fit their joint faces.

Every comparison asks for the bad condition, so that placeholders of unreadable values (NaN) add no fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault
from stiffcalc.study.fit_bolts import bearing_diameter
from stiffcalc.study.geometry import depth_inside, depths_inside, footprint
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Bolt, Bridge, Caliper, Design, Outline, Port, Rotor

STEP_MM = 0.5  # of the points at which faces are looked at
NARROWEST = 0.2  # of the face's smaller side: two of the cells that faces are cut into
RINGS, ANGLES = 4, 72  # points looked at under a head


def clamp_plane_faults(parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    """Every fault of ports, reliefs and lands of one design."""
    yield from _port_faults(parts, rotor)
    for i, bridge in enumerate(parts.caliper.bridges, start=1):
        if _stepped(bridge):
            yield from _relief_faults(f"caliper.bridge[{i}]", bridge, parts, rotor)


def idle_faults(designs: Iterable[Design]) -> Iterator[Fault]:
    """Reliefs and lands of bridges that have a joint face in no design."""
    idle: dict[int, bool] = {}
    for design in designs:
        for i, bridge in enumerate(design.caliper.bridges, start=1):
            if _stepped(bridge):
                idle[i] = idle.get(i, True) and not _jointed(bridge, design.caliper)
    for i in (i for i, never in idle.items() if never):
        found = "a relief or land of a bridge that no variant joins"
        mend = 'remove it, or set layout = "two-piece" or kind = "bolted-in"'
        yield Fault(f"caliper.bridge[{i}]", found, "reliefs and lands of joint faces", mend)


def _stepped(bridge: Bridge) -> bool:
    return bool(bridge.reliefs) or bridge.land is not None


def _jointed(bridge: Bridge, caliper: Caliper) -> bool:
    """True where a bridge has a joint face in the clamp plane."""
    return caliper.layout == "two-piece" or (bridge.kind == "bolted-in" and bridge.pads is None)


def _port_faults(parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    caliper = parts.caliper
    placed = list(zip(parts.ports, caliper.ports, strict=True))
    for where, port in placed:
        if caliper.layout == "monoblock":
            mend = 'remove it, or set layout = "two-piece"'
            yield Fault(
                where, "a port in a one-piece body", "ports across the clamp plane of two halves", mend
            )
            continue
        yield from _place_faults(where, port, caliper, rotor)
        yield from _hole_faults(where, port, parts)
    for (place, a), (other, b) in combinations(placed, 2):
        gap = math.hypot(a.x - b.x, a.y - b.y) - (a.seal_diameter + b.seal_diameter) / 2
        if gap < 0:
            found = f"a seal that overlaps the one of {place} by {-gap:.4g} mm"
            yield Fault(other, found, "seals beside each other", "move the ports apart")


def _place_faults(where: str, port: Port, caliper: Caliper, rotor: Rotor) -> Iterator[Fault]:
    """The seal must lie wholly on what touches of one face."""
    radius = port.seal_diameter / 2
    rooms = [depth_inside(port.x, port.y, footprint(b, caliper, rotor)) for b in caliper.bridges]
    room = max(rooms, default=math.nan)
    if room < radius:
        found = (
            f"a seal of {port.seal_diameter:g} mm whose centre is {_reach(room)} the nearest bridge's face"
        )
        yield Fault(
            where, found, f"at least {radius:g} mm inside one face", "move the port or take a smaller seal"
        )
        return
    if not room >= radius:
        return
    i = int(np.argmax(rooms))
    bridge = caliper.bridges[i]
    for k, relief in enumerate(bridge.reliefs, start=1):
        over = radius + depth_inside(port.x, port.y, np.array(relief))
        if over > 0:
            found = f"a seal that reaches {over:.4g} mm into caliper.bridge[{i + 1}].relief[{k}]"
            yield Fault(where, found, "a seal on metal that touches", "move the port or the relief")
    if bridge.land is not None and depth_inside(port.x, port.y, np.array(bridge.land)) < radius:
        found = f"a seal that hangs over the edge of caliper.bridge[{i + 1}].land"
        yield Fault(where, found, "a seal on metal that touches", "move the port or widen the land")


def _reach(room: float) -> str:
    return f"{room:.4g} mm inside" if room >= 0 else f"{-room:.4g} mm outside"


def _hole_faults(where: str, port: Port, parts: Parts) -> Iterator[Fault]:
    caliper = parts.caliper
    holes = [(place, b.x, b.y, b.hole) for place, b in zip(parts.bolts, caliper.bolts, strict=True)]
    holes += [(place, d.x, d.y, d.diameter) for place, d in zip(parts.dowels, caliper.dowels, strict=True)]
    for place, x, y, diameter in holes:
        gap = math.hypot(port.x - x, port.y - y) - (port.seal_diameter + diameter) / 2
        if gap < 0:
            found = f"a seal that overlaps the hole of {place} by {-gap:.4g} mm"
            yield Fault(where, found, "a seal beside the holes", "move the port or take a smaller seal")


def _relief_faults(where: str, bridge: Bridge, parts: Parts, rotor: Rotor) -> Iterator[Fault]:
    face = _points(footprint(bridge, parts.caliper, rotor))
    shapes = [(f"{where}.relief[{k}]", relief) for k, relief in enumerate(bridge.reliefs, start=1)]
    shapes += [(f"{where}.land", bridge.land)] if bridge.land is not None else []
    if not len(face) or any(math.isnan(v) for _, outline in shapes for corner in outline for v in corner):
        return  # reported already
    outside = [place for place, outline in shapes if not _inside(face, outline).any()]
    for place in outside:
        found, allowed = (
            f'an outline outside the face of "{bridge.name}"',
            "an outline over the bridge's face",
        )
        yield Fault(place, found, allowed, "correct its x and y")
    if outside:
        return
    yield from _left_faults(where, bridge, face)
    for place, bolt in zip(parts.bolts, parts.caliper.bolts, strict=True):
        if depth_inside(bolt.x, bolt.y, footprint(bridge, parts.caliper, rotor)) > 0:
            yield from _ring_faults(where, place, bolt, bridge)


def _left_faults(where: str, bridge: Bridge, face: Array) -> Iterator[Fault]:
    """What touches must be there, and wide enough to carry both moments."""
    side = float((face.max(axis=0) - face.min(axis=0)).min())
    left = face[_touching(bridge, face)]
    width = _least_width(left) if len(left) else 0.0
    if width < NARROWEST * side:
        found = f"a face of which {f'a strip {width:.3g} mm wide' if len(left) else 'nothing'} touches"
        allowed = f"what touches at least {NARROWEST * side:.3g} mm wide each way"
        yield Fault(where, found, allowed, "make the reliefs smaller or the land larger")


def _least_width(points: Array) -> float:
    """Width of a strip with the least radius of inertia of the points, each of them a square of the grid."""
    least = max(float(np.linalg.eigvalsh(np.cov(points.T, bias=True))[0]), 0.0)
    return math.sqrt(12.0 * least + STEP_MM**2)


def _ring_faults(where: str, place: str, bolt: Bolt, bridge: Bridge) -> Iterator[Fault]:
    """Straight under a head some metal must touch, else the halves bend into the gap under the bolt."""
    inner, outer = bolt.hole / 2, bearing_diameter(bolt) / 2
    radii = inner + (outer - inner) * (np.arange(RINGS) + 0.5) / RINGS
    angles = 2.0 * np.pi * np.arange(ANGLES) / ANGLES
    ring = np.stack(
        [bolt.x + radii[:, None] * np.cos(angles), bolt.y + radii[:, None] * np.sin(angles)], axis=-1
    )
    if not np.isnan(ring).any() and not _touching(bridge, ring).any():
        found = f"a relief (or land) that leaves no metal in touch under the head of {place}"
        allowed = f"part of the ring from {2 * inner:g} to {2 * outer:g} mm round its axis touches"
        yield Fault(where, found, allowed, "draw the relief beside the bolt")


def _points(outline: Array) -> Array:
    """Points inside an outline on an even grid, (N, 2)."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    if np.isnan([*low, *high]).any():
        return np.empty((0, 2))
    axes = [np.arange(a + STEP_MM / 2, b, STEP_MM) for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    return np.asarray(grid[depths_inside(grid, outline) > 0])


def _touching(bridge: Bridge, points: Array) -> NDArray[np.bool_]:
    """Which points (..., 2) of a face the reliefs leave and the land has."""
    kept = np.ones(points.shape[:-1], dtype=bool)
    for relief in bridge.reliefs:
        kept &= ~_inside(points, relief)
    if bridge.land is not None:
        kept &= _inside(points, bridge.land)
    return kept


def _inside(points: Array, outline: Outline) -> NDArray[np.bool_]:
    return np.asarray(depths_inside(points, np.array(outline)) > 0)
