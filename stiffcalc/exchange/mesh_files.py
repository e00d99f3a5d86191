"""Section meshes and results in open mesh formats, through meshio.

The file's suffix chooses the format: .msh (gmsh 2.2, keeps the names of zones and edges), .vtu, .vtk.
"""

from __future__ import annotations

import tempfile
from collections.abc import Collection, Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError, MissingToolError
from stiffcalc.exchange.files import write_bytes_atomic
from stiffcalc.plane.elements import Index
from stiffcalc.plane.section.grid import Grid, Sides, Zone, all_sides, check_elements
from stiffcalc.plane.section.outline import Material
from stiffcalc.plane.section.solve import Solution
from stiffcalc.plane.section.stress import Stress, von_mises

FORMATS = {".msh": "gmsh22", ".vtu": "vtu", ".vtk": "vtk"}


def write_grid(path: Path, grid: Grid) -> None:
    """Write a mesh with its zones and named edges; only .msh keeps the names."""
    meshio = _meshio()
    named = [(name, 1, sides.nodes) for name, sides in grid.edges.items()]
    names = [zone.name for zone in grid.zones] + [name for name, _, _ in named]
    number = {name: i + 1 for i, name in enumerate(dict.fromkeys(names))}
    cells = [("triangle6", grid.triangles), *(("line3", nodes) for _, _, nodes in named)]
    tags = [np.array([number[z.name] for z in grid.zones])[grid.zone]]
    tags += [np.full(len(nodes), number[name]) for name, _, nodes in named]
    dimension = {zone.name: 2 for zone in grid.zones} | {name: 1 for name, _, _ in named}
    mesh = meshio.Mesh(
        _solid(grid.nodes),
        cells,
        cell_data={"gmsh:physical": tags, "gmsh:geometrical": tags},
        field_data={name: np.array([number[name], dimension[name]]) for name in number},
    )
    _write(path, mesh)


def write_solution(
    path: Path, solution: Solution, stress: Stress, *, cases: Collection[str] | None = None
) -> None:
    """Write displacement, mm, and stress, MPa, of every case; nodes on zone borders stand once for each zone.

    cases: names of those wanted, None for all. Point data: "displacement CASE" (x, y, 0), "stress CASE" (x, y, xy),
    "von Mises CASE"; cell data: zone, thickness.
    """
    meshio, grid = _meshio(), solution.grid
    data: dict[str, Array] = {}
    for i, case in enumerate(solution.problem.cases):
        if cases is not None and case.name not in cases:
            continue
        data[f"displacement {case.name}"] = _solid(solution.U[i, stress.node])
        data[f"stress {case.name}"] = stress.values[i]
        data[f"von Mises {case.name}"] = von_mises(stress.values[i])
    cell_data = {"zone": [grid.zone.astype(np.int32)], "thickness": [grid.thickness]}
    points, cells = _solid(grid.nodes[stress.node]), [("triangle6", stress.triangles)]
    _write(path, meshio.Mesh(points, cells, point_data=data, cell_data=cell_data))


def read_grid(path: Path, *, properties: Mapping[str, tuple[float, Material]]) -> Grid:
    """Read six-node triangles with named zones and edges.

    properties: thickness, mm, and material of every zone the file names. Raises InputError for a file that cannot
    be read, has no six-node triangles, or names zones without properties.
    """
    mesh = _read(path)
    if "triangle6" not in mesh.cells_dict:
        found = ", ".join(mesh.cells_dict) or "no elements"
        raise InputError(
            [Fault(str(path), found, "six-node triangles", "mesh it with second-order triangles")]
        )
    names = {(int(t), int(d)): name for name, (t, d) in mesh.field_data.items()}
    tags = mesh.cell_data_dict.get("gmsh:physical", {})
    triangles, zone_tag = mesh.cells_dict["triangle6"], tags.get("triangle6")
    if zone_tag is None:
        raise InputError(
            [Fault(str(path), "triangles without a zone", "named surfaces", "name them in the file")]
        )
    used, compact = np.unique(triangles, return_inverse=True)
    row = np.full(len(mesh.points), -1)
    row[used] = np.arange(len(used))
    triangles = compact.reshape(-1, 6).astype(np.int64)
    present, zone = np.unique(zone_tag, return_inverse=True)
    zones = tuple(_zone(path, names.get((int(t), 2), f"zone {t}"), properties) for t in present)
    grid = Grid(mesh.points[used, :2], triangles, zone, zones, _edges(mesh, row, triangles, names, tags))
    check_elements(grid)
    return grid


def _zone(path: Path, name: str, properties: Mapping[str, tuple[float, Material]]) -> Zone:
    if name not in properties:
        allowed = f"thickness and material for {name!r}"
        raise InputError([Fault(str(path), f"the zone {name!r} without properties", allowed, "give them")])
    thickness, material = properties[name]
    return Zone(name, name, thickness, material)


def _edges(
    mesh: Any, row: Index, triangles: Index, names: Mapping[tuple[int, int], str], tags: Mapping[str, Array]
) -> dict[str, Sides]:
    """Named lines as sides of the triangles, found by their middle nodes."""
    if "line3" not in mesh.cells_dict:
        return {}
    sides = all_sides(triangles)  # ascending in the middle node
    lines = row[mesh.cells_dict["line3"]]
    edges = {}
    for tag in np.unique(tags["line3"]):
        middles = lines[tags["line3"] == tag][:, 2]
        edges[names.get((int(tag), 1), f"edge {tag}")] = sides.pick(np.isin(sides.nodes[:, 2], middles))
    return edges


def _solid(plane: Array) -> Array:
    return np.concatenate([plane, np.zeros((len(plane), 1))], axis=1)


def _read(path: Path) -> Any:
    meshio = _meshio()
    if not path.is_file():
        raise InputError([Fault(str(path), "no such file", "a mesh file", "check the name")])
    try:
        return meshio.read(path)
    except (Exception, SystemExit) as error:  # readers raise whatever their parsing meets, and some exit
        raise InputError(
            [Fault(str(path), f"no readable mesh ({error})", "a mesh file", "export it again")]
        ) from error


def _write(path: Path, mesh: Any) -> None:
    if path.suffix not in FORMATS:
        raise InputError([Fault(str(path), path.suffix or "no suffix", ", ".join(FORMATS), "rename it")])
    options = {"binary": False} if path.suffix == ".msh" else {}
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / path.name
        mesh.write(draft, file_format=FORMATS[path.suffix], **options)
        write_bytes_atomic(path, draft.read_bytes())


def _meshio() -> ModuleType:
    try:
        import meshio
    except ImportError as error:
        raise MissingToolError("mesh files need meshio; install it with: pip install meshio") from error
    return meshio  # type: ignore[no-any-return]
