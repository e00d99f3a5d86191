"""How an edge or the metal of some zones moves as a whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.plane.elements import sample_sides
from stiffcalc.plane.section.grid import Grid
from stiffcalc.plane.section.loads import volumes, zone_triangles


@dataclass(frozen=True)
class Motion:
    """Mean displacement of an edge's area or of zones' volume, and its turn; l cases."""

    x: Array  # (l,) mm
    y: Array  # (l,) mm
    turn: Array  # (l,) rad, counter-clockwise
    centre: tuple[float, float]  # mm, of the area or volume


def edge_motion(grid: Grid, U: Array, name: str) -> Motion:
    """Mean and best-fit turn of displacements (l, n, 2) along an edge.

    turn = integral of r x (u - mean) dA over integral of r^2 dA, r from the centroid: conjugate to the moment of a
    `Resultant` on the same edge.
    """
    sides = grid.edge(name)
    line = sample_sides(grid.nodes, sides.nodes)
    weight = line.length * grid.thickness[sides.owner][:, None]
    return _motion(weight, line.xy, np.einsum("gn,lkni->lkgi", line.N, U[:, sides.nodes]))


def zone_motion(grid: Grid, U: Array, names: Sequence[str]) -> Motion:
    """The same over the volume of some zones: conjugate to a `VolumeResultant` on them."""
    inside = zone_triangles(grid, names)
    at, weight = volumes(grid, inside)
    return _motion(weight, at.xy, np.einsum("gn,leni->legi", at.N, U[:, grid.triangles[inside]]))


def _motion(weight: Array, xy: Array, moves: Array) -> Motion:
    centre = np.einsum("kg,kgi->i", weight, xy) / weight.sum()
    away = xy - centre
    mean = np.einsum("kg,lkgi->li", weight, moves) / weight.sum()
    turning = away[..., 0] * moves[..., 1] - away[..., 1] * moves[..., 0]
    turn = np.einsum("kg,lkg->l", weight, turning) / np.einsum("kg,kgi,kgi->", weight, away, away)
    return Motion(mean[:, 0], mean[:, 1], turn, (float(centre[0]), float(centre[1])))
