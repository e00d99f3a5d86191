"""Plane stress beside scikit-fem on one mesh in one run; contact under seven pressures beside one linear solve.

    python studies/benchmarks/plane_against_reference.py [--unknowns 100000] [--repeats 3]

An invented bolted corner (wall, bridge, fillet, joint face). First: from mesh and material to displacements, assembly,
factorisation and solution, ours with its checks, against scikit-fem's elasticity form and its default direct solver.
Second: the joint face in contact, tightened and then under seven pressures, everything included, against the first
time of ours. Times are the best of the repeats on one core. Needs the extra `test`.
"""

from __future__ import annotations

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")  # one core; must stand before numpy is loaded

import argparse
import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import skfem
from scipy.spatial import cKDTree
from skfem.models.elasticity import linear_elasticity

from stiffcalc.condensed import Array
from stiffcalc.plane.section.grid import Grid, mesh_section
from stiffcalc.plane.section.outline import Material, Part, polygon
from stiffcalc.plane.section.problem import (
    Bar,
    Case,
    Contact,
    Pressure,
    Problem,
    RigidLine,
    Support,
)
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.solve import solve

ALLOY = Material(E=71000.0, nu=0.33)
THICKNESS = 30.0
AREA = 40.0 * 30.0 + 35.0 * 75.0
# Straight edges only, so that both sides integrate the same polynomials.
CORNER = Part(
    "corner",
    polygon(
        [(0, 0), (34, 0), (36, -1), (38, -4), (38, -45), (73, -45), (73, 6), (73, 20), (73, 30), (0, 30)],
        names=["", "", "", "inner", "", "", "head", "", "", "face"],
    ),
    thickness=THICKNESS,
    material=ALLOY,
)


@dataclass(frozen=True)
class Ratios:
    """Seconds, and the two figures the page is about."""

    unknowns: int
    reference: float
    linear: float
    contact: float
    difference: float  # largest of displacements, relative

    @property
    def against_reference(self) -> float:
        return self.linear / self.reference

    @property
    def contact_over_linear(self) -> float:
        return self.contact / self.linear


def bonded(pressure: float = 10.0) -> Problem:
    """The face held along x, as if the other half were its mirror image."""
    return Problem(
        (CORNER,),
        {"pressure": (Pressure("inner", pressure),)},
        (Case("one", {"pressure": 1.0}),),
        supports=(Support("face", x=True), Support((0.0, 0.0), y=True)),
    )


def bolted() -> Problem:
    """The face on its mirror plane, clamped by a bolt from the head to the plane, seven pressures."""
    return Problem(
        (CORNER,),
        {"pressure": (Pressure("inner", 1.0),)},
        tuple(Case(f"{p} MPa", {"pressure": p}) for p in (2.0, 4.0, 6.0, 8.0, 10.0, 13.0, 16.0)),
        supports=(Support((0.0, 0.0), y=True),),
        bars=(Bar("bolt", "head", None, (-1.0, 0.0), stiffness=4e5, preload=40000.0),),
        contacts=(Contact("joint", "face", RigidLine((0.0, 0.0), (1.0, 0.0))),),
    )


def reference(grid: Grid) -> tuple[float, Array]:
    """Seconds and displacements (n, 2) of scikit-fem on the same triangles."""
    corners, compact = np.unique(grid.triangles[:, :3], return_inverse=True)
    mesh = skfem.MeshTri(grid.nodes[corners].T.copy(), compact.reshape(-1, 3).T.copy())
    lame = ALLOY.E * ALLOY.nu / (1 - ALLOY.nu**2), ALLOY.E / (2 * (1 + ALLOY.nu))  # plane stress
    start = time.perf_counter()
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementTriP2()))
    K = linear_elasticity(*lame).assemble(basis)
    facets = mesh.facets_satisfying(lambda x: (np.abs(x[0] - 38) < 1e-9) & (x[1] < -3.9))
    inner = skfem.FacetBasis(mesh, basis.elem, facets=facets)
    load = skfem.LinearForm(lambda v, w: 10.0 * v[0]).assemble(inner)
    face = basis.get_dofs(lambda x: np.abs(x[0]) < 1e-9).all("u^1")
    point = np.flatnonzero(np.hypot(*basis.doflocs) < 1e-9)[1:]  # along y
    u = skfem.solve(*skfem.condense(K, load, D=np.concatenate([face, point])))
    seconds = time.perf_counter() - start
    return seconds, _by_node(grid, basis.doflocs.T, u)


def _by_node(grid: Grid, places: Array, u: Array) -> Array:
    """Reorder by coordinates."""
    result = np.empty_like(grid.nodes)
    nearest = cKDTree(grid.nodes).query(places)[1]
    second = np.zeros(len(u), dtype=int)  # the later of the two freedoms at a place is y's
    order = np.argsort(nearest, kind="stable")
    second[order[1::2]] = 1
    result[nearest, second] = u
    return result


def best(act: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        act()
        times.append(time.perf_counter() - start)
    return min(times)


def measure(unknowns: int, *, repeats: int) -> Ratios:
    """Both comparisons on one mesh of about that many unknowns."""
    side = math.sqrt(AREA / (0.43 * unknowns / 4))
    grid = mesh_section((CORNER,), sizing=Sizing(side))
    runs = [reference(grid) for _ in range(repeats)]
    theirs, ours = runs[0][1], solve(bonded(), grid).U[0]
    return Ratios(
        unknowns=grid.unknowns,
        reference=min(seconds for seconds, _ in runs),
        linear=best(lambda: solve(bonded(), grid), repeats),
        contact=best(lambda: solve(bolted(), grid), repeats),
        difference=float(np.abs(ours - theirs).max() / np.abs(theirs).max()),
    )


def main(argv: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--unknowns", type=int, default=100_000)
    parser.add_argument("--repeats", type=int, default=3)
    options = parser.parse_args(argv)
    found = measure(options.unknowns, repeats=options.repeats)
    print(f"{found.unknowns} unknowns, one core, best of {options.repeats}")
    print(f"scikit-fem, linear             {found.reference:8.3f} s")
    print(
        f"ours, linear, audited          {found.linear:8.3f} s   ratio {found.against_reference:.2f} (aim 0.6)"
    )
    print(
        f"ours, contact, seven pressures {found.contact:8.3f} s   ratio {found.contact_over_linear:.2f} (aim 3)"
    )
    print(f"largest difference of displacements, relative: {found.difference:.1e}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
