"""The front view: one half as a plate seen along the rotor's axis, condensed to its points.

Whole thickness in the wall, only the (eccentric) floor behind a bore, what is left in a pocket. A bridge's
footprint is tied to the bridge's movements q through an elastic layer with energy 1/2 integral k (w -
a.q)^2 dA, a = [1, y - y_r, -(x - x_b)], and some of the bridge's metal bends with the wall. The half is
kept at three pins, which carry nothing under the self-equilibrated forces it is used with. Outside its
range: walls so thick that they are no plates; a sharp corner's stress."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from stiffcalc.condensed import Array, Flexibility, Outputs, Points
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane import functionals
from stiffcalc.plane.elements import (
    Index,
    Samples,
    assemble,
    element_stiffness,
    node_freedoms,
    solve_pinned,
)
from stiffcalc.plane.mesh import Disc, Mesh, Shape, mesh_domain
from stiffcalc.plane.plan import Footprint, PlatePlan, polygon_area
from stiffcalc.plane.plate import (
    BEND,
    PER_NODE,
    TWIST,
    Laminate,
    PlateSamples,
    energy_matrix,
    laminate,
    plate_samples,
)

ELEMENTS = 350  # of the outline alone: 5000 to 8000 unknowns, opening within 0.3 % of a fine mesh


@dataclass(frozen=True)
class Diagnostics:
    """How well the linear problem was solved; every error is relative to the largest entry."""

    unknowns: int
    mesh_size: float  # mm
    residual: float  # of K U = loads, pins left out
    reciprocity_error: float  # of F against its transpose
    energy_error: float  # of the parts' sum against F


@dataclass(frozen=True)
class FrontView:
    """A condensed half (D = 1) and what is needed to draw it.

    Fields are per unit force at each point, then per MPa on the bore walls.
    """

    flexibility: Flexibility
    mesh: Mesh
    fields: Array  # (nodes, m + 1) w, held at the pins
    rigid: Array  # (nodes, 3) w in the unit rigid motions
    diagnostics: Diagnostics


@dataclass(frozen=True)
class _Model:
    """A meshed plan with its element data; freedoms are five a node, then three a bridge."""

    plan: PlatePlan
    mesh: Mesh
    samples: PlateSamples
    law: Laminate

    @property
    def count(self) -> int:
        return PER_NODE * len(self.mesh.nodes) + 3 * len(self.plan.footprints)

    @property
    def bores(self) -> list[Index]:
        return [self.mesh.groups[f"bore {i}"] for i in range(len(self.plan.bores))]

    def bridge(self, index: int) -> Index:
        """Freedoms (3,) q of a bridge."""
        return self.count - 3 * (len(self.plan.footprints) - index) + np.arange(3)


def front_view(plan: PlatePlan) -> FrontView:
    """Solve one half.

    Returns the flexibility exactly as `stiffcalc.condensed` defines it; the floor's edge rotation and the
    bridges beyond their footprints are the caller's to add. `parts`: "wall bending", "wall twist", "wall
    shear", "floor", "root" (the elastic layer), by strain energy. Raises InputError where a region has no
    metal, MissingToolError without gmsh.
    """
    model = _model(plan)
    K = _stiffness(model)
    points, further = _point_rows(model), _output_rows(model)
    walls = further[2 * len(plan.bores) : 3 * len(plan.bores)].sum(axis=0)
    loads = np.concatenate([points, walls[None]]).T
    pins = _pins(model.mesh.nodes)
    U = solve_pinned(K, loads, pinned=pins)
    rigid = functionals.rigid_fields(model.mesh.nodes, np.array([[f.x, f.y] for f in plan.footprints]))
    own = _own_movement(model, len(points))
    parts = _parts(model, U[:, :-1])
    parts["root"] -= own
    flexibility = _flexibility(plan, points @ U, further @ U, (points @ rigid, further @ rigid), own, parts)
    w = slice(functionals.W, PER_NODE * len(model.mesh.nodes), PER_NODE)
    diagnostics = _diagnose(model, flexibility, _residual(K, U, loads, pins))
    return FrontView(flexibility, model.mesh, U[w], rigid[w], diagnostics)


def _model(plan: PlatePlan) -> _Model:
    size = plan.mesh_size or math.sqrt(polygon_area(plan.outline) / ELEMENTS / 0.433)
    holes = [Disc(head.x, head.y, head.hole) for head in plan.heads]
    mesh = mesh_domain(plan.outline, size=size, regions=_regions(plan), holes=holes)
    empty = [name for name, group in mesh.groups.items() if len(group) == 0]
    if empty:
        raise InputError(
            [Fault(n, "no metal there", "a region on the wall", "move or drop it") for n in empty]
        )
    z_low, z_high = _metal(plan, mesh)
    law = laminate(z_low - _stiffeners(plan, mesh), z_high, E=plan.E, nu=plan.nu)
    return _Model(plan, mesh, plate_samples(mesh.nodes, mesh.triangles), law)


def _regions(plan: PlatePlan) -> dict[str, Shape]:
    regions: dict[str, Shape] = {f"bore {i}": bore for i, bore in enumerate(plan.bores)}
    regions |= {f"bridge {i}": foot.outline for i, foot in enumerate(plan.footprints)}
    regions |= {f"pocket {i}": pocket.outline for i, pocket in enumerate(plan.pockets)}
    regions |= {f"head {i}": Disc(head.x, head.y, head.bearing) for i, head in enumerate(plan.heads)}
    return regions


def _metal(plan: PlatePlan, mesh: Mesh) -> tuple[Array, Array]:
    """Depths (e,) between which each triangle is metal, z = 0 at the wall's mid-plane."""
    half = plan.thickness / 2
    low, high = np.full(len(mesh.triangles), -half), np.full(len(mesh.triangles), half)
    for i in range(len(plan.bores)):
        low[mesh.groups[f"bore {i}"]] = half - plan.floor
    for i, pocket in enumerate(plan.pockets):
        inside = mesh.groups[f"pocket {i}"]
        high[inside] = np.minimum(high[inside], half - pocket.depth)
    if not np.all(low < high):
        raise InputError([Fault("pockets", "a pierced floor", f"depth below {plan.floor}", "mill less deep")])
    return low, high


def _stiffeners(plan: PlatePlan, mesh: Mesh) -> Array:
    """Depth (e,) of bridge metal on the inner face that bends with the wall."""
    depth = np.zeros(len(mesh.triangles))
    for i, foot in enumerate(plan.footprints):
        depth[mesh.groups[f"bridge {i}"]] = foot.stiffener
    return depth


def _stiffness(model: _Model) -> sp.csc_matrix:
    blocks = [
        (model.samples.stiffness(model.law), node_freedoms(model.mesh.triangles, per_node=PER_NODE)),
        *(_layer(model, i) for i in range(len(model.plan.footprints))),
    ]
    return assemble(blocks, size=model.count)


def _layer(model: _Model, index: int) -> tuple[Array, Index]:
    """The elastic layer under one bridge: element matrices (e, 9, 9) over six w and the three q."""
    foot, inside = model.plan.footprints[index], model.mesh.groups[f"bridge {index}"]
    full = model.samples.full
    gap, weight = _layer_gap(full, inside, foot), full.weight[inside]
    law = np.full((len(inside), 1, 1), foot.layer)
    freedoms = PER_NODE * model.mesh.triangles[inside] + functionals.W
    q = np.tile(model.bridge(index), (len(inside), 1))
    return element_stiffness(gap[:, :, None], law, weight), np.concatenate([freedoms, q], axis=1)


def _layer_gap(full: Samples, inside: Index, foot: Footprint) -> Array:
    """w - a.q as a row (e, g, 9) over six w and the three q."""
    x, y = full.xy[inside][..., 0] - foot.x, full.xy[inside][..., 1] - foot.y
    a = np.stack([np.ones_like(x), y, -x], axis=-1)
    return np.concatenate([np.broadcast_to(full.N, (*x.shape, 6)), -a], axis=-1)


def _point_rows(model: _Model) -> Array:
    """Rows (m, n) that read the points in the order of `stiffcalc.condensed`."""
    freedoms = 3 * len(model.plan.footprints)
    q = np.eye(freedoms, model.count, k=model.count - freedoms)
    elements = [model.mesh.groups[f"head {i}"] for i in range(len(model.plan.heads))] + model.bores
    means = [functionals.area_mean(model.mesh, model.samples.full, e, count=model.count) for e in elements]
    return np.concatenate([q, np.stack(means)])


def _output_rows(model: _Model) -> Array:
    """Rows that read the further outputs in the order of `stiffcalc.condensed`."""
    plan, mesh, count = model.plan, model.mesh, model.count
    bores = list(zip(model.bores, plan.bores, strict=True))
    depth, z0 = plan.thickness - plan.floor, -plan.floor / 2
    skip = np.concatenate(model.bores)
    return np.concatenate(
        [functionals.ring_tilt(mesh, e, disc, count=count) for e, disc in bores]
        + [functionals.bore_wall(mesh, e, depth=depth, z0=z0, count=count)[None] for e, _ in bores]
        + [functionals.cut_line(mesh, skip, x=x, y=plan.cut_y, count=count) for x in plan.cuts]
    )


def _pins(nodes: Array) -> Index:
    """Six freedoms that hold the plate without straining it: w at three nodes far apart, u and v at two."""
    first = np.argmax(np.hypot(*(nodes - nodes.mean(axis=0)).T))
    x, y = (nodes - nodes[first]).T
    second = np.argmax(np.hypot(x, y))
    third = np.argmax(np.abs(x * y[second] - y * x[second]))
    across = functionals.V if abs(x[second]) > abs(y[second]) else functionals.U
    node = np.array([first, first, first, second, second, third])
    freedom = [functionals.U, functionals.V, functionals.W, across, functionals.W, functionals.W]
    return np.asarray(PER_NODE * node + freedom)


def _parts(model: _Model, U: Array) -> dict[str, Array]:
    """Split F by strain energy of the unit solutions U (n, m)."""
    law, samples = model.law, model.samples
    nodal = U[node_freedoms(model.mesh.triangles, per_node=PER_NODE)][:, None]
    bent, sheared = samples.bending @ nodal, samples.shear @ nodal
    floor = np.concatenate(model.bores)
    wall = np.setdiff1d(np.arange(len(nodal)), floor)

    def bending(C: Array, e: Index) -> Array:
        return energy_matrix(bent[e], C[e], samples.full.weight[e])

    def shear(e: Index) -> Array:
        return energy_matrix(sheared[e], law.shear[e], samples.reduced.weight[e])

    return {
        "wall bending": bending(law.pick(BEND), wall),
        "wall twist": bending(law.pick(TWIST), wall),
        "wall shear": shear(wall),
        "floor": bending(law.bending, floor) + shear(floor),
        "root": _root_energy(model, U),
    }


def _root_energy(model: _Model, U: Array) -> Array:
    """Energy of the elastic layers in the unit solutions, (m, m)."""
    total = np.zeros((U.shape[1], U.shape[1]))
    for i in range(len(model.plan.footprints)):
        K, freedoms = _layer(model, i)
        local = U[freedoms]
        total += np.einsum("eim,eij,ejn->mn", local, K, local, optimize=True)
    return total


def _own_movement(model: _Model, count: int) -> Array:
    """Plane movement (count, count) within the layers that is the bridges' own and so counted with them.

    A layer of depth d and modulus E moves by (d / E) (integral a a^T dA)^-1 under forces on q.
    """
    own = np.zeros((count, count))
    for i, foot in enumerate(model.plan.footprints):
        inside = model.mesh.groups[f"bridge {i}"]
        full, q = model.samples.full, slice(3 * i, 3 * i + 3)
        a = _layer_gap(full, inside, foot)[..., 6:]
        area = np.einsum("eg,egi,egj->ij", full.weight[inside], a, a)
        own[q, q] = foot.own / foot.layer * np.linalg.inv(area)
    return own


def _flexibility(
    plan: PlatePlan, e: Array, o: Array, rigid: tuple[Array, Array], own: Array, parts: dict[str, Array]
) -> Flexibility:
    """What the unit solutions read at points (e) and outputs (o), with a leading axis of one design."""
    return Flexibility(
        points=Points(bridges=len(plan.footprints), bolts=len(plan.heads), bores=len(plan.bores)),
        F=(e[:, :-1] - own)[None],
        R=rigid[0][None],
        wall=e[None, :, -1],
        outputs=Outputs(O=o[None, :, :-1], wall=o[None, :, -1], R=rigid[1][None]),
        parts={name: part[None] for name, part in parts.items()},
    )


def _residual(K: sp.csc_matrix, U: Array, loads: Array, pins: Index) -> float:
    gap = K @ U - loads
    gap[pins] = 0.0
    return float(np.max(np.abs(gap).max(axis=0) / np.abs(loads).max(axis=0)))


def _diagnose(model: _Model, flexibility: Flexibility, residual: float) -> Diagnostics:
    F, total = flexibility.F[0], np.sum(list(flexibility.parts.values()), axis=0)[0]
    scale = np.abs(F).max()
    return Diagnostics(
        unknowns=model.count,
        mesh_size=model.mesh.size,
        residual=residual,
        reciprocity_error=float(np.abs(F - F.T).max() / scale),
        energy_error=float(np.abs(total - F).max() / scale),
    )
