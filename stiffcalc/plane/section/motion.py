"""How an edge of a section moves as a whole."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.plane.elements import sample_sides
from stiffcalc.plane.section.grid import Grid


@dataclass(frozen=True)
class EdgeMotion:
    """Area-weighted mean displacement of an edge and its turn; l cases."""

    x: Array  # (l,) mm
    y: Array  # (l,) mm
    turn: Array  # (l,) rad, counter-clockwise, about the edge's centroid


def edge_motion(grid: Grid, U: Array, name: str) -> EdgeMotion:
    """Mean and best-fit turn of displacements (l, n, 2) along an edge.

    turn = integral of r x (u - mean) dA over integral of r^2 dA, r from the centroid: conjugate to the moment of a
    `Resultant` on the same edge.
    """
    sides = grid.edge(name)
    line = sample_sides(grid.nodes, sides.nodes)
    weight = line.length * grid.thickness[sides.owner][:, None]
    moves = np.einsum("gn,lkni->lkgi", line.N, U[:, sides.nodes])
    away = line.xy - np.einsum("kg,kgi->i", weight, line.xy) / weight.sum()
    mean = np.einsum("kg,lkgi->li", weight, moves) / weight.sum()
    turning = away[..., 0] * moves[..., 1] - away[..., 1] * moves[..., 0]
    turn = np.einsum("kg,lkg->l", weight, turning) / np.einsum("kg,kgi,kgi->", weight, away, away)
    return EdgeMotion(mean[:, 0], mean[:, 1], turn)
