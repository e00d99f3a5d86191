"""Do ports, reliefs and lands fit their joint faces.

Every rule asks for the bad condition, so that placeholders of unreadable values (NaN) add no fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault
from stiffcalc.study.breach import Breach, always, said
from stiffcalc.study.fit import reach
from stiffcalc.study.fit_bolts import bearing_diameter
from stiffcalc.study.geometry import depth_inside, depths_inside, footprint
from stiffcalc.study.numbers import at, hypot, plain
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Bridge, Caliper, Design, Outline, Port, Rotor

STEP_MM = 0.5  # of the points at which faces are looked at
NARROWEST = 0.2  # of the face's smaller side: two of the cells that faces are cut into
RINGS, ANGLES = 4, 72  # points looked at under a head


def clamp_plane_faults(parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    """Every rule of ports, reliefs and lands."""
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


def _port_faults(parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    caliper = parts.caliper
    placed = list(zip(parts.ports, caliper.ports, strict=True))
    outlines = [footprint(b, caliper, rotor) for b in caliper.bridges if placed]
    for where, port in placed:
        if caliper.layout == "monoblock":
            whole, mend = "a port in a one-piece body", 'remove it, or set layout = "two-piece"'
            yield Breach(True, where, whole, "ports across the clamp plane of two halves", mend)
        elif outlines:
            yield from _place_faults(where, port, caliper, outlines)
            yield from _hole_faults(where, port, parts)
    for (place, a), (other, b) in combinations(placed, 2):
        gap = hypot(a.x - b.x, a.y - b.y) - (a.seal_diameter + b.seal_diameter) / 2
        found = said("a seal that overlaps the one of {} by {:.4g} mm", place, -gap)
        yield Breach(gap < 0, other, found, "seals beside each other", "move the ports apart")


def _place_faults(where: str, port: Port, caliper: Caliper, outlines: Sequence[Array]) -> Iterator[Breach]:
    """The seal must lie wholly on what touches of one face."""
    radius = port.seal_diameter / 2
    rooms = np.stack(np.broadcast_arrays(*(depth_inside(port.x, port.y, o) for o in outlines)))
    room, nearest = plain(rooms.max(axis=0)), rooms.argmax(axis=0)
    words = "a seal of {:g} mm whose centre is {} the nearest bridge's face"
    found = said(lambda d, r: words.format(d, reach(r)), port.seal_diameter, room)
    allowed = said("at least {:g} mm inside one face", radius)
    yield Breach(room < radius, where, found, allowed, "move the port or take a smaller seal")
    for i, bridge in enumerate(caliper.bridges):
        on = (room >= radius) & plain(nearest == i)
        yield from _seal_faults(where, port, f"caliper.bridge[{i + 1}]", bridge, on=on)


def _seal_faults(where: str, port: Port, place: str, bridge: Bridge, *, on: bool) -> Iterator[Breach]:
    """A seal `on` the face of a bridge, against its reliefs and its land."""
    radius, allowed = port.seal_diameter / 2, "a seal on metal that touches"
    for k, relief in enumerate(bridge.reliefs, start=1):
        over = radius + depth_inside(port.x, port.y, np.array(relief))
        found = said("a seal that reaches {:.4g} mm into {}.relief[{}]", over, place, k)
        yield Breach(on & (over > 0), where, found, allowed, "move the port or the relief")
    if bridge.land is not None:
        hangs = depth_inside(port.x, port.y, np.array(bridge.land)) < radius
        edge = f"a seal that hangs over the edge of {place}.land"
        yield Breach(on & hangs, where, edge, allowed, "move the port or widen the land")


def _hole_faults(where: str, port: Port, parts: Parts) -> Iterator[Breach]:
    caliper = parts.caliper
    holes = [(place, b.x, b.y, b.hole) for place, b in zip(parts.bolts, caliper.bolts, strict=True)]
    holes += [(place, d.x, d.y, d.diameter) for place, d in zip(parts.dowels, caliper.dowels, strict=True)]
    for place, x, y, diameter in holes:
        gap = hypot(port.x - x, port.y - y) - (port.seal_diameter + diameter) / 2
        found = said("a seal that overlaps the hole of {} by {:.4g} mm", place, -gap)
        mend = "move the port or take a smaller seal"
        yield Breach(gap < 0, where, found, "a seal beside the holes", mend)


def _relief_faults(where: str, bridge: Bridge, parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    """Rules of one bridge's reliefs and land: the points they look at differ, so design by design."""
    outline = footprint(bridge, parts.caliper, rotor)
    heads: dict[str, tuple[Any, ...]] = {
        place: (b.x, b.y, b.hole, bearing_diameter(b))
        for place, b in zip(parts.bolts, parts.caliper.bolts, strict=True)
    }
    sizes = [len(outline)] if outline.ndim == 3 else []
    sizes += [len(n) for head in heads.values() for n in head if isinstance(n, np.ndarray)]
    for d in range(sizes[0]) if sizes else (0,):
        own = {place: Head(*(at(n, d) for n in head)) for place, head in heads.items()}
        for fault in _steps_faults(where, bridge, outline[d] if outline.ndim == 3 else outline, own):
            yield replace(always(fault), bad=np.arange(sizes[0]) == d) if sizes else always(fault)


@dataclass(frozen=True)
class Head:
    """The ring that one design's bolt presses on."""

    x: float
    y: float
    hole: float
    bearing: float


def _steps_faults(where: str, bridge: Bridge, outline: Array, heads: Mapping[str, Head]) -> Iterator[Fault]:
    face = _points(outline)
    shapes = [(f"{where}.relief[{k}]", relief) for k, relief in enumerate(bridge.reliefs, start=1)]
    shapes += [(f"{where}.land", bridge.land)] if bridge.land is not None else []
    if not len(face) or any(math.isnan(v) for _, shape in shapes for corner in shape for v in corner):
        return  # reported already
    outside = [place for place, shape in shapes if not _inside(face, shape).any()]
    for place in outside:
        found = f'an outline outside the face of "{bridge.name}"'
        yield Fault(place, found, "an outline over the bridge's face", "correct its x and y")
    if outside:
        return
    yield from _left_faults(where, bridge, face)
    for place, head in heads.items():
        if depth_inside(head.x, head.y, outline) > 0:
            yield from _ring_faults(where, place, head, bridge)


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


def _ring_faults(where: str, place: str, head: Head, bridge: Bridge) -> Iterator[Fault]:
    """Straight under a head some metal must touch, else the halves bend into the gap under the bolt."""
    inner, outer = head.hole / 2, head.bearing / 2
    radii = inner + (outer - inner) * (np.arange(RINGS) + 0.5) / RINGS
    angles = 2.0 * np.pi * np.arange(ANGLES) / ANGLES
    ring = np.stack(
        [head.x + radii[:, None] * np.cos(angles), head.y + radii[:, None] * np.sin(angles)], axis=-1
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
