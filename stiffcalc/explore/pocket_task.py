"""One search for pockets made ready: blank and even wall meshed and solved, what may be milled, what is asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp

from stiffcalc.caliper.verdict import most_pressed
from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.explore.pocket_blank import Start, mass_of, start
from stiffcalc.explore.pocket_field import Place, blending
from stiffcalc.explore.pocket_pair import Blank, Found, evaluate, meshed, preloads
from stiffcalc.explore.pocket_room import Room, depth_allowed
from stiffcalc.plane.depths import areas, centres
from stiffcalc.quantities import percent
from stiffcalc.study.schema import Design, PocketPlan

ELEMENTS = 700  # of the outline alone: triangles of some 7 mm on a usual wall
SMOOTHED = 0.9  # times the side of a triangle: the filter's least radius, below which it does nothing
KG_PER_MM3 = 1e-9  # of a density in kg/m3
FULL = 0.95  # of what may be milled: beyond, there is nothing to choose


@dataclass(frozen=True)
class Task:
    """One search: what is evaluated, on what, against what."""

    start: Start
    plan: PocketPlan
    blank: Blank
    place: Place  # of all sides, one after the other
    rooms: dict[str, Room]
    blend: sp.csr_matrix
    radius: dict[str, float]  # of the filter
    held: tuple[Array, ...]  # preloads
    even: Array  # (cases,) spread of the even wall on a mesh as fine
    weight: Array  # (cases,)
    volume: float  # mm3 to be milled from all sides, each once, for the even wall's mass
    value: float | None  # of the weighted spread that is asked for

    @property
    def blank_mass(self) -> float:
        """Total mass of the blank, kg."""
        return mass_of(self.start.blank)

    @property
    def metal(self) -> Array:
        """Height (e,) of the blank's metal over every triangle, bridges left out."""
        wall = [(m.z_high, np.maximum(m.z_low, -m.plan.thickness / 2)) for m in self.blank.models.values()]
        return np.concatenate([high - low for high, low in wall])

    def parts(self, values: Array) -> dict[str, Array]:
        """An array (e,) cut into the sides'."""
        sizes = [len(m.mesh.triangles) for m in self.blank.models.values()]
        return dict(zip(self.blank.models, np.split(values, np.cumsum(sizes)[:-1]), strict=True))

    def solved(self, depth: Array) -> Found:
        """Spread and slopes at depths (e,)."""
        return evaluate(self.blank, self.parts(depth), self.held, self.weight)


def prepare(design: Design, plan: PocketPlan, *, elements: int = ELEMENTS) -> Task:
    """Mesh blank and even wall and solve what stays."""
    begun = start(design, plan)
    blank = meshed(begun, elements=elements)
    if not blank.cases:
        raise InputError([Fault("load_case", "none with pressure", "at least one", "give a pressure")])
    rooms = {
        s: Room(blank.body, getattr(blank.body, s), plan.room, begun.least[s], begun.floor[s])
        for s in blank.models
    }
    place = _place(blank, rooms)
    density = KG_PER_MM3 * design.caliper.material.density_kg_m3
    volume = (mass_of(begun.blank) - mass_of(begun.even)) / density / begun.copies
    _refuse_full(place, volume, plan)
    radius = {s: max(plan.cutter / 2, SMOOTHED * m.mesh.size) for s, m in blank.models.items()}
    filters = [blending(centres(m), areas(m), radius[s]) for s, m in blank.models.items()]
    even = _alone(begun, begun.even, elements)
    first = {s: np.zeros(len(m.mesh.triangles)) for s, m in blank.models.items()}
    weight, value = _asked(begun, design, plan, even, elements)
    return Task(
        start=begun,
        plan=plan,
        blank=blank,
        place=place,
        rooms=rooms,
        blend=sp.block_diag(filters, format="csr"),
        radius=radius,
        held=preloads(blank, first),
        even=even,
        weight=weight,
        volume=volume,
        value=value,
    )


def _place(blank: Blank, rooms: dict[str, Room]) -> Place:
    """Every triangle of every side; one beside a bore or a head counts by its centre."""
    each = [(side, centres(model), areas(model)) for side, model in blank.models.items()]
    return Place(
        centre=np.concatenate([c for _, c, _ in each]),
        area=np.concatenate([a for *_, a in each]),
        allowed=np.concatenate([depth_allowed(rooms[side], c) for side, c, _ in each]),
        height=np.concatenate([np.full(len(a), rooms[side].half.thickness) for side, _, a in each]),
    )


def _refuse_full(place: Place, volume: float, plan: PocketPlan) -> None:
    most = float(place.allowed @ place.area)
    if volume > FULL * most:
        found = f"{plan.blank:g}, whose surplus is {percent(volume / most)} of what may be milled"
        allowed = f"at most {percent(FULL)}, or there is nothing to choose"
        mend = "thin the blank, or allow more: least_thickness_mm, behind_bridges, keep"
        raise InputError([Fault("pockets.blank_mm", found, allowed, mend)])


def _alone(begun: Start, design: Design, elements: int) -> Array:
    """Spread (cases,) of a body as it is, on a mesh as fine."""
    body = meshed(replace(begun, blank=design), elements=elements)
    none = {s: np.zeros(len(m.mesh.triangles)) for s, m in body.models.items()}
    return evaluate(body, none, preloads(body, none), np.zeros(len(body.cases))).spread


def _asked(
    begun: Start, design: Design, plan: PocketPlan, even: Array, elements: int
) -> tuple[Array, float | None]:
    """Weights (cases,) and, for least mass, the weighted spread asked for: the governing load case's alone."""
    if plan.aim == "least spread":
        return 1.0 / (even * len(even)), None
    cases = [c for c in design.load_cases if c.pressure > 0.0]
    at = cases.index(most_pressed(design.load_cases))
    spread = plan.spread
    if spread is None:
        spread = float(_alone(replace(begun, sides=begun.milled, copies=1), design, elements)[at])
    weight = np.zeros(len(even))
    weight[at] = 1.0 / even[at]
    return weight, spread / float(even[at])
