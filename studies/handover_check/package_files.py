"""What a package's files hold: mesh with its sets, and what the tables say of one load case. No stiffcalc in here."""

from __future__ import annotations

import csv
from pathlib import Path

import meshio
import numpy as np
from skfem import MeshTet, MeshTet2
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

EDGES = ((0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3))  # of meshio's ten-node tetrahedron
DIRECTIONS = "xyz"


def table(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


class Package:
    """The mesh of a package with its sets, and what the tables say of one load case."""

    def __init__(self, folder: Path, load_case: str) -> None:
        read = meshio.read(folder / "mesh.vtu")
        sets = table(folder, "sets.csv")
        self.folder, self.points = folder, read.points
        self.triangles = read.cells_dict["triangle6"]
        number = read.cell_data_dict["set"]["triangle6"]
        self.sets = {
            r["name"]: np.flatnonzero(number == int(r["number"])) for r in sets if r["kind"] == "face"
        }
        self.node_sets = {n.removeprefix("nodes_"): np.flatnonzero(v) for n, v in read.point_data.items()}
        screws = [int(r["number"]) for r in sets if r["kind"] == "volume" and r["name"].startswith("bolt_")]
        solid = ~np.isin(read.cell_data_dict["part"]["tetra10"], screws)
        self.mesh, self.place = curved(read.points, read.cells_dict["tetra10"][solid])
        own = [r for r in table(folder, "loads.csv") if r["load_case"] == load_case]
        self.pressure = {r["set"]: float(r["value"]) for r in own if r["step"] == "pressure"}
        self.step = next(
            r for r in table(folder, "steps.csv") if (r["load_case"], r["step"]) == (load_case, "pressure")
        )
        self.material = next(
            r for r in table(folder, "materials.csv") if r["temperature_C"] == self.step["body_C"]
        )
        self.elastic = float(self.material["E_MPa"]), float(self.material["nu"])
        self.held = [
            (r["set"], axis, self.place[self.node_sets[r["set"]][0]])
            for r in table(folder, "supports.csv")
            for axis in r["held"].split()
        ]

    def integrals(self, name: str) -> np.ndarray:
        """Integrals (nodes of the mesh, 3) of each shape function times the outward normal of a set of faces."""
        triangles = self.triangles[self.sets[name]]
        found = np.zeros((self.mesh.doflocs.shape[1], 3))
        np.add.at(found, self.place[triangles], normal_integrals(self.points[triangles]))
        return found

    def area(self, name: str) -> float:
        """Area of a face across z."""
        return float(np.abs(self.integrals(name)[:, 2].sum()))

    def slope_weights(self, name: str) -> tuple[np.ndarray, np.ndarray]:
        """Nodes of a ring and the weights of their movements along z in the slope over y, by least squares."""
        nodes = self.place[self.node_sets[name]]
        x, y, _ = self.mesh.doflocs[:, nodes]
        return nodes, np.linalg.pinv(np.column_stack([np.ones_like(x), x - x.mean(), y - y.mean()]))[2]

    def statics(self, row: dict[str, str]) -> float:
        """Force of the pressure on one face along z."""
        name = row["sets"].split()[0]
        return -self.pressure[name] * float(self.integrals(name)[:, 2].sum())


def normal_integrals(corners: np.ndarray) -> np.ndarray:
    """Integrals (F, 6, 3) of the six shape functions times the normal of curved triangles (F, 6, 3)."""
    shape, normal = on_faces(corners)
    return np.einsum("nq,fqk->fnk", shape, normal)


def on_faces(corners: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Shape functions (6, Q), and normals times weights (F, Q, 3), at the points of a rule on curved triangles."""
    places, weights = get_quadrature(RefTri, 4)
    shape, along_s, along_t = triangle_functions(*places)
    u, v = (np.einsum("nq,fnk->fqk", slope, corners) for slope in (along_s, along_t))
    return shape, np.cross(u, v) * weights[:, None]


def triangle_functions(s: np.ndarray, t: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The six functions (6, Q) of a triangle and their slopes along both local axes."""
    r, zero = 1 - s - t, 0 * s
    shape = np.stack([r * (2 * r - 1), s * (2 * s - 1), t * (2 * t - 1), 4 * r * s, 4 * s * t, 4 * t * r])
    along_s = np.stack([1 - 4 * r, 4 * s - 1, zero, 4 * (r - s), 4 * t, -4 * t])
    along_t = np.stack([1 - 4 * r, zero, 4 * t - 1, -4 * s, 4 * s, 4 * (r - t)])
    return shape, along_s, along_t


def curved(points: np.ndarray, tets: np.ndarray) -> tuple[MeshTet2, np.ndarray]:
    """The curved mesh, and the place of every node of the file in it."""
    corners, flat = np.unique(tets[:, :4], return_inverse=True)
    flat = flat.reshape(-1, 4)
    straight = MeshTet(np.ascontiguousarray(points[corners].T), np.ascontiguousarray(flat.T))
    mesh = MeshTet2.from_mesh(straight)
    ends = np.sort(mesh.edges, axis=0)
    keys = ends[0] * len(corners) + ends[1]
    order = np.argsort(keys)
    place = np.full(len(points), -1)
    place[corners] = np.arange(len(corners))
    for k, edge in enumerate(EDGES):
        pair = np.sort(flat[:, edge], axis=1)
        at = order[np.searchsorted(keys[order], pair[:, 0] * len(corners) + pair[:, 1])]
        place[tets[:, 4 + k]] = len(corners) + at
        mesh.doflocs[:, len(corners) + at] = points[tets[:, 4 + k]].T
    return mesh, place
