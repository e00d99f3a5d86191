"""Forces of a joint as linear in its loads: the matrices that every load of one pair shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.faces import Faces, closed_stiffness
from stiffcalc.mechanics.stacked import inverse, transposed


def closed_answer(compliance: Array, R: Array, layers: Array) -> Array:
    """What bodies whose faces are all closed do under loads (l, g): forces f at q points, s of n faces, rigid motion r.

    (f, s, r) = answer (l, g), answer (D, q + 3 n + 3, q + 3): l (q) movements that the points start with, g (3)
    resultant of the known forces, so that C f + l + R r = 0, R^T f + g = 0 and s = layers f; compliance C (D, q, q)
    with the faces' layers, R (D, q, 3), layers (D, 3 n, q). Source: block elimination of r.
    """
    H = inverse(compliance)
    HR = H @ R
    N = inverse(transposed(R) @ HR)
    carried = HR @ N
    forces = np.concatenate([carried @ transposed(HR) - H, -carried], axis=2)
    motion = np.concatenate([-transposed(carried), N], axis=2)
    return np.concatenate([forces, layers @ forces, motion], axis=1)


@dataclass(frozen=True)
class System:
    """Joint faces that may open by s: forces and rigid motion (f, r) = answer (l, g) + moved s."""

    answer: Array  # (D, q + 3, q + 3), as `closed_answer` while no face gives way
    moved: Array  # (D, q + 3, 3 n)
    A: Array  # (D, 3 n, 3 n) forces at the faces per separation
    closed: Array  # (D, 3 n, 3 n) A with every face's stiffness while it is fully closed


def system(compliance: Array, R: Array, *, jointed: Sequence[int], faces: Faces) -> System:
    """Of compliance (D, q, q) without the faces' layers, R (D, q, 3) and the jointed bridges' faces.

    A separation is a movement that the points start with, less by s at the faces.
    """
    own = [3 * i + k for i in jointed for k in range(3)]
    answer = closed_answer(compliance, R, np.empty((len(R), 0, R.shape[1])))
    moved = -answer[:, :, own]
    A = np.ascontiguousarray(moved[:, own])
    closed, stiff = A.copy(), closed_stiffness(faces)
    for i in range(faces.count):
        closed[:, 3 * i : 3 * i + 3, 3 * i : 3 * i + 3] += stiff[:, i]
    return System(answer, moved, A, closed)
