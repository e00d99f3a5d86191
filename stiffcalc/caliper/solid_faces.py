"""Closed joint faces of one body by 3-D elasticity: both halves as solids on a grid (`stiffcalc.grid_solid`).

Bars on pads, lugs and abutments are not in the solids. Bolts press both outer faces through their heads' rings.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body, BridgeShape
from stiffcalc.condensed import Array
from stiffcalc.grid_solid.grid import STANDARD, Fineness, Grid, grids
from stiffcalc.grid_solid.half import Condensed, Trace, condense, joined, trace
from stiffcalc.grid_solid.loads import ring
from stiffcalc.grid_solid.metal import Mask, touching
from stiffcalc.grid_solid.plan import HalfSolid, Recess, Section, corners
from stiffcalc.grid_solid.pressure import closed_pressure
from stiffcalc.mechanics.closed_pressure import ClosedPressure, Places, places, stacked_faces
from stiffcalc.mechanics.joint_state import Pair

SIDES = ("inboard", "outboard")
ARCH_STEP_MM = 1.0
INWARD_mm = 1e-4
READ_mm = 4.0


def half_solid(body: Body, side: str) -> HalfSolid:
    """One half as a grid solid takes it."""
    plan = idealise.plate_plan(body, side)
    return HalfSolid(
        outline=corners(plan.outline),
        thickness=plan.thickness,
        floor=plan.floor,
        gap=body.half_gap,
        bores=plan.bores,
        sections=tuple(_sections(body)),
        heads=plan.heads,
        E=plan.E,
        nu=plan.nu,
        pockets=tuple(Recess(corners(p.outline), p.depth) for p in plan.pockets),
        ribs=tuple(Recess(corners(r.outline), r.height) for r in plan.ribs),
    )


def _sections(body: Body) -> Iterator[Section]:
    for i, b in enumerate(body.bridges):
        seals = tuple(idealise.circle(p.x, p.y, p.seal) for p in body.ports if p.bridge == i)
        gaps = (*seals, *(np.array(r) for r in b.reliefs))
        land = None if b.land is None else np.array(b.land)
        yield Section(_outline(b), b.E, b.jointed, land, gaps)


def _outline(bridge: BridgeShape) -> Array:
    """A bridge's section; finer than the front view's footprint, for a face's tip decides when it first opens."""
    return idealise.footprint_outline(bridge, step=ARCH_STEP_MM)


@dataclass(frozen=True)
class Joined:
    """Both halves of one body as solids on a grid, joined in their faces' opening (`grid_solid.half.joined`).

    Loads and outputs: every bore's floor, all bore walls, every head, the fluid of ports.
    """

    body: Body
    half: HalfSolid  # inboard
    grid: Grid
    trace: Trace
    touching: Mask  # which of the trace's points touch
    pair: Condensed

    @property
    def heads(self) -> slice:
        """Outputs that are heads."""
        first = len(self.half.bores) + 1
        return slice(first, first + len(self.half.heads))


def joined_solid(body: Body, *, fineness: Fineness = STANDARD) -> Joined:
    """Put both halves of a two-piece body on a grid and condense them; some seconds a half."""
    halves = [half_solid(body, side) for side in (SIDES[:1] if body.symmetric else SIDES)]
    on = grids(halves, fineness)
    faces = trace(halves[0], on[0])
    own = [condense(h, g, trace(h, g)) for h, g in zip(halves, on, strict=True)]
    touches = np.zeros(len(faces.points), dtype=bool)
    for i, section in enumerate(s for s in halves[0].sections if s.jointed):
        touches |= (faces.face == i) & touching(halves[0], section, *faces.points.T)
    pair = _with_ports(joined(own[0], own[-1]), body, on[0], faces)
    return Joined(body, halves[0], on[0], faces, touches, pair)


def _with_ports(pair: Condensed, body: Body, grid: Grid, faces: Trace) -> Condensed:
    """A last load: 1 MPa of fluid in every port, out to its seal; it presses on the faces alone."""
    push = np.zeros(len(pair.S))
    for port in body.ports:
        place, area = ring(port.x, port.y, 0.0, port.seal)
        push += grid.on_trace(place, faces.functions).T @ area
    m = len(pair.C)
    whole = np.zeros((m + 1, m + 1))
    whole[:m, :m] = pair.C
    return replace(pair, B=np.column_stack([pair.B, push]), C=whole)


@dataclass(frozen=True)
class ClosedFields:
    """A solid's closed faces at points up to their edges, whatever bolts, bores and bore walls press."""

    at: tuple[Places, ...]  # of each jointed face; `metal`: what touches
    per_load: tuple[Array, ...]  # (K, loads) MPa of each
    linear: tuple[Array, ...]  # (K, 3) MPa per N, Mx, My that pull at each


def closed_fields(solid: Joined) -> ClosedFields:
    """Read from the solid's faces where they touch: point by point, beside voids as means over what is near."""
    half, faces = solid.half, solid.trace
    pressing = closed_pressure(solid.pair, faces, solid.touching, solid.grid)
    bridges = idealise.bridges(solid.body)
    jointed = [i for i, b in enumerate(solid.body.bridges) if b.jointed]
    found = []
    for i, bridge in enumerate(jointed):
        at, section = places(bridges, bridge), half.sections[bridge]
        x, y = _inside(at)
        mine = solid.touching & (faces.face == i)
        value = solid.grid.on_trace(np.column_stack([x, y]), faces.functions)
        if section.voids:
            value = _near(faces, mine, x, y)
        linear = -at.arm @ _inverse_of_area(faces, mine, at)
        found.append((replace(at, metal=touching(half, section, x, y)), value @ pressing, linear))
    at_all, per_load, linear_all = zip(*found, strict=True)
    return ClosedFields(at_all, per_load, linear_all)


def _near(faces: Trace, mine: Mask, x: Array, y: Array) -> sp.csr_matrix:
    """Means over what touches within READ_mm of places, of the trace's functions (K, k).

    An edge of contact that lies within the metal is pressed without bound; only a mean is a figure there.
    """
    points, weight = faces.points[mine], faces.weight[mine]
    near = np.hypot(x[:, None] - points[:, 0], y[:, None] - points[:, 1]) < READ_mm
    share = near * weight
    total = share.sum(axis=1, keepdims=True)
    return sp.csr_matrix(share / np.where(total > 0.0, total, 1.0)) @ faces.value[mine]


def closed_faces(fields: ClosedFields, pair: Pair) -> ClosedPressure:
    """Pressure of the closed faces of the same body joined as `pair`.

    All that bolts, bores and bore walls do is the solid's. What else pulls at bridges (heat, fluid in ports) is taken
    from the pair's tensions and presses linearly on what touches.
    """
    follows = _tension(pair)
    found = []
    for at, per_load, linear, bridge in zip(
        fields.at, fields.per_load, fields.linear, pair.jointed, strict=True
    ):
        value = _columns(pair, per_load) - linear @ follows[3 * bridge : 3 * bridge + 3]
        if pair.prying is not None:
            value[:, -1] += linear @ pair.prying[0, bridge]
        found.append((at, linear, value))
    return replace(stacked_faces(found), by_solid=True)


def _columns(pair: Pair, loads: Array) -> Array:
    """Pressure (K, m + 1) per force at every point of the pair and per MPa on bore walls; none of bridges' forces."""
    points = pair.flexibility.points
    bores, bolts = points.bores, points.bolts
    found = np.zeros((len(loads), points.count + 1))
    found[:, points.bore] = loads[:, :bores] / pair.bore_area[0]
    found[:, points.bolt] = loads[:, bores + 1 : bores + 1 + bolts]
    found[:, -1] = loads[:, bores]
    return found


def _tension(pair: Pair) -> Array:
    """Tension of all bridges (3 N, m + 1) that `_columns` of the closed pair bring about."""
    half = pair.flexibility
    q = half.points.bridge.stop
    R = half.R[0, :q]
    K = np.block([[pair.compliance(q, with_layer=True)[0], R], [R.T, np.zeros((3, 3))]])
    moved = np.column_stack([half.F[0, :q], half.wall[0, :q]])
    pulled = np.column_stack([half.R[0].T, np.zeros(3)])
    moved[:, :q], pulled[:, :q] = 0.0, 0.0
    return np.asarray(np.linalg.solve(K, np.vstack([moved, pulled]))[:q])


def _inside(at: Places) -> tuple[Array, Array]:
    """The same places, those on an edge a hair within it."""
    middle_x, middle_v = at.x.mean(), 0.5
    return (
        at.x + INWARD_mm * np.sign(middle_x - at.x),
        at.y + INWARD_mm * np.sign(middle_v - at.v),
    )


def _inverse_of_area(faces: Trace, mine: Mask, at: Places) -> Array:
    """(integral a a^T dA)^-1 over what touches of one face, (3, 3)."""
    x, y = faces.points[mine].T
    x_b, y_r = at.arm[0, 2] + at.x[0], at.y[0] - at.arm[0, 1]
    arm = np.stack([np.ones_like(x), y - y_r, x_b - x], axis=-1)
    return np.asarray(np.linalg.inv(arm.T @ (faces.weight[mine, None] * arm)))
