"""The front view's finite-element model of one half: mesh, metal, matrices, rows that read and load it.

Whole thickness in the wall, only the (eccentric) floor behind a bore, what is left in a pocket. A bridge's
footprint is tied to the bridge's movements q through an elastic layer with energy 1/2 integral k (w -
a.q)^2 dA, a = [1, y - y_r, -(x - x_b)], and some of the bridge's metal bends with the wall."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane import functionals
from stiffcalc.plane.elements import Index, Samples, assemble, element_stiffness, node_freedoms
from stiffcalc.plane.mesh import Disc, Mesh, Shape, mesh_domain
from stiffcalc.plane.plan import Footprint, PlatePlan, polygon_area
from stiffcalc.plane.plate import PER_NODE, Laminate, PlateSamples, laminate, plate_samples

ELEMENTS = 350  # of the outline alone: 5000 to 8000 unknowns, opening within 0.3 % of a fine mesh


@dataclass(frozen=True)
class Model:
    """A meshed plan with its element data; freedoms are five a node, then three a bridge.

    Each triangle is metal from z_low (what bridges lend included) to z_high (e,); z = 0 in the wall's mid-plane.
    """

    plan: PlatePlan
    mesh: Mesh
    samples: PlateSamples
    z_low: Array
    z_high: Array
    law: Laminate

    @property
    def count(self) -> int:
        """Freedoms n."""
        return PER_NODE * len(self.mesh.nodes) + 3 * len(self.plan.footprints)

    @property
    def bores(self) -> list[Index]:
        """Triangles of each bore."""
        return [self.mesh.groups[f"bore {i}"] for i in range(len(self.plan.bores))]

    def bridge(self, index: int) -> Index:
        """Freedoms (3,) q of a bridge."""
        return self.count - 3 * (len(self.plan.footprints) - index) + np.arange(3)


def model_of(plan: PlatePlan) -> Model:
    """Mesh a plan. Raises InputError where a region has no metal, MissingToolError without gmsh."""
    size = plan.mesh_size or math.sqrt(polygon_area(plan.outline) / ELEMENTS / 0.433)
    holes = [Disc(head.x, head.y, head.hole) for head in plan.heads]
    mesh = mesh_domain(plan.outline, size=size, regions=_regions(plan), holes=holes)
    empty = [name for name, group in mesh.groups.items() if len(group) == 0]
    if empty:
        raise InputError(
            [Fault(n, "no metal there", "a region on the wall", "move or drop it") for n in empty]
        )
    z_low, z_high = _metal(plan, mesh)
    z_low -= _stiffeners(plan, mesh)
    law = laminate(z_low, z_high, E=plan.E, nu=plan.nu)
    return Model(plan, mesh, plate_samples(mesh.nodes, mesh.triangles), z_low, z_high, law)


def _regions(plan: PlatePlan) -> dict[str, Shape]:
    regions: dict[str, Shape] = {f"bore {i}": bore for i, bore in enumerate(plan.bores)}
    regions |= {f"bridge {i}": foot.outline for i, foot in enumerate(plan.footprints)}
    regions |= {f"pocket {i}": pocket.outline for i, pocket in enumerate(plan.pockets)}
    regions |= {f"rib {i}": rib.outline for i, rib in enumerate(plan.ribs)}
    regions |= {f"head {i}": Disc(head.x, head.y, head.bearing) for i, head in enumerate(plan.heads)}
    return regions


def _metal(plan: PlatePlan, mesh: Mesh) -> tuple[Array, Array]:
    """Depths (e,) between which each triangle is metal, z = 0 at the wall's mid-plane."""
    half = plan.thickness / 2
    low, high = np.full(len(mesh.triangles), -half), np.full(len(mesh.triangles), half)
    for i in range(len(plan.bores)):
        low[mesh.groups[f"bore {i}"]] = half - plan.floor
    high -= _milled(plan, mesh)
    if not np.all(low < high):
        raise InputError([Fault("pockets", "a pierced floor", f"depth below {plan.floor}", "mill less deep")])
    return low, high


def _milled(plan: PlatePlan, mesh: Mesh) -> Array:
    """Depth (e,) milled from the outer face: the deepest pocket's, less the tallest rib's height."""
    depth, left = np.zeros(len(mesh.triangles)), np.zeros(len(mesh.triangles))
    for i, pocket in enumerate(plan.pockets):
        inside = mesh.groups[f"pocket {i}"]
        depth[inside] = np.maximum(depth[inside], pocket.depth)
    for i, rib in enumerate(plan.ribs):
        inside = mesh.groups[f"rib {i}"]
        left[inside] = np.maximum(left[inside], rib.height)
    return np.maximum(depth - left, 0.0)


def _stiffeners(plan: PlatePlan, mesh: Mesh) -> Array:
    """Depth (e,) of bridge metal on the inner face that bends with the wall."""
    depth = np.zeros(len(mesh.triangles))
    for i, foot in enumerate(plan.footprints):
        depth[mesh.groups[f"bridge {i}"]] = foot.stiffener
    return depth


def stiffness(model: Model) -> sp.csc_matrix:
    """K (n, n) of the plate and the layers under bridges."""
    blocks = [
        (model.samples.stiffness(model.law), node_freedoms(model.mesh.triangles, per_node=PER_NODE)),
        *(layer(model, i) for i in range(len(model.plan.footprints))),
    ]
    return assemble(blocks, size=model.count)


def layer(model: Model, index: int) -> tuple[Array, Index]:
    """The elastic layer under one bridge: element matrices (e, 9, 9) over six w and the three q."""
    foot, inside = model.plan.footprints[index], model.mesh.groups[f"bridge {index}"]
    full = model.samples.full
    gap, weight = layer_gap(full, inside, foot), full.weight[inside]
    law = np.full((len(inside), 1, 1), foot.layer)
    freedoms = PER_NODE * model.mesh.triangles[inside] + functionals.W
    q = np.tile(model.bridge(index), (len(inside), 1))
    return element_stiffness(gap[:, :, None], law, weight), np.concatenate([freedoms, q], axis=1)


def layer_gap(full: Samples, inside: Index, foot: Footprint) -> Array:
    """w - a.q as a row (e, g, 9) over six w and the three q."""
    x, y = full.xy[inside][..., 0] - foot.x, full.xy[inside][..., 1] - foot.y
    a = np.stack([np.ones_like(x), y, -x], axis=-1)
    return np.concatenate([np.broadcast_to(full.N, (*x.shape, 6)), -a], axis=-1)


def point_rows(model: Model) -> Array:
    """Rows (m, n) that read the points in the order of `stiffcalc.condensed`."""
    freedoms = 3 * len(model.plan.footprints)
    q = np.eye(freedoms, model.count, k=model.count - freedoms)
    elements = [model.mesh.groups[f"head {i}"] for i in range(len(model.plan.heads))] + model.bores
    means = [functionals.area_mean(model.mesh, model.samples.full, e, count=model.count) for e in elements]
    return np.concatenate([q, np.stack(means)])


def output_rows(model: Model) -> Array:
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


def pins_of(nodes: Array) -> Index:
    """Six freedoms that hold the plate without straining it: w at three nodes far apart, u and v at two."""
    first = np.argmax(np.hypot(*(nodes - nodes.mean(axis=0)).T))
    x, y = (nodes - nodes[first]).T
    second = np.argmax(np.hypot(x, y))
    third = np.argmax(np.abs(x * y[second] - y * x[second]))
    across = functionals.V if abs(x[second]) > abs(y[second]) else functionals.U
    node = np.array([first, first, first, second, second, third])
    freedom = [functionals.U, functionals.V, functionals.W, across, functionals.W, functionals.W]
    return np.asarray(PER_NODE * node + freedom)
