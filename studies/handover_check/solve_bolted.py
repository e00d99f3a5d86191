"""Halves bolted together, with bars or none, solved with contact from a package's own files, step by step.

Parts are the package's tetrahedra. Screws are bars of the stiffness in preloads.csv, which pull evenly on
`head_seat_N` and `thread_N`; their own elements are left out, as head and thread give more than plain cylinders do.
Clamp faces of contacts.csv touch without friction, one-sided, at quadrature points of the outboard faces, whose nodes
need not meet those of the inboard ones; seats of bars on pads are tied, as friction holds them. Condensation and
contact are those of the solid check, which names types of stiffcalc; no figure comes from there.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import scipy.sparse as sp
from package_files import DIRECTIONS, Package, on_faces, table
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "solid_check"))

from solid_fem import Condensed, bulk_basis, condense, stiffness
from solid_joint import Clamp, Face, JointState, closed, contact_state, sweep

SUPPORT = 1e6  # N/mm at each held freedom: statically determinate, so it moves nothing but the whole body


@dataclass(frozen=True)
class Answer:
    """Tightened, pressed and dragged state, and what a face that can also pull does: tightened, and per MPa."""

    tight: JointState
    loaded: JointState
    dragged: JointState
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
        if not self.screws:
            raise SystemExit("no preload at this load case's temperature in preloads.csv")
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

    def plane(self) -> tuple[np.ndarray, np.ndarray]:
        """Axial unknowns of all nodes of the clamp faces, and the nodes."""
        names = [n for pair in self.pairs for n in pair]
        nodes = np.unique(np.concatenate([self.place[self.triangles[self.sets[n]]].ravel() for n in names]))
        return 3 * nodes + 2, nodes

    def matrix(self) -> sp.csr_matrix:
        """Stiffness of both halves on their supports, upper triangle."""
        parts = [stiffness(bulk_basis(self.mesh, own), E=E, nu=nu) for E, nu, own in self.metals.values()]
        found = sum(parts[1:], start=parts[0]) + sp.triu(self.seats())
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
        found["drag"] = self.drag_force()
        for screw in self.screws:
            number = screw["screw"].removeprefix("bolt_")
            found[screw["screw"]] = np.zeros((count, 3))
            thread, seat = (self.area_integrals(n) for n in (f"thread_{number}", f"head_seat_{number}"))
            found[screw["screw"]][:, 2] = thread / thread.sum() - seat / seat.sum()
        return found

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
        return (self.values_at(at, high) - self.values_at(at, low)).tocsr()[:, self.nodes]

    def clamp(self, preload: list[float]) -> Clamp:
        """The screws at a preload each."""
        stiff = np.array([float(r["bolt_stiffness_N_per_mm"]) for r in self.screws])
        return Clamp(slice(-len(stiff), None), stiff, np.array(preload), np.ones(len(stiff)))

    def answer(self, words: str) -> Answer:
        """Tightened to one end of the preload, then pressed, then dragged."""
        clamp = self.clamp([float(r[f"{words}_N"]) for r in self.screws])
        load = np.array([self.pressure.get(name, 0.0) for name in self.names])
        tight, loaded = sweep(self.condensed, self.face, clamp, load=load, pressures=[1.0])
        drag, heads = np.array([float(n == "drag") for n in self.names]), tight.outputs[clamp.heads]
        dragged = contact_state(
            self.condensed, self.face, clamp, load=load + drag, tight=heads, start=loaded.lift
        )
        bonded = closed(self.condensed, self.face, clamp, load=load / float(self.step["pressure_MPa"]))
        return Answer(tight, loaded, dragged, bonded)

    def warmed(self, words: str) -> np.ndarray:
        """Bolt forces after warming from the settled state at 20 °C, one end of the preload, no pressure.

        Every part grows freely; grips outgrow their screws, whose moduli and those of the metal are of the temperature.
        """
        part = next(iter(self.metals))
        cold, warm = self.of(part, "20"), self.of(part, self.step["body_C"])
        ratio = float(cold["E_MPa"]) / float(warm["E_MPa"])
        solid = Condensed(
            ratio * self.condensed.S, self.condensed.B, self.condensed.C / ratio, self.condensed.unknowns
        )
        settled = [r for r in table(self.folder, "preloads.csv") if r["stage"] == "settled"]
        clamp = self.clamp([float(r[f"{words}_N"]) for r in settled[: len(self.screws)]])
        nothing = np.zeros(len(self.names))
        tight = contact_state(
            solid, self.face, clamp, load=nothing, tight=None, start=np.zeros(len(self.kept))
        )
        grown, softer = np.array(
            [self.outgrown(r["screw"], float(warm["expansion_per_K"])) for r in self.screws]
        ).T
        hot = Clamp(clamp.heads, softer * clamp.stiffness, softer * clamp.preload, clamp.share)
        heads = tight.outputs[clamp.heads] - grown
        return contact_state(
            self.condensed, self.face, hot, load=nothing, tight=heads, start=tight.lift
        ).bolt_force

    def outgrown(self, screw: str, expansion: float) -> tuple[float, float]:
        """By how much a grip outgrows its screw, mm, and the screw's modulus over that at 20 °C."""
        number = screw.removeprefix("bolt_")
        head, thread = (
            self.points[self.triangles[self.sets[n]], 2] for n in (f"head_seat_{number}", f"thread_{number}")
        )
        grip = np.abs(thread - head.mean()).min()
        cold, warm = self.of(screw, "20"), self.of(screw, self.step["bolt_C"])
        own = float(warm["expansion_per_K"]) * (float(self.step["bolt_C"]) - 20.0)
        apart = expansion * (float(self.step["body_C"]) - 20.0) - own
        return float(grip * apart), float(warm["E_MPa"]) / float(cold["E_MPa"])

    def of(self, part: str, degrees: str) -> dict[str, str]:
        """The material of a part at a temperature."""
        return next(r for r in self.materials(degrees) if r["part"] == part)

    def change(self, name: str, *, drag: bool = False) -> float:
        """One output's change over the step of pressure, or of drag, at least preload."""
        k, found = self.names.index(name), self.answers["min"]
        before, after = (found.loaded, found.dragged) if drag else (found.tight, found.loaded)
        return float(after.outputs[k] - before.outputs[k])

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
            return -SUPPORT * self.change(f"{names[0]} {what.split()[2]}", drag="to drag" in what)
        if what.startswith("tilt"):
            return 1e3 * (self.change(names[0]) - self.change(names[1]))
        if what.startswith("line pressure"):
            return self.onset(names)
        if what.startswith("bolt force"):
            which = [r["set"] for r in self.screws].index(names[0])
            end = "min" if "minimum" in what else "max"
            warming = "after warming" in what
            return float((self.warmed(end) if warming else self.answers[end].loaded.bolt_force)[which])
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
