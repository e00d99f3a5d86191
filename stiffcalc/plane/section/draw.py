"""A part drawn in the mesher and the sizes set there; the mesher is handed in, this module does not import it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from types import ModuleType
from typing import Protocol

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.plane.section.outline import Edge, Loop, Part, oriented
from stiffcalc.plane.section.sizing import Background, Sizing


class Frame(Protocol):
    """Where the mesher draws: centred and scaled."""

    @property
    def scale(self) -> float:
        """Lengths there over mm."""

    def inward_points(self, points: Array) -> Array:
        """Points (k, 2) there of points in mm."""

    def outward_points(self, points: Array) -> Array:
        """Points (k, 2) in mm of points there."""


def part_faces(gmsh: ModuleType, frame: Frame, part: Part) -> list[int]:
    """The part less its holes, then its regions. The kernel adds a hole that runs clockwise instead of cutting it."""
    loops = [_curve_loop(gmsh, frame, oriented(loop)) for loop in part.loops]
    regions = [_curve_loop(gmsh, frame, oriented(region.outline)) for region in part.regions]
    return [int(gmsh.model.occ.addPlaneSurface(tags)) for tags in (loops, *([r] for r in regions))]


def _curve_loop(gmsh: ModuleType, frame: Frame, loop: Loop) -> int:
    occ = gmsh.model.occ
    corners = [occ.addPoint(*frame.inward_points(np.array([edge.start]))[0], 0.0) for edge in loop]
    curves = []
    for edge, a, b in zip(loop, corners, corners[1:] + corners[:1], strict=True):
        if edge.centre is None:
            curves.append(occ.addLine(a, b))
            continue
        middle = occ.addPoint(*frame.inward_points(edge.at(np.array([0.5])))[0], 0.0)
        curves.append(occ.addCircleArc(a, middle, b, center=False))
        occ.remove([(0, middle)])
    return int(occ.addCurveLoop(curves))


def set_sizes(
    gmsh: ModuleType, frame: Frame, part: Part, sizing: Sizing, pieces: Sequence[Sequence[int]]
) -> None:
    """The smallest of all sizes asked for, as the background of the mesh."""
    add, number = gmsh.model.mesh.field.add, gmsh.model.mesh.field.setNumber
    fields = [] if sizing.background is None else [_background(gmsh, frame, sizing.background)]
    for x, y, size in sizing.points:
        at = frame.inward_points(np.array([[x, y]]))[0]
        away = f"{sizing.growth}*sqrt((x-({at[0]}))^2+(y-({at[1]}))^2)"
        fields.append(add("MathEval"))
        gmsh.model.mesh.field.setString(fields[-1], "F", f"{frame.scale * size}+{away}")
    for size, curves in _curve_sizes(gmsh, frame, part, sizing).items():
        distance = add("Distance")
        gmsh.model.mesh.field.setNumbers(distance, "CurvesList", curves)
        number(distance, "Sampling", 100)
        fields.append(add("MathEval"))
        gmsh.model.mesh.field.setString(fields[-1], "F", f"{frame.scale * size}+{sizing.growth}*F{distance}")
    for name, piece in zip((part.name, *(r.name for r in part.regions)), pieces, strict=True):
        if name in sizing.regions and piece:
            fields.append(add("Constant"))
            gmsh.model.mesh.field.setNumbers(fields[-1], "SurfacesList", piece)
            number(fields[-1], "VIn", frame.scale * sizing.regions[name])
            number(fields[-1], "VOut", frame.scale * sizing.size)
    if fields:
        smallest = add("Min")
        gmsh.model.mesh.field.setNumbers(smallest, "FieldsList", fields)
        gmsh.model.mesh.field.setAsBackgroundMesh(smallest)


def _background(gmsh: ModuleType, frame: Frame, former: Background) -> int:
    corners = np.asarray(former.corners)
    xyz = np.zeros((len(corners), 3, 3))  # triangle, coordinate, corner
    xyz[:, :2] = frame.inward_points(corners.reshape(-1, 2)).reshape(-1, 3, 2).transpose(0, 2, 1)
    rows = np.concatenate([xyz.reshape(-1, 9), frame.scale * former.size], axis=1)
    view = gmsh.view.add("sizes")
    gmsh.view.addListData(view, "ST", len(rows), rows.ravel())
    tag = int(gmsh.model.mesh.field.add("PostView"))
    gmsh.model.mesh.field.setNumber(tag, "ViewTag", view)
    return tag


def _curve_sizes(gmsh: ModuleType, frame: Frame, part: Part, sizing: Sizing) -> dict[float, list[int]]:
    """Curves by the side wanted on them, mm, where it is below the general one."""
    loops = [*part.loops, *(region.outline for region in part.regions)]
    owners = ["" for _ in part.loops] + [region.name for region in part.regions]
    edges = [
        (edge, _edge_size(edge, owner, sizing))
        for owner, loop in zip(owners, loops, strict=True)
        for edge in loop
    ]
    curves: dict[float, list[int]] = {}
    for _, tag in gmsh.model.getEntities(1):
        (low,), (high,) = gmsh.model.getParametrizationBounds(1, tag)
        middle = np.array(gmsh.model.getValue(1, tag, [(low + high) / 2]))[:2]
        here = frame.outward_points(middle[None])[0]
        fine = [s for edge, s in edges if s < sizing.size and edge.holds(here, tolerance=1e-6 * part.extent)]
        if fine:
            curves.setdefault(min(fine), []).append(tag)
    return curves


def _edge_size(edge: Edge, region: str, sizing: Sizing) -> float:
    rounded = 2 * math.pi * edge.radius / sizing.per_circle
    return min(rounded, sizing.edges.get(edge.name, math.inf), sizing.regions.get(region, math.inf))
