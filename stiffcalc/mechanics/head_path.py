"""How a bolt's force on its way through the wall moves the root of the bridge beneath it.

A plate knows the wall by its mid-plane: what a head presses reaches the bridge without compressing anything. In metal
the wall is a column above the bridge, held along its whole depth t by the wall beside it. With that hold spread evenly
the column carries R (1 - z/t) - H z/t at depth z, under R on the root and H on the head, and the mixed term of its
energy moves the root by -t / (6 E) (integral a a^T dA)^-1 a_bolt for every newton on the head (derived). The term of
R alone is in the root's layer already, that of H in the head's seat: both were fitted.

Beyond that the root of a bridge at a wall's end turns towards the side where the wall goes on, by
LEAN (w / t) N / (E A): found in 3-D solids (14 faces of bodies of the fit, 0.10 to 0.17), not derived. Together they
bring the edge pressure of tightened faces from 6.9 % (rms, of the mean pressure) to 2.5 %.

Axes: D designs, N bridges, J bolts.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges, area_matrix, reference
from stiffcalc.mechanics.stacked import inverse
from stiffcalc.mechanics.walls import Walls

COLUMN = -1.0 / 6.0
LEAN = 0.14


def head_column(bridges: Bridges, walls: Walls, *, bolts: Array, owner: Sequence[int]) -> Array:
    """What the column does: movements (w, theta_x, theta_y) of the roots per newton on each head, (D, N, 3, J).

    Of one half. bolts (D, J, 2) mm; owner: the bridge of each bolt, -1 where its force takes another way.
    """
    areas = area_matrix(bridges)
    compliance = inverse(areas)
    x_b, y_r = reference(bridges)
    depth = COLUMN * walls.thickness / walls.E
    roots = np.zeros((*areas.shape[:3], len(owner)))
    for i in range(areas.shape[1]):
        own = np.flatnonzero(np.asarray(owner) == i)
        x, y = bolts[:, own, 0] - x_b[:, i, None], bolts[:, own, 1] - y_r[:, i, None]
        arms = np.stack([np.ones_like(x), y, -x], axis=-2)
        roots[:, i, :, own] = np.moveaxis(depth[:, None, None] * (compliance[:, i] @ arms), -1, 0)
    return roots


def head_lean(bridges: Bridges, walls: Walls, *, owner: Sequence[int]) -> Array:
    """How the roots lean to the wall: as `head_column`."""
    area = area_matrix(bridges)[..., 0, 0]
    lean = _lean(bridges, walls) / (walls.E * walls.thickness)[:, None] / area
    roots = np.zeros((*area.shape, 3, len(owner)))
    for j, i in enumerate(owner):
        if i >= 0:
            roots[:, i, 2, j] = lean[:, i]
    return roots


def _lean(bridges: Bridges, walls: Walls) -> Array:
    """LEAN w of each bridge (D, N), with the share and the sign of the side where the wall goes on."""
    left, right = bridges.x[..., 0] - walls.x[:, :1], walls.x[:, 1:] - bridges.x[..., 1]
    beside = left + right
    side = np.where(beside > 0.0, (left - right) / np.where(beside > 0.0, beside, 1.0), 0.0)
    return np.asarray(LEAN * np.diff(bridges.x, axis=-1)[..., 0] * side)
