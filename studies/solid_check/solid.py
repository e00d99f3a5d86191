"""A caliper body as a 3-D solid: opening, tilt, fluid volumes, and for a bolted joint the sweep over pressure.

Loads: pressure on the bore floors and, over the full depth, on the bores' cylinder walls. One-piece: no axial movement
of the bridges' mid-plane. Two-piece: holes, head rings, bolts as bars from the head's face to the mid-plane, and a
unilateral frictionless joint face. Fillets are left out. Opening counts both halves.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from skfem import Basis, MeshTet2
from solid_fem import Condensed, as_skfem, bulk_basis, condense, stiffness, surface, surface_integrals
from solid_joint import Clamp, Face, closed, scale_for_contact, sweep
from solid_mesh import Sizes, TetMesh, mesh_body, x_symmetric

from stiffcalc.caliper.body import Body, BoltShape, BoreShape, HalfShape
from stiffcalc.condensed import Array

TOUCH = 1e-5  # mm, nodes this near a plane or circle are on it


@dataclass(frozen=True)
class Opening:
    """Per MPa, one entry a bore: both halves' opening um, one half's slopes mrad, both halves' swept volumes mm3.

    `tilt` is d(uz)/dy and `yaw` d(uz)/dx of the bore's mouth ring; for unequal halves the mean of the two.
    """

    opening: Array
    tilt: Array
    yaw: Array
    floor_volume: Array
    bore_wall_volume: Array


@dataclass(frozen=True)
class SweepPoint:
    """One pressure of a bolted body: movement beyond the tightened state per MPa, bolt force increments N."""

    pressure: float
    per_MPa: Opening
    bolt_increment: Array
    contact: float


@dataclass(frozen=True)
class Joint:
    """What a bolted body adds: closed (face bonded, bolts in) openings, first loss of contact and where, tightening."""

    closed: Opening
    onset: float  # MPa; 0 where the face already gapes when tightened
    onset_point: tuple[float, float]
    tightened_contact: float
    preload_scale: float
    points: tuple[SweepPoint, ...]


@dataclass(frozen=True)
class Solid:
    """A condensed body, with the layout of its outputs: 4 a modelled bore and side, then the heads."""

    body: Body
    bores: tuple[int, ...]
    share: Array  # (bores,) part of each bore that is modelled, 1 or 1/2
    sides: int  # 1: one half stands for two; 2: both halves
    condensed: Condensed
    face: Face | None
    bolts: tuple[int, ...]
    bolt_share: Array
    unknowns: int
    seconds: float
    cad_volume: float


def build(body: Body, *, sizes: Sizes | None = None, quarter: bool | None = None) -> Solid:
    """Mesh, assemble and condense `body`; `quarter` defaults to use of the x-symmetry where there is one."""
    began = time.perf_counter()
    quarter = body.symmetric and x_symmetric(body) if quarter is None else quarter
    mesh = mesh_body(body, sizes=sizes or Sizes(), quarter=quarter)
    fem = as_skfem(mesh)
    basis = bulk_basis(fem)
    jointed = bool(body.bolts)
    bores = tuple(i for i, b in enumerate(body.outboard.bores) if not quarter or b.x > -TOUCH)
    bolts = tuple(i for i, b in enumerate(body.bolts) if not quarter or b.x > -TOUCH)
    sides = [(body.outboard, 1.0)] + ([(body.inboard, -1.0)] if mesh.whole else [])
    columns = [
        c for half, side in sides for i in bores for c in _bore_columns(fem, basis, body, half, side, i)
    ]
    columns += [_head_column(fem, basis, body, i) for i in bolts]
    held, kept, face = _supports(fem, basis, mesh, jointed=jointed)
    condensed = condense(stiffness(basis, E=body.E, nu=body.nu), np.array(columns).T, held=held, kept=kept)
    return Solid(
        body=body,
        bores=bores,
        share=np.array([_share(body.outboard.bores[i].x, quarter) for i in bores]),
        sides=len(sides),
        condensed=condensed,
        face=face,
        bolts=bolts,
        bolt_share=np.array([_share(body.bolts[i].x, quarter) for i in bolts]),
        unknowns=condensed.unknowns,
        seconds=time.perf_counter() - began,
        cad_volume=mesh.cad_volume * (1 if mesh.whole else 2) * (2 if quarter else 1),
    )


def glued(solid: Solid) -> Opening:
    """Answer per MPa with the mid-plane of every bridge held."""
    return _opening(solid, solid.condensed.C @ _load(solid))


def joint(solid: Solid, *, preload: Array, pressures: Sequence[float], scale: float = 1.0) -> Joint:
    """Tighten to `scale` x `preload` (bolts,) N, then load; the bolts left out by symmetry repeat those modelled."""
    assert solid.face is not None
    clamp = _clamp(solid, scale * preload[list(solid.bolts)])
    load = _load(solid)
    tight, rate = closed(solid.condensed, solid.face, clamp, load=load)
    with np.errstate(divide="ignore", invalid="ignore"):
        loss = np.where(rate.lift > 0, np.maximum(-tight.lift, 0.0) / rate.lift, np.inf)
    first = int(loss.argmin())
    start, *loaded = sweep(solid.condensed, solid.face, clamp, load=load, pressures=pressures)
    points = tuple(
        SweepPoint(
            p,
            _opening(solid, (s.outputs - start.outputs) / p),
            s.bolt_force - start.bolt_force,
            s.contact,
        )
        for p, s in zip(pressures, loaded, strict=True)
    )
    x, y = solid.face.nodes[first]
    return Joint(
        _opening(solid, rate.outputs), float(loss[first]), (float(x), float(y)), start.contact, scale, points
    )


def preload_scale(solid: Solid, *, preload: Array, pressure: float, remaining: float) -> float:
    """Factor on `preload` at which `pressure` leaves the share `remaining` of the tightened contact."""
    assert solid.face is not None
    clamp = _clamp(solid, preload[list(solid.bolts)])
    return scale_for_contact(
        solid.condensed, solid.face, clamp, load=pressure * _load(solid), remaining=remaining
    )


def _share(x: float, quarter: bool) -> float:
    return 0.5 if quarter and abs(x) < TOUCH else 1.0


def _load(solid: Solid) -> Array:
    """Output forces of 1 MPa: on every floor and bore wall."""
    load = np.zeros(len(solid.condensed.C))
    bores = load[: 4 * len(solid.bores) * solid.sides].reshape(-1, 4)
    bores[:, :2] = 1.0
    return load


def _clamp(solid: Solid, preload: Array) -> Clamp:
    body = solid.body
    stiffness = np.array([_half_bolt(body, body.bolts[i]) for i in solid.bolts])
    return Clamp(slice(4 * len(solid.bores) * solid.sides, None), stiffness, preload, solid.bolt_share)


def _half_bolt(body: Body, bolt: BoltShape) -> float:
    """N/mm of a bolt from the head's face to the mid-plane."""
    if bolt.flexibility is not None:
        return 2.0 / bolt.flexibility
    return bolt.E * 0.25 * np.pi * bolt.diameter**2 / (body.half_gap + body.outboard.thickness)


def _opening(solid: Solid, outputs: Array) -> Opening:
    """Outputs per MPa in the units of `Opening`."""
    rows = outputs[: 4 * len(solid.bores) * solid.sides].reshape(solid.sides, len(solid.bores), 4)
    floor, wall, tilt, yaw = np.moveaxis(rows, -1, 0)
    both = 2.0 / solid.sides
    area = np.array([0.25 * np.pi * solid.body.outboard.bores[i].diameter ** 2 for i in solid.bores])
    floor_volume = both * floor.sum(axis=0) / solid.share
    return Opening(
        opening=1e3 * floor_volume / area,
        tilt=1e3 * tilt.mean(axis=0),
        yaw=1e3 * yaw.mean(axis=0),
        floor_volume=floor_volume,
        bore_wall_volume=both * wall.sum(axis=0) / solid.share,
    )


def _bore_columns(
    fem: MeshTet2, basis: Basis, body: Body, half: HalfShape, side: float, index: int
) -> list[Array]:
    """Floor volume, bore-wall volume, and the mouth ring's two slopes; axial movement counts away from the rotor."""
    bore = half.bores[index]
    bottom = side * (body.half_gap + half.thickness - half.floor)
    points = fem.p
    radius = np.hypot(points[0] - bore.x, points[1] - bore.y)
    inside, on = radius < 0.5 * bore.diameter + TOUCH, np.abs(radius - 0.5 * bore.diameter) < TOUCH
    at_bottom = np.abs(points[2] - bottom) < TOUCH
    within = (side * points[2] > body.half_gap - TOUCH) & (side * points[2] < side * bottom + TOUCH)
    floor, _ = surface_integrals(fem, _facets(fem, inside & at_bottom))
    _, wall = surface_integrals(fem, _facets(fem, on & within, flat=False))
    tilt, yaw = _ring_slopes(basis.doflocs, bore, side * body.half_gap)
    zero = np.zeros(3 * basis.N)
    columns = [zero.copy() for _ in range(4)]
    columns[0][2::3] = side * floor
    columns[1][:] = -wall.ravel()
    columns[2][2::3], columns[3][2::3] = side * tilt, side * yaw
    return columns


def _facets(fem: MeshTet2, chosen: Array, *, flat: bool = True) -> Array:
    """Boundary facets whose three corners are all chosen; on a cylinder wall, those not lying across its mouth."""
    boundary = fem.boundary_facets()
    corners = fem.facets[:, boundary]
    keep = chosen[corners].all(axis=0)
    if not flat:
        keep &= np.ptp(fem.p[2, corners], axis=0) > TOUCH
    return boundary[keep]


def _ring_slopes(places: Array, bore: BoreShape, z: float) -> tuple[Array, Array]:
    """Weights on uz of the nodes of a bore's mouth ring that give d/dy and d/dx by least squares."""
    x, y = places[0] - bore.x, places[1] - bore.y
    ring = np.flatnonzero(
        (np.abs(np.hypot(x, y) - 0.5 * bore.diameter) < TOUCH) & (np.abs(places[2] - z) < TOUCH)
    )
    half = x[ring].min() > -TOUCH
    basis = np.stack([np.ones(len(ring)), y[ring]] + ([] if half else [x[ring]]))
    weights = np.linalg.pinv(basis.T)
    slopes = np.zeros((2, places.shape[1]))
    slopes[0, ring] = weights[1]
    if not half:
        slopes[1, ring] = weights[2]
    return slopes[0], slopes[1]


def _head_column(fem: MeshTet2, basis: Basis, body: Body, index: int) -> Array:
    """Mean axial movement of the ring under a bolt's head."""
    bolt, z = body.bolts[index], body.half_gap + body.outboard.thickness
    radius = np.hypot(fem.p[0] - bolt.x, fem.p[1] - bolt.y)
    between = (radius > 0.5 * bolt.hole - TOUCH) & (radius < 0.5 * bolt.bearing + TOUCH)
    plain, _ = surface_integrals(fem, _facets(fem, between & (np.abs(fem.p[2] - z) < TOUCH)))
    column = np.zeros(3 * basis.N)
    column[2::3] = plain / plain.sum()
    return column


def _supports(
    fem: MeshTet2, basis: Basis, mesh: TetMesh, *, jointed: bool
) -> tuple[Array, Array, Face | None]:
    """Held unknowns, kept unknowns and the joint face. Pins remove rigid motion only: no load pushes on them."""
    x, _, z = basis.doflocs
    free_end = np.flatnonzero(np.abs(x) < TOUCH) if mesh.quarter else np.array([], dtype=int)
    held = [3 * free_end]
    if mesh.whole:
        held.append(_whole_pins(basis.doflocs))
        return np.unique(np.concatenate(held)), np.array([], dtype=int), None
    plane = np.flatnonzero(np.abs(z) < TOUCH)
    first, last = plane[x[plane].argmin()], plane[x[plane].argmax()]
    held.append(
        np.array([3 * first + 1]) if mesh.quarter else np.array([3 * first, 3 * first + 1, 3 * last + 1])
    )
    if not jointed:
        held.append(3 * plane + 2)
        return np.unique(np.concatenate(held)), np.array([], dtype=int), None
    facets = _facets(fem, np.abs(fem.p[2]) < TOUCH)
    return np.unique(np.concatenate(held)), 3 * plane + 2, _face(fem, facets, plane)


def _whole_pins(places: Array) -> Array:
    """Six unknowns of three far corners of the body that stop its rigid motion."""
    x, y, z = places
    a = int((-x - y + z).argmax())
    b, c = int((x - y + z).argmax()), int((-x + y + z).argmax())
    return np.array([3 * a, 3 * a + 1, 3 * a + 2, 3 * b + 1, 3 * b + 2, 3 * c + 2])


def _face(fem: MeshTet2, facets: Array, plane: Array) -> Face:
    """Quadrature of the joint face in terms of the kept nodes."""
    part = surface(fem, facets)
    place = np.full(fem.doflocs.shape[1], -1)
    place[plane] = np.arange(len(plane))
    triangles, points = part.area.shape[:2]
    rows = np.broadcast_to(
        np.arange(triangles * points).reshape(triangles, 1, points), (triangles, 6, points)
    )
    columns = np.broadcast_to(place[part.nodes][..., None], rows.shape)
    values = np.broadcast_to(part.shape, rows.shape)
    shape = sp.csr_matrix(
        (values.ravel(), (rows.ravel(), columns.ravel())), shape=(triangles * points, len(plane))
    )
    return Face(shape, np.linalg.norm(part.area, axis=-1).ravel(), fem.doflocs[:2, plane].T)
