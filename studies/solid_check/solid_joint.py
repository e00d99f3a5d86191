"""The unilateral, frictionless joint face of a condensed solid, clamped by bolts.

The face rests on the mid-plane through stiff one-sided springs at quadrature points (1/2 integral k min(u, 0)^2 dA),
which is variational whatever the element's order; k is so stiff that it lengthens a bridge by 0.03 mm at most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.linalg as la
import scipy.sparse as sp
from solid_fem import Condensed

from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError

SPRING = 2.5e6  # N/mm3: E over 0.03 mm of aluminium
STEPS = 200


@dataclass(frozen=True)
class Face:
    """Quadrature on the joint face: `shape` (g, k) values of the kept unknowns' functions, `weight` (g,) mm2."""

    shape: sp.csr_matrix
    weight: Array
    nodes: Array  # (k, 2) x, y of the kept nodes


@dataclass(frozen=True)
class Clamp:
    """Bolts on a condensed solid: which outputs are their heads, stiffness N/mm, preload N, part modelled (1 or 1/2)."""

    heads: slice
    stiffness: Array
    preload: Array
    share: Array


@dataclass(frozen=True)
class JointState:
    """Outputs (m,), bolt forces (b,) N, share of the face in contact, kept movements (k,)."""

    outputs: Array
    bolt_force: Array
    contact: float
    lift: Array


def scale_for_contact(
    solid: Condensed, face: Face, clamp: Clamp, *, load: Array, remaining: float, tolerance: float = 0.01
) -> float:
    """Factor on the preload at which `load` leaves the share `remaining` of the tightened contact.

    The response depends on load / preload only, so the factor is sought on the load.
    """
    tight = _solve(solid, face, clamp, load=0.0 * load, tight=None, start=np.zeros(len(solid.S)))
    low, high, start = 0.02, 20.0, tight.lift
    for _ in range(30):
        factor = float(np.sqrt(low * high))
        state = _solve(solid, face, clamp, load=factor * load, tight=tight.outputs[clamp.heads], start=start)
        if abs(state.contact - remaining * tight.contact) < tolerance:
            return 1.0 / factor
        low, high = (factor, high) if state.contact > remaining * tight.contact else (low, factor)
        start = state.lift
    raise ConvergenceError("preload scale", residual=state.contact - remaining * tight.contact, iterations=30)


def sweep(solid: Condensed, face: Face, clamp: Clamp, *, load: Array, pressures: Sequence[float]) -> list[JointState]:
    """Tightened state, then one state for each pressure; `load` (m,) are output forces per MPa."""
    states = [_solve(solid, face, clamp, load=0.0 * load, tight=None, start=np.zeros(len(solid.S)))]
    for pressure in pressures:
        states.append(
            _solve(solid, face, clamp, load=pressure * load, tight=states[0].outputs[clamp.heads], start=states[-1].lift)
        )
    return states


def closed(solid: Condensed, face: Face, clamp: Clamp, *, load: Array) -> tuple[JointState, JointState]:
    """Tightened state, and movement per MPa, with a face that can also pull."""
    bonded = face.weight * SPRING
    tight = _step(solid, face, clamp, bonded, load=0.0 * load, tight=None)
    loaded = _step(solid, face, clamp, bonded, load=load, tight=tight.outputs[clamp.heads])
    rate = JointState(
        loaded.outputs - tight.outputs, loaded.bolt_force - tight.bolt_force, 1.0, loaded.lift - tight.lift
    )
    return tight, rate


def _solve(
    solid: Condensed, face: Face, clamp: Clamp, *, load: Array, tight: Array | None, start: Array
) -> JointState:
    """Newton on the set of quadrature points in contact; ends when the set repeats itself."""
    touching = face.shape @ start <= 0.0
    for _ in range(STEPS):
        state = _step(solid, face, clamp, face.weight * SPRING * touching, load=load, tight=tight)
        new = face.shape @ state.lift < 0.0
        changed = float(face.weight[new != touching].sum() / face.weight.sum())
        if changed == 0.0:
            return JointState(state.outputs, state.bolt_force, float(face.weight[new].sum() / face.weight.sum()), state.lift)
        touching = new
    raise ConvergenceError("joint face", residual=changed, iterations=STEPS)


def _step(
    solid: Condensed, face: Face, clamp: Clamp, springs: Array, *, load: Array, tight: Array | None
) -> JointState:
    """Linear solution with given springs (g,); bolts keep their preload while `tight` is None."""
    k, bolts = len(solid.S), len(clamp.preload)
    heads = np.arange(len(solid.C))[clamp.heads]
    rate = clamp.share * clamp.stiffness * (0.0 if tight is None else 1.0)
    rest = np.zeros(bolts) if tight is None else tight
    matrix = np.empty((k + bolts,) * 2)
    matrix[:k, :k] = solid.S + (face.shape.T @ sp.diags(springs) @ face.shape).toarray()
    matrix[:k, k:] = -solid.B[:, heads]
    matrix[k:, :k] = rate[:, None] * solid.B[:, heads].T
    matrix[k:, k:] = np.eye(bolts) + rate[:, None] * solid.C[np.ix_(heads, heads)]
    pull = -clamp.share * clamp.preload + rate * (rest - solid.C[heads] @ load)
    solution = la.solve(matrix, np.concatenate([solid.B @ load, pull]))
    lift, force = solution[:k], load.copy()
    force[heads] += solution[k:]
    return JointState(solid.C @ force + solid.B.T @ lift, -solution[k:] / clamp.share, float("nan"), lift)
