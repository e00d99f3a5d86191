"""What the fluid of a port pushes the halves apart with, on the cells of a joint face.

Up to the seal's outer edge the fluid stands between the faces: it presses on both with the line pressure, over the
seal's disc, in place of contact. While the face stays closed nothing else changes: the bridge carries the same, and
what the fluid carries of it contact need not. Once the face opens the push pries.

Axes: D designs, M cells of all faces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges, underside
from stiffcalc.mechanics.face_cells import Cells
from stiffcalc.mechanics.stacked import transposed

RINGS, SPOKES = 12, 48  # points of a disc, each of the same area


@dataclass(frozen=True)
class SealDisc:
    """A seal's disc in one joint face; numbers are the same in all designs or (D,). mm."""

    face: int  # index among the jointed ones
    bridge: int
    x: Array | float
    y: Array | float
    diameter: Array | float


def pushed(cells: Cells, bridges: Bridges, discs: Sequence[SealDisc]) -> Array:
    """Force on every cell per MPa of line pressure (D, M), mm2: of each disc its area, with its exact resultants."""
    D, n, C = cells.x.shape
    found = np.zeros((D, n, C))
    for disc in discs:
        share = _shares(cells, _only(bridges, disc.bridge), disc)
        area = 0.25 * np.pi * np.square(np.broadcast_to(np.asarray(disc.diameter, dtype=float), D))
        arm, plane = cells.arm[:, disc.face], cells.plane[:, disc.face]
        x, y = (np.broadcast_to(np.asarray(v, dtype=float), D) for v in (disc.x, disc.y))
        wanted = np.stack([np.ones(D), *_levers(cells, disc.face, x, y)], axis=-1)
        # cells are coarse: what their middles miss of the disc's place goes on as a linear pressure
        missed = wanted - (transposed(arm) @ share[..., None])[..., 0]
        found[:, disc.face] += area[:, None] * (share + (plane @ missed[..., None])[..., 0])
    return found.reshape(D, n * C)


def _levers(cells: Cells, face: int, x: Array, y: Array) -> tuple[Array, Array]:
    """y - y_r and x_b - x of a place, (D,)."""
    return (
        y - (cells.y[:, face, 0] - cells.arm[:, face, 0, 1]),
        (cells.x[:, face, 0] + cells.arm[:, face, 0, 2]) - x,
    )


def _shares(cells: Cells, bridge: Bridges, disc: SealDisc) -> Array:
    """Share of a disc's area over each cell of its face, (D, C)."""
    D, _, C = cells.x.shape
    columns, rows = cells.grid
    radius = np.sqrt((np.arange(RINGS) + 0.5) / RINGS)[:, None]
    angle = 2.0 * np.pi * (np.arange(SPOKES) + 0.5) / SPOKES
    half = 0.5 * np.broadcast_to(np.asarray(disc.diameter, dtype=float), D)[:, None]
    x = np.broadcast_to(np.asarray(disc.x, dtype=float), D)[:, None] + half * (radius * np.cos(angle)).ravel()
    y = np.broadcast_to(np.asarray(disc.y, dtype=float), D)[:, None] + half * (radius * np.sin(angle)).ravel()
    low, top = underside(bridge, x[:, None])[:, 0], bridge.y[:, :, 1]
    x0, x1 = bridge.x[..., 0], bridge.x[..., 1]
    column = _place((x - x0) / (x1 - x0), columns)
    cell = column * rows + _place((y - low) / (top - low), rows)
    count = np.zeros((D, C))
    np.add.at(count, (np.arange(D)[:, None], cell), 1.0 / (RINGS * SPOKES))
    return count


def _place(share: Array, count: int) -> np.ndarray[tuple[int, ...], np.dtype[np.intp]]:
    return np.clip((share * count).astype(np.intp), 0, count - 1)


def _only(bridges: Bridges, i: int) -> Bridges:
    return Bridges(**{f.name: getattr(bridges, f.name)[:, i : i + 1] for f in fields(Bridges)})
