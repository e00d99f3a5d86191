"""A condensed half feels no rigid motion and holds every load, wherever its wall ends (derived: statics)."""

import numpy as np
import pytest

from stiffcalc.errors import ConvergenceError
from stiffcalc.grid_solid import half as module
from stiffcalc.grid_solid.grid import Fineness, grids
from stiffcalc.grid_solid.half import condense, trace
from stiffcalc.grid_solid.plan import HalfSolid, Section
from stiffcalc.plane.mesh import Disc
from stiffcalc.plane.plan import Head

COARSE = Fineness(across=9.0, between=15.0, up=9.0, through=12.0, edge=9.0)


def box(x0, x1, y0, y1):
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], dtype=float)


def overhanging():
    """A wall that goes on 20 mm beyond its bridges at both ends."""
    return HalfSolid(
        outline=box(-80, 80, 0, 50),
        thickness=24.0,
        floor=8.0,
        gap=20.0,
        bores=(Disc(4.0, 22.0, 30.0),),
        sections=tuple(Section(box(a, a + 22, 5, 50), 70e3, True) for a in (-60, 38)),
        heads=(Head(-49.0, 30.0, 9.0, 16.0), Head(49.0, 34.0, 9.0, 16.0)),
        E=70e3,
        nu=0.33,
    )


def test_free_faces_hold_each_load_and_no_rigid_motion():
    half = overhanging()
    grid = grids([half], COARSE)[0]
    faces = trace(half, grid)
    found = condense(half, grid, faces)
    rigid = grid.rigid()[faces.functions]
    np.testing.assert_allclose(found.S @ rigid, 0.0, atol=1e-8 * np.abs(found.S).max() * np.abs(rigid).max())
    area = np.pi / 4 * 30.0**2
    resultants = [(area, 22.0 * area, -4.0 * area), (0, 0, 0), (1, 30, 49), (1, 34, -49)]
    np.testing.assert_allclose(rigid.T @ found.B, np.array(resultants).T, rtol=1e-9, atol=1e-6)


def test_what_holds_against_a_load_is_an_error(monkeypatch):
    half = overhanging()
    grid = grids([half], COARSE)[0]
    monkeypatch.setattr(
        module, "_holds", lambda h, g, matrix, used: 1e-3 * abs(matrix).multiply(matrix > 0).tocsr()
    )
    with pytest.raises(ConvergenceError, match="balance of a solid on a grid"):
        condense(half, grid, trace(half, grid))
