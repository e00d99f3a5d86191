"""Six-node-triangle meshes of a planar domain whose elements respect the borders of given regions.

Imports gmsh only when a mesh is asked for (`solid.session` does for solids). The domain is meshed in coordinates
centred and scaled to a fixed extent, so that similar domains get the same mesh and absolute tolerances mean
the same in each.
"""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from types import ModuleType

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.contours import Contour, Spot
from stiffcalc.errors import Fault, InputError, MissingToolError
from stiffcalc.plane.section.draw import part_faces, set_sizes
from stiffcalc.plane.section.outline import Part, chain
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.unfolded import unfolded

Index = NDArray[np.int64]
Tag = tuple[int, int]

EXTENT = 100.0  # largest side of the domain while it is meshed
DIGITS = 9  # decimals kept there: rounding noise of the caller may not decide what coincides
SIX_NODE_TRIANGLE = 9  # gmsh element type
INSTALL = (
    "install it with: pip install gmsh; and its system libraries (Debian names) with: "
    "apt-get install libgl1 libglu1-mesa libxcursor1 libxft2 libxinerama1 libxrender1 libxfixes3 libgomp1"
)


@dataclass(frozen=True)
class Disc:
    """A circle, mm."""

    x: float
    y: float
    diameter: float

    @property
    def area(self) -> float:
        """Area, mm2."""
        return math.pi * self.diameter**2 / 4


Shape = Disc | Array | Contour  # a circle, a closed polygon (N, 2) given once round, or one with arcs


@dataclass(frozen=True)
class Mesh:
    """Six-node triangles, counter-clockwise, corners first, then the middles of sides 12, 23, 31.

    `groups` names the triangles inside each region (indices, ascending); regions may overlap or be empty.
    """

    nodes: Array  # (n, 2) mm
    triangles: Index  # (e, 6)
    groups: Mapping[str, Index]
    size: float  # largest element side asked for, mm


def available() -> str | None:
    """None when gmsh loads; otherwise one line that says why not and what to install."""
    try:
        _gmsh()
    except MissingToolError as error:
        return str(error)
    return None


def mesh_domain(
    outline: Shape,
    *,
    size: float,
    regions: Mapping[str, Shape] | None = None,
    holes: Sequence[Disc] = (),
    per_circle: int = 8,
) -> Mesh:
    """Mesh `outline` less `holes`, with element sides on the border of every region.

    size: largest element side, mm; per_circle: least number of element sides around a circle. Middle nodes lie on
    the arcs but where a triangle would fold over (`unfolded`). The same input gives the same mesh. Raises
    MissingToolError where gmsh or one of its system libraries is not there.
    """
    gmsh = _gmsh()
    regions = regions or {}
    frame = _Frame.around(outline)
    with _session(gmsh, round(frame.scale * size, DIGITS), {"Mesh.MeshSizeFromCurvature": per_circle}):
        faces = [_face(gmsh, frame.inward(s)) for s in (outline, *regions.values(), *holes)]
        pieces = _fragments(gmsh, faces)
        kept = set(pieces[0]).difference(*pieces[1 + len(regions) :])
        _drop_waste(gmsh, kept, pieces)
        gmsh.model.mesh.generate(2)
        tags, points = _nodes(gmsh)
        triangles = {face: _triangles(gmsh, face) for face in sorted(kept)}
    mesh = _collect(
        frame, tags, points, triangles, dict(zip(regions, pieces[1 : 1 + len(regions)], strict=True)), size
    )
    face = np.repeat(np.arange(len(triangles)), [len(t) for t in triangles.values()])
    return replace(mesh, nodes=unfolded(mesh.nodes, mesh.triangles, face))


def mesh_part(part: Part, *, sizing: Sizing) -> tuple[Array, Index, Index]:
    """Nodes (n, 2), triangles (e, 6) and region of each (e,): -1 for the part's own, else the last that holds it.

    Middle nodes lie on the arcs. The same input gives the same mesh. Raises InputError where the mesher refuses,
    MissingToolError where gmsh or one of its system libraries is not there.
    """
    gmsh = _gmsh()
    frame = _Frame.around(chain(part.outline))
    sides_by_field = {f"Mesh.MeshSize{o}": 0.0 for o in ("FromCurvature", "FromPoints", "ExtendFromBoundary")}
    with _session(gmsh, round(frame.scale * sizing.size, DIGITS), sides_by_field):
        try:
            pieces = _fragments(gmsh, part_faces(gmsh, frame, part))
            _drop_waste(gmsh, set(pieces[0]), pieces)
            pieces = [[tag for tag in piece if tag in pieces[0]] for piece in pieces]
            set_sizes(gmsh, frame, part, sizing, pieces)
            gmsh.model.mesh.generate(2)
        except Exception as error:  # gmsh raises nothing finer
            found = f"an outline the mesher refuses ({error})"
            raise InputError([Fault(part.name, found, "a plain outline", "simplify it")]) from error
        tags, points = _nodes(gmsh)
        triangles = {face: _triangles(gmsh, face) for face in sorted(pieces[0])}
    groups = {str(i): piece for i, piece in enumerate(pieces[1:])}
    mesh = _collect(frame, tags, points, triangles, groups, sizing.size)
    region = np.full(len(mesh.triangles), -1)
    for i in range(len(part.regions)):
        region[mesh.groups[str(i)]] = i
    return mesh.nodes, mesh.triangles, region


def step_curves(path: str, *, points: int = 65) -> list[Array]:
    """The bounding curves (n, 2), mm, of the one face in the x-y plane that a STEP file holds, sampled evenly.

    The CAD kernel brings other units to mm. Raises InputError for a file that cannot be read, is not flat, lies in
    another plane or holds more than one face; MissingToolError without gmsh.
    """
    gmsh = _gmsh()
    with _session(gmsh, 1.0, {}):
        try:
            with _silenced():
                shapes = gmsh.model.occ.importShapes(path)
            gmsh.model.occ.synchronize()
        except Exception as error:  # gmsh raises nothing finer
            found = "a file that the CAD kernel cannot read"
            raise InputError([Fault(path, found, "a STEP file (ISO 10303)", "export it again")]) from error
        _refuse_solid(gmsh, path, shapes)
        return [_sampled(gmsh, tag, points) for _, tag in gmsh.model.getEntities(1)]


def _refuse_solid(gmsh: ModuleType, path: str, shapes: Sequence[Tag]) -> None:
    """One flat face, or curves alone, in a plane of constant z."""
    faces, solids = gmsh.model.getEntities(2), gmsh.model.getEntities(3)
    low, high = np.reshape(gmsh.model.getBoundingBox(-1, -1), (2, 3))
    found = ""
    if not shapes:
        found = "nothing"
    elif solids:
        found = f"{len(solids)} solid bodies"
    elif len(faces) > 1:
        found = f"{len(faces)} faces"
    elif high[2] - low[2] > 1e-4 * max(high[:2] - low[:2]):
        found = f"a shape {high[2] - low[2]:.4g} mm deep along z"
    if found:
        raise InputError(
            [
                Fault(
                    path,
                    found,
                    "one flat face in the x-y plane",
                    "export the cut face alone, turned into x-y",
                )
            ]
        )


def _sampled(gmsh: ModuleType, curve: int, points: int) -> Array:
    (low,), (high,) = gmsh.model.getParametrizationBounds(1, curve)
    flat = gmsh.model.getValue(1, curve, np.linspace(low, high, points))
    return np.asarray(flat, dtype=float).reshape(-1, 3)[:, :2]


@contextmanager
def _silenced() -> Iterator[None]:
    """The CAD kernel reports on standard output, past Python."""
    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


@dataclass(frozen=True)
class _Frame:
    """Centre and scale that bring a domain to the fixed extent."""

    origin: Array
    scale: float

    @classmethod
    def around(cls, outline: Shape) -> _Frame:
        if isinstance(outline, Disc):
            return cls(np.array([outline.x, outline.y]), EXTENT / outline.diameter)
        if isinstance(outline, Contour):
            low, high = outline.reach()
        else:
            low, high = outline.min(axis=0), outline.max(axis=0)
        return cls((low + high) / 2, EXTENT / float(np.max(high - low)))

    def inward(self, shape: Shape) -> Shape:
        if isinstance(shape, Disc):
            x, y = self.inward_points(np.array([shape.x, shape.y]))
            return Disc(x, y, round(shape.diameter * self.scale, DIGITS))
        if isinstance(shape, Contour):
            xy = self.inward_points(np.array([corner[:2] for corner in shape.corners]))
            bulges = (bulge for _, _, bulge in shape.corners)
            return Contour(tuple((float(x), float(y), b) for (x, y), b in zip(xy, bulges, strict=True)))
        return self.inward_points(shape)

    def inward_points(self, points: Array) -> Array:
        return np.round((points - self.origin) * self.scale, DIGITS)

    def outward_points(self, points: Array) -> Array:
        return points / self.scale + self.origin


def _gmsh() -> ModuleType:
    """Import gmsh, or say what is missing. A missing system library shows as OSError."""
    try:
        import gmsh
    except (ImportError, OSError) as error:
        raise MissingToolError(f"the mesher gmsh does not load ({error}); {INSTALL}") from error
    return gmsh  # type: ignore[no-any-return]


@contextmanager
def _session(gmsh: ModuleType, size: float, further: Mapping[str, float]) -> Iterator[None]:
    """A quiet, single-threaded model of our own; whatever the caller had open in gmsh is left as it was."""
    options = {
        "General.Terminal": 0,
        "General.NumThreads": 1,
        "Mesh.MeshSizeMin": 0,
        "Mesh.MeshSizeMax": size,
        "Mesh.ElementOrder": 2,
        "Mesh.HighOrderOptimize": 0,
        "Mesh.Algorithm": 6,
        **further,
    }
    mine = not gmsh.isInitialized()
    if mine:
        gmsh.initialize([], readConfigFiles=False, interruptible=False)
    before, current = {k: gmsh.option.getNumber(k) for k in options}, gmsh.model.getCurrent()
    for key, value in options.items():
        gmsh.option.setNumber(key, value)
    views = set(gmsh.view.getTags())
    gmsh.model.add("stiffcalc.plane")
    try:
        yield
    finally:
        gmsh.model.remove()
        for view in set(gmsh.view.getTags()) - views:
            gmsh.view.remove(view)
        for key, value in before.items():
            gmsh.option.setNumber(key, value)
        if mine:
            gmsh.finalize()
        else:
            gmsh.model.setCurrent(current)


def _fragments(gmsh: ModuleType, tags: Sequence[int]) -> list[list[int]]:
    """Cut all faces by each other; per face, the tags of those it now consists of."""
    faces = [(2, tag) for tag in tags]
    pieces: list[list[Tag]] = [[faces[0]]]
    if len(faces) > 1:
        _, pieces = gmsh.model.occ.fragment(faces[:1], faces[1:])
    gmsh.model.occ.synchronize()
    return [[tag for _, tag in piece] for piece in pieces]


def _face(gmsh: ModuleType, shape: Shape) -> int:
    occ = gmsh.model.occ
    if isinstance(shape, Disc):
        return int(occ.addDisk(shape.x, shape.y, 0.0, shape.diameter / 2, shape.diameter / 2))
    corners = [c[:2] for c in shape.corners] if isinstance(shape, Contour) else shape
    points = [occ.addPoint(x, y, 0.0) for x, y in corners]
    middles = (
        [bent.middle if bent else None for _, _, bent in shape.sides()] if isinstance(shape, Contour) else []
    )
    lines = [
        _line(gmsh, a, b, middle)
        for a, b, middle in zip(points, points[1:] + points[:1], middles or [None] * len(points), strict=True)
    ]
    return int(occ.addPlaneSurface([occ.addCurveLoop(lines)]))


def _line(gmsh: ModuleType, start: int, end: int, middle: Spot | None) -> int:
    """A straight line, or an arc over a third point."""
    occ = gmsh.model.occ
    if middle is None:
        return int(occ.addLine(start, end))
    third = occ.addPoint(*middle, 0.0)
    bent = int(occ.addCircleArc(start, third, end, center=False))
    occ.remove([(0, third)])
    return bent


def _drop_waste(gmsh: ModuleType, kept: set[int], pieces: list[list[int]]) -> None:
    """Drop what lies outside the domain or in a hole."""
    waste = sorted({tag for piece in pieces for tag in piece} - kept)
    gmsh.model.occ.remove([(2, tag) for tag in waste], recursive=True)
    gmsh.model.occ.synchronize()


def _nodes(gmsh: ModuleType) -> tuple[Index, Array]:
    tags, flat, _ = gmsh.model.mesh.getNodes()
    return np.asarray(tags, dtype=np.int64), np.asarray(flat, dtype=float).reshape(-1, 3)[:, :2]


def _triangles(gmsh: ModuleType, face: int) -> Index:
    _, flat = gmsh.model.mesh.getElementsByType(SIX_NODE_TRIANGLE, face)
    return np.asarray(flat, dtype=np.int64).reshape(-1, 6)


def _collect(
    frame: _Frame,
    tags: Index,
    points: Array,
    faces: Mapping[int, Index],
    regions: Mapping[str, Sequence[int]],
    size: float,
) -> Mesh:
    """Number nodes and triangles from zero and name the triangles of each region."""
    order = np.argsort(tags)
    stacked = np.concatenate(list(faces.values()))
    used, flat = np.unique(stacked, return_inverse=True)
    nodes = frame.outward_points(points[order[np.searchsorted(tags[order], used)]])
    owner = np.repeat(np.array(list(faces)), [len(t) for t in faces.values()])
    groups = {name: np.flatnonzero(np.isin(owner, part)) for name, part in regions.items()}
    return Mesh(nodes, _counter_clockwise(nodes, flat.reshape(-1, 6)), groups, size)


def _counter_clockwise(nodes: Array, triangles: Index) -> Index:
    """Turn clockwise triangles over."""
    a, b, c = (nodes[triangles[:, i]] for i in range(3))
    (x1, y1), (x2, y2) = (b - a).T, (c - a).T
    turned = x1 * y2 < x2 * y1
    return np.where(turned[:, None], triangles[:, [0, 2, 1, 5, 4, 3]], triangles)
