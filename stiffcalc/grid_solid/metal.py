"""Where there is metal, and how stiff: the half's shape asked at points of the x-y plane and at heights."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.plan import HalfSolid, Section
from stiffcalc.mechanics.voids import inside

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Columns:
    """What stands over points (...) of the x-y plane."""

    bridge: Array  # E of the bridge there over the wall's E; 0 where none
    wall: Mask
    bore: Mask
    depth: Array  # mm milled from the outer face

    def stiffness(self, half: HalfSolid, z: Array) -> Array:
        """E there over the wall's E at heights z (s,): (..., s); 0 where there is no metal."""
        wall, bore = self.wall[..., None], self.bore[..., None]
        solid = wall & ~(bore & (z < half.bottom)) & (z < half.outer - self.depth[..., None])
        return np.where(z < half.gap, self.bridge[..., None], solid)


def columns(half: HalfSolid, x: Array, y: Array) -> Columns:
    """What stands over points."""
    drilled = _in_holes(x, y, ((h.x, h.y, h.hole) for h in half.heads))
    bridge = np.zeros(x.shape)
    for section in half.sections:
        bridge[inside(section.outline, x=x, y=y)] = section.E / half.E
    bridge[drilled] = 0.0
    depth = np.zeros(x.shape)
    for pocket in half.pockets:
        depth = np.maximum(depth, np.where(inside(pocket.outline, x=x, y=y), pocket.depth, 0.0))
    left = np.zeros(x.shape)
    for rib in half.ribs:
        left = np.maximum(left, np.where(inside(rib.outline, x=x, y=y), rib.depth, 0.0))
    return Columns(
        bridge=bridge,
        wall=inside(half.outline, x=x, y=y) & ~drilled,
        bore=_in_holes(x, y, ((b.x, b.y, b.diameter) for b in half.bores)),
        depth=np.maximum(depth - left, 0.0),
    )


def touching(half: HalfSolid, section: Section, x: Array, y: Array) -> Mask:
    """Which points of the mid-plane lie in the touching part of a section's face."""
    found = inside(section.outline, x=x, y=y)
    found &= ~_in_holes(x, y, ((h.x, h.y, h.hole) for h in half.heads))
    if section.land is not None:
        found &= inside(section.land, x=x, y=y)
    for gap in section.gaps:
        found &= ~inside(gap, x=x, y=y)
    return found


def _in_holes(x: Array, y: Array, holes: Iterable[tuple[float, float, float]]) -> Mask:
    found = np.zeros(x.shape, dtype=bool)
    for hx, hy, d in holes:
        found |= (x - hx) ** 2 + (y - hy) ** 2 < 0.25 * d**2
    return found
