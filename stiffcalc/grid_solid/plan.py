"""What a grid solid is given: one half in plain numbers (mm, MPa), z from the mid-plane outward."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.contours import Contour
from stiffcalc.plane.mesh import Disc
from stiffcalc.plane.plan import Head


@dataclass(frozen=True)
class Section:
    """A bridge: its section (N, 2), from the mid-plane to the wall's inner face.

    `jointed`: it is cut at the mid-plane and touches in `land` (N, 2) less `gaps`; else it goes on into the other half.
    """

    outline: Array
    E: float
    jointed: bool
    land: Array | None = None  # None: all of it
    gaps: tuple[Array, ...] = ()

    @property
    def voids(self) -> tuple[Array, ...]:
        """Outlines along which touching ends within the section."""
        return (*self.gaps, *(() if self.land is None else (self.land,)))


@dataclass(frozen=True)
class Recess:
    """A prism from the outer face inward, or metal left in one."""

    outline: Array
    depth: float  # of metal left: its height above the recess's floor, infinite up to the outer face


@dataclass(frozen=True)
class HalfSolid:
    """One half."""

    outline: Array  # (N, 2) of the wall
    thickness: float
    floor: float
    gap: float  # from the mid-plane to the wall's inner face
    bores: tuple[Disc, ...]
    sections: tuple[Section, ...]
    heads: tuple[Head, ...]  # a bolt's hole runs through everything, its ring bears on the outer face
    E: float
    nu: float
    pockets: tuple[Recess, ...] = ()
    ribs: tuple[Recess, ...] = ()

    @property
    def outer(self) -> float:
        """z of the outer face."""
        return self.gap + self.thickness

    @property
    def bottom(self) -> float:
        """z of the bores' floors."""
        return self.outer - self.floor

    @property
    def steps(self) -> tuple[float, ...]:
        """z of pockets' floors and of the tops of ribs in them."""
        tops = [p.depth - r.depth for p in self.pockets for r in self.ribs]
        return tuple(self.outer - d for d in (*(p.depth for p in self.pockets), *tops) if d > 0.0)


def corners(outline: Array | Contour) -> Array:
    """Points (N, 2) of a closed polygon, of one with arcs too."""
    return outline.polyline() if isinstance(outline, Contour) else np.asarray(outline)
