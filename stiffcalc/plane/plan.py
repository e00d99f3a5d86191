"""What the front view is given: one half as seen along the rotor's axis, in plain numbers (mm, MPa)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.contours import Contour
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.mesh import Disc


@dataclass(frozen=True)
class Pocket:
    """A prism cut from the outer face; over a bore it thins the floor."""

    outline: Array | Contour  # a closed polygon (N, 2), or one with arcs
    depth: float


@dataclass(frozen=True)
class Rib:
    """Metal that a pocket leaves: a rib or a boss."""

    outline: Array | Contour
    height: float  # above the pocket's floor; infinite: up to the outer face


@dataclass(frozen=True)
class Head:
    """A bolt: the hole it runs through, and the diameter of what bears round it (head, washer or thread)."""

    x: float
    y: float
    hole: float
    bearing: float


@dataclass(frozen=True)
class Footprint:
    """Where a bridge meets the wall, the elastic layer that ties it there, and the metal it lends the wall.

    An arch edge is given by points along it; steps of about the mesh size are fine enough (a chord of 8 mm
    on a radius of 168 mm departs from the arc by 0.05 mm)."""

    outline: Array  # (N, 2) closed polygon
    x: float  # reference point of the bridge's movements q
    y: float
    layer: float  # k, MPa/mm: traction per relative movement
    own: float = (
        0.0  # share of the layer's depth that is the bridge's: its plane movement counts there, not here
    )
    stiffener: float = 0.0  # mm of metal inside the bridge that bend with the wall


@dataclass(frozen=True)
class RootConstants:
    """How a bridge's root yields and stiffens, as shares of what it measures itself by."""

    wall: float  # of the wall's thickness: depth of wall that yields under the footprint
    stiffener: float  # of the square root of the footprint's area: depth of bridge that bends with the wall


# Fitted to opening and tilt of 3-D solids of random one-piece bodies and bonded two-piece bodies (studies/solid_check,
# group "fit"): 0.4 +- 0.9 % of opening; group "blind" 0.4 +- 1.0 %.
FITTED = RootConstants(wall=0.168, stiffener=0.139)


def root_footprint(
    outline: Array,
    *,
    x: float,
    y: float,
    thickness: float,
    length: float,
    E: float,
    E_bridge: float,
    constants: RootConstants = FITTED,
) -> Footprint:
    """Footprint of a bridge on a wall `thickness` thick; `length`: half the bridge, to its mid-plane; mm, MPa.

    The wall yields over a depth in proportion to t. The bridge's end is free to warp out of its plane over a
    depth d between its own length g (short and wide: a foundation) and the size s = sqrt(A) of its section (long
    and slender: Saint-Venant), 1/d = 1/g + 1/s; its plane movement over d stays with the bridge (`own`). Some
    of the bridge's metal bends with the wall.
    """
    size = math.sqrt(polygon_area(outline))
    wall, bridge = constants.wall * thickness / E, length * size / (length + size) / E_bridge
    return Footprint(
        outline=outline,
        x=x,
        y=y,
        layer=1 / (wall + bridge),
        own=bridge / (wall + bridge),
        stiffener=constants.stiffener * size * E_bridge / E,
    )


def polygon_area(points: Array | Contour) -> float:
    """Area, mm2, of a closed polygon (N, 2), or of one with arcs."""
    if isinstance(points, Contour):
        return points.area
    x, y = points.T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


@dataclass(frozen=True)
class PlatePlan:
    """One half: a wall on its front outline, its bores, pockets, bolt holes, bridge footprints."""

    outline: Array | Contour  # a closed polygon (N, 2), or one with arcs
    thickness: float
    floor: float  # left behind a bore, at the outer face
    bores: tuple[Disc, ...]
    footprints: tuple[Footprint, ...]
    E: float
    nu: float
    pockets: tuple[Pocket, ...] = ()
    ribs: tuple[Rib, ...] = ()  # in any pocket
    heads: tuple[Head, ...] = ()  # one per bolt
    cuts: tuple[float, ...] = ()  # x of the sections whose mean line is wanted
    cut_y: float = 0.0  # y at which the mean line's w is given
    mesh_size: float | None = None  # largest element side; by default 5000 to 8000 unknowns

    def __post_init__(self) -> None:
        faults = list(_faults(self))
        if faults:
            raise InputError(faults)


def _faults(plan: PlatePlan) -> Iterator[Fault]:
    for name in ("thickness", "floor", "E"):
        value = getattr(plan, name)
        if not 0 < value < math.inf:
            yield Fault(name, f"{value}", "a positive number", f"give {name} in mm (E in MPa)")
    if not plan.floor < plan.thickness:
        yield Fault("floor", f"{plan.floor}", f"below the thickness {plan.thickness}", "thin the floor")
    if not 0 <= plan.nu < 0.5:
        yield Fault("nu", f"{plan.nu}", "0 to 0.5", "give Poisson's ratio")
    if not plan.bores or not plan.footprints:
        yield Fault("plan", "no bore or no bridge", "at least one of each", "add it")
    for i, foot in enumerate(plan.footprints):
        if not 0 < foot.layer < math.inf:
            yield Fault(f"footprints[{i}].layer", f"{foot.layer}", "a positive number", "E over a depth")
        if not 0 <= foot.own < 1:
            yield Fault(f"footprints[{i}].own", f"{foot.own}", "0 to below 1", "leave the wall a share")
        if not 0 <= foot.stiffener < math.inf:
            yield Fault(f"footprints[{i}].stiffener", f"{foot.stiffener}", "0 or more", "give a depth in mm")
    for i, head in enumerate(plan.heads):
        if not 0 < head.hole < head.bearing:
            yield Fault(
                f"heads[{i}]", f"{head.hole}, {head.bearing}", "0 < hole < bearing", "widen the bearing"
            )
    for i, pocket in enumerate(plan.pockets):
        if not 0 < pocket.depth < plan.thickness:
            yield Fault(
                f"pockets[{i}].depth", f"{pocket.depth}", f"0 to {plan.thickness}", "keep metal below it"
            )
