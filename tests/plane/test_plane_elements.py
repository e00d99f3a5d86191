"""Shape functions, quadrature, borders, point location and rigid motions of the six-node triangles."""

from __future__ import annotations

from math import factorial

import numpy as np
import pytest

from stiffcalc.plane.elements import (
    RULES,
    border,
    locate,
    node_freedoms,
    sample,
    sample_sides,
    shape_functions,
    shape_slopes,
)
from stiffcalc.plane.functionals import rigid_fields
from stiffcalc.plane.mesh import Disc, mesh_domain
from stiffcalc.plane.plate import PER_NODE, plate_samples

MESH = mesh_domain(Disc(3.0, 4.0, 20.0), size=4.0, regions={"eye": Disc(5.0, 4.0, 8.0)})
LOCAL = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])


@pytest.mark.parametrize(("points", "degree"), [(3, 2), (6, 4)])
def test_rules_integrate_their_degree(points, degree):
    """Integral of r^i s^j over the unit triangle is i! j! / (i + j + 2)!."""
    at, weights = RULES[points]
    for i in range(degree + 1):
        for j in range(degree + 1 - i):
            exact = factorial(i) * factorial(j) / factorial(i + j + 2)
            assert weights @ (at[:, 0] ** i * at[:, 1] ** j) == pytest.approx(exact, rel=1e-12)


def test_shape_functions_are_one_at_their_node():
    assert shape_functions(LOCAL) == pytest.approx(np.eye(6), abs=1e-14)


def test_slopes_match_differences():
    at, step = np.array([[0.2, 0.3]]), 1e-6
    for axis in (0, 1):
        shift = step * np.eye(2)[axis]
        slope = (shape_functions(at + shift) - shape_functions(at - shift)) / (2 * step)
        assert shape_slopes(at)[..., axis] == pytest.approx(slope, abs=1e-8)


def test_border_normals_point_outward():
    """Divergence theorem on the meshed region: closed-line integral of x . n is twice its area."""
    inside = MESH.triangles[MESH.groups["eye"]]
    line = sample_sides(MESH.nodes, border(inside))
    area = sample(MESH.nodes, inside, points=6).weight.sum()
    assert np.sum(line.xy * line.normal) == pytest.approx(2 * area, rel=1e-10)
    assert line.normal.sum(axis=(0, 1)) == pytest.approx(0, abs=1e-12)


def test_locate_finds_points_and_misses_outside_ones():
    points = np.array([[3.0, 4.0], [3.0, 13.99], [8.9999, 4.01], [3.0, 14.1], [30.0, 0.0]])
    found, local = locate(MESH.nodes, MESH.triangles, points)
    assert list(found >= 0) == [True, True, True, False, False]
    back = np.einsum("kn,kni->ki", shape_functions(local[:3]), MESH.nodes[MESH.triangles[found[:3]]])
    assert back == pytest.approx(points[:3], abs=1e-9)


def test_locate_misses_no_point_beside_a_curved_side():
    """Just inside and outside the inner circle, where the straight corners suggest the wrong triangle."""
    turn = np.linspace(0, 2 * np.pi, 100)
    for r, inside in ((3.995, True), (4.005, False)):
        points = np.stack([5 + r * np.cos(turn), 4 + r * np.sin(turn)], axis=-1)
        found, _ = locate(MESH.nodes, MESH.triangles, points)
        assert found.min() >= 0
        assert np.all(np.isin(found, MESH.groups["eye"]) == inside)


def test_rigid_motions_strain_nothing():
    """All six: three in the plane (made here), three out of it (as the front view uses them)."""
    x, y = MESH.nodes.T
    turn = np.zeros((len(x), PER_NODE, 3))
    turn[:, 0] = np.stack([np.ones_like(x), 0 * x, -y], axis=-1)
    turn[:, 1] = np.stack([0 * x, np.ones_like(x), x], axis=-1)
    out = rigid_fields(MESH.nodes, np.zeros((0, 2)))
    U = np.concatenate([turn.reshape(-1, 3), out], axis=1)
    samples = plate_samples(MESH.nodes, MESH.triangles)
    nodal = U[node_freedoms(MESH.triangles, per_node=PER_NODE)][:, None]
    assert samples.bending @ nodal == pytest.approx(0, abs=1e-12)
    assert samples.shear @ nodal == pytest.approx(0, abs=1e-12)
    assert np.linalg.matrix_rank(U) == 6
