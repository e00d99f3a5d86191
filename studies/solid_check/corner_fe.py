"""Stress factors of filleted plane corners by quadratic plane-stress finite elements (scikit-fem on a gmsh mesh).

The mesh has twelve element sides a fillet radius at the fillet; halving them moves the factors by less than 0.5 %
(test). Stress is the tangential one on the arc itself, from the elements' own strains, not averaged.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import gmsh
import numpy as np
from scipy.sparse.linalg import splu
from skfem import Basis, ElementTriP2, ElementVector, FacetBasis, LinearForm, MeshTri2
from skfem.helpers import grad
from skfem.models.elasticity import linear_elasticity

from stiffcalc.condensed import Array

E, NU = 71000.0, 0.33  # the factors do not depend on them: force loads, simply connected

Point = tuple[float, float]
Traction = Callable[[Array, Array], tuple[Array, Array]]


@dataclass(frozen=True)
class Arc:
    """A fillet between the corner before and the corner after it in an outline, about `centre`."""

    centre: Point


def mesh_outline(outline: list[Point | Arc], *, radius: float, sides: int = 12) -> MeshTri2:
    """Six-node triangles inside a closed outline, fine at its arcs."""
    gmsh.initialize(interruptible=False)
    gmsh.option.setNumber("General.Terminal", 0)
    try:
        _draw(outline, radius=radius, sides=sides)
        gmsh.model.mesh.generate(2)
        gmsh.model.mesh.setOrder(2)
        tags, xyz, _ = gmsh.model.mesh.getNodes()
        _, _, nodes = gmsh.model.mesh.getElements(2)
    finally:
        gmsh.finalize()
    row = np.full(int(tags.max()) + 1, -1)
    row[tags.astype(int)] = np.arange(len(tags))
    triangles = row[nodes[0].astype(int)].reshape(-1, 6)
    used, triangles = np.unique(triangles, return_inverse=True)
    return MeshTri2(xyz.reshape(-1, 3)[used, :2].T.copy(), triangles.reshape(-1, 6).T.copy())


def _draw(outline: list[Point | Arc], *, radius: float, sides: int) -> None:
    geo, field = gmsh.model.geo, gmsh.model.mesh.field
    corners = [p for p in outline if not isinstance(p, Arc)]
    tag = {p: geo.addPoint(*p, 0) for p in corners}
    lines, sizes = [], []
    for i, item in enumerate(outline):
        after = outline[(i + 1) % len(outline)]
        if isinstance(item, Arc):
            start, end = tag[outline[i - 1]], tag[after]  # type: ignore[index]
            lines.append(geo.addCircleArc(start, geo.addPoint(*item.centre, 0), end))
            sizes.append(field.add("MathEval"))
            x, y = item.centre
            away = f"Fabs(sqrt((x-({x}))^2+(y-({y}))^2)-{radius})+Max(0,sqrt((x-({x}))^2+(y-({y}))^2)-{1.5 * radius})"
            field.setString(sizes[-1], "F", f"{radius / sides}+0.12*({away})")
        elif not isinstance(after, Arc):
            lines.append(geo.addLine(tag[item], tag[after]))
    geo.addPlaneSurface([geo.addCurveLoop(lines)])
    geo.synchronize()
    smallest = field.add("Min")
    field.setNumbers(smallest, "FieldsList", sizes)
    field.setAsBackgroundMesh(smallest)
    for option in ("ExtendFromBoundary", "FromPoints", "FromCurvature"):
        gmsh.option.setNumber(f"Mesh.MeshSize{option}", 0)


@dataclass(frozen=True)
class Loaded:
    """A solved plane: its basis, displacements and nodal loads."""

    basis: Basis
    u: Array
    load: Array


def solve(mesh: MeshTri2, *, loaded: Callable[[Array], Array], traction: Traction, held: float) -> Loaded:
    """Tractions (at x, y) on the boundary facets `loaded`, the edge x = `held` kept from moving along x."""
    basis = Basis(mesh, ElementVector(ElementTriP2()), intorder=4)
    K = linear_elasticity(E * NU / (1 - NU**2), E / (2 * (1 + NU))).assemble(basis)
    facets = FacetBasis(mesh, basis.elem, facets=mesh.facets_satisfying(loaded, boundaries_only=True))

    @LinearForm
    def push(v, w):
        tx, ty = traction(*w.x)
        return tx * v[0] + ty * v[1]

    load = push.assemble(facets)
    on_edge = basis.get_dofs(lambda x: np.abs(x[0] - held) < 1e-9)
    fixed = np.append(on_edge.all("u^1"), on_edge.all("u^2")[:1])
    free = np.setdiff1d(np.arange(basis.N), fixed)
    u = np.zeros(basis.N)
    u[free] = splu(K[free][:, free].tocsc()).solve(load[free])
    return Loaded(basis, u, load)


def arc_stress(solved: Loaded, *, centre: Point, radius: float) -> Array:
    """Tangential stress along a fillet, MPa, at the facets' integration points."""
    mesh = solved.basis.mesh

    def on_arc(x: Array) -> Array:
        return np.abs(np.hypot(x[0] - centre[0], x[1] - centre[1]) - radius) < 0.02 * radius

    facets = FacetBasis(
        mesh, solved.basis.elem, facets=mesh.facets_satisfying(on_arc, boundaries_only=True), intorder=6
    )
    g = grad(facets.interpolate(solved.u))
    C = E / (1 - NU**2)
    sx, sy = C * (g[0, 0] + NU * g[1, 1]), C * (g[1, 1] + NU * g[0, 0])
    txy = E / (2 * (1 + NU)) * (g[0, 1] + g[1, 0])
    nx, ny = facets.normals
    return np.asarray(sx * ny**2 - 2 * txy * nx * ny + sy * nx**2).ravel()


def shoulder_factor(d: float, *, step: float, radius: float, bending: bool, sides: int = 12) -> float:
    """Stress factor of a flat bar d wide that widens by `step` on both sides, on the narrow bar's stress."""
    D, long = d + 2 * step, 2.0 * d
    wide = 1.5 * D
    a, b = 0.5 * d, 0.5 * D
    r = radius
    outline: list[Point | Arc] = [
        (-wide, -b), (0.0, -b), (0.0, -a - r), Arc((r, -a - r)), (r, -a), (long, -a), (long, a), (r, a),
        Arc((r, a + r)), (0.0, a + r), (0.0, b), (-wide, b),
    ]  # fmt: skip

    def end(x: Array, y: Array) -> tuple[Array, Array]:
        return (y / a if bending else np.ones_like(y)), 0.0 * y

    mesh = mesh_outline(outline, radius=r, sides=sides)
    solved = solve(mesh, loaded=lambda x: np.abs(x[0] - long) < 1e-9, traction=end, held=-wide)
    return float(np.max(arc_stress(solved, centre=(r, a + r), radius=r)))


def corner_factors(height: float, *, wall: float, radius: float, sides: int = 12) -> tuple[float, float]:
    """Factors of the corner under a bridge on its linear stress at the underside: pure bending, and with force.

    x along the bridge from the mid-plane, y = 0 its underside, `height` its top and the wall's; the wall, `wall`
    thick, hangs far below. First: a moment on the wall's lower end. Second: a push on the wall's inner face at
    1.5 wall thicknesses below the underside, which bends and stretches the bridge.
    """
    g, below, r = max(1.2 * height, 4 * radius), max(3 * wall, 2 * height), radius
    outline: list[Point | Arc] = [
        (0.0, 0.0), (g - r, 0.0), Arc((g - r, -r)), (g, -r), (g, -below), (g + wall, -below), (g + wall, height),
        (0.0, height),
    ]  # fmt: skip
    mesh = mesh_outline(outline, radius=r, sides=sides)
    lever, spread = 0.5 * below, 0.15 * height

    def moment(x: Array, y: Array) -> tuple[Array, Array]:
        return 0.0 * x, x - g - 0.5 * wall

    def push(x: Array, y: Array) -> tuple[Array, Array]:
        return np.exp(-(((y + lever) / spread) ** 2)), 0.0 * y

    bent = solve(mesh, loaded=lambda x: np.abs(x[1] + below) < 1e-9, traction=moment, held=0.0)
    pushed = solve(
        mesh, loaded=lambda x: (np.abs(x[0] - g) < 1e-9) & (x[1] < -1.001 * r), traction=push, held=0.0
    )
    first, second = (
        float(np.max(arc_stress(s, centre=(g - r, -r), radius=r)) / _underside_stress(s, height))
        for s in (bent, pushed)
    )
    return first, second


def _underside_stress(solved: Loaded, height: float) -> float:
    """Linear stress at the bridge's underside from the loads' resultant: N / h + 6 M / h^2 about its mid-height."""
    x, y = solved.basis.doflocs
    along = np.zeros(solved.basis.N, dtype=bool)
    along[solved.basis.nodal_dofs[0]] = along[solved.basis.facet_dofs[0]] = True
    N = solved.load[along].sum()
    M = (solved.load * np.where(along, 0.5 * height - y, x)).sum()
    return float(N / height + 6.0 * M / height**2)
