"""A bar bolted across the opening, its ends as pads in slots of the walls, beside the same bar in one piece, as solids.

    python studies/solid_check/pad_solid.py       writes pad_local.csv and pad_bodies.csv, about fifteen minutes

The pad is bonded to the wall over its seat (no slip, nothing lifts), its clearance holes are there, and it stands GAP
clear of the slot's flanks and back. Ten-node tetrahedra, fillets left out.

Local: a block of wall, held at its ends and bottom, with half a bar; flexibility of the bar's end (movements (w,
theta_x, theta_y) per (N, Mx, My) about the middle of its section), with pads minus in one piece.
Bodies: a quarter of a one-piece body; opening per MPa without the bar, with it in one piece, and with pads.
All bodies are random inventions; even numbers are fitted to, odd ones are blind.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import gmsh
import numpy as np
import pypardiso
import scipy.sparse as sp
import solid
import solid_mesh
from bodies import rectangle
from skfem import Basis, ElementTetP2, MeshTet2
from solid_fem import as_skfem, bulk_basis, condense, stiffness, surface
from solid_mesh import Sizes, TetMesh

from stiffcalc.caliper.body import Body, BoreShape, BridgeShape, HalfShape
from stiffcalc.condensed import Array

E, NU = 71000.0, 0.33
GAP = 0.25  # mm between pad and slot
SIZE = 3.0  # mm, elements round the seat of the local block
HALF_BLOCK = 60.0
REACH = 28.0  # half the gap between the walls
HERE = Path(__file__).parent
SEED, LOCAL, BODIES = 20, 16, 28


@dataclass(frozen=True)
class Pad:
    """Bar width (x) and height (y), pad length (z), wall thickness and height below its top; holes along the width."""

    width: float
    height: float
    length: float
    thickness: float
    wall: float
    holes: int
    hole: float
    E_bar: float

    @property
    def places(self) -> Array:
        """x of the holes: evenly over the width."""
        return self.width * ((np.arange(self.holes) + 0.5) / self.holes - 0.5)


def random_pad(draw: np.random.Generator, *, E_bar: float = E) -> Pad:
    """One pad of the range that is compared."""
    thickness = draw.uniform(24.0, 44.0)
    width, height = draw.uniform(24.0, 60.0), draw.uniform(14.0, 34.0)
    length = min(draw.uniform(0.5, 0.8) * thickness, 1.2 * width)
    holes = 1 if width < 32.0 else 2
    hole = draw.choice([6.6, 9.0] if min(width / holes, length) > 14.0 else [6.6])
    figures = (round(float(v), 1) for v in (width, height, length, thickness))
    return Pad(*figures, wall=54.0 + round(height, 1), holes=holes, hole=float(hole), E_bar=E_bar)


# The local block


def local_flexibility(pad: Pad, *, pads: bool) -> Array:
    """(3, 3) of half a bar and the block; `pads` False: in one piece."""
    mesh = as_skfem(_block(pad, pads=pads))
    basis = bulk_basis(mesh)
    x, y, _ = basis.doflocs
    still = (np.abs(y + pad.wall) < 1e-6) | (np.abs(np.abs(x) - HALF_BLOCK) < 1e-6)
    free = np.setdiff1d(np.arange(3 * basis.N), (3 * np.flatnonzero(still)[:, None] + np.arange(3)).ravel())
    loads, area = _end_loads(mesh, basis, pad)
    upper = _stiffness(mesh, pad)
    full = (upper + sp.triu(upper, 1).T).tocsr()[free][:, free]
    moved = pypardiso.spsolve(full, loads[free])
    own = np.linalg.inv(area)
    flexibility: Array = own @ (loads[free].T @ moved) @ own
    return flexibility


def _stiffness(mesh: MeshTet2, pad: Pad) -> sp.csr_matrix:
    """Wall of E, bar with its pads of its own modulus."""
    x, y, z = mesh.p[:, mesh.t].mean(axis=1)
    over = (np.abs(x) < pad.width / 2) & (y > -pad.height)
    bar = over & (z < REACH + pad.length)
    parts = [(~bar, E), (bar, pad.E_bar)]
    bases = [(Basis(mesh, ElementTetP2(), intorder=2, elements=np.flatnonzero(p)), e) for p, e in parts]
    return sum(stiffness(b, E=e, nu=NU) for b, e in bases)


def _block(pad: Pad, *, pads: bool) -> TetMesh:
    """Wall top at y = 0, wall from z = REACH outward, bar from z = 0."""
    with solid_mesh._model():
        occ = gmsh.model.occ
        wall = [(3, occ.addBox(-HALF_BLOCK, -pad.wall, REACH, 2 * HALF_BLOCK, pad.wall, pad.thickness))]
        bar = [(3, occ.addBox(-pad.width / 2, -pad.height, 0, pad.width, pad.height, REACH))]
        _join(wall, bar, pad, top=0.0, x=(-pad.width / 2, pad.width / 2), pads=pads)
        _fine_round_the_seat(pad)
        gmsh.model.mesh.generate(3)
        nodes, tets = solid_mesh._read_tets()
    return TetMesh(nodes, tets, False, True, 0.0)


def _join(
    wall: list, bar: list, pad: Pad, *, top: float, x: tuple[float, float], pads: bool, whole: bool = True
) -> None:
    """Fuse wall and bar: in one piece, or by the seats of pads in slots. `whole` False: the half x >= 0."""
    occ = gmsh.model.occ
    low, width = top - pad.height, x[1] - x[0]
    if pads:
        slot = occ.addBox(x[0] - GAP, low, REACH - 1, width + 2 * GAP, pad.height + 1, pad.length + 1 + GAP)
        wall, _ = occ.cut(wall, [(3, slot)])
        start = x[0] if whole else 0.0
        bar, _ = occ.fuse(bar, [(3, occ.addBox(start, low, REACH, x[1] - start, pad.height, pad.length))])
        place = REACH + pad.length / 2
        holes = [(3, occ.addCylinder(u, low, place, 0, pad.height + 1, 0, pad.hole / 2)) for u in pad.places]
        bar, _ = occ.cut(bar, holes)
    occ.fuse(wall, bar)
    occ.removeAllDuplicates()
    occ.synchronize()
    if len(gmsh.model.getEntities(3)) != 1:
        raise ValueError("bar and wall do not form one body")


def _fine_round_the_seat(pad: Pad) -> None:
    field = gmsh.model.mesh.field
    box = field.add("Box")
    sizes = {"VIn": SIZE, "VOut": 4 * SIZE, "Thickness": 25.0}
    sizes |= {"XMin": -pad.width / 2 - 4, "XMax": pad.width / 2 + 4, "YMin": -pad.height - 8, "YMax": 1.0}
    sizes |= {"ZMin": REACH - 6, "ZMax": REACH + pad.length + 6}
    for key, value in sizes.items():
        field.setNumber(box, key, value)
    field.setAsBackgroundMesh(box)
    for option in ("ExtendFromBoundary", "FromPoints"):
        gmsh.option.setNumber(f"Mesh.MeshSize{option}", 0)


def _end_loads(mesh: MeshTet2, basis: Basis, pad: Pad) -> tuple[Array, Array]:
    """Loads (n, 3) of tractions a on the bar's end, a = [1, y - y_r, -x], and int a a^T dA."""
    facets = mesh.boundary_facets()
    end = surface(mesh, facets[(np.abs(mesh.p[2][mesh.facets[:, facets]]) < 1e-6).all(axis=0)])
    at = np.einsum("nq,fnd->fqd", end.shape, mesh.doflocs.T[end.nodes])
    weight = np.linalg.norm(end.area, axis=-1)
    a = np.stack([np.ones_like(weight), at[..., 1] + pad.height / 2, -at[..., 0]], axis=-1)
    loads = np.zeros((3 * basis.N, 3))
    for i in range(3):
        np.add.at(loads[:, i], 3 * end.nodes + 2, np.einsum("nq,fq->fn", end.shape, weight * a[..., i]))
    return loads, np.einsum("fq,fqi,fqj->ij", weight, a, a)


# Whole bodies


def random_body(draw: np.random.Generator) -> tuple[Body, Pad]:
    """A one-piece body with two or three bores a side and a flat centre bridge, last in the list, and its pads."""
    pad = random_pad(draw)
    three = draw.random() < 0.4
    spacing, diameter = (46.0, 38.0) if three else (draw.uniform(27.0, 33.0), draw.uniform(34.0, 42.0))
    places = (-spacing, 0.0, spacing) if three else (-spacing, spacing)
    length, ends = (240.0 if three else 190.0), draw.uniform(26.0, 42.0)
    top = 153.0 + pad.height
    bores = tuple(BoreShape(x, 124.0, float(diameter)) for x in places)
    half = HalfShape(
        rectangle(-length / 2, length / 2, 99.0, top), pad.thickness, round(draw.uniform(7, 11), 1), bores, ()
    )
    low = {"y0": 99.0, "y1": top, "arch": 153.0, "fillet": 0.0, "E": E, "nu": NU, "jointed": False}
    bridges = (
        BridgeShape(name="leading end", x0=-length / 2, x1=-length / 2 + ends, **low),
        BridgeShape(name="trailing end", x0=length / 2 - ends, x1=length / 2, **low),
        BridgeShape(name="bar", x0=-pad.width / 2, x1=pad.width / 2, **{**low, "y0": 153.0, "arch": None}),
    )
    return Body(half, half, REACH, bridges, (), E, NU), pad


def without_bar(body: Body) -> Body:
    """The same body without its last bridge."""
    return replace(body, bridges=body.bridges[:-1])


def opening(body: Body, pad: Pad | None = None) -> tuple[float, float]:
    """Mean opening over the bores, um per MPa, and mean tilt of a half, mrad per MPa; `pad`: the last bridge has it."""
    with solid_mesh._model():
        tag = solid_mesh._solid(without_bar(body) if pad else body, quarter=True, whole=False)
        if pad:
            bar = body.bridges[-1]
            box = gmsh.model.occ.addBox(0.0, bar.y0, 0.0, bar.x1, pad.height, REACH)
            _join([(3, tag)], [(3, box)], pad, top=bar.y1, x=(bar.x0, bar.x1), pads=True, whole=False)
        solid_mesh._set_sizes(body, Sizes())
        if pad:
            _fine_in_the_slot(body, pad)
        gmsh.model.mesh.generate(3)
        nodes, tets = solid_mesh._read_tets()
    return _read(body, TetMesh(nodes, tets, True, False, 0.0))


def _fine_in_the_slot(body: Body, pad: Pad) -> None:
    bar = body.bridges[-1]
    for dim, tag in gmsh.model.getEntities(0):
        x, y, z = gmsh.model.getValue(dim, tag, [])
        if x < bar.x1 + 1 and y > bar.y0 - 1 and REACH - 1 < z < REACH + pad.length + 1:
            gmsh.model.mesh.setSize([(dim, tag)], Sizes().root)


def _read(body: Body, mesh: TetMesh) -> tuple[float, float]:
    fem = as_skfem(mesh)
    basis = bulk_basis(fem)
    bores = tuple(i for i, b in enumerate(body.outboard.bores) if b.x > -solid.TOUCH)
    columns = [c for i in bores for c in solid._bore_columns(fem, basis, body, body.outboard, 1.0, i)]
    held, kept, _ = solid._supports(fem, basis, mesh, jointed=False)
    answer = condense(stiffness(basis, E=E, nu=NU), np.array(columns).T, held=held, kept=kept)
    share = np.array([solid._share(body.outboard.bores[i].x, True) for i in bores])
    whole = solid.Solid(body, bores, share, 1, answer, None, (), np.empty(0), answer.unknowns, 0.0, 0.0)
    found = solid.glued(whole)
    weight = share / share.sum()
    return float(weight @ found.opening), float(weight @ found.tilt)


# Tables


def main(argv: Sequence[str] | None = None) -> int:
    draw = np.random.default_rng(SEED)
    with _table("pad_local.csv") as out:
        for i in range(LOCAL):
            pad = random_pad(draw, E_bar=(E, 205000.0)[i // 2 % 2])
            extra = local_flexibility(pad, pads=True) - local_flexibility(pad, pads=False)
            figures = {"N_N": extra[0, 0], "N_Mx": extra[0, 1], "Mx_Mx": extra[1, 1], "My_My": extra[2, 2]}
            out({"pad": i, **asdict(pad), **figures})
    with _table("pad_bodies.csv") as out:
        for i in range(BODIES):
            body, pad = random_body(draw)
            row = {
                "body": i,
                **asdict(pad),
                "bores": len(body.outboard.bores),
                "bore_x": body.outboard.bores[-1].x,
            }
            row |= {"bore_d": body.outboard.bores[0].diameter, "floor": body.outboard.floor}
            row |= {"ends": body.bridges[0].x1 - body.bridges[0].x0}
            for name, form in (("none", (without_bar(body),)), ("integral", (body,)), ("pads", (body, pad))):
                row[f"{name}_um"], row[f"{name}_tilt"] = opening(*form)
            out(row)
    return 0


class _table:
    """Writes rows as they come, with the keys of the first as heading."""

    def __init__(self, name: str) -> None:
        self.path = HERE / name

    def __enter__(self):
        self.file = self.path.open("w", newline="", encoding="utf-8")
        self.writer = None
        return self.row

    def row(self, values: dict[str, float]) -> None:
        if self.writer is None:
            self.writer = csv.DictWriter(self.file, values, lineterminator="\n")
            self.writer.writeheader()
        self.writer.writerow({k: f"{v:.6g}" if isinstance(v, float) else v for k, v in values.items()})
        self.file.flush()
        print(values, flush=True)

    def __exit__(self, *error: object) -> None:
        self.file.close()


if __name__ == "__main__":
    raise SystemExit(main())
