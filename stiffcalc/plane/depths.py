"""One meshed half milled to a depth of its own over every triangle, and what each depth does to its movements.

Milling the skin at z takes away its stiffness, so that the virtual work g.F.f of forces f and virtual forces g grows
by the mutual strain energy of both in that skin: d(g.F.f)/d(depth) = integral (eps_g(z).Q.eps_f(z) + (5/6) G
gamma_g.gamma_f) dA, eps(z) = eps0 + z kappa. Derived here: g.F.f = u_g.K.u_f, dF = -u_g.dK.u_f; loads and readings are
at the mid-plane of the blank and do not move with its face.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.elements import node_freedoms
from stiffcalc.plane.model import Model
from stiffcalc.plane.plate import PER_NODE, laminate, skin_energy


def milled(model: Model, depth: Array) -> Model:
    """The half with `depth` (e,) mm taken off the outer face of every triangle. Raises InputError where pierced."""
    high = model.z_high - depth
    if not np.all(model.z_low < high):
        raise InputError([Fault("depth", "a pierced wall", "metal everywhere", "mill less deep")])
    law = laminate(model.z_low, high, E=model.plan.E, nu=model.plan.nu)
    return replace(model, z_high=high, law=law)


def slopes(model: Model, U: Array, work: Array) -> Array:
    """What a millimetre more of depth adds, per triangle (e,), to the sum of work (m, m + 1) times (F, wall).

    U (n, m + 1): the half's unit solutions, see `front_view.solved`; work: virtual forces times forces and pressure.
    """
    nodal = U[node_freedoms(model.mesh.triangles, per_node=PER_NODE)]
    energy = skin_energy(model.samples, model.z_high, nodal, E=model.plan.E, nu=model.plan.nu)
    return np.asarray(np.einsum("eij,ij->e", energy[:, : len(work)], work))


def areas(model: Model) -> Array:
    """Area (e,) of every triangle, mm2."""
    return np.asarray(model.samples.full.weight.sum(axis=1))


def centres(model: Model) -> Array:
    """Centroid (e, 2) of every triangle."""
    full = model.samples.full
    return np.asarray(np.einsum("eg,egi->ei", full.weight, full.xy) / areas(model)[:, None])
