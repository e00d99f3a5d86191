"""The defined body: what metal stands where. Geometry only, so that anyone can rebuild it in solid FE.

A wall is a prism on its front outline from the inner face (z = half gap) outward; bores are cylinders cut
from the inner face leaving the floor; pockets are prisms cut from the outer face, less the ribs and bosses left in
them; a bridge is a prism over its x range from inner face to inner face, its underside the rotor circle (arch) or
flat; bolt holes run through everything along z. A bar on pads goes on outward beyond the inner faces: each pad is a
box on a seat as high as the highest point of the bar's underside, in a slot of the wall that is open to its top and
inner face; its bolts stand along y, in clearance holes through the pad and holes of the pitch diameter in the wall.

A body may be a batch of D bodies of one make (`mechanics.trees`): a number is then an array (D,) or, where all have the
same, plain; an outline is (D, N, 2) or (N, 2).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stiffcalc.caliper.batch import differ
from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges
from stiffcalc.mechanics.trees import table
from stiffcalc.milling import WallShape

Corners = tuple[tuple[float, float], ...]  # (x, y) of a closed polygon


@dataclass(frozen=True)
class BoreShape:
    """A cylinder along z."""

    x: float
    y: float
    diameter: float


@dataclass(frozen=True)
class PocketShape:
    """A prism of `depth` cut from the outer face; `outline` is a closed polygon (N, 2), counter-clockwise."""

    outline: Array
    depth: float


@dataclass(frozen=True)
class HalfShape:
    """One wall; `outline` is its front outline (N, 2), counter-clockwise."""

    outline: Array
    thickness: float
    floor: float
    bores: tuple[BoreShape, ...]
    pockets: tuple[PocketShape, ...]
    shape: WallShape | None = (
        None  # `outline` with its arcs, and pockets and ribs of any outline instead of `pockets`
    )


@dataclass(frozen=True)
class PadShape:
    """The pads at both ends of a bar and the bolts on each, alike on both sides."""

    length: float  # along z, from the inner face outward
    seat: float  # y
    x: tuple[float, ...]  # bolts of one side
    setback: float  # bolts from the inner face
    hole: float  # clearance hole through the pad
    bearing: float  # outer diameter of the head's (or washer's) bearing ring
    tapped: float  # diameter of the hole in the wall: the thread's pitch diameter
    depth: float  # of that hole below the seat


@dataclass(frozen=True)
class BridgeShape:
    """One bridge over x0..x1, up to y1. Underside: max(y0, sqrt(arch^2 - x^2)), or flat at y0 where arch is None."""

    name: str
    x0: float
    x1: float
    y0: float  # flat underside, or the wall's bottom where an arch would pass below it
    y1: float
    arch: float | None  # radius of the rotor circle plus clearance, about the origin
    fillet: float
    E: float
    nu: float
    jointed: bool  # a unilateral face lies in it (two-piece, or bolted in along z)
    pads: PadShape | None = None  # a bar bolted down on the walls
    reliefs: tuple[Corners, ...] = ()  # of the joint face: shallow steps that do not touch
    land: Corners | None = None  # what alone touches of the joint face, reliefs out; None: all of it


@dataclass(frozen=True)
class BoltShape:
    """One bolt: its hole through both halves, head bearing ring, and tensile bar from head face to anchor."""

    x: float
    y: float
    diameter: float  # nominal
    hole: float
    bearing: float  # outer diameter of the head's (or washer's) bearing ring
    E: float
    bridge: int  # index of the bridge it clamps
    flexibility: float | None = (
        None  # mm/N between its two anchors; None: bar of pi d^2/4 from outer face to outer face
    )


@dataclass(frozen=True)
class PortShape:
    """A passage for fluid across one bridge's joint face; out to the seal's groove the face does not touch.

    The drilling and the steps of reliefs are too small to count as missing metal: neither mass nor stiffness know them.
    """

    x: float
    y: float
    diameter: float
    seal: float  # outer diameter of the groove
    bridge: int


@dataclass(frozen=True)
class AbutmentShape:
    """A patch of one half in the plane `x`, the flank of a bridge, that takes a pad's drag; z from the mid-plane."""

    name: str  # of its set of faces
    bridge: int
    half: str  # "inboard" | "outboard"
    x: float  # positive: at the trailing end
    y0: float
    y1: float
    z0: float
    z1: float


@dataclass(frozen=True)
class LugShape:
    """A mounting boss of the inboard half: a cylinder from z0 to z1, distances from the mid-plane; a hole through it.

    What of it lies within the wall's outline and thickness is the wall's; pockets cut neither more nor less for it.
    """

    x: float
    y: float
    diameter: float
    hole: float
    z0: float
    z1: float
    beside: bool  # of the wall, which it overlaps; else on its outer face
    thread: str | None


@dataclass(frozen=True)
class Body:
    """Both halves (`inboard`, `outboard`, the same bores in both), what joins them, and the gap between them."""

    inboard: HalfShape
    outboard: HalfShape
    half_gap: float
    bridges: tuple[BridgeShape, ...]
    bolts: tuple[BoltShape, ...]
    E: float
    nu: float
    ports: tuple[PortShape, ...] = ()
    abutments: tuple[AbutmentShape, ...] = ()
    lugs: tuple[LugShape, ...] = ()

    @property
    def count(self) -> int:
        """Bodies in the batch: in one of several the gap is an array."""
        return 1 if np.ndim(self.half_gap) == 0 else len(np.asarray(self.half_gap))

    @property
    def symmetric(self) -> bool:
        """True when both halves are the same shape in every body, so that one condensed half serves for two."""
        return self.inboard is self.outboard or not differ(self.inboard, self.outboard).any()

    @cached_property
    def prisms(self) -> Bridges:
        """The bridges as arrays, each with the holes of its own bolts (padded with diameter 0)."""
        D, N = self.count, len(self.bridges)
        own = [[q for q in self.bolts if q.bridge == i] for i in range(N)]
        holes = np.zeros((3, D, N, max((len(bolts) for bolts in own), default=0)))
        for i, bolts in enumerate(own):
            for k, q in enumerate(bolts):
                holes[0, :, i, k], holes[1, :, i, k], holes[2, :, i, k] = q.x, q.y, q.hole
        return Bridges(
            x=np.stack([table([getattr(b, end) for b in self.bridges], D) for end in ("x0", "x1")], axis=-1),
            y=np.stack([table([getattr(b, end) for b in self.bridges], D) for end in ("y0", "y1")], axis=-1),
            arch=table([0.0 if b.arch is None else b.arch for b in self.bridges], D),
            length=table([2 * self.half_gap] * N, D),
            hole_x=holes[0],
            hole_y=holes[1],
            hole_d=holes[2],
            E=table([b.E for b in self.bridges], D),
        )


WHOLE = (PortShape, WallShape)  # the same in all bodies of a batch, numbers too
