"""Halves and grids for tests of `stiffcalc.grid_solid`, in plain numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.grid import Fineness, Grid, grids
from stiffcalc.grid_solid.plan import HalfSolid, Recess, Section
from stiffcalc.grid_solid.splines import Line
from stiffcalc.plane.mesh import Disc
from stiffcalc.plane.plan import Head

E, NU = 71000.0, 0.33
COARSE = Fineness(across=6.0, between=10.0, up=6.0, through=9.0, edge=4.0)


def box(x0: float, x1: float, y0: float, y1: float) -> Array:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def half(**changes: object) -> HalfSolid:
    """Wall of 80 x 40 x 20 mm on two bridges, a bore of 26 mm, bolts in both bridges; not its own mirror image."""
    plain = HalfSolid(
        outline=box(-40.0, 40.0, 80.0, 120.0),
        thickness=20.0,
        floor=8.0,
        gap=15.0,
        bores=(Disc(1.0, 98.0, 26.0),),
        sections=(
            Section(box(-40.0, -24.0, 80.0, 120.0), E, True),
            Section(box(26.0, 40.0, 80.0, 120.0), E, True),
        ),
        heads=(Head(-32.0, 110.0, 8.0, 13.0), Head(33.0, 104.0, 8.0, 13.0)),
        E=E,
        nu=NU,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def recessed() -> HalfSolid:
    """The same with an arch under its bridges, a pocket with a rib in it, a land, and a bridge of steel."""
    angle = np.linspace(-0.5, 0.5, 200)
    arch = np.column_stack([92.0 * np.sin(angle), 92.0 * np.cos(angle)])
    left = arch[(arch[:, 0] > -40.0) & (arch[:, 0] < -24.0)]
    return half(
        sections=(
            Section(
                np.vstack([left, box(-40.0, -24.0, 80.0, 120.0)[2:]]), E, True, box(-38.0, -26.0, 90.0, 118.0)
            ),
            Section(box(26.0, 40.0, 80.0, 120.0), 205000.0, True, None, (box(30.0, 36.0, 95.0, 108.0),)),
        ),
        pockets=(Recess(box(-12.0, 12.0, 82.0, 118.0), 5.0),),
        ribs=(Recess(box(-2.0, 2.0, 82.0, 118.0), 3.0),),
    )


def grid_of(body: HalfSolid, fineness: Fineness = COARSE) -> Grid:
    return grids([body], fineness)[0]


def linear(line: Line) -> Array:
    """Coefficients (count,) of the place itself: by least squares at many places."""
    places = np.linspace(line.breaks[0], line.breaks[-1], 12 * line.cells)
    which, value, _ = line.at(places)
    dense = np.zeros((len(places), line.count))
    np.put_along_axis(dense, which, value, axis=1)
    return np.asarray(np.linalg.lstsq(dense, places, rcond=None)[0])


def places(grid: Grid) -> Array:
    """Coefficients (functions, 3) of the fields x, y, z on the whole grid."""
    lines = (grid.x, grid.y, grid.z)
    found = []
    for axis, line in enumerate(lines):
        one = [linear(q) if k == axis else np.ones(q.count) for k, q in enumerate(lines)]
        found.append(np.einsum("i,j,k->ijk", *one).ravel())
        assert line.count > 2
    return np.column_stack(found)
