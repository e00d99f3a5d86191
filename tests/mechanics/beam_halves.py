"""Halves made of one uniform beam along x, condensed in closed form: realistic figures for tests of the joint."""

import numpy as np

from stiffcalc.condensed import Flexibility, Outputs, Points
from stiffcalc.mechanics.bridges import Bridges, reference

GAUSS_X, GAUSS_W = np.polynomial.legendre.leggauss(4)  # products of moments linear in x: exact


def make_bridges(x, y, arch, *, length=61.0, holes=(), E=71000.0):
    """Bridges of D designs; `holes` (D, N, H, 3) of x, y, d."""
    x, y, arch = (np.asarray(v, dtype=float) for v in (x, y, arch))
    holes = np.asarray(holes, dtype=float).reshape(*arch.shape, -1, 3)
    full = np.ones(arch.shape)
    return Bridges(
        x=x,
        y=y,
        arch=arch,
        length=length * full,
        hole_x=holes[..., 0],
        hole_y=holes[..., 1],
        hole_d=holes[..., 2],
        E=E * full,
    )


def beam_half(bridges, *, bolts, bores, y_beam, height, thickness, E=71000.0, nu=0.33, floor=2e-8):
    """One half: beam of height x thickness at y_beam (D,), clamped at its left end (any three pins will do).

    bolts, bores: (D, J, 2), (D, B, 2) of x, y. Bore-wall pressure is an initial curvature over the whole beam.
    """
    x_b, y_r = reference(bridges)
    left = bridges.x[..., 0].min(axis=-1)
    x = np.concatenate([np.repeat(x_b, 3, axis=-1), bolts[..., 0], bores[..., 0]], axis=-1)
    y = np.concatenate([np.repeat(y_r, 3, axis=-1), bolts[..., 1], bores[..., 1]], axis=-1)
    D, m = x.shape
    kind = np.zeros(m, dtype=int)
    kind[: 3 * x_b.shape[1]] = np.tile([0, 1, 2], x_b.shape[1])
    push, twist, bend = (np.broadcast_to(kind == k, (D, m)).astype(float) for k in range(3))
    EI = E * height * thickness**3 / 12
    GJ = E / (2 * (1 + nu)) * 0.25 * height * thickness**3
    kGA = 5 / 6 * E / (2 * (1 + nu)) * height * thickness

    # integral over x' from the clamp to the nearer of two points, moments as functions of x'
    near = np.minimum(x[:, :, None], x[:, None, :]) - left[:, None, None]
    at = left[:, None, None, None] + near[..., None] * (0.5 + 0.5 * GAUSS_X)
    weight = near[..., None] * 0.5 * GAUSS_W

    def moment(axis):
        reach = np.expand_dims(x, axis)[..., None] - at
        return np.expand_dims(push, axis)[..., None] * reach - np.expand_dims(bend, axis)[..., None]

    torque = push * (y - y_beam[:, None]) + twist
    bores_at = np.zeros((m, m))
    bores_at[-bores.shape[1] :, -bores.shape[1] :] = np.eye(bores.shape[1])
    parts = {
        "wall bending": (weight * moment(2) * moment(1)).sum(axis=-1) / _col(EI),
        "wall twist": torque[:, :, None] * torque[:, None, :] * near / _col(GJ),
        "wall shear": push[:, :, None] * push[:, None, :] * near / _col(kGA),
        "floor": np.broadcast_to(floor * bores_at, (D, m, m)),
    }
    curved = 1e-9 * (0.5 * push * (x - left[:, None]) ** 2 - bend * (x - left[:, None]))
    R = np.stack([push, push * y + twist, bend - push * x], axis=-1)
    return Flexibility(
        points=Points(bridges=x_b.shape[1], bolts=bolts.shape[1], bores=bores.shape[1]),
        F=sum(parts.values()),
        R=R,
        wall=-curved,
        outputs=Outputs(O=sum(parts.values())[:, -1:], wall=-curved[:, -1:], R=R[:, -1:]),
        parts=parts,
    )


def _col(value):
    return np.reshape(value, (-1, 1, 1))
