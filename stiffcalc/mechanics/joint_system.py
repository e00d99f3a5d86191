"""Forces of a joint as linear in what its faces and halves do: the matrices that every load of one pair shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.faces import Faces, closed_stiffness
from stiffcalc.mechanics.stacked import inverse, transposed


@dataclass(frozen=True)
class System:
    """Forces at the first q points follow as H (J v + c), v = (s of the n joint faces, r); other points' are known."""

    q: int
    H: Array  # (D, q, q)
    HJ: Array  # (D, q, nv) = H J
    A: Array  # (D, nv, nv) = J^T H J
    faces: Faces  # (D, n)

    @cached_property
    def closed(self) -> Array:
        """A with every face's stiffness while it is fully closed, (D, nv, nv)."""
        closed, stiff = self.A.copy(), closed_stiffness(self.faces)
        for i in range(self.faces.count):
            closed[:, 3 * i : 3 * i + 3, 3 * i : 3 * i + 3] += stiff[:, i]
        return closed

    @cached_property
    def undo(self) -> Array:
        """Inverse of `closed`."""
        return inverse(self.closed)


def system(compliance: Array, R: Array, *, jointed: Sequence[int], faces: Faces) -> System:
    """Of compliance (D, q, q), rigid motions R (D, q, 3) of its points and the jointed bridges' faces."""
    q = R.shape[1]
    H = inverse(compliance)
    own = [3 * i + k for i in jointed for k in range(3)]
    place = np.broadcast_to(np.eye(q)[:, own], (len(H), q, len(own)))
    J = np.concatenate([place, -R], axis=-1)
    HJ = H @ J
    return System(q=q, H=H, HJ=HJ, A=transposed(J) @ HJ, faces=faces)
