"""Plate part of the front view's elements against published plate solutions, and both parts' patch test."""

from __future__ import annotations

import numpy as np
import pytest

from stiffcalc.plane.elements import Samples, assemble, border, node_freedoms, sample, solve_pinned
from stiffcalc.plane.functionals import W
from stiffcalc.plane.mesh import Disc, mesh_domain
from stiffcalc.plane.plate import PER_NODE, SHEAR_FACTOR, laminate, plate_samples

E, NU = 71e3, 0.3


def stiffness(nodes, triangles, z_low, z_high):
    law = laminate(np.full(len(triangles), z_low), np.full(len(triangles), z_high), E=E, nu=NU)
    blocks = [(plate_samples(nodes, triangles).stiffness(law), node_freedoms(triangles, per_node=PER_NODE))]
    return assemble(blocks, size=PER_NODE * len(nodes))


def pressure(mesh, at: Samples, p):
    load = np.zeros((len(mesh.nodes), PER_NODE))
    np.add.at(load[:, W], mesh.triangles, p * np.einsum("eg,gn->en", at.weight, at.N))
    return load.reshape(-1, 1)


def clamped_plate(a, h, size, p=1.0):
    """Solid clamped circular plate of radius a under pressure p: mesh and w (n,)."""
    mesh = mesh_domain(Disc(0.0, 0.0, 2 * a), size=size)
    K = stiffness(mesh.nodes, mesh.triangles, -h / 2, h / 2)
    edge = np.unique(border(mesh.triangles))
    pinned = (PER_NODE * edge[:, None] + np.arange(PER_NODE)).ravel()
    load = pressure(mesh, sample(mesh.nodes, mesh.triangles, points=6), p)
    return mesh, solve_pinned(K, load, pinned=pinned)[W::PER_NODE, 0]


def mindlin(r, a, h, p=1.0):
    """Its deflection with shear: p (a^2 - r^2)^2 / 64 D + p (a^2 - r^2) / (4 kappa G h), derived."""
    D, G = E * h**3 / (12 * (1 - NU**2)), E / (2 * (1 + NU))
    return p * (a**2 - r**2) ** 2 / (64 * D) + p * (a**2 - r**2) / (4 * SHEAR_FACTOR * G * h)


def test_clamped_circular_plate():
    """Timoshenko & Woinowsky-Krieger; Roark table 11.2 (numbers from memory, closed form evaluated):
    clamped, nu = 0.3, w = 0.17063 q a^4 / (E h^3). Thin (h = a / 40), so that shear adds under 0.3 %.
    Tolerance 0.5 %."""
    a, h = 50.0, 1.25
    _, w = clamped_plate(a, h, 5.0)
    published = 0.17063 * a**4 / (E * h**3)
    assert w.max() == pytest.approx(published, rel=5e-3)


@pytest.mark.parametrize("h", [1.0, 10.0, 25.0])
def test_clamped_plate_with_shear(h):
    """Thin to thick, against the Mindlin closed form: no locking when thin, right shear when thick."""
    _, w = clamped_plate(50.0, h, 5.0)
    assert w.max() == pytest.approx(mindlin(0.0, 50.0, h), rel=2e-3)


def test_plate_deflection_converges():
    """L2 error of w falls at third order when the mesh is halved: quadratic elements, no locking."""
    errors = []
    for size in (10.0, 5.0):
        mesh, w = clamped_plate(50.0, 5.0, size)
        at = sample(mesh.nodes, mesh.triangles, points=6)
        r = np.hypot(at.xy[..., 0], at.xy[..., 1])
        gap = np.einsum("gn,en->eg", at.N, w[mesh.triangles]) - mindlin(r, 50.0, 5.0)
        errors.append(np.sqrt(np.sum(at.weight * gap**2)))
    rate = np.log2(errors[0] / errors[1])
    assert rate > 2.8, f"measured rate {rate:.2f}, errors {errors}"


MEMBRANE = np.array([[1.0, 0.3, -0.2], [-0.4, 0.5, 0.7]])  # u and v = first + second x + third y
CURVATURE = np.array([0.002, -0.003, 0.001])  # d(bx)/dx, d(by)/dy, d(bx)/dy = d(by)/dx


def patch_field(nodes):
    """Constant membrane strain and constant curvature without shear: grad w = -(bx, by)."""
    x, y = nodes.T
    one = np.stack([np.ones_like(x), x, y])
    a, b, c = CURVATURE
    w = -(a * x**2 / 2 + b * y**2 / 2 + c * x * y)
    return np.stack([*(1e-3 * MEMBRANE @ one), w, a * x + c * y, c * x + b * y], axis=-1)


def test_patch_of_distorted_triangles():
    """Patch test (Irons; MacNeal & Harder, Finite Elements in Analysis and Design 1 (1985) 3-20): a linear
    membrane field and a constant curvature given on the boundary are met exactly inside, and in every
    strain. 1e-10."""
    mesh = mesh_domain(np.array([[0, 0], [0.24, 0], [0.24, 0.12], [0, 0.12]]), size=0.06)
    nodes, triangles = mesh.nodes, mesh.triangles
    z = (-0.0002, 0.0008)  # eccentric metal, so that membrane and bending are coupled
    K, exact = stiffness(nodes, triangles, *z), patch_field(nodes).ravel()
    edge = np.unique(border(triangles))
    pinned = (PER_NODE * edge[:, None] + np.arange(PER_NODE)).ravel()
    known = np.zeros_like(exact)
    known[pinned] = exact[pinned]
    U = known + solve_pinned(K, -(K @ known)[:, None], pinned=pinned)[:, 0]
    assert np.setdiff1d(np.arange(len(nodes)), edge).size, "the patch has no inner node"
    assert pytest.approx(exact, rel=0, abs=1e-10 * np.abs(exact).max()) == U
    nodal = U[node_freedoms(triangles, per_node=PER_NODE)][:, None, :, None]
    strain = (plate_samples(nodes, triangles).bending @ nodal)[..., 0]
    expected = [*(1e-3 * np.array([0.3, 0.7, -0.2 + 0.5])), CURVATURE[0], CURVATURE[1], 2 * CURVATURE[2]]
    scale = np.max(expected)
    assert strain == pytest.approx(np.broadcast_to(expected, strain.shape), rel=0, abs=1e-10 * scale)
