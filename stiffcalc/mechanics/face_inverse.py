"""What every state asks of a face's give, found once: a modulus or a load only scales it.

Axes: D designs, n faces, C cells a face.
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.face_cells import Cells


def onto_lands(cells: Cells, give: Array) -> Array:
    """From the sections' cell forces to those on touching cells of the same resultant, (D, n, C, C).

    Least energy (P - P_whole).C.(P - P_whole) / 2 of what touches, whatever the modulus. give (D, n, C, C).
    """
    found = np.zeros_like(give)
    for d, i in np.ndindex(*give.shape[:2]):
        found[d, i] = _onto_land(cells, give[d, i], d, i)
    return found


def _onto_land(cells: Cells, give: Array, design: int, face: int) -> Array:
    arm, alive = cells.arm[design, face], np.flatnonzero(cells.area[design, face] > 0.0)
    land = arm[alive]
    K = np.block([[give[np.ix_(alive, alive)], land], [land.T, np.zeros((3, 3))]])
    onto = np.zeros_like(give)
    onto[alive] = np.linalg.solve(K, np.vstack([give[alive], arm.T]))[: len(alive)]
    return onto


def anchors(cells: Cells, give: Array) -> Array:
    """Flexibilities (D, n, 3) in N, Mx, My that anchor the faces' planes, about as large as the give (D, n, C, C)."""
    size = np.trace(give, axis1=-2, axis2=-1)[..., None]
    return np.asarray(size / (cells.arm**2).sum(axis=-2))


def anchored(cells: Cells, give: Array) -> Array:
    """Inverse of give + arm.anchors.arm^T over the living cells (D, n, C, C), zero elsewhere.

    The give alone has none: a linear pressure moves nothing out of the plane.
    """
    held = give + cells.arm * anchors(cells, give)[..., None, :] @ cells.arm.swapaxes(-1, -2)
    found = np.zeros_like(give)
    for d, i in np.ndindex(*give.shape[:2]):
        alive = np.flatnonzero(cells.area[d, i] > 0.0)
        at = np.ix_(alive, alive)
        found[d, i][at] = np.linalg.inv(held[d, i][at])
    return found
