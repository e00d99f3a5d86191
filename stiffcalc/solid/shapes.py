"""What is built as a solid: the defined body, which bridges are parts of their own, and screws as plain cylinders."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.body import Body, BridgeShape, HalfShape
from stiffcalc.condensed import Array

SIDES = (("inboard", -1.0), ("outboard", 1.0))


@dataclass(frozen=True)
class ScrewShape:
    """A screw as cylinders along `axis` from the middle of its seat, mm: washer and head before it, shank behind."""

    name: str
    seat: tuple[float, float, float]
    axis: tuple[float, float, float]  # unit vector from the head to the tip
    diameter: float  # of the free shank
    thread: float  # of the engaged part
    grip: float  # seat to first engaged thread
    engaged: float
    head_diameter: float
    head_height: float
    washer: float  # thickness; 0 = none
    bearing: float  # outer diameter of the ring that presses: the washer's, else the head's
    hole: float  # clearance hole under the head
    near: str  # part under the head
    far: str  # part with the thread

    def at(self, depth: float) -> tuple[float, float, float]:
        """The point on the axis that lies `depth` behind the seat."""
        x, y, z = (s + depth * a for s, a in zip(self.seat, self.axis, strict=True))
        return x, y, z

    def local(self, points: Array) -> tuple[Array, Array]:
        """Depth behind the seat and distance from the axis of points (..., 3)."""
        away = points - np.array(self.seat)
        depth = away @ np.array(self.axis)
        return depth, np.linalg.norm(away - depth[..., None] * np.array(self.axis), axis=-1)


@dataclass(frozen=True)
class Assembly:
    """A body with its screws; `separate`: bridges (by index) that are parts of their own; `split`: halves bolted."""

    body: Body
    screws: tuple[ScrewShape, ...]
    separate: frozenset[int]
    split: bool
    names: tuple[str, ...]  # of the bridges, as in names of parts and sets

    @property
    def mirrored(self) -> bool:
        """One piece, nothing bolted in, no lugs, halves alike: z = 0 is a plane of symmetry inside the metal."""
        return self.body.symmetric and not (self.split or self.separate or self.body.lugs)

    def half(self, side: str) -> HalfShape:
        """One wall by the name of its side."""
        found: HalfShape = getattr(self.body, side)
        return found

    def own(self) -> Iterator[tuple[int, BridgeShape]]:
        """Bridges that belong to the halves."""
        return ((i, b) for i, b in enumerate(self.body.bridges) if i not in self.separate)


@dataclass(frozen=True)
class ClampFace:
    """Two parts that touch along a plane z = `z` over one bridge's section: `lower` (smaller z) and `upper`."""

    bridge: int
    z: float
    lower: tuple[str, str]  # part, name of its set
    upper: tuple[str, str]


def half_part(side: str) -> str:
    """Name of the part a half is."""
    return f"{side}_half"


def slugs(names: Iterable[str]) -> tuple[str, ...]:
    """Names fit for sets in any mesh format: lower-case letters, digits, underscores; each once."""
    found: list[str] = []
    for name in names:
        plain = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")[:24] or "bridge"
        found.append(plain if plain not in found else f"{plain}_{len(found) + 1}")
    return tuple(found)


def clamp_faces(a: Assembly) -> list[ClampFace]:
    """Every plane along z in which parts touch."""
    found = []
    for i, bridge in enumerate(a.body.bridges):
        name, h = a.names[i], a.body.half_gap
        low, high = half_part("inboard"), half_part("outboard")
        if i not in a.separate and a.split:
            found.append(ClampFace(i, 0.0, (low, f"clamp_inboard_{name}"), (high, f"clamp_outboard_{name}")))
        elif i in a.separate and bridge.pads is None:
            own = f"bridge_{name}"
            found.append(ClampFace(i, -h, (low, f"clamp_inboard_{name}"), (own, f"clamp_{name}_inboard")))
            found.append(ClampFace(i, h, (own, f"clamp_{name}_outboard"), (high, f"clamp_outboard_{name}")))
    return found
