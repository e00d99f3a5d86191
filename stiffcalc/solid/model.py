"""A meshed assembly with its named sets: what is written to files and what is checked when they are read back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.solid.elements import Index
from stiffcalc.solid.faces import FaceSet, face_sets, outward
from stiffcalc.solid.shapes import SIDES, Assembly, half_part
from stiffcalc.solid.tets import Tets, mesh_assembly

TOUCH = 1e-4  # mm
FINE = np.array([(i / 8, j / 8) for i in range(9) for j in range(9 - i)])  # places on a triangle


@dataclass(frozen=True)
class SolidModel:
    """Mesh, face sets and node sets (indices into the mesh's nodes) of one assembly."""

    a: Assembly
    mesh: Tets
    faces: tuple[FaceSet, ...]
    nodes: Mapping[str, Index]

    def words(self, node_set: str) -> str:
        """What a node set is."""
        kind, *rest = node_set.split("_")
        if kind == "support":
            part = next(p for p, own in support_corners(self.a) if rest[0] in own)
            return f"outer corner of {part}, held in {HELD[rest[0]]}: statically determinate"
        return f"ring of the mouth of {rest[0]} bore {rest[1]}"


SLIDES = "defghijklmnopqrstuvw"  # of parts that frictionless faces would let slide, two a part
HELD = {"a": "x, y, z", "b": "y, z", "c": "z"} | {n: ("x, y", "y")[k % 2] for k, n in enumerate(SLIDES)}


def solid_model(a: Assembly, *, size: float) -> SolidModel:
    """Mesh an assembly at a general element size, mm, and name its sets."""
    mesh = outward(mesh_assembly(a, size=size))
    return SolidModel(a, mesh, face_sets(a, mesh), {**supports(a, mesh), **mouths(a, mesh)})


def supports(a: Assembly, mesh: Tets) -> dict[str, Index]:
    """One node each, nearest to its corner."""
    found = {}
    for part, corners in support_corners(a):
        own = np.unique(mesh.tets[mesh.part == mesh.parts.index(part), :4])
        for name, corner in corners.items():
            away = np.linalg.norm(mesh.nodes[own] - np.array(corner), axis=1)
            found[f"support_{name}"] = own[[away.argmin()]]
    return found


def support_corners(a: Assembly) -> Iterator[tuple[str, dict[str, tuple[float, float, float]]]]:
    """By part the places of its supports: of the inboard half low x and y, high x, high y; of every other part
    between planes along z low x, high x."""
    for side, sign in SIDES:
        low, high = a.half(side).outline.min(axis=0), a.half(side).outline.max(axis=0)
        z = sign * (a.body.half_gap + a.half(side).thickness)
        ends = (low[0], low[1], z), (high[0], low[1], z)
        if side == "inboard":
            yield half_part(side), dict(zip("abc", (*ends, (low[0], high[1], z)), strict=True))
        elif a.split:
            yield half_part(side), dict(zip(SLIDES, ends, strict=False))
    names = iter(SLIDES[2:] if a.split else SLIDES)
    for i in sorted(a.separate):
        bar = a.body.bridges[i]
        if bar.pads is None:
            own = (bar.x0, bar.y1, a.body.half_gap), (bar.x1, bar.y1, a.body.half_gap)
            yield f"bridge_{a.names[i]}", {next(names): corner for corner in own}


def mouths(a: Assembly, mesh: Tets) -> dict[str, Index]:
    """Nodes on the circle in which each bore meets the inner face."""
    x, y, z = mesh.nodes.T
    return {
        f"mouth_{side}_{k}": np.flatnonzero(
            (np.abs(np.hypot(x - b.x, y - b.y) - b.diameter / 2) < TOUCH)
            & (np.abs(z - sign * a.body.half_gap) < TOUCH)
        )
        for side, sign in SIDES
        for k, b in enumerate(a.half(side).bores, start=1)
    }


def bore_error(model: SolidModel) -> float:
    """Largest distance, mm, of the curved elements' faces from the bores' cylinders."""
    worst = 0.0
    for side, _ in SIDES:
        for k, b in enumerate(model.a.half(side).bores, start=1):
            own = next(s for s in model.faces if s.name == f"bore_{side}_{k}")
            x, y, _ = np.moveaxis(on_triangles(model.mesh.nodes, model.mesh.triangles[own.triangles]), -1, 0)
            worst = max(worst, float(np.abs(np.hypot(x - b.x, y - b.y) - b.diameter / 2).max()))
    return worst


def on_triangles(nodes: Array, triangles: Index, places: Array = FINE) -> Array:
    """Points (F, Q, 3) of six-node triangles at local places (Q, 2)."""
    s, t = places.T
    r = 1 - s - t
    shape = np.stack([r * (2 * r - 1), s * (2 * s - 1), t * (2 * t - 1), 4 * r * s, 4 * s * t, 4 * t * r])
    return np.asarray(np.einsum("nq,fnk->fqk", shape, nodes[triangles]))


def triangle_areas(nodes: Array, triangles: Index) -> Array:
    """Areas (F,) of curved six-node triangles, mm2."""
    rule = np.array([(1 / 6, 1 / 6), (2 / 3, 1 / 6), (1 / 6, 2 / 3)])
    s, t = rule.T
    r = 1 - s - t
    zero = 0 * s
    along_s = np.stack([1 - 4 * r, 4 * s - 1, zero, 4 * (r - s), 4 * t, -4 * t])
    along_t = np.stack([1 - 4 * r, zero, 4 * t - 1, -4 * s, 4 * s, 4 * (r - t)])
    u, v = (np.einsum("nq,fnk->fqk", slope, nodes[triangles]) for slope in (along_s, along_t))
    return np.asarray(np.linalg.norm(np.cross(u, v), axis=-1).mean(axis=1) / 2)
