"""The mesh in open formats, the file's ending chooses: .vtu, .vtk, .msh through meshio, .med through gmsh.

Volumes carry their part's name, faces their set's, as far as the format has names; where it has numbers only (.vtu,
.vtk), cell data `part` and `set` hold the numbers of `sets.csv`, and every node set is a 0/1 array `nodes_NAME`.
MED files get no times and meshio's own writer of them needs a package of its own, so gmsh writes them.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

from stiffcalc.errors import Fault, InputError, MissingToolError
from stiffcalc.exchange.hdf5_times import without_times
from stiffcalc.solid.elements import Index
from stiffcalc.solid.model import SolidModel
from stiffcalc.solid.session import solid_session
from stiffcalc.solid.tets import TETRAHEDRON, TRIANGLE

FORMATS = {
    "vtu": "vtu",
    "med": "med",
    "msh": "gmsh22",
    "vtk": "vtk",
}  # ending -> meshio's name
DEFAULT = ("vtu", "med")
POINT = 15  # gmsh's element of one node
VTK_ORDER = [0, 1, 2, 3, 4, 5, 6, 7, 9, 8]  # the last two edges change places against gmsh's order
EVERY_PART = 0


def checked_formats(endings: tuple[str, ...] | list[str]) -> tuple[str, ...]:
    """Endings without dots, each once. Raises InputError for one that is not known."""
    plain = tuple(dict.fromkeys(e.lower().lstrip(".") for e in endings))
    faults = [
        Fault("--format", e, ", ".join(FORMATS), "take one of these") for e in plain if e not in FORMATS
    ]
    if faults:
        raise InputError(faults)
    return plain


def numbers(model: SolidModel) -> dict[str, int]:
    """Number of every part and set, from 1, parts first: those of `sets.csv` and of the mesh files."""
    names = (*model.mesh.parts, *(s.name for s in model.faces), *model.nodes)
    return {name: k for k, name in enumerate(names, start=1)}


def mesh_bytes(model: SolidModel, ending: str) -> bytes:
    """The mesh in one format; the same model gives the same bytes."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"mesh.{ending}"
        if ending == "med":
            _write_med(model, path)
            return without_times(path.read_bytes())
        options = {"binary": True} if ending in ("msh", "vtk") else {}
        load_meshio().write(path, _as_meshio(model, ending), file_format=FORMATS[ending], **options)
        return path.read_bytes()


def node_sets(model: SolidModel) -> dict[str, Index]:
    """Nodes of every face set, and the sets of nodes alone."""
    of_faces = {s.name: np.unique(model.mesh.triangles[s.triangles]) for s in model.faces}
    return {**of_faces, **model.nodes}


def _as_meshio(model: SolidModel, ending: str) -> Any:
    """All tetrahedra, then the triangles of every set."""
    mesh, number = model.mesh, numbers(model)
    faces = np.concatenate([s.triangles for s in model.faces])
    lengths = [len(s.triangles) for s in model.faces]
    cells = [("tetra10", mesh.tets[:, VTK_ORDER]), ("triangle6", mesh.triangles[faces])]
    part = (mesh.part + 1).astype(np.int32)
    own = np.repeat([number[s.name] for s in model.faces], lengths).astype(np.int32)
    data: dict[str, Any] = {}
    if ending == "msh":
        data["cell_data"] = {"gmsh:physical": [part, own], "gmsh:geometrical": [part, own]}
        kinds = {**dict.fromkeys(mesh.parts, 3), **{s.name: 2 for s in model.faces}}
        data["field_data"] = {name: np.array([number[name], kind]) for name, kind in kinds.items()}
    else:
        none = np.zeros(len(faces), dtype=np.int32), np.zeros(len(part), dtype=np.int32)
        data["cell_data"] = {"part": [part, none[0]], "set": [none[1], own]}
        data["point_data"] = {
            f"nodes_{n}": _flags(len(mesh.nodes), rows) for n, rows in node_sets(model).items()
        }
    return load_meshio().Mesh(mesh.nodes, cells, **data)


def _flags(count: int, rows: Index) -> Any:
    found = np.zeros(count, dtype=np.uint8)
    found[rows] = 1
    return found


def _write_med(model: SolidModel, path: Path) -> None:
    mesh, number = model.mesh, numbers(model)
    with solid_session() as gmsh:
        before = gmsh.option.getNumber("General.Verbosity")
        gmsh.option.setNumber("General.Verbosity", 1)
        gmsh.model.addDiscreteEntity(3, 1)
        tags = np.arange(1, len(mesh.nodes) + 1)
        gmsh.model.mesh.addNodes(3, 1, tags, mesh.nodes.ravel())
        for k, name in enumerate(mesh.parts):
            _group(gmsh, 3, TETRAHEDRON, mesh.tets[mesh.part == k] + 1, name, number, there=k == 0)
        for s in model.faces:
            _group(gmsh, 2, TRIANGLE, mesh.triangles[s.triangles] + 1, s.name, number)
        for name, rows in model.nodes.items():
            _group(gmsh, 0, POINT, rows[:, None] + 1, name, number)
        gmsh.write(str(path))
        gmsh.option.setNumber("General.Verbosity", before)


def _group(
    gmsh: ModuleType,
    dim: int,
    kind: int,
    nodes: Index,
    name: str,
    number: Mapping[str, int],
    *,
    there: bool = False,
) -> None:
    """Elements of one named group as a discrete entity of their own."""
    tag = number[name]
    if not there:
        gmsh.model.addDiscreteEntity(dim, tag)
    gmsh.model.mesh.addElementsByType(tag, kind, [], nodes.ravel())
    gmsh.model.addPhysicalGroup(dim, [tag], tag, name)


def load_meshio() -> ModuleType:
    """Import meshio, or say what is missing."""
    try:
        import meshio
    except ImportError as error:
        raise MissingToolError("mesh files need meshio; install it with: pip install meshio") from error
    return meshio  # type: ignore[no-any-return]
