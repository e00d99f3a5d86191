"""What is checked at every solve: residual, equilibrium, energy. All relative; one figure a case."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError
from stiffcalc.plane.elements import membrane_operator, sample
from stiffcalc.plane.section.assembly import curved, laws
from stiffcalc.plane.section.grid import Grid
from stiffcalc.plane.section.matrices import Matrices

ALLOWED = 1e-8
ROUNDING = 1e-6  # with ALLOWED: 1e-14 of stiffness times movement


@dataclass(frozen=True)
class Audit:
    """Relative to the largest nodal force, the sum of all forces, the sum of all work; l cases."""

    residual: Array  # (l,) forces left over at free freedoms
    equilibrium: Array  # (l,) forces and moment of loads, rows, beds and reactions together
    energy: Array  # (l,) strain energy from stresses and beds against half the work of all forces


def audit(
    grid: Grid, *, matrices: Matrices, U: Array, applied: Array, bed_forces: Array
) -> tuple[Audit, Array]:
    """Check displacements U (2n, l) under loads and row forces `applied` (2n, l); gives the reactions too.

    Raises ConvergenceError where a figure exceeds 1e-8.
    """
    asked = matrices.forces(U)
    reactions = np.zeros_like(U)
    reactions[matrices.pinned] = (asked - applied)[matrices.pinned]
    # What rounding leaves where forces cancel, as in a rigid motion: far above 1e-16 of stiffness times movement.
    rounding = ROUNDING * float(matrices.K.diagonal().max()) * np.abs(U).max(axis=0)
    scale = np.abs(asked).max(axis=0) + np.abs(applied).max(axis=0) + rounding
    forces = applied, reactions, -bed_forces
    balance = _resultants(grid, sum(forces, start=np.zeros(())))
    size = _resultants(grid, sum((np.abs(f) for f in forces), start=np.zeros(())), absolute=True)
    levers = np.sqrt(len(grid.nodes)) * np.array([1.0, 1.0, np.ptp(grid.nodes, axis=0).max()])
    size = size + np.outer(levers, rounding)
    work = 0.5 * sum(np.sum(U * f, axis=0) for f in forces)
    turned_over = 0.5 * sum(np.sum(np.abs(U * f), axis=0) for f in forces) + rounding * np.abs(U).max(axis=0)
    found = Audit(
        residual=_share(np.abs(asked - applied - reactions).max(axis=0), scale),
        equilibrium=_share(np.abs(balance), size).max(axis=0),
        energy=_share(np.abs(strain_energy(grid, U) - work), turned_over),
    )
    for what in ("residual", "equilibrium", "energy"):
        worst = float(np.max(getattr(found, what)))
        if not worst <= ALLOWED:
            raise ConvergenceError(f"{what} of the section", residual=worst, iterations=1)
    return found, reactions


def _share(part: Array, whole: Array) -> Array:
    """Ratio, zero where there is nothing at all."""
    return np.asarray(part / np.where(whole > 0, whole, 1.0))


def _resultants(grid: Grid, forces: Array, *, absolute: bool = False) -> Array:
    """Force x, y and moment (3, l) about the middle of the section; of magnitudes for a scale."""
    F = forces.reshape(len(grid.nodes), 2, -1)
    away = grid.nodes - grid.nodes.mean(axis=0)
    x, y = (np.abs(away) if absolute else away).T
    sign = 1.0 if absolute else -1.0
    moment = np.einsum("n,nl->l", x, F[:, 1]) + sign * np.einsum("n,nl->l", y, F[:, 0])
    total = np.stack([F[:, 0].sum(axis=0), F[:, 1].sum(axis=0)])
    if absolute:
        total = np.broadcast_to(total.sum(axis=0), total.shape)
    return np.concatenate([total, moment[None]])


def strain_energy(grid: Grid, U: Array) -> Array:
    """Integral of half stress times strain, N mm, of displacements (2n, l), from the elements' own strains."""
    total, bent = np.zeros(U.shape[1]), curved(grid)
    moves = U.reshape(len(grid.nodes), 2, -1)
    for which, points in ((~bent, 3), (bent, 6)):
        at = sample(grid.nodes, grid.triangles[which], points=points)
        B = membrane_operator(at.dN).reshape(*at.weight.shape, 3, 12)
        nodal = moves[grid.triangles[which]].reshape(len(B), 1, 12, U.shape[1])
        strain = B @ nodal
        law, weight = laws(grid)[grid.zone[which]], at.weight * grid.thickness[which][:, None]
        stress = law[:, None] @ strain
        total += 0.5 * np.einsum("eg,egsl,egsl->l", weight, strain, stress)
    return total
