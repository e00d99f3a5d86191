"""How fine a section is meshed; mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError


@dataclass(frozen=True)
class Background:
    """Sizes carried by a former mesh: corners (e, 3, 2) of its triangles and the side wanted there (e, 3), mm."""

    corners: Array
    size: Array


@dataclass(frozen=True)
class Sizing:
    """Largest element side everywhere, and smaller ones at named edges, in named regions or parts, at points."""

    size: float
    edges: Mapping[str, float] = field(default_factory=dict)
    regions: Mapping[str, float] = field(default_factory=dict)
    points: tuple[tuple[float, float, float], ...] = ()  # x, y, side there
    growth: float = 0.25  # mm of side per mm away from where a smaller one was asked for
    per_circle: int = 24  # least number of sides round a full turn of any arc
    background: Background | None = None

    def __post_init__(self) -> None:
        faults = [
            Fault(where, f"{value}", "a positive number", "give a length in mm")
            for where, value in _numbers(self)
            if not 0 < value < math.inf
        ]
        if faults:
            raise InputError(faults)

    def scaled(self, factor: float) -> Sizing:
        """Every side times `factor`; arcs by at least the nearest number of sides."""
        old = self.background
        return replace(
            self,
            size=factor * self.size,
            edges={name: factor * size for name, size in self.edges.items()},
            regions={name: factor * size for name, size in self.regions.items()},
            points=tuple((x, y, factor * size) for x, y, size in self.points),
            per_circle=max(8, round(self.per_circle / factor)),
            background=old and Background(old.corners, factor * old.size),
        )


def _numbers(sizing: Sizing) -> Iterator[tuple[str, float]]:
    yield "size", sizing.size
    yield "growth", sizing.growth
    yield "per_circle", sizing.per_circle
    yield from ((f"size of edge {name}", size) for name, size in sizing.edges.items())
    yield from ((f"size of region {name}", size) for name, size in sizing.regions.items())
    yield from ((f"size of point ({x}, {y})", size) for x, y, size in sizing.points)
