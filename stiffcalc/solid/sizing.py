"""Element sizes: small at re-entrant edges and round circles, graded to the general size in the open.

Sizes are given at corners of the CAD model; edges between two corners and circles with one take theirs.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import ModuleType

import numpy as np

from stiffcalc.caliper.body import BridgeShape
from stiffcalc.condensed import Array
from stiffcalc.solid.build import Parts
from stiffcalc.solid.shapes import Assembly

TOUCH = 1e-3  # mm
# Shares of the general size, elements round a circle and along a quarter of a fillet's: as in the solids the models
# were compared with, which lie 0.9 % below the limit of finer meshes (studies/solid_check).
GENERAL_MM = 9.0
ROOT, FACE = 2.0 / GENERAL_MM, 5.0 / GENERAL_MM
MOUTH, FLOOR, HOLE, RING, FILLET = 16, 36, 10, 14, 3
# Of a fillet's radius at its foot, where its end runs out at no angle: a chord's angle is half of it.
FOOT = 0.5
LEAST = 10  # round a circle, however coarse the mesh


@dataclass(frozen=True)
class Sizes:
    """The sizes of one assembly at a general element size, mm."""

    a: Assembly
    size: float

    def at(self, point: Array, part: str) -> float:
        """Smallest of the sizes that claim this corner of a part."""
        bolt = next((s for s in self.a.screws if s.name == part), None)
        if bolt is not None:
            return min(self.size, self.round(bolt.diameter, HOLE))
        claims = [self.size, *self._circles(point), *self._bridges(point)]
        return float(min(claims))

    def round(self, diameter: float, count: int) -> float:
        """Element side of a circle."""
        return float(np.pi * diameter / max(LEAST, count * GENERAL_MM / self.size))

    def _circles(self, point: Array) -> list[float]:
        x, y, z = point
        at_mouth = abs(abs(z) - self.a.body.half_gap) < TOUCH
        bores = [b for h in (self.a.body.inboard, self.a.body.outboard) for b in h.bores]
        found = [
            self.round(b.diameter, MOUTH if at_mouth else FLOOR)
            for b in bores
            if abs(np.hypot(x - b.x, y - b.y) - b.diameter / 2) < TOUCH
        ]
        ports = [p for p in self.a.body.ports if abs(np.hypot(x - p.x, y - p.y) - p.seal / 2) < TOUCH]
        found += [self.round(p.seal, HOLE) for p in ports]
        for g in self.a.body.lugs:
            for d, count in ((g.hole, HOLE), (g.diameter, RING)):
                if z < 0 and abs(np.hypot(x - g.x, y - g.y) - d / 2) < TOUCH:
                    found.append(self.round(d, count))
        for s in self.a.screws:
            _, radius = s.local(point)
            for d, count in ((s.hole, HOLE), (s.thread, HOLE), (s.bearing, RING)):
                if abs(radius - d / 2) < TOUCH:
                    found.append(self.round(d, count))
        return found

    def _bridges(self, point: Array) -> list[float]:
        x, y, z = point
        found = []
        for i, b in enumerate(self.a.body.bridges):
            low = b.y0 if b.arch is None else min(b.y0, b.arch)
            inside = b.x0 - TOUCH <= x <= b.x1 + TOUCH and low - b.fillet - TOUCH <= y <= b.y1 + TOUCH
            if inside and abs(z) <= self.a.body.half_gap + TOUCH:
                found.append(self.size * FACE if i in self.a.separate else self._bridge(b, point))
        return found

    def _bridge(self, b: BridgeShape, point: Array) -> float:
        x, y, z = point
        if abs(z) < TOUCH:
            return self.size * (FACE if self.a.split else 1.0)
        root = ROOT * self.size
        if not b.fillet:
            return root
        out = y - b.y0 if b.arch is None else np.hypot(x, y) - b.arch
        at_foot = abs(out + b.fillet) < TOUCH and abs(abs(z) - self.a.body.half_gap) < TOUCH
        return min(self.size, FOOT * b.fillet) if at_foot else min(root, 0.5 * np.pi * b.fillet / FILLET)


def set_sizes(gmsh: ModuleType, a: Assembly, parts: Parts, size: float) -> None:
    """Give every corner of every part its size; a corner of two parts gets the smaller one."""
    sizes = Sizes(a, size)
    for part, solids in parts.items():
        for corner in gmsh.model.getBoundary(solids, combined=False, oriented=False, recursive=True):
            point = np.array(gmsh.model.getValue(*corner, []))
            gmsh.model.mesh.setSize([corner], sizes.at(point, part))
