"""The wall as a plate: membrane and Mindlin bending in one, metal anywhere through the thickness.

u_x = u + z bx, u_y = v + z by, so strain(z) = eps + z kappa with eps of (u, v), kappa of (bx, by), and
transverse shear gamma = grad w + (bx, by). z runs from the plate's reference plane, here the wall's
mid-plane. With Q the plane-stress law and metal between z_low and z_high, A, B, D = integral (1, z, z^2) Q
dz and shear stiffness (5/6) G (z_high - z_low). Derived here; the shear factor 5/6 is Reissner's for a
rectangular section.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.plane.elements import Index, Samples, element_stiffness, membrane_operator, sample

PER_NODE = 5  # u, v, w, bx, by
SHEAR_FACTOR = 5 / 6
TWIST = np.array([2, 5])  # rows of the generalised strain (eps, kappa) that are shear and twist
BEND = np.array([0, 1, 3, 4])


def plane_stress_law(*, E: float, nu: float) -> Array:
    """Q (3, 3), MPa: stress (x, y, xy) of strain (x, y, xy engineering)."""
    return E / (1 - nu**2) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu) / 2]])


@dataclass(frozen=True)
class Laminate:
    """Stiffness per element (e of them) of metal between two depths."""

    bending: Array  # (e, 6, 6): forces and moments per width of (eps, kappa)
    shear: Array  # (e, 2, 2): shear forces per width of gamma

    def pick(self, rows: Array) -> Array:
        """`bending` with every row and column outside `rows` set to zero."""
        keep = np.isin(np.arange(6), rows)
        return np.where(np.outer(keep, keep), self.bending, 0.0)


def laminate(z_low: Array, z_high: Array, *, E: float, nu: float) -> Laminate:
    """Stiffness of metal between z_low and z_high (e,), mm."""
    Q = plane_stress_law(E=E, nu=nu)
    A, B, D = ((z_high**i - z_low**i)[:, None, None] / i * Q for i in (1, 2, 3))
    G = E / (2 * (1 + nu))
    shear = SHEAR_FACTOR * G * (z_high - z_low)[:, None, None] * np.eye(2)
    return Laminate(np.block([[A, B], [B, D]]), shear)


@dataclass(frozen=True)
class PlateSamples:
    """Strain operators of all triangles at the points where they are integrated."""

    full: Samples  # six points: membrane, bending, loads
    reduced: Samples  # three points: transverse shear, which locks in thin plates under a fuller rule
    bending: Array  # (e, 6, 6, 30)
    shear: Array  # (e, 3, 2, 30)

    def stiffness(self, law: Laminate) -> Array:
        """Element matrices (e, 30, 30)."""
        bent = element_stiffness(self.bending, law.bending, self.full.weight)
        return bent + element_stiffness(self.shear, law.shear, self.reduced.weight)


def plate_samples(nodes: Array, triangles: Index) -> PlateSamples:
    """Prepare the strain operators of a mesh."""
    full, reduced = sample(nodes, triangles, points=6), sample(nodes, triangles, points=3)
    return PlateSamples(full, reduced, _bending_operator(full), _shear_operator(reduced))


def _bending_operator(at: Samples) -> Array:
    plane = membrane_operator(at.dN)
    B = np.zeros((*at.weight.shape, 6, 6, PER_NODE))
    B[..., :3, :, 0:2] = plane
    B[..., 3:, :, 3:5] = plane
    return B.reshape(*at.weight.shape, 6, -1)


def _shear_operator(at: Samples) -> Array:
    B = np.zeros((*at.weight.shape, 2, 6, PER_NODE))
    B[..., 2] = np.swapaxes(at.dN, -1, -2)
    B[..., 0, :, 3] = B[..., 1, :, 4] = at.N
    return B.reshape(*at.weight.shape, 2, -1)


def energy_matrix(strain: Array, C: Array, weight: Array) -> Array:
    """Mutual strain energy (m, m) of m states: strain (e, g, s, m), C (e, s, s), weight (e, g)."""
    stress = np.matmul(C[:, None], strain) * weight[..., None, None]
    m = strain.shape[-1]
    return np.asarray(strain.reshape(-1, m).T @ stress.reshape(-1, m))


def skin_energy(samples: PlateSamples, z: Array, nodal: Array, *, E: float, nu: float) -> Array:
    """Mutual strain energy (e, k, k) per millimetre of depth of the skin at z (e,), of k states nodal (e, 30, k)."""
    strain = samples.bending @ nodal[:, None]
    skin = strain[..., :3, :] + z[:, None, None, None] * strain[..., 3:, :]
    stress = (plane_stress_law(E=E, nu=nu) @ skin) * samples.full.weight[..., None, None]
    sheared = samples.shear @ nodal[:, None]
    G = E / (2 * (1 + nu))
    force = SHEAR_FACTOR * G * sheared * samples.reduced.weight[..., None, None]
    return _mutual(skin, stress) + _mutual(sheared, force)


def _mutual(strain: Array, stress: Array) -> Array:
    """Sum over points and components of strain (e, g, s, k) times weighted stress, (e, k, k)."""
    e, k = len(strain), strain.shape[-1]
    return np.asarray(strain.reshape(e, -1, k).swapaxes(1, 2) @ stress.reshape(e, -1, k))
