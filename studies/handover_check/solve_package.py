"""Solve a package from its own files alone, and lay what comes out beside what it expects.

    python studies/handover_check/solve_package.py FOLDER [LOAD_CASE]

Meshio reads the mesh, scikit-fem assembles, the tables say the rest. Elastic, ten-node tetrahedra, pressure on floors
and bore walls, drag on abutments where the package has them, held at the supports; seats of bars on pads are tied. A
body in one piece is solved here, and nothing of stiffcalc is imported for it; what clamp faces join, with contact and
warming, by `solve_bolted.py`. Figures of `expected.csv` without a band are left out.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as sla
from package_files import DIRECTIONS, Package, table
from skfem import Basis, BilinearForm, ElementTetP2, ElementVector, MeshTet2
from skfem.models.elasticity import lame_parameters, linear_elasticity


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


def solve(folder: Path, load_case: str | None = None) -> list[Line]:
    """Every expected figure with a band of one load case (the first by default)."""
    name = load_case or table(folder, "loads.csv")[0]["load_case"]
    if name not in {r["load_case"] for r in table(folder, "steps.csv")}:
        raise SystemExit(f"no load case {name!r} in the package")
    if any(r["pair"].startswith("clamp plane") for r in table(folder, "contacts.csv")):
        from solve_bolted import Bolted

        model = Bolted(folder, name)
    else:
        model = OnePiece(folder, name)
    found = []
    for row in table(folder, "expected.csv"):
        if row["load_case"] == name and row["low"] and not row["quantity"].startswith("sum of the mounting"):
            limits = (float(row[k]) for k in ("expected", "low", "high"))
            found.append(Line(row["quantity"], row["point"], row["unit"], *limits, model.read(row)))
    return found


class OnePiece(Package):
    """The elastic body of a package without clamp faces, under pressure, and under drag, of one load case."""

    def __init__(self, folder: Path, load_case: str) -> None:
        super().__init__(folder, load_case)
        self.basis = Basis(self.mesh, ElementVector(ElementTetP2()), intorder=2)
        self.dofs = dofs_of_nodes(self.basis, self.mesh)
        self.stiffness = self.assembled()
        pressure = -sum(value * self.integrals(name) for name, value in self.pressure.items())
        (self.moved, self.reaction), (_, self.to_drag) = self.answers([pressure, self.drag_force()])

    def assembled(self) -> sp.csr_matrix:
        """Stiffness of every metal, and of the seats that are tied."""
        parts = [
            BilinearForm(linear_elasticity(*lame_parameters(E, nu))).assemble(self.basis.with_elements(own))
            for E, nu, own in self.metals.values()
        ]
        seats, place = self.seats().tocoo(), self.dofs.ravel()
        tied = sp.csr_matrix((seats.data, (place[seats.row], place[seats.col])), shape=parts[0].shape)
        return sum(parts[1:], start=parts[0]) + tied

    def answers(self, loads: list[np.ndarray]) -> list[tuple[np.ndarray, np.ndarray]]:
        """Movements and reactions (nodes, 3) under each of several forces (nodes, 3)."""
        force = np.zeros((self.basis.N, len(loads)))
        force[self.dofs.ravel()] = np.stack([f.ravel() for f in loads], axis=1)
        held = [self.dofs[node, DIRECTIONS.index(axis)] for _, axis, node in self.held]
        free = np.setdiff1d(np.arange(self.basis.N), held)
        moved = np.zeros_like(force)
        moved[free] = direct(self.stiffness[free][:, free], force[free])
        reaction = self.stiffness @ moved - force
        return [(moved[self.dofs, k], reaction[self.dofs, k]) for k in range(len(loads))]

    def read(self, row: dict[str, str]) -> float:
        """The figure that one expected row asks for."""
        names, what = row["sets"].split(), row["quantity"]
        if what.startswith("reaction along"):
            along = what.split()[2]
            node = next(n for name, axis, n in self.held if (name, axis) == (names[0], along))
            found = self.to_drag if "to drag" in what else self.reaction
            return float(found[node, DIRECTIONS.index(along)])
        if what.startswith("force of the pressure"):
            return self.statics(row)
        if what.startswith("tilt"):
            return 1e3 * (self.slope(names[0]) - self.slope(names[1]))
        swept = sum(self.swept(n) * (1 if "outboard" in n else -1) for n in names)
        area = sum(self.area(n) for n in names if "outboard" in n)
        return swept if row["unit"] == "mm3" else swept / area

    def swept(self, name: str) -> float:
        """Integral of the movement along z over a face."""
        across = self.integrals(name)[:, 2]
        return float(across @ self.moved[:, 2] * np.sign(across.sum()))

    def slope(self, name: str) -> float:
        """Slope of the movement along z over y along a ring."""
        nodes, weights = self.slope_weights(name)
        return float(weights @ self.moved[nodes, 2])


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
