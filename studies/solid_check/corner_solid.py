"""Stress at the underside fillets of whole bodies, as 3-D solids, beside the linear stress of the bridge's section.

    python studies/solid_check/corner_solid.py       writes corner_solids.csv, about two minutes a body

One quarter of a one-piece body (symmetric in x and z) with rolling-ball fillets between bridge undersides and wall,
ten-node tetrahedra, nodal stresses averaged over the elements that meet. The side faces of a bridge meet the wall in
a sharp corner, where no peak stress exists: fillet stress is read EDGE_MM and more from them.
"""

from __future__ import annotations

import csv
from dataclasses import astuple, dataclass, fields
from pathlib import Path

import gmsh
import numpy as np
import pypardiso
from skfem import Basis, BilinearForm, ElementTetP2, ElementVector, FacetBasis, LinearForm, MeshTet2
from skfem.helpers import ddot, grad, sym_grad, trace

from stiffcalc.condensed import Array

E, NU = 71000.0, 0.33
MU, LAMBDA = E / (2 * (1 + NU)), E * NU / ((1 + NU) * (1 - 2 * NU))
EDGE_MM = 4.0
TOUCH = 1e-3
HERE = Path(__file__).parent


@dataclass(frozen=True)
class Foot:
    """A bridge, x from x0 to x1 (the half x > 0 of it is modelled), underside flat at y0 or a circle `arch`."""

    x0: float
    x1: float
    y0: float
    arch: float

    @property
    def start(self) -> float:
        return max(self.x0, 0.0)

    def low(self, x: Array) -> Array:
        return np.sqrt(self.arch**2 - x**2) if self.arch else self.y0 + 0.0 * x


@dataclass(frozen=True)
class Case:
    """One body: wall length, bottom, top, thickness, floor; half gap; one bore each side of the middle; bridges."""

    name: str
    fillet: float
    feet: tuple[Foot, ...]
    thickness: float = 34.0
    length: float = 220.0
    bottom: float = 105.0
    top: float = 190.0
    floor: float = 9.0
    gap: float = 30.5
    bore: tuple[float, float, float] = (30.0, 135.0, 42.0)


@dataclass(frozen=True)
class Row:
    """One bridge of one body, per MPa of pressure. Forces N, N mm about mid x and mid height; stresses MPa."""

    body: str
    bridge: str
    fillet: float
    thickness: float
    height: float  # at the lower corner that the section's linear stress loads most
    N: float
    Mx: float
    My: float
    linear: float  # linear stress of the section at that corner
    peak: float  # largest principal stress on the fillet, EDGE_MM and more from the bridge's sides
    unknowns: int


END, CENTRE = Foot(78, 110, 105, 168), Foot(-12, 12, 172, 0)
CASES = (
    Case("ends and centre", 3.0, (END, CENTRE)),
    Case("ends and centre", 5.0, (END, CENTRE)),
    Case("ends and centre", 8.0, (END, CENTRE)),
    Case("ends", 5.0, (END,)),
    Case("ends and centre", 5.0, (END, CENTRE), thickness=26.0),
    Case("ends and centre", 5.0, (END, CENTRE), thickness=44.0),
    Case("wide ends", 5.0, (Foot(66, 110, 105, 168),)),
    Case("ends and arched centre", 4.0, (END, Foot(-15, 15, 105, 168)), thickness=38.0, top=196.0),
    Case("long, low bores", 6.0, (Foot(100, 130, 105, 168), CENTRE), length=260.0, bore=(40.0, 130.0, 44.0)),
)


def mesh(case: Case) -> MeshTet2:
    """The quarter body, fine along the fillets."""
    gmsh.initialize(interruptible=False)
    gmsh.option.setNumber("General.Terminal", 0)
    try:
        _draw(case)
        gmsh.model.mesh.generate(3)
        gmsh.model.mesh.setOrder(2)
        tags, xyz, _ = gmsh.model.mesh.getNodes()
        _, _, nodes = gmsh.model.mesh.getElements(3)
    finally:
        gmsh.finalize()
    row = np.zeros(int(tags.max()) + 1, dtype=int)
    row[tags.astype(int)] = np.arange(len(tags))
    # gmsh and scikit-fem number the last two mid-side nodes the other way round
    tets = row[nodes[0].astype(int)].reshape(-1, 10)[:, [0, 1, 2, 3, 4, 5, 6, 7, 9, 8]]
    used, tets = np.unique(tets, return_inverse=True)
    return MeshTet2(xyz.reshape(-1, 3)[used].T.copy(), tets.reshape(-1, 10).T.copy())


def _draw(case: Case) -> None:
    occ = gmsh.model.occ
    wall = occ.addBox(0, case.bottom, case.gap, case.length / 2, case.top - case.bottom, case.thickness)
    feet = []
    for f in case.feet:
        box = [(3, occ.addBox(f.start, f.y0, 0, f.x1 - f.start, case.top - f.y0, case.gap))]
        feet += (
            occ.cut(box, [(3, occ.addCylinder(0, 0, -1, 0, 0, case.gap + 2, f.arch))])[0] if f.arch else box
        )
    body, _ = occ.fuse([(3, wall)], feet)
    occ.synchronize()
    body = occ.fillet([tag for _, tag in body], [_corner(case, f) for f in case.feet], [case.fillet])
    x, y, d = case.bore
    occ.cut(body, [(3, occ.addCylinder(x, y, case.gap - 1, 0, 0, case.thickness - case.floor + 1, d / 2))])
    along = [(u, f) for f in case.feet for u in np.linspace(f.start, f.x1, 25)]
    points = [occ.addPoint(u, float(f.low(np.array(u))), case.gap) for u, f in along]
    occ.synchronize()
    _sizes(points, case.fillet)


def _corner(case: Case, foot: Foot) -> int:
    """The edge between a bridge's underside and the wall."""
    for _, tag in gmsh.model.getEntities(1):
        x0, _, z0, x1, y1, z1 = gmsh.model.getBoundingBox(1, tag)
        flat = abs(z0 - case.gap) < TOUCH and abs(z1 - case.gap) < TOUCH
        if flat and abs(x0 - foot.start) < 0.01 and abs(x1 - foot.x1) < 0.01 and y1 < case.top - 1:
            return tag
    raise ValueError(f"{case.name}: a bridge without a corner")


def _sizes(points: list[int], fillet: float) -> None:
    field = gmsh.model.mesh.field
    near, size = field.add("Distance"), field.add("Threshold")
    field.setNumbers(near, "PointsList", points)
    values = {"InField": near, "SizeMin": fillet / 4, "SizeMax": 10.0, "DistMin": fillet, "DistMax": 40.0}
    for key, value in values.items():
        field.setNumber(size, key, value)
    field.setAsBackgroundMesh(size)
    for option in ("ExtendFromBoundary", "FromPoints"):
        gmsh.option.setNumber(f"Mesh.MeshSize{option}", 0)


@BilinearForm
def stiffness(u, v, w):
    a, b = sym_grad(u), sym_grad(v)
    return LAMBDA * trace(a) * trace(b) + 2 * MU * ddot(a, b)


def displaced(case: Case, basis: Basis) -> Array:
    """Displacements under 1 MPa on the bore's floor and wall."""
    x, y, d = case.bore
    bottom = case.gap + case.thickness - case.floor

    def bored(q: Array) -> Array:
        r = np.hypot(q[0] - x, q[1] - y)
        floor = (np.abs(q[2] - bottom) < TOUCH) & (r < d / 2)
        side = (np.abs(r - d / 2) < 0.04 * d) & (q[2] > case.gap + TOUCH) & (q[2] < bottom - TOUCH)
        return floor | side

    facets = FacetBasis(
        basis.mesh, basis.elem, facets=basis.mesh.facets_satisfying(bored, boundaries_only=True)
    )
    load = -LinearForm(lambda v, w: w.n[0] * v[0] + w.n[1] * v[1] + w.n[2] * v[2]).assemble(facets)
    # the pressure pushes against the outward normal
    z, x0 = (basis.get_dofs(lambda q, i=i: np.abs(q[i]) < 1e-6).all(f"u^{i + 1}") for i in (2, 0))
    top = basis.get_dofs(lambda q: (np.abs(q[2]) < 1e-6) & (np.abs(q[1] - case.top) < 1e-6)).all("u^2")
    free = np.setdiff1d(np.arange(basis.N), np.concatenate([z, x0, top[:1]]))
    u = np.zeros(basis.N)
    u[free] = pypardiso.spsolve(stiffness.assemble(basis)[free][:, free].tocsr(), load[free])
    return u


def stress(g: Array) -> Array:
    """Stress tensors (3, 3, ...) of displacement gradients."""
    strain = 0.5 * (g + np.swapaxes(g, 0, 1))
    return 2 * MU * strain + LAMBDA * np.trace(strain) * np.eye(3).reshape(3, 3, *[1] * (g.ndim - 2))


def section(case: Case, foot: Foot, basis: Basis, u: Array) -> tuple[Array, Array, tuple[float, float]]:
    """Forces (N, Mx, My) in the mid-plane, int a a^T dA, and the reference point."""
    facets = basis.mesh.facets_satisfying(
        lambda q: (np.abs(q[2]) < 1e-6) & (q[0] > foot.start) & (q[0] < foot.x1), boundaries_only=True
    )
    cut = FacetBasis(basis.mesh, basis.elem, facets=facets)
    x, y, _ = cut.global_coordinates().value
    at = (
        0.5 * (foot.x0 + foot.x1),
        0.5 * (float(foot.low(np.array(foot.x0 * 0.5 + foot.x1 * 0.5))) + case.top),
    )
    a = np.stack([np.ones_like(x), y - at[1], at[0] - x])
    normal = stress(grad(cut.interpolate(u)))[2, 2]
    force, area = np.einsum("ief,ef->i", a, normal * cut.dx), np.einsum("ief,jef,ef->ij", a, a, cut.dx)
    if foot.x0 < 0:  # the other half mirrors this one
        mirror = np.diag([1.0, 1.0, -1.0])
        force, area = force + mirror @ force, area + mirror @ area @ mirror
    return force, area, at


def fillet_peak(case: Case, foot: Foot, basis: Basis, u: Array) -> float:
    """Largest principal stress at the nodes of a fillet away from the bridge's sides."""
    r, q = case.fillet, basis.mesh.doflocs
    depth = foot.arch - np.hypot(q[0], q[1]) if foot.arch else foot.y0 - q[1]  # below the underside
    short = case.gap - q[2]
    on = np.abs(np.hypot(depth - r, short - r) - r) < 0.02 * r
    on &= (depth < r + TOUCH) & (short < r + TOUCH) & (q[0] < foot.x1 - EDGE_MM)
    on &= q[0] > (foot.start + EDGE_MM if foot.x0 > 0 else -TOUCH)
    touching = np.flatnonzero(on[basis.mesh.dofs.element_dofs].any(axis=0))
    points = basis.elem.elem.doflocs.T
    local = Basis(basis.mesh, basis.elem, elements=touching, quadrature=(points, np.ones(points.shape[1])))
    tensors = np.moveaxis(stress(grad(local.interpolate(u))), (0, 1), (2, 3))
    nodes = basis.mesh.dofs.element_dofs[:, touching].T
    total, count = np.zeros((q.shape[1], 3, 3)), np.zeros(q.shape[1])
    np.add.at(total, nodes, tensors)
    np.add.at(count, nodes, 1.0)
    return float(np.linalg.eigvalsh(total[on] / count[on, None, None])[:, 2].max())


def rows(case: Case) -> list[Row]:
    """Both bridges of a body, solved."""
    basis = Basis(mesh(case), ElementVector(ElementTetP2()), intorder=4)
    u = displaced(case, basis)
    found = []
    for foot in case.feet:
        force, area, at = section(case, foot, basis, u)
        x = np.array([foot.x0, foot.x1])
        low = foot.low(x)
        linear = np.array([np.ones(2), low - at[1], at[0] - x]).T @ np.linalg.solve(area, force)
        k = int(linear.argmax())
        name = "end" if foot.x0 > 0 else "centre"
        peak = fillet_peak(case, foot, basis, u)
        found.append(Row(
            case.name, name, case.fillet, case.thickness, float(case.top - low[k]), *(float(f) for f in force),
            float(linear[k]), peak, basis.N,
        ))  # fmt: skip
    return found


def main() -> None:
    with (HERE / "corner_solids.csv").open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow([f.name for f in fields(Row)])
        for case in CASES:
            for row in rows(case):
                out.writerow([f"{v:.6g}" if isinstance(v, float) else v for v in astuple(row)])
                print(row, flush=True)
            file.flush()


if __name__ == "__main__":
    main()
