"""Figures of one solved section: fillets, holes' edges, faces, rotation, onset, idle metal.

The plane section knows N and Mx on a strip with a flat underside. What it does not know, My and the arch, changes the
linear stress at the corners of the bridge's underside; that change times the fillet's own factor, from the same mesh
with the face closed, is added at each place of the fillet: tests/caliper/test_section_solids.py.

The edge of a bolt hole: the strip's stress along the bolt as it is, across it times the factor of a hole in a plate of
finite width, and shear along the bolt twice (a hole under shear along its axis).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stiffcalc.caliper.body import Body
from stiffcalc.caliper.cases import MRAD, Layout
from stiffcalc.caliper.section_limits import Field, surface
from stiffcalc.caliper.section_model import SectionModel
from stiffcalc.caliper.section_results import (
    EndState,
    Face,
    SectionCase,
)
from stiffcalc.caliper.section_solve import Solved
from stiffcalc.caliper.section_states import CutState
from stiffcalc.condensed import Array
from stiffcalc.mechanics.holes import hole_factor
from stiffcalc.mechanics.strength import LOWER
from stiffcalc.plane.elements import Index, sample_sides
from stiffcalc.plane.section.motion import zone_motion
from stiffcalc.plane.section.solve import Solution
from stiffcalc.plane.section.stress import Stress, recover, von_mises
from stiffcalc.study.schema import LoadCase


@dataclass(frozen=True)
class Reading:
    """One section with its states, in the order of the solution's cases."""

    layout: Layout
    model: SectionModel
    bridge: int
    states: tuple[CutState, ...]
    solved: Solved

    def cases(self) -> tuple[SectionCase, ...]:
        """Every load case that is held."""
        return tuple(self._case(c) for c in self.layout.design.load_cases if self.of(c))

    def of(self, case: LoadCase) -> list[int]:
        """States of a load case, one an end of the preload; none where nothing holds."""
        return [i for i, s in enumerate(self.states) if s.case is not None and s.case.name == case.name]

    def _before(self, state: int) -> int | None:
        return next((i for i, s in enumerate(self.states) if s.name == self.states[state].before), None)

    def _case(self, case: LoadCase) -> SectionCase:
        own, beside, metal = self.of(case), self.solved.beside, self.layout.design.caliper.material
        found = {n: surface(f, case=case, material=metal) for n, f in self.surfaces(case).items()}
        return SectionCase(
            name=case.name,
            kind=case.kind,
            pressure=case.pressure,
            body_C=case.body_temperature_C,
            ends=tuple(self._end(i) for i in own),
            fillet=found.get("fillet"),
            hole=found.get("hole"),
            corner_stress=None if beside is None else float(von_mises(beside[own]).max()),
        )

    def surfaces(self, case: LoadCase) -> dict[str, Field]:
        """Stress along the fillets and at the edges of bolt holes in a load case, where there are any."""
        own = self.of(case)
        return {name: self._field(own, *found) for name, found in self._surfaces.items()}

    @cached_property
    def _surfaces(self) -> dict[str, tuple[Array, Array, Index]]:
        """Stress (l, k, 3), von Mises stress of the section alone (l, k) and places (k,) of each surface."""
        found = {}
        if self.model.fillets:
            f = self._fillet()
            found["fillet"] = (
                np.stack([f.whole, *np.zeros((2, *f.whole.shape))], axis=-1),
                np.abs(f.alone),
                f.places,
            )
        if self.model.hole_zones:
            places = hole_places(self.solved.stress, self.model)
            edge = edge_stress(self.solved.stress, self.layout, self.model, places)
            found["hole"] = edge, von_mises(edge), places
        return found

    def rotation(self, i: int) -> float:
        """Turn of the wall behind the bridge in a state, one half, beyond the state without pressure, mrad."""
        first = self._before(i)
        turn = self._turns[i] - (0.0 if first is None else self._turns[first])
        return -MRAD * float(turn) * self._softer(self.states[i])

    @cached_property
    def _turns(self) -> Array:
        """Turn (l,) of the wall behind the bridge in every state, rad."""
        solution = self.solved.solution
        return zone_motion(solution.grid, solution.U, self.model.root_zones).turn

    def _end(self, i: int) -> EndState:
        state, solution = self.states[i], self.solved.solution
        return EndState(
            preload=state.end,
            N=state.cut[0],
            Mx=state.cut[1],
            bridge_N=float(state.tension[0]),
            bridge_Mx=float(state.tension[1]),
            bridge_My=float(state.tension[2]),
            bolts=float(state.bolts.sum()),
            bolts_section=float(solution.bars[i].sum()),
            balance=self._balance(i),
            rotation=self.rotation(i),
            rotation_closed=MRAD * state.turn,
            face=self._face(i) if self.model.jointed else None,
        )

    def _softer(self, state: CutState) -> float:
        """E at 20 °C over E at the state's temperature."""
        material = self.layout.design.caliper.material
        return material.E / material.value_at("E", state.body_C)[0]

    def _face(self, i: int) -> Face:
        return read_face(self.solved.solution, self.model, i)

    def _balance(self, i: int) -> float:
        """Largest error of the cut's N and of Mx over the height, over the largest force through the cut."""
        state, model, solution = self.states[i], self.model, self.solved.solution
        if model.jointed:
            face, bars = self._face(i), solution.bars[i]
            lever = np.array([c.y for c in model.clamps]) - model.y_r
            found = np.array([bars.sum() - face.force, bars @ lever - face.moment])
            size = bars.sum() + face.force
        else:
            nodes = np.unique(solution.grid.edge(model.mid_plane).nodes)
            pull, y = -solution.reactions[i, nodes, 0], solution.grid.nodes[nodes, 1] - model.y_r
            found, size = np.array([pull.sum(), pull @ y]), np.abs(pull).sum()
        miss = np.abs(found - np.array(state.cut)) / np.array([1.0, model.height])
        return float(miss.max() / size)

    def _fillet(self) -> FilletStress:
        metal = self.layout.metal.bridge_stress[0, self.bridge]
        tensions = [s.tension for s in self.states]
        return fillet_stress(self.solved, self.model, self.layout.body, metal, tensions)

    def _field(self, own: list[int], values: Array, alone: Array, places: Index) -> Field:
        stress = self.solved.stress
        before = [self._before(i) for i in own]
        start = np.array([np.zeros_like(values[0]) if b is None else values[b] for b in before])
        return Field(
            now=values[own],
            before=start,
            alone=alone[own],
            error=None if self._errors is None else self._errors[own][:, places],
            places=stress.grid.nodes[stress.node[places]],
            ends=tuple(self.states[i].end for i in own),
        )

    @cached_property
    def _errors(self) -> Array | None:
        errors = self.solved.errors
        return None if errors is None else place_errors(self.solved.stress, errors.stress)


@dataclass(frozen=True)
class FilletStress:
    """Stress along the surface of a fillet, MPa; l states, k places, each once for every corner of the underside."""

    places: Index  # (k,)
    alone: Array  # (l, k) of the section
    whole: Array  # (l, k) with what My and the arch add


def fillet_stress(
    solved: Solved, model: SectionModel, body: Body, metal: Array, tensions: Sequence[Array]
) -> FilletStress:
    """Stress along the fillet in every state.

    metal (6, 3): linear stress at the section's extreme points under unit N, Mx, My; tensions: those of the bridge in
    each state. On a free surface one principal stress is zero, so that the other is the sum of the normal stresses.
    """
    stress, closed = solved.stress, solved.closed
    assert closed is not None
    places = np.unique(np.concatenate([stress.at_edge(e) for e in model.fillets]))
    alone = stress.values[:, places, :2].sum(axis=-1)
    unit = recover(closed.grid, closed.U).values[1, places, :2].sum(axis=-1)
    area = strip_area(model, body)
    factor = unit / underside_stress(model, area, (0.0, 1.0))
    strip = np.array([underside_stress(model, area, t) for t in tensions])
    added = np.array(tensions) @ metal[LOWER].T - strip[:, None]  # states, corners
    whole = alone[..., None] + factor[:, None] * added[:, None]
    corners = added.shape[1]
    return FilletStress(
        places=np.repeat(places, corners),
        alone=np.repeat(alone, corners, axis=1),
        whole=whole.reshape(len(alone), -1),
    )


def underside_stress(model: SectionModel, strip: StripArea, tension: Sequence[float] | Array) -> float:
    """Linear stress at the underside of the strip under N and Mx, MPa."""
    n, m = float(tension[0]), float(tension[1])
    under = model.y_r - model.height / 2
    return n / strip.area + (m - n * (strip.y - model.y_r)) * (under - strip.y) / strip.inertia


def read_face(solution: Solution, model: SectionModel, i: int) -> Face:
    """Contact pressure over the height, its force and moment; pressure is linear between nodes."""
    contact, grid = solution.contacts["face"], solution.grid
    pressure = np.zeros(len(grid.nodes))
    pressure[contact.nodes] = contact.pressure[i]
    sides = grid.edge(model.face)
    line = sample_sides(grid.nodes, sides.nodes)
    ends = pressure[sides.nodes[:, :2]]
    share = (line.xy[..., 1] - grid.nodes[sides.nodes[:, 0], 1, None]) / np.ptp(
        grid.nodes[sides.nodes[:, :2], 1], axis=1
    )[:, None]
    here = ends[:, :1] + np.abs(share) * (ends[:, 1:] - ends[:, :1])
    load = here * line.length * grid.thickness[sides.owner][:, None]
    y = grid.nodes[contact.nodes, 1]
    order = np.argsort(y)
    return Face(
        y=y[order],
        pressure=contact.pressure[i][order],
        force=float(load.sum()),
        moment=float((load * (line.xy[..., 1] - model.y_r)).sum()),
        open_fraction=float(contact.open_share[i]),
    )


def hole_places(stress: Stress, model: SectionModel) -> Index:
    """Places of the strips that stand for bolt holes, but not under the heads, where pressure is not plane."""
    grid = stress.grid
    inside = np.isin([z.name for z in grid.zones], model.hole_zones)[grid.zone]
    places = np.unique(stress.triangles[inside])
    head = max(c.half_width for c in model.clamps)
    return np.asarray(places[grid.nodes[stress.node[places], 0] < model.wall[1] - head])


def edge_stress(stress: Stress, layout: Layout, model: SectionModel, places: Index) -> Array:
    """Stress at the holes' edges (l, k, 3): along the bolt, round the hole, shear."""
    y = stress.grid.nodes[stress.node[places], 1]
    near = np.abs(y[:, None] - np.array([c.y for c in model.clamps])).argmin(axis=1)
    hole = np.array([max(layout.body.bolts[j].hole for j in c.bolts) for c in model.clamps])[near]
    pitch = model.width / np.array([len(c.bolts) for c in model.clamps])[near]
    # The strip lacks pi/4 of the hole; across its middle all of it is missing.
    narrow = (1 - np.pi / 4 * hole / pitch) / (1 - hole / pitch)
    around: Array = hole_factor(hole, width=pitch) * narrow
    return stress.values[:, places] * np.stack(
        [np.ones_like(around), around, np.full_like(around, 2.0)], axis=-1
    )


def place_errors(stress: Stress, errors: Array) -> Array:
    """Largest error (l, k) of the elements that meet at each place, from those of elements (l, e)."""
    found = np.zeros((len(errors), len(stress.node)))
    for own, error in zip(found, errors, strict=True):
        np.maximum.at(own, stress.triangles, error[:, None])
    return found


@dataclass(frozen=True)
class StripArea:
    """The strip's cut through the bridge, holes out: mm2, mm, mm4 about its centroid."""

    area: float
    y: float
    inertia: float


def strip_area(model: SectionModel, body: Body) -> StripArea:
    """Area, centroid and second moment of a section's cut through the bridge."""
    b, h, low = model.width, model.height, model.y_r - model.height / 2
    parts = [(b * h, model.y_r, b * h**3 / 12)]
    for bolt in (body.bolts[j] for c in model.clamps for j in c.bolts):
        y0, y1 = max(bolt.y - bolt.hole / 2, low), bolt.y + bolt.hole / 2
        width = np.pi / 4 * bolt.hole
        parts.append((-width * (y1 - y0), (y0 + y1) / 2, -width * (y1 - y0) ** 3 / 12))
    area = sum(a for a, _, _ in parts)
    y = sum(a * c for a, c, _ in parts) / area
    return StripArea(area, y, sum(i + a * (c - y) ** 2 for a, c, i in parts))
