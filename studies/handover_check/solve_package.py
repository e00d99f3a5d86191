"""Solve a package of a one-piece body from its own files alone, and lay what comes out beside what it expects.

    python studies/handover_check/solve_package.py FOLDER [LOAD_CASE]

Nothing of stiffcalc is imported: meshio reads the mesh, scikit-fem assembles, the tables say the rest. Elastic,
ten-node tetrahedra, pressure on floors and bore walls, held at the three supports. Screws, contact and drag are not
solved.
"""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass
from pathlib import Path

import meshio
import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as sla
from skfem import Basis, BilinearForm, ElementTetP2, ElementVector, MeshTet, MeshTet2
from skfem.models.elasticity import lame_parameters, linear_elasticity
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

EDGES = ((0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3))  # of meshio's ten-node tetrahedron
DIRECTIONS = "xyz"


@dataclass(frozen=True)
class Line:
    """One expected figure and what was solved."""

    quantity: str
    point: str
    unit: str
    expected: float
    low: float
    high: float
    solved: float

    @property
    def inside(self) -> bool:
        return self.low <= self.solved <= self.high


def main(words: list[str]) -> int:
    lines = solve(Path(words[0]), words[1] if len(words) > 1 else None)
    for e in lines:
        mark = "" if e.inside else "  OUTSIDE"
        beside = f"{e.solved / e.expected - 1:+.2%}" if e.expected else ""
        print(f"{e.quantity}, {e.point}: {e.expected:.6g} solved {e.solved:.6g} {e.unit} {beside}{mark}")
    return 0 if all(e.inside for e in lines) else 1


def table(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def solve(folder: Path, load_case: str | None = None) -> list[Line]:
    """Every expected figure of one load case (the first by default) that a body without screws has."""
    model = Model(folder)
    loads = table(folder, "loads.csv")
    name = load_case or loads[0]["load_case"]
    moved, reaction = model.loaded([r for r in loads if (r["load_case"], r["step"]) == (name, "pressure")])
    found = []
    for row in table(folder, "expected.csv"):
        if (row["load_case"], row["step"]) == (name, "pressure") and row["low"]:
            value = model.read(row, moved, reaction)
            limits = (float(row[k]) for k in ("expected", "low", "high"))
            found.append(Line(row["quantity"], row["point"], row["unit"], *limits, value))
    return found


class Model:
    """The mesh of a package with its sets, and the elastic body on it."""

    def __init__(self, folder: Path) -> None:
        read = meshio.read(folder / "mesh.vtu")
        sets = {row["name"]: row for row in table(folder, "sets.csv")}
        if any(row["name"].startswith("bolt_") for row in sets.values()):
            raise SystemExit("a package with screws needs contact, which is not solved here")
        self.folder, self.points = folder, read.points
        self.triangles = read.cells_dict["triangle6"]
        number = read.cell_data_dict["set"]["triangle6"]
        self.sets = {
            n: np.flatnonzero(number == int(r["number"])) for n, r in sets.items() if r["kind"] == "face"
        }
        self.node_sets = {n.removeprefix("nodes_"): np.flatnonzero(v) for n, v in read.point_data.items()}
        self.mesh, self.place = curved(read.points, read.cells_dict["tetra10"])
        self.basis = Basis(self.mesh, ElementVector(ElementTetP2()), intorder=2)
        material = table(folder, "materials.csv")[0]
        self.stiffness = BilinearForm(
            linear_elasticity(*lame_parameters(float(material["E_MPa"]), float(material["nu"])))
        ).assemble(self.basis)
        self.dofs = dofs_of_nodes(self.basis, self.mesh)

    def area_vector(self, name: str) -> np.ndarray:
        """Integral of each unknown's shape function times the outward normal of a set of faces."""
        triangles = self.triangles[self.sets[name]]
        found = np.zeros(self.basis.N)
        np.add.at(found, self.dofs[self.place[triangles]], normal_integrals(self.points[triangles]))
        return found

    def loaded(self, loads: list[dict[str, str]]) -> tuple[np.ndarray, np.ndarray]:
        """Movements and reactions of all unknowns under the pressures of a load case."""
        force = -sum(float(r["value"]) * self.area_vector(r["set"]) for r in loads)
        held = [
            self.dofs[self.place[self.node_sets[r["set"]][0]], DIRECTIONS.index(axis)]
            for r in table(self.folder, "supports.csv")
            for axis in r["held"].split()
        ]
        free = np.setdiff1d(np.arange(self.basis.N), held)
        moved = np.zeros(self.basis.N)
        moved[free] = direct(self.stiffness[free][:, free], force[free])
        return moved, self.stiffness @ moved - force

    def read(self, row: dict[str, str], moved: np.ndarray, reaction: np.ndarray) -> float:
        """The figure that one expected row asks for."""
        names, what = row["sets"].split(), row["quantity"]
        if what.startswith("reaction along"):
            return float(
                reaction[self.dofs[self.place[self.node_sets[names[0]][0]], DIRECTIONS.index(what[-1])]]
            )
        if what.startswith("force of the pressure"):
            own = [r for r in table(self.folder, "loads.csv") if r["load_case"] == row["load_case"]]
            value = next(float(r["value"]) for r in own if r["set"] == names[0])
            return -value * float(self.area_vector(names[0])[self.dofs[:, 2]].sum())
        if what.startswith("tilt"):
            return 1e3 * (self.slope(names[0], moved) - self.slope(names[1], moved))
        swept = sum(self.swept(n, moved) * (1 if "outboard" in n else -1) for n in names)
        area = sum(self.area(n) for n in names if "outboard" in n)
        return swept if row["unit"] == "mm3" else swept / area

    def swept(self, name: str, moved: np.ndarray) -> float:
        """Integral of the movement along z over a face."""
        across = self.area_vector(name)[self.dofs[:, 2]]
        return float(across @ moved[self.dofs[:, 2]] * np.sign(across.sum()))

    def area(self, name: str) -> float:
        """Area of a face across z."""
        return float(np.abs(self.area_vector(name)[self.dofs[:, 2]].sum()))

    def slope(self, name: str, moved: np.ndarray) -> float:
        """Slope of the movement along z over y, least squares over the nodes of a ring."""
        nodes = self.place[self.node_sets[name]]
        x, y, _ = self.mesh.doflocs[:, nodes]
        rows = np.column_stack([np.ones_like(x), x, y])
        return float(np.linalg.lstsq(rows, moved[self.dofs[nodes, 2]], rcond=None)[0][2])


def normal_integrals(corners: np.ndarray) -> np.ndarray:
    """Integrals (F, 6, 3) of the six shape functions times the normal of curved triangles (F, 6, 3)."""
    places, weights = get_quadrature(RefTri, 4)
    s, t = places
    r, zero = 1 - s - t, 0 * s
    shape = np.stack([r * (2 * r - 1), s * (2 * s - 1), t * (2 * t - 1), 4 * r * s, 4 * s * t, 4 * t * r])
    along_s = np.stack([1 - 4 * r, 4 * s - 1, zero, 4 * (r - s), 4 * t, -4 * t])
    along_t = np.stack([1 - 4 * r, zero, 4 * t - 1, -4 * s, 4 * s, 4 * (r - t)])
    u, v = (np.einsum("nq,fnk->fqk", slope, corners) for slope in (along_s, along_t))
    return np.einsum("nq,fqk,q->fnk", shape, np.cross(u, v), weights)


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


def dofs_of_nodes(basis: Basis, mesh: MeshTet2) -> np.ndarray:
    """Unknowns (nodes, 3) of corners, then edges."""
    return np.vstack([basis.nodal_dofs.T, basis.edge_dofs.T])


def direct(matrix, force: np.ndarray) -> np.ndarray:
    """Direct solution; by pypardiso where it is installed, which is ten times as fast."""
    try:
        import pypardiso
    except ImportError:
        options = {"SymmetricMode": True}
        whole = matrix.tocsc()
        return sla.splu(whole, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options).solve(
            force
        )
    solver = pypardiso.PyPardisoSolver(mtype=2)  # symmetric, positive definite: the upper triangle is enough
    found = solver.solve(sp.triu(matrix, format="csr"), force)
    solver.free_memory(everything=True)
    return found


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
