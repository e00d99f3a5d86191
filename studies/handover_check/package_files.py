"""What a package's files hold: mesh with its sets, and what the tables say of one load case. No stiffcalc in here."""

from __future__ import annotations

import csv
from pathlib import Path

import meshio
import numpy as np
import scipy.sparse as sp
from scipy.spatial import cKDTree
from skfem import MeshTet, MeshTet2
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

EDGES = ((0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3))  # of meshio's ten-node tetrahedron
DIRECTIONS = "xyz"
TIE = 2.5e6  # N/mm3 between faces that are tied: a thirtieth of a millimetre of metal
NEAR = 12  # triangles looked at for the one that holds a point


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
        part = read.cell_data_dict["part"]["tetra10"]
        solid = ~np.isin(part, screws)
        self.mesh, self.place = curved(read.points, read.cells_dict["tetra10"][solid])
        own = [r for r in table(folder, "loads.csv") if r["load_case"] == load_case]
        self.pressure = {r["set"]: float(r["value"]) for r in own if r["step"] == "pressure"}
        # A force at a point of the disc is no load of the body: abutments are not defined then.
        self.drag = {r["set"]: float(r["value"]) for r in own if r["quantity"] == "traction along x"}
        self.step = next(
            r for r in table(folder, "steps.csv") if (r["load_case"], r["step"]) == (load_case, "pressure")
        )
        numbers = {r["name"]: int(r["number"]) for r in sets if r["kind"] == "volume"}
        self.metals = {
            r["part"]: (float(r["E_MPa"]), float(r["nu"]), np.flatnonzero(part[solid] == numbers[r["part"]]))
            for r in self.materials(self.step["body_C"])
            if not r["part"].startswith("bolt_")
        }
        self.held = [
            (r["set"], axis, self.place[self.node_sets[r["set"]][0]])
            for r in table(folder, "supports.csv")
            for axis in r["held"].split()
        ]

    def materials(self, degrees: str) -> list[dict[str, str]]:
        """Rows of materials.csv at one temperature."""
        return [r for r in table(self.folder, "materials.csv") if r["temperature_C"] == degrees]

    def area_integrals(self, name: str) -> np.ndarray:
        """Integrals (nodes of the mesh,) of each shape function over a set of faces."""
        triangles = self.triangles[self.sets[name]]
        shape, normal = on_faces(self.points[triangles])
        found = np.zeros(self.mesh.doflocs.shape[1])
        weight = np.linalg.norm(normal, axis=-1)
        np.add.at(found, self.place[triangles], np.einsum("nq,fq->fn", shape, weight))
        return found

    def drag_force(self) -> np.ndarray:
        """Forces (nodes of the mesh, 3) of the tractions on abutments."""
        found = np.zeros((self.mesh.doflocs.shape[1], 3))
        for name, value in self.drag.items():
            found[:, 0] += value * self.area_integrals(name)
        return found

    def seats(self) -> sp.csr_matrix:
        """Stiffness, 3 * node + direction, that ties the seats of bars on pads, which friction holds; 0 without any."""
        count = self.mesh.doflocs.shape[1]
        found = sp.csr_matrix((3 * count, 3 * count))
        for pair in (r for r in table(self.folder, "contacts.csv") if r["face_a"].startswith("pad_seat_")):
            triangles = self.triangles[self.sets[pair["face_b"]]]
            shape, normal = on_faces(self.points[triangles])
            at = np.einsum("nq,fnk->fqk", shape, self.points[triangles]).reshape(-1, 3)
            gap = self.values_at(at, pair["face_b"], (0, 2)) - self.values_at(at, pair["face_a"], (0, 2))
            own = gap.T @ sp.diags(TIE * np.linalg.norm(normal, axis=-1).ravel()) @ gap
            found = found + sp.kron(own, sp.identity(3), format="csr")
        return found

    def values_at(self, at: np.ndarray, name: str, plane: tuple[int, int] = (0, 1)) -> sp.csr_matrix:
        """Rows that give a function's value at points (N, 3) of a plane face from its values at all nodes."""
        triangles, axes = self.triangles[self.sets[name]], list(plane)
        which, s, t = located(at[:, axes], self.points[triangles][..., axes])
        shape, _, _ = triangle_functions(s, t)
        rows, columns = np.repeat(np.arange(len(at)), 6), self.place[triangles[which]].ravel()
        return sp.csr_matrix((shape.T.ravel(), (rows, columns)), shape=(len(at), self.mesh.doflocs.shape[1]))

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


def located(at: np.ndarray, corners: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """For points (N, 2) the six-node triangle (F, 6, 2) that holds each, and the local place in it.

    Where two meshes follow a curved edge differently a point lies a hair outside: the nearest triangle's functions.
    """
    _, some = cKDTree(corners[:, :3].mean(axis=1)).query(at, k=min(NEAR, len(corners)))
    some = some.reshape(len(at), -1)
    place = corners[some]  # (N, K, 6, 2)
    s = np.full(some.shape, 1 / 3)
    t = s.copy()
    for _ in range(8):
        value, along_s, along_t = triangle_functions(s, t)
        away = at[:, None] - np.einsum("mnk,nkmd->nkd", value, place)
        u, v = (np.einsum("mnk,nkmd->nkd", slope, place) for slope in (along_s, along_t))
        det = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
        s = np.clip(s + (away[..., 0] * v[..., 1] - away[..., 1] * v[..., 0]) / det, -1.0, 2.0)
        t = np.clip(t + (u[..., 0] * away[..., 1] - u[..., 1] * away[..., 0]) / det, -1.0, 2.0)
    best = np.minimum(np.minimum(s, t), 1 - s - t).argmax(axis=1)
    rows = np.arange(len(at))
    return some[rows, best], s[rows, best], t[rows, best]


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
