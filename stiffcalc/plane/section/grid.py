"""A meshed section: six-node triangles of all parts, their zones (thickness, material) and named sides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError, StiffcalcError
from stiffcalc.plane.elements import Index, shape_slopes
from stiffcalc.plane.mesh import mesh_part
from stiffcalc.plane.section.outline import Loop, Material, Part, Point
from stiffcalc.plane.section.outline_checks import Flags
from stiffcalc.plane.section.sizing import Background, Sizing

SIDES = ((0, 1, 3), (1, 2, 4), (2, 0, 5))  # corners and middle of each side of a triangle
CORNERS_AND_MIDDLES = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])


@dataclass(frozen=True)
class Zone:
    """Elements of one thickness and material: a part, or a region of one."""

    name: str
    part: str
    thickness: float
    material: Material


@dataclass(frozen=True)
class Sides:
    """Element sides of one name, k of them."""

    nodes: Index  # (k, 3) first, last, middle; metal of the owner on the left
    owner: Index  # (k,) triangle
    inner: Flags  # (k,) whether metal lies on both sides

    def pick(self, keep: Flags) -> Sides:
        """Only some of them."""
        return Sides(self.nodes[keep], self.owner[keep], self.inner[keep])


@dataclass(frozen=True)
class Grid:
    """Six-node triangles (counter-clockwise; corners, then middles of sides 12, 23, 31), mm."""

    nodes: Array  # (n, 2)
    triangles: Index  # (e, 6)
    zone: Index  # (e,) index into zones
    zones: tuple[Zone, ...]
    edges: Mapping[str, Sides] = field(default_factory=dict)

    @property
    def thickness(self) -> Array:
        """Thickness (e,), mm."""
        return np.array([z.thickness for z in self.zones])[self.zone]

    @property
    def unknowns(self) -> int:
        """Displacements: two a node."""
        return 2 * len(self.nodes)

    def edge(self, name: str) -> Sides:
        """Sides of a name, or an InputError that lists the names there are."""
        if name not in self.edges:
            raise InputError([Fault(f"edge {name!r}", "no such edge", ", ".join(self.edges), "rename it")])
        return self.edges[name]

    def node_at(self, point: Point) -> int:
        """The node at a point; InputError where there is none within a millionth of the section's extent."""
        gap = np.hypot(*(self.nodes - np.array(point)).T)
        nearest = int(np.argmin(gap))
        if not gap[nearest] < 1e-6 * np.ptp(self.nodes, axis=0).max():
            found = f"no node there; the nearest is {gap[nearest]:.4g} mm away"
            raise InputError([Fault(f"point {point}", found, "a corner of an outline", "move it")])
        return nearest

    def sizes(self) -> Array:
        """Mean side (e,) of each triangle, corners taken straight, mm."""
        corners = self.nodes[self.triangles[:, :3]]
        return np.asarray(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=-1).mean(axis=1))

    def background(self, size: Array) -> Background:
        """Sizes (e,) wanted in the elements, as the background of the next mesh: the smallest at each corner."""
        at_node = np.full(len(self.nodes), np.inf)
        np.minimum.at(at_node, self.triangles[:, :3], size[:, None])
        return Background(self.nodes[self.triangles[:, :3]], at_node[self.triangles[:, :3]])


def mesh_section(parts: Sequence[Part], *, sizing: Sizing) -> Grid:
    """Mesh every part and name its sides.

    Raises InputError for names given twice or sizes for names that do not exist, MissingToolError without gmsh,
    StiffcalcError where an element folds over (arcs meshed too coarsely).
    """
    _refuse_names(parts, sizing)
    grids = [_mesh_one(part, sizing) for part in parts]
    merged = join(grids)
    check_elements(merged)
    return merged


def join(grids: Sequence[Grid]) -> Grid:
    """Several grids as one, no nodes shared; edges of one name are put together."""
    first_node = np.cumsum([0, *(len(g.nodes) for g in grids)])
    first_triangle = np.cumsum([0, *(len(g.triangles) for g in grids)])
    first_zone = np.cumsum([0, *(len(g.zones) for g in grids)])
    edges: dict[str, list[Sides]] = {}
    for grid, node, triangle in zip(grids, first_node, first_triangle, strict=False):
        for name, s in grid.edges.items():
            edges.setdefault(name, []).append(Sides(s.nodes + node, s.owner + triangle, s.inner))
    return Grid(
        nodes=np.concatenate([g.nodes for g in grids]),
        triangles=np.concatenate([g.triangles + n for g, n in zip(grids, first_node, strict=False)]),
        zone=np.concatenate([g.zone + z for g, z in zip(grids, first_zone, strict=False)]),
        zones=tuple(z for g in grids for z in g.zones),
        edges={name: _put_together(pieces) for name, pieces in edges.items()},
    )


def _put_together(pieces: Sequence[Sides]) -> Sides:
    return Sides(
        np.concatenate([p.nodes for p in pieces]),
        np.concatenate([p.owner for p in pieces]),
        np.concatenate([p.inner for p in pieces]),
    )


def check_elements(grid: Grid) -> None:
    """Refuse a grid in which a triangle folds over at one of its nodes."""
    det = np.linalg.det(
        np.einsum("eni,gnj->egij", grid.nodes[grid.triangles], shape_slopes(CORNERS_AND_MIDDLES))
    )
    if not det.min() > 0:
        x, y = grid.nodes[grid.triangles[np.argmin(det.min(axis=1)), 0]]
        raise StiffcalcError(f"the mesh folds over near ({x:.4g}, {y:.4g}) mm: ask for smaller sides there")


def all_sides(triangles: Index) -> Sides:
    """Every side once, with its lowest owner."""
    nodes = np.stack([triangles[:, list(side)] for side in SIDES], axis=1).reshape(-1, 3)
    _, first, count = np.unique(nodes[:, 2], return_index=True, return_counts=True)
    return Sides(nodes[first], first // 3, count > 1)


def _refuse_names(parts: Sequence[Part], sizing: Sizing) -> None:
    zones = [name for p in parts for name in (p.name, *(r.name for r in p.regions))]
    edges = {e.name for p in parts for loop in _loops(p) for e in loop if e.name}
    if not parts:
        raise InputError([Fault("section", "no part", "one part or more", "draw its outline")])
    faults = [Fault("sections", f"{n!r} twice", "one name each", "rename") for n in _repeated(zones)]
    unknown = {"edge": set(sizing.edges) - edges, "region": set(sizing.regions) - set(zones)}
    for kind, names in unknown.items():
        allowed = ", ".join(sorted(edges if kind == "edge" else set(zones)))
        faults += [
            Fault(f"size of {kind} {n!r}", "no such name", allowed, "rename it") for n in sorted(names)
        ]
    if faults:
        raise InputError(faults)


def _repeated(names: Sequence[str]) -> list[str]:
    return sorted({n for n in names if names.count(n) > 1})


def _loops(part: Part) -> list[Loop]:
    return [*part.loops, *(r.outline for r in part.regions)]


def _mesh_one(part: Part, sizing: Sizing) -> Grid:
    nodes, triangles, region = mesh_part(part, sizing=sizing)
    return Grid(nodes, triangles, region + 1, zones_of(part), _named_sides(part, nodes, triangles))


def zones_of(part: Part) -> tuple[Zone, ...]:
    """The part's own zone and its regions', in their order."""
    own = Zone(part.name, part.name, part.thickness, part.material)
    regions = (Zone(r.name, part.name, r.thickness, r.material or part.material) for r in part.regions)
    return own, *regions


def _named_sides(part: Part, nodes: Array, triangles: Index) -> dict[str, Sides]:
    """Sides whose three nodes lie on an edge with a name."""
    sides, tolerance = all_sides(triangles), 1e-6 * part.extent
    found: dict[str, Flags] = {}
    for edge in (e for loop in _loops(part) for e in loop if e.name):
        on = np.all(edge.holds(nodes, tolerance=tolerance)[sides.nodes], axis=1)
        found[edge.name] = found[edge.name] | on if edge.name in found else on
    return {name: sides.pick(on) for name, on in found.items() if on.any()}
