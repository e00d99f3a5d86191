"""A blind bore in a round plate: axially symmetric solid beside Mindlin's plate, and what the plate lacks.

    python studies/solid_check/blind_bore.py

Pressure p on the floor, radius a, floor e, wall t, cut off at the radius b, where the solid is held by the plate's own
parabola of shear. The plate is two: the floor, eccentric, and the wall, rigidly joined at a, as in the front view. What
the plate's mean movement of the floor lacks, with p / E = 1, is split over a at one e/t into a part as a (the way
of the floor's force through the wall's depth) and one as a^3/e^2 (the turning of the floor's edge).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse.linalg as sla
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, FacetBasis, LinearForm, MeshQuad

from stiffcalc.condensed import Array

NU, SHEAR_FACTOR = 0.33, 5.0 / 6.0
FINEST, GROWTH = 0.012, 1.35  # of e: element at the inner corner; each next one's size over the last
SLENDER, SHARES = (0.8, 1.2, 1.7, 2.4, 3.2), (0.15, 0.2, 0.25, 0.3, 0.36, 0.43, 0.5, 0.6)


@dataclass(frozen=True)
class Blind:
    """A blind bore with a floor 1 thick, lengths in floors; the solid's modulus is 1."""

    a: float
    t: float
    b: float


def solid_floor(at: Blind) -> float:
    """Mean movement of the floor against the rim, under p = 1, of the solid."""
    mesh, low = _mesh(at), 0.5 * at.t - 1.0
    basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=5)
    floor = _facets(basis, lambda x: (np.abs(x[1] - low) < 1e-7) & (x[0] < at.a))
    rim = _facets(basis, lambda x: np.abs(x[0] - at.b) < 1e-7)
    load = LinearForm(lambda v, w: v[1] * w.x[0]).assemble(floor)
    shear = 0.5 * at.a**2 * 1.5 / at.t
    load -= LinearForm(lambda v, w: shear * (1.0 - (2.0 * w.x[1] / at.t) ** 2) * v[1]).assemble(rim)
    pinned = basis.nodal_dofs[1, np.argmin(np.abs(mesh.p[0] - at.b) + np.abs(mesh.p[1]))]
    axis = basis.get_dofs(lambda x: x[0] < 1e-7).all(["u^1"])
    free = np.setdiff1d(np.arange(basis.N), np.append(axis, pinned))
    K = _elastic.assemble(basis).tocsc()[free][:, free]
    moved = load[free] @ sla.spsolve(K, load[free])
    return float(2.0 * moved / at.a**2)


@BilinearForm
def _elastic(u, v, w):  # type: ignore[no-untyped-def]
    r, du, dv = w.x[0], u.grad, v.grad
    lame, G = NU / (1.0 + NU) / (1.0 - 2.0 * NU), 0.5 / (1.0 + NU)
    strain = (du[0][0], du[1][1], u[0] / r)
    other = (dv[0][0], dv[1][1], v[0] / r)
    direct = 2.0 * G * sum(p * q for p, q in zip(strain, other, strict=True))
    sheared = G * (du[0][1] + du[1][0]) * (dv[0][1] + dv[1][0])
    return (lame * sum(strain) * sum(other) + direct + sheared) * r


def _facets(basis: Basis, where: object) -> FacetBasis:
    found = basis.mesh.facets_satisfying(where, boundaries_only=True)
    return FacetBasis(basis.mesh, basis.elem, facets=found, intorder=6)


def _mesh(at: Blind) -> MeshQuad:
    """Quadrilaterals over r and z, fine at the bore's inner corner, the bore left out."""
    low, size = 0.5 * at.t - 1.0, min(1.0, at.t - 1.0, at.a) / 4
    r = np.concatenate([at.a - _steps(at.a, size)[::-1], at.a + _steps(at.b - at.a, at.t / 8)[1:]])
    z = np.concatenate([low - _steps(at.t - 1.0, size)[::-1], low + _steps(1.0, 0.2)[1:]])
    r[0] = 0.0
    mesh = MeshQuad.init_tensor(r, z)
    x, y = mesh.p[:, mesh.t].mean(axis=1)
    return mesh.restrict(np.flatnonzero((x > at.a) | (y > low)))


def _steps(length: float, largest: float) -> Array:
    """From 0 to `length`, fine at 0."""
    sizes = [FINEST]
    while sum(sizes) < length:
        sizes.append(min(sizes[-1] * GROWTH, largest))
    return np.concatenate([[0.0], np.cumsum(sizes)]) * length / sum(sizes)


def plate_floor(at: Blind) -> float:
    """The same of Mindlin's plate. Source: derived, axially symmetric bending and stretching of two round plates.

    Floor u = A r, beta = B r + P r^3; wall u = C r + C'/r, beta = F r + F'/r + H r ln r; beta, u and both resultants
    meet at a, the rim at b is free of moment and stretch.
    """
    a, t, b = at.a, at.t, at.b
    stretch = np.array([1.0, t]) / (1.0 - NU**2)
    bend = stretch * np.array([1.0, t]) ** 2 / 12.0
    up, P, H = 0.5 * (t - 1.0), -1.0 / (16.0 * bend[0]), -(a**2) / (4.0 * bend[1])
    line = np.array([1.0 + NU, -(1.0 - NU)])

    def wall(r: float) -> tuple[Array, float]:  # M of F, F' and of H
        return bend[1] * line / [1.0, r**2], bend[1] * H * (1.0 + (1.0 + NU) * np.log(r))

    held, known = np.zeros((6, 6)), np.zeros(6)  # A, B, C, C', F, F'
    turn, turned = np.array([0, a, 0, 0, -a, -1 / a]), H * a * np.log(a) - P * a**3
    N = np.array([stretch[0] * line[0], 0, *(-stretch[1] * line / [1.0, a**2]), 0, 0])
    held[0], known[0] = turn, turned
    held[1], known[1] = [a, -up * a, -a, -1 / a, 0, 0], up * P * a**3
    held[2] = N
    held[3, [0, 1]], held[3, 4:] = (up * stretch[0] * line[0], bend[0] * line[0]), -wall(a)[0]
    known[3] = wall(a)[1] - bend[0] * P * (3.0 + NU) * a**2
    held[4, 2:4] = line / [1.0, b**2]
    held[5, 4:], known[5] = wall(b)[0], -wall(b)[1]
    _, B, _, _, F, F2 = np.linalg.solve(held, known)
    G = SHEAR_FACTOR * 0.5 / (1.0 + NU)

    def w(r: float) -> float:
        bent = 0.5 * F * r**2 + F2 * np.log(r) + H * (0.5 * r**2 * np.log(r) - 0.25 * r**2)
        return float(-0.5 * a**2 * np.log(r) / (G * t) - bent)

    return float(a**2 / (8.0 * G) + B * a**2 / 4.0 + P * a**4 / 6.0 + w(a) - w(b))


def lacking(share: float, *, cut: float) -> Array:
    """What the plate lacks at e/t = `share`, as (factor of a, factor of a^3/e^2); b = a + `cut` t."""
    t = 1.0 / share
    bores = [Blind(a, t, a + cut * t) for a in SLENDER]
    lack = [(solid_floor(at) - plate_floor(at)) / at.a for at in bores]
    a = np.array(SLENDER)
    return np.asarray(np.linalg.lstsq(np.stack([np.ones_like(a), a**2], axis=-1), lack, rcond=None)[0])


def main() -> None:
    print("e/t   as a, ln(t/e)/2 | as a^3/e^2; b = a + t, a + 2 t")
    for share in SHARES:
        near, far = lacking(share, cut=1.0), lacking(share, cut=2.0)
        print(
            f"{share:.2f}  {near[0]:.3f} {far[0]:.3f}  {-0.5 * np.log(share):.3f} | {near[1]:.3f} {far[1]:.3f}"
        )


if __name__ == "__main__":
    main()
