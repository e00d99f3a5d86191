"""A package's mesh read back from its file alone: nodes, elements, and where each named set is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.handover.mesh_files import VTK_ORDER, load_meshio
from stiffcalc.solid.elements import Index
from stiffcalc.solid.session import solid_session
from stiffcalc.solid.tets import TETRAHEDRON, TRIANGLE


@dataclass(frozen=True)
class ReadMesh:
    """Elements in gmsh's node order; parts are rows of `tets`, faces of `triangles`, node sets of `nodes`."""

    nodes: Array
    tets: Index
    triangles: Index
    parts: Mapping[str, Index]
    faces: Mapping[str, Index]
    node_sets: Mapping[str, Index]


def read_mesh(path: Path, names: Mapping[str, int]) -> ReadMesh:
    """One mesh file of a package; `names`: numbers of parts and sets, as in `sets.csv`."""
    if path.suffix == ".med":
        return _read_med(path)
    mesh = load_meshio().read(path)
    cells = {block.type: block.data.astype(np.int64) for block in mesh.cells}
    tets, triangles = cells["tetra10"][:, VTK_ORDER], cells["triangle6"]
    data = mesh.cell_data_dict
    part = data["gmsh:physical" if path.suffix == ".msh" else "part"]["tetra10"]
    own = data["gmsh:physical" if path.suffix == ".msh" else "set"]["triangle6"]
    flags = {n.removeprefix("nodes_"): np.flatnonzero(v) for n, v in mesh.point_data.items()}
    return ReadMesh(mesh.points, tets, triangles, _rows(part, names), _rows(own, names), flags)


def _rows(number: Index, names: Mapping[str, int]) -> dict[str, Index]:
    found = {name: np.flatnonzero(np.asarray(number).ravel() == k) for name, k in names.items()}
    return {name: rows for name, rows in found.items() if len(rows)}


def _read_med(path: Path) -> ReadMesh:
    with solid_session() as gmsh:
        gmsh.merge(str(path))
        tags, flat, _ = gmsh.model.mesh.getNodes()
        order = np.argsort(tags)

        def rows(found: Index) -> Index:
            return np.asarray(order[np.searchsorted(tags[order], found)], dtype=np.int64)

        parts: dict[str, Index] = {}
        faces: dict[str, Index] = {}
        nodes: dict[str, Index] = {}
        blocks: dict[int, list[Index]] = {3: [], 2: []}
        for dim, group in gmsh.model.getPhysicalGroups():
            name = gmsh.model.getPhysicalName(dim, group).strip()
            entities = gmsh.model.getEntitiesForPhysicalGroup(dim, group)
            if dim == 0:
                found = [gmsh.model.mesh.getElementsByType(15, int(e))[1] for e in entities]
                nodes[name] = rows(np.concatenate(found))
                continue
            kind, width, into = (TETRAHEDRON, 10, parts) if dim == 3 else (TRIANGLE, 6, faces)
            flat_rows = [gmsh.model.mesh.getElementsByType(kind, int(e))[1] for e in entities]
            own = rows(np.concatenate(flat_rows)).reshape(-1, width)
            start = sum(len(b) for b in blocks[dim])
            into[name] = np.arange(start, start + len(own))
            blocks[dim].append(own)
        xyz = np.asarray(flat, dtype=float).reshape(-1, 3)
        return ReadMesh(xyz, np.vstack(blocks[3]), np.vstack(blocks[2]), parts, faces, nodes)
