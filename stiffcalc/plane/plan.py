"""What the front view is given: one half as seen along the rotor's axis, in plain numbers (mm, MPa)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.mesh import Disc


@dataclass(frozen=True)
class Pocket:
    """A prism cut from the outer face; over a bore it thins the floor."""

    outline: Array  # (N, 2) closed polygon
    depth: float


@dataclass(frozen=True)
class Head:
    """A bolt: the hole it runs through, and the diameter of what bears round it (head, washer or thread)."""

    x: float
    y: float
    hole: float
    bearing: float


@dataclass(frozen=True)
class Footprint:
    """Where a bridge meets the wall, and the elastic layer that ties it there.

    An arch edge is given by points along it; steps of about the mesh size are fine enough (a chord of 8 mm
    on a radius of 168 mm departs from the arc by 0.05 mm).
    """

    outline: Array  # (N, 2) closed polygon
    x: float  # reference point of the bridge's movements q
    y: float
    layer: float  # k, MPa/mm: traction per relative movement, E / (alpha t)


@dataclass(frozen=True)
class PlatePlan:
    """One half: a wall on its front outline, its bores, pockets, bolt holes, bridge footprints."""

    outline: Array  # (N, 2) closed polygon
    thickness: float
    floor: float  # left behind a bore, at the outer face
    bores: tuple[Disc, ...]
    footprints: tuple[Footprint, ...]
    E: float
    nu: float
    pockets: tuple[Pocket, ...] = ()
    heads: tuple[Head, ...] = ()  # one per bolt
    cuts: tuple[float, ...] = ()  # x of the sections whose mean line is wanted
    cut_y: float = 0.0  # y at which the mean line's w is given
    mesh_size: float | None = None  # largest element side; by default about 6000 unknowns

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
            yield Fault(f"footprints[{i}].layer", f"{foot.layer}", "a positive number", "E / (alpha t)")
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
