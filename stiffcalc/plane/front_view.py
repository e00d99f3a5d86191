"""The front view: one half as a plate seen along the rotor's axis, condensed to its points.

The half is kept at three pins, which carry nothing under the self-equilibrated forces it is used with. Outside its
range: walls so thick that they are no plates; a sharp corner's stress. What stands where, and the matrices: `model`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from stiffcalc.condensed import Array, Flexibility, Outputs, Points
from stiffcalc.plane import functionals
from stiffcalc.plane.elements import Index, node_freedoms, solve_pinned
from stiffcalc.plane.mesh import Mesh
from stiffcalc.plane.model import (
    Model,
    layer,
    layer_gap,
    model_of,
    output_rows,
    pins_of,
    point_rows,
    stiffness,
)
from stiffcalc.plane.plan import PlatePlan
from stiffcalc.plane.plate import BEND, PER_NODE, TWIST, energy_matrix


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


def front_view(plan: PlatePlan) -> FrontView:
    """Solve one half.

    Returns the flexibility exactly as `stiffcalc.condensed` defines it; what the wall gives in its depth and the
    bridges beyond their footprints are the caller's to add. `parts`: "wall bending", "wall twist", "wall shear",
    "floor", "root" (the elastic layer), by strain energy. Raises InputError where a region has no metal,
    MissingToolError without gmsh.
    """
    return solved(model_of(plan))[0]


def solved(model: Model) -> tuple[FrontView, Array]:
    """`front_view` of a half that is meshed already, and its unit solutions (n, m + 1), held at the pins."""
    plan, K = model.plan, stiffness(model)
    points, further = point_rows(model), output_rows(model)
    walls = further[2 * len(plan.bores) : 3 * len(plan.bores)].sum(axis=0)
    loads = np.concatenate([points, walls[None]]).T
    pins = pins_of(model.mesh.nodes)
    U = solve_pinned(K, loads, pinned=pins)
    rigid = functionals.rigid_fields(model.mesh.nodes, np.array([[f.x, f.y] for f in plan.footprints]))
    own = _own_movement(model, len(points))
    parts = _parts(model, U[:, :-1])
    parts["root"] -= own
    flexibility = _flexibility(plan, points @ U, further @ U, (points @ rigid, further @ rigid), own, parts)
    w = slice(functionals.W, PER_NODE * len(model.mesh.nodes), PER_NODE)
    diagnostics = _diagnose(model, flexibility, _residual(K, U, loads, pins))
    return FrontView(flexibility, model.mesh, U[w], rigid[w], diagnostics), U


def _parts(model: Model, U: Array) -> dict[str, Array]:
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


def _root_energy(model: Model, U: Array) -> Array:
    """Energy of the elastic layers in the unit solutions, (m, m)."""
    total = np.zeros((U.shape[1], U.shape[1]))
    for i in range(len(model.plan.footprints)):
        K, freedoms = layer(model, i)
        local = U[freedoms]
        total += np.einsum("eim,eij,ejn->mn", local, K, local, optimize=True)
    return total


def _own_movement(model: Model, count: int) -> Array:
    """Plane movement (count, count) within the layers that is the bridges' own and so counted with them.

    A layer of depth d and modulus E moves by (d / E) (integral a a^T dA)^-1 under forces on q.
    """
    own = np.zeros((count, count))
    for i, foot in enumerate(model.plan.footprints):
        inside = model.mesh.groups[f"bridge {i}"]
        full, q = model.samples.full, slice(3 * i, 3 * i + 3)
        a = layer_gap(full, inside, foot)[..., 6:]
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


def _diagnose(model: Model, flexibility: Flexibility, residual: float) -> Diagnostics:
    F, total = flexibility.F[0], np.sum(list(flexibility.parts.values()), axis=0)[0]
    scale = np.abs(F).max()
    return Diagnostics(
        unknowns=model.count,
        mesh_size=model.mesh.size,
        residual=residual,
        reciprocity_error=float(np.abs(F - F.T).max() / scale),
        energy_error=float(np.abs(total - F).max() / scale),
    )
