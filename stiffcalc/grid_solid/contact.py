"""The unilateral, frictionless joint face of condensed solids, clamped by bolts.

The face rests on stiff one-sided springs at quadrature points (1/2 integral k min(u, 0)^2 dA), which is variational
whatever the functions; k is so stiff that it lengthens a bridge by 0.03 mm at most. Newton on the points in contact.

Axes: g quadrature points, k unknowns of the face, m outputs and loads, b bolts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.linalg as la
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError
from stiffcalc.grid_solid.half import Condensed

SPRING = 2.5e6  # N/mm3: E over 0.03 mm of aluminium
STEPS = 200


@dataclass(frozen=True)
class Face:
    """Quadrature on the joint face: `shape` (g, k) values of the kept unknowns' functions, `weight` (g,) mm2."""

    shape: sp.csr_matrix
    weight: Array
    nodes: Array  # (k, 2) x, y of the kept nodes
    spring: float = SPRING


@dataclass(frozen=True)
class Clamp:
    """Bolts on a condensed solid: outputs that are their heads, stiffness N/mm, preload N, part modelled (1 or 1/2)."""

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


def sweep(
    solid: Condensed, face: Face, clamp: Clamp, *, load: Array, pressures: Sequence[float]
) -> list[JointState]:
    """Tightened state, then one state for each pressure; `load` (m,) are output forces per MPa."""
    states = [contact_state(solid, face, clamp, load=0.0 * load, tight=None, start=np.zeros(len(solid.S)))]
    for pressure in pressures:
        states.append(
            contact_state(
                solid,
                face,
                clamp,
                load=pressure * load,
                tight=states[0].outputs[clamp.heads],
                start=states[-1].lift,
            )
        )
    return states


def closed(solid: Condensed, face: Face, clamp: Clamp, *, load: Array) -> tuple[JointState, JointState]:
    """Tightened state, and movement per MPa, with a face that can also pull."""
    bonded = face.weight * face.spring
    tight = _step(solid, face, clamp, bonded, load=0.0 * load, tight=None)
    loaded = _step(solid, face, clamp, bonded, load=load, tight=tight.outputs[clamp.heads])
    rate = JointState(
        loaded.outputs - tight.outputs, loaded.bolt_force - tight.bolt_force, 1.0, loaded.lift - tight.lift
    )
    return tight, rate


def contact_state(
    solid: Condensed,
    face: Face,
    clamp: Clamp,
    *,
    load: Array,
    tight: Array | None,
    start: Array,
    change: float = 0.0,
) -> JointState:
    """State under `load`: bolts at their preload where `tight` is None, else stretched from heads at `tight`.

    Newton on the set of quadrature points in contact; ends when no more than `change` of the area alters.
    """
    touching = face.shape @ start <= 0.0
    for _ in range(STEPS):
        state = _step(solid, face, clamp, face.weight * face.spring * touching, load=load, tight=tight)
        new = face.shape @ state.lift < 0.0
        changed = float(face.weight[new != touching].sum() / face.weight.sum())
        if changed <= change:
            return JointState(
                state.outputs, state.bolt_force, float(face.weight[new].sum() / face.weight.sum()), state.lift
            )
        touching = new
    raise ConvergenceError("joint face", residual=changed, iterations=STEPS)


def _step(
    solid: Condensed, face: Face, clamp: Clamp, springs: Array, *, load: Array, tight: Array | None
) -> JointState:
    """Linear solution with given springs (g,); bolts keep their preload while `tight` is None.

    Raises `ConvergenceError` where too little touches to hold the solid.
    """
    heads = np.arange(len(solid.C))[clamp.heads]
    matrix = solid.S + (face.shape.T @ sp.diags(springs) @ face.shape).toarray()
    try:
        factor = la.cho_factor(matrix, overwrite_a=True, check_finite=False)
    except la.LinAlgError:
        raise ConvergenceError("joint face that nothing holds", residual=np.inf, iterations=1) from None
    free = la.cho_solve(factor, np.column_stack([solid.B @ load, solid.B[:, heads]]), check_finite=False)
    lift, by_head = free[:, 0], free[:, 1:]  # without bolts, and per unit force on each head
    to_heads = solid.B[:, heads].T
    rate = clamp.share * clamp.stiffness * (0.0 if tight is None else 1.0)
    rest = 0.0 if tight is None else tight
    moved = solid.C[heads] @ load + to_heads @ lift
    give = solid.C[np.ix_(heads, heads)] + to_heads @ by_head
    pull = la.solve(
        np.eye(len(heads)) + rate[:, None] * give, -clamp.share * clamp.preload + rate * (rest - moved)
    )
    force = load.copy()
    force[heads] += pull
    lift = lift + by_head @ pull
    return JointState(solid.C @ force + solid.B.T @ lift, -pull / clamp.share, float("nan"), lift)
