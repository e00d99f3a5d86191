"""Halves bolted together, with bars or none, solved with contact from a package's own files: tightened, then pressed.

Parts are the package's tetrahedra. Screws are bars of the stiffness in preloads.csv, which pull evenly on
`head_seat_N` and `thread_N`; their own elements are left out, as head and thread give more than plain cylinders do.
Clamp faces of contacts.csv touch without friction, one-sided, at quadrature points of the outboard faces, whose nodes
need not meet those of the inboard ones. Condensation and contact are those of the solid check, which names types of
stiffcalc; no figure comes from there.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import scipy.sparse as sp
from package_files import DIRECTIONS, Package, on_faces, table, triangle_functions
from scipy.spatial import cKDTree
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "solid_check"))

from solid_fem import bulk_basis, condense, stiffness
from solid_joint import Clamp, Face, JointState, closed, sweep

SUPPORT = 1e6  # N/mm at each held freedom: statically determinate, so it moves nothing but the whole body
NEAR = 12  # triangles looked at for the one that holds a point


@dataclass(frozen=True)
class Answer:
    """Tightened and pressed state, and what a face that can also pull does: tightened, and per MPa."""

    tight: JointState
    loaded: JointState
    bonded: tuple[JointState, JointState]


class Bolted(Package):
    """Both halves condensed to their clamp faces, answered at least and greatest preload of one load case."""

    def __init__(self, folder: Path, load_case: str) -> None:
        super().__init__(folder, load_case)
        self.screws = [r for r in table(folder, "preloads.csv") if r["stage"] == f"settled, at {load_case}"]
        self.pairs = [
            (r["face_a"], r["face_b"])
            for r in table(folder, "contacts.csv")
            if r["pair"].startswith("clamp plane")
        ]
        self.refuse_what_is_not_solved()
        self.kept, self.nodes = self.plane()
        self.face, self.rounds = self.contact()
        columns = self.columns()
        self.names = list(columns)
        self.condensed = condense(
            self.matrix(),
            np.array(list(columns.values())).reshape(len(columns), -1).T,
            held=np.array([], dtype=int),
            kept=self.kept,
        )
        self.answers = {words: self.answer(words) for words in ("min", "max")}

    def refuse_what_is_not_solved(self) -> None:
        """Bars on pads bear along y, bars of another metal need a matrix of their own."""
        rows = [r for r in table(self.folder, "materials.csv") if not r["part"].startswith("bolt_")]
        if any(name.startswith("pad_seat_") for name in self.sets):
            raise SystemExit("bars on pads are not solved here")
        if len({(r["E_MPa"], r["nu"]) for r in rows if r["temperature_C"] == self.step["body_C"]}) > 1:
            raise SystemExit("parts of unlike metals are not solved here")
        if not self.screws:
            raise SystemExit("no preload at this load case's temperature in preloads.csv")

    def plane(self) -> tuple[np.ndarray, np.ndarray]:
        """Axial unknowns of all nodes of the clamp faces, and the nodes."""
        names = [n for pair in self.pairs for n in pair]
        nodes = np.unique(np.concatenate([self.place[self.triangles[self.sets[n]]].ravel() for n in names]))
        return 3 * nodes + 2, nodes

    def matrix(self) -> sp.csr_matrix:
        """Stiffness of both halves on their supports, upper triangle."""
        E, nu = self.elastic
        found = stiffness(bulk_basis(self.mesh), E=E, nu=nu)
        held = np.zeros(found.shape[0])
        held[[3 * node + DIRECTIONS.index(axis) for _, axis, node in self.held]] = SUPPORT
        return (found + sp.diags(held)).tocsr()

    def columns(self) -> dict[str, np.ndarray]:
        """Loads that are outputs too: pressures, slopes of mouths, supports, stretch of the screws last."""
        count = self.mesh.doflocs.shape[1]
        found = {name: -self.integrals(name) for name in self.pressure}
        for name in (n for n in self.node_sets if n.startswith("mouth_")):
            nodes, weights = self.slope_weights(name)
            found[name] = np.zeros((count, 3))
            found[name][nodes, 2] = weights
        for name, axis, node in self.held:
            found[f"{name} {axis}"] = np.zeros((count, 3))
            found[f"{name} {axis}"][node, DIRECTIONS.index(axis)] = 1.0
        for screw in self.screws:
            number = screw["screw"].removeprefix("bolt_")
            found[screw["screw"]] = np.zeros((count, 3))
            found[screw["screw"]][:, 2] = self.mean(f"thread_{number}") - self.mean(f"head_seat_{number}")
        return found

    def mean(self, name: str) -> np.ndarray:
        """Weights (nodes,) of the area mean over a set of faces."""
        triangles = self.triangles[self.sets[name]]
        shape, normal = on_faces(self.points[triangles])
        found = np.zeros(self.mesh.doflocs.shape[1])
        np.add.at(
            found, self.place[triangles], np.einsum("nq,fq->fn", shape, np.linalg.norm(normal, axis=-1))
        )
        return found / found.sum()

    def contact(self) -> tuple[Face, list[sp.csr_matrix]]:
        """Quadrature of all outboard clamp faces, and by face the mean gap over the elements round each corner.

        Means, because gaps at single nodes swing about zero where a pressed face ends at a sealed disc.
        """
        points, weights, rounds = [], [], []
        for low, high in self.pairs:
            triangles = self.triangles[self.sets[high]]
            shape, normal = on_faces(self.points[triangles])
            own = self.gap(np.einsum("nq,fnk->fqk", shape, self.points[triangles]).reshape(-1, 3), high, low)
            area = np.linalg.norm(normal, axis=-1)
            rounds.append(corner_means(triangles[:, :3], area) @ own)
            points.append(own)
            weights.append(area.ravel())
        plane = self.mesh.doflocs[:2, self.nodes].T
        return Face(sp.vstack(points).tocsr(), np.concatenate(weights), plane), rounds

    def gap(self, at: np.ndarray, high: str, low: str) -> sp.csr_matrix:
        """Movement along z of the upper face less that of the lower one at points of their plane."""
        return (self.interpolation(at, high) - self.interpolation(at, low)).tocsr()

    def interpolation(self, at: np.ndarray, name: str) -> sp.csr_matrix:
        """Rows that give a face's movement along z at points (N, 3) from the kept ones."""
        triangles = self.triangles[self.sets[name]]
        which, s, t = located(at[:, :2], self.points[triangles][..., :2])
        shape, _, _ = triangle_functions(s, t)
        columns = np.searchsorted(self.nodes, self.place[triangles[which]])
        rows = np.repeat(np.arange(len(at)), 6)
        return sp.csr_matrix((shape.T.ravel(), (rows, columns.ravel())), shape=(len(at), len(self.nodes)))

    def answer(self, words: str) -> Answer:
        """Tightened to one end of the preload, then pressed."""
        given = [[float(r[k]) for r in self.screws] for k in ("bolt_stiffness_N_per_mm", f"{words}_N")]
        clamp = Clamp(
            slice(-len(self.screws), None), np.array(given[0]), np.array(given[1]), np.ones(len(self.screws))
        )
        load = np.array([self.pressure.get(name, 0.0) for name in self.names])
        tight, loaded = sweep(self.condensed, self.face, clamp, load=load, pressures=[1.0])
        bonded = closed(self.condensed, self.face, clamp, load=load / float(self.step["pressure_MPa"]))
        return Answer(tight, loaded, bonded)

    def change(self, name: str) -> float:
        """One output's change over the step of pressure, at least preload."""
        k, found = self.names.index(name), self.answers["min"]
        return float(found.loaded.outputs[k] - found.tight.outputs[k])

    def onset(self, names: list[str]) -> float:
        """Pressure at which a face first parts, from faces that can also pull; 0: parted when tightened.

        A bar has a face at either end; the first one counts.
        """
        gap = sp.vstack(
            [own for pair, own in zip(self.pairs, self.rounds, strict=True) if set(pair) & set(names)]
        )
        tight, rate = (gap @ s.lift for s in self.answers["min"].bonded)
        leaves = rate > 0
        return float((np.maximum(-tight[leaves], 0.0) / rate[leaves]).min(initial=np.inf))

    def read(self, row: dict[str, str]) -> float:
        """The figure that one expected row asks for."""
        names, what = row["sets"].split(), row["quantity"]
        if what.startswith("force of the pressure"):
            return self.statics(row)
        if what.startswith("reaction along"):
            return -SUPPORT * self.change(f"{names[0]} {what[-1]}")
        if what.startswith("tilt"):
            return 1e3 * (self.change(names[0]) - self.change(names[1]))
        if what.startswith("line pressure"):
            return self.onset(names)
        if what.startswith("bolt force"):
            which = [r["set"] for r in self.screws].index(names[0])
            return float(self.answers["min" if "minimum" in what else "max"].loaded.bolt_force[which])
        swept = sum(self.change(n) for n in names)
        return swept if row["unit"] == "mm3" else swept / sum(self.area(n) for n in names if "outboard" in n)


def corner_means(corners: np.ndarray, area: np.ndarray) -> sp.csr_matrix:
    """Rows that make means round each corner of triangles (F, 3) of values at their points, areas (F, Q)."""
    s, t = get_quadrature(RefTri, 4)[0]
    linear = np.stack([1 - s - t, s, t])
    _, rows = np.unique(corners, return_inverse=True)
    rows = np.broadcast_to(rows.reshape(-1, 3, 1), (len(corners), 3, len(s)))
    columns = np.broadcast_to(np.arange(area.size).reshape(len(area), 1, -1), rows.shape)
    found = sp.csr_matrix(((area[:, None] * linear).ravel(), (rows.ravel(), columns.ravel())))
    return (sp.diags(1.0 / np.asarray(found.sum(axis=1)).ravel()) @ found).tocsr()


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
