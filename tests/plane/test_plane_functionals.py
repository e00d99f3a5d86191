"""What each functional reads from fields whose reading is known by hand."""

from __future__ import annotations

import numpy as np
import pytest

from stiffcalc.plane import functionals
from stiffcalc.plane.elements import sample
from stiffcalc.plane.functionals import BX, BY, U, V, W
from stiffcalc.plane.mesh import Disc, mesh_domain

BORE = Disc(10.0, 130.0, 30.0)
WALL = np.array([[-40.0, 100.0], [60.0, 100.0], [60.0, 150.0], [-40.0, 150.0]])
MESH = mesh_domain(WALL, size=6.0, regions={"bore": BORE})
INSIDE = MESH.groups["bore"]
COUNT = 5 * len(MESH.nodes)
X, Y = (MESH.nodes - (BORE.x, BORE.y)).T
AREA = sample(MESH.nodes, MESH.triangles[INSIDE], points=6).weight.sum()
DEPTH, Z0 = 25.0, -4.5


def field(**components):
    values = np.zeros((len(MESH.nodes), 5))
    for name, value in components.items():
        values[:, {"u": U, "v": V, "w": W, "bx": BX, "by": BY}[name]] = value
    return values.ravel()


def swept(**components):
    row = functionals.bore_wall(MESH, INSIDE, depth=DEPTH, z0=Z0, count=COUNT)
    return row @ field(**components)


@pytest.mark.parametrize(("axis", "place"), [("u", X), ("v", Y)])
def test_bore_grown_by_membrane_strain(axis, place):
    """A unit strain along one axis sweeps depth x area."""
    assert swept(**{axis: place}) == pytest.approx(DEPTH * AREA, rel=1e-9)


@pytest.mark.parametrize(("axis", "place"), [("bx", X), ("by", Y)])
def test_bore_grown_by_curvature(axis, place):
    """Strain at the wall's mid height z0 (below the mid-plane, toward the rotor) is z0 x curvature."""
    assert swept(**{axis: place}) == pytest.approx(Z0 * DEPTH * AREA, rel=1e-9)


def test_bore_is_not_grown_by_shear_or_deflection():
    assert swept(u=Y, v=-X, w=X**2) == pytest.approx(0, abs=1e-6)


def test_ring_tilt_is_the_mean_slope():
    """w = a y - b x plus terms even about the centre, which carry no slope."""
    row = functionals.ring_tilt(MESH, INSIDE, BORE, count=COUNT)
    assert row @ field(w=0.3 * Y - 0.2 * X + X**2 + 0.5 * Y**2 + 7) == pytest.approx([0.3, 0.2], abs=2e-3)
    assert row @ field(u=Y, v=X, bx=X, by=Y) == pytest.approx(0, abs=1e-12)


def test_area_mean():
    """Mean of 1 + x + x^2 over a disc is 1 + r^2 / 4."""
    row = functionals.area_mean(MESH, sample(MESH.nodes, MESH.triangles, points=6), INSIDE, count=COUNT)
    assert row @ field(w=1 + X + X**2) == pytest.approx(1 + 15**2 / 4, rel=1e-3)


def test_cut_line_fits_w_beside_the_bores():
    row = functionals.cut_line(MESH, INSIDE, x=12.0, y=120.0, count=COUNT)
    inside = np.hypot(X, Y) < 14.9
    w = 2.0 + 0.1 * (MESH.nodes[:, 1] - 120.0)
    assert row @ field(w=w) == pytest.approx([2.0, 0.1], abs=1e-9)
    assert row @ field(w=np.where(inside, 1e6, w)) == pytest.approx([2.0, 0.1], abs=1e-9)
