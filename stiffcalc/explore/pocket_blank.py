"""What pockets are milled from: the wall of even thickness with the layout's mass, and the thicker blank.

Bores keep the depth that the layout gives them, so a blank leaves more floor behind them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from scipy.optimize import brentq

from stiffcalc.caliper.build import build
from stiffcalc.caliper.measures import weigh
from stiffcalc.errors import Fault, InputError
from stiffcalc.study.schema import Design, PocketPlan, Wall

SIDES = ("inboard", "outboard")
DIGITS = 2  # of a thickness, mm
THINNER, THICKER = 0.7, 2.0  # of the layout's thickness: as much less or more is tried for the even wall
PER_THICKNESS = 0.4  # least thickness of a blank's wall


@dataclass(frozen=True)
class Start:
    """The even wall of the mass that is to be had, and the blank; the halves that are milled, each once.

    `copies`: how many halves one of `sides` stands for. `least`, `floor` (each side): wall and floor that stay.
    """

    even: Design
    blank: Design
    sides: tuple[str, ...]
    copies: int
    least: Mapping[str, float]
    floor: Mapping[str, float]

    @property
    def milled(self) -> tuple[str, ...]:
        """Every half that is milled."""
        return SIDES if self.copies == 2 else self.sides


def start(design: Design, plan: PocketPlan) -> Start:
    """Even wall and blank of a layout. Raises `InputError` where the plan and the layout do not go together."""
    milled = SIDES if plan.halves == "both" else (plan.halves,)
    _refuse_drawn(design, milled)
    mass = plan.mass if plan.mass is not None else mass_of(design)
    even = _even(design, milled, mass)
    blank = walled(design, {s: _blank(design, even, s, plan.blank) for s in milled})
    alike = len(milled) == 2 and build(blank).symmetric
    found = Start(
        even=even,
        blank=blank,
        sides=("outboard",) if alike else milled,
        copies=2 if alike else 1,
        least={s: _least(getattr(blank.caliper, s), plan) for s in milled},
        floor={s: plan.least_floor or getattr(design.caliper, s).floor for s in milled},
    )
    _refuse(found, plan)
    return found


def mass_of(design: Design) -> float:
    """Total mass with bolts and pistons, kg."""
    return float(weigh(design, build(design)).total)


def walled(design: Design, walls: Mapping[str, Wall]) -> Design:
    """The layout with other walls."""
    c = design.caliper
    sides = {side: walls.get(side, getattr(c, side)) for side in SIDES}
    return replace(design, caliper=replace(c, inboard=sides["inboard"], outboard=sides["outboard"]))


def _even(design: Design, milled: tuple[str, ...], mass: float) -> Design:
    """Without pockets in the halves that are milled, as thick as gives the mass."""
    bare = {s: replace(getattr(design.caliper, s), pockets=()) for s in milled}
    thinnest = min(w.thickness for w in bare.values())

    def grown(by: float) -> Design:
        return walled(design, {s: replace(w, thickness=round(w.thickness + by, 9)) for s, w in bare.items()})

    # a wall is thicker than its floor
    low = max(-THINNER * thinnest, max(w.floor - w.thickness for w in bare.values()) + 1.0)
    high = THICKER * thinnest
    if not mass_of(grown(low)) < mass < mass_of(grown(high)):
        range_ = f"{mass_of(grown(low)):.3f} to {mass_of(grown(high)):.3f} kg"
        found = f"{mass:g}"
        raise InputError(
            [Fault("pockets.mass_kg", found, f"what this layout can weigh, {range_}", "change it")]
        )
    by = brentq(lambda b: mass_of(grown(b)) - mass, low, high, xtol=1e-6)
    return grown(by)


def _blank(design: Design, even: Design, side: str, added: float) -> Wall:
    """The thicker wall, its bores as deep as the layout's."""
    own: Wall = getattr(design.caliper, side)
    thickness = round(getattr(even.caliper, side).thickness + added, DIGITS)
    return replace(
        own, thickness=thickness, floor=round(thickness - own.thickness + own.floor, DIGITS), pockets=()
    )


def _least(blank: Wall, plan: PocketPlan) -> float:
    if plan.least_thickness is not None:
        return plan.least_thickness
    return math.ceil(10.0 * PER_THICKNESS * blank.thickness) / 10.0


def _refuse_drawn(design: Design, milled: tuple[str, ...]) -> None:
    """Walls drawn as outlines have pockets and ribs of their own, which rectangles would have to keep clear of."""
    for side in milled:
        if getattr(design.caliper, side).shape is not None:
            found = f"a drawn front outline, pocket or rib ({side})"
            allowed = "a wall given by length, bottom, top and rectangular pockets"
            raise InputError([Fault("caliper.wall", found, allowed, "give a variant without it")])


def _refuse(found: Start, plan: PocketPlan) -> None:
    faults = []
    for side in found.milled:
        wall: Wall = getattr(found.blank.caliper, side)
        if found.least[side] >= wall.thickness:
            given = f"{found.least[side]:g}"
            allowed = f"below the blank's {wall.thickness:g} mm ({side})"
            faults.append(
                Fault("pockets.least_thickness_mm", given, allowed, "make it smaller or the blank thicker")
            )
        if wall.floor <= 0.0:
            own = getattr(found.even.caliper, side).thickness
            given = f"{plan.blank:g}, a blank thinner than the layout's bores are deep ({side}, even wall {own:.4g} mm)"
            faults.append(Fault("pockets.blank_mm", given, "room for the bores", "make the blank thicker"))
    if faults:
        raise InputError(faults)
