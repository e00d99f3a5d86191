"""Joint faces cut into cells: where contact pressure lives when a face is more than a plane.

A face is divided evenly along x and, from underside to top, along y, the same number of cells for every face, so
that a batch of designs is one array. Metal in a cell is counted by sampling: all of the section (bolt holes out),
and what of it touches (reliefs out too: a shallow step, so the section behind stays whole).

Axes: D designs, n joint faces a design (jointed bridges only), C cells a face; a bolt is one of J.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges, reference
from stiffcalc.mechanics.face_samples import (
    SAMPLES,
    Grid,
    counted,
    counted_runs,
    hole_runs,
    in_runs,
    touching,
)
from stiffcalc.mechanics.stacked import inverse, transposed
from stiffcalc.mechanics.voids import Void

COLUMNS, ROWS = 8, 10  # of whole faces finer ones move opening by 0.2 % and bolt forces by 0.1 kN
# Faces with voids that give way are cut twice as fine: lands of studies/solid_check/polygon_face.py, opened to a third,
# are then within 3.4 % of their solids instead of 5.8 %, closed to a half within 2 instead of 3 %. Their pressures are
# read from as many cells as any face's: onset is asked of a cell, so that finer ones would not compare.
SPLIT = 2
Where = tuple[slice, slice] | NDArray[np.intp]

DEAD = 0.05  # of a cell's box: with less metal than this a cell carries nothing


@dataclass(frozen=True)
class Pieces:
    """Metal of each cell as the rectangle of the same area's centroid and second moments. mm; no area: none."""

    area: Array  # (D, n, C) mm2
    x: Array  # (D, n, C)
    y: Array
    width: Array
    height: Array


@dataclass(frozen=True)
class Extents:
    """Where in its cells a face with voids has metal."""

    touching: Pieces
    relieved: Pieces  # metal of the section that does not touch
    holes: Array  # (D, n, H, 3) x, y, diameter of the bolt holes, mm; 0: none


@dataclass(frozen=True)
class Cells:
    """Cells of the joint faces, rows of equal x first. mm."""

    x: Array  # (D, n, C) centroid of the metal that touches, else of the section
    y: Array  # (D, n, C)
    area: Array  # (D, n, C) metal that touches, 0 where dead
    section: Array  # (D, n, C) metal of the bridge's section behind it, 0 where next to none
    width: Array  # (D, n, C) of the cell along x
    height: Array  # (D, n, C) mean along y
    x_edges: Array  # (D, n, 2) of the face
    y_edges: Array  # (D, n, 2) mean underside, top
    arm: Array  # (D, n, C, 3) a = [1, y - y_r, -(x - x_b)] about the bridge's reference point
    extents: Extents | None = None  # None: no voids
    split: int = 1  # cells a side that make up a cell to be read, see `read`

    @property
    def count(self) -> int:
        """Cells of all faces of a design, M = n C."""
        return int(self.x.shape[1] * self.x.shape[2])

    @property
    def grid(self) -> tuple[int, int]:
        """Cells of a face along x and along y."""
        across = round(float((self.x_edges[0, 0, 1] - self.x_edges[0, 0, 0]) / self.width[0, 0, 0]))
        return across, self.x.shape[2] // across

    @property
    def alive(self) -> NDArray[np.bool_]:
        """Cells that can carry contact, (D, M)."""
        return self.area.reshape(len(self.area), -1) > 0.0

    @cached_property
    def plane(self) -> Array:
        """Forces on the sections' cells (D, n, C, 3) of a linear pressure with unit resultant N, Mx, My."""
        weighed = self.section[..., None] * self.arm
        return np.asarray(weighed @ inverse(transposed(self.arm) @ weighed))

    @cached_property
    def relieved_faces(self) -> NDArray[np.bool_]:
        """Faces (D, n) some of whose section's metal does not touch."""
        return np.asarray((self.area < (1.0 - DEAD) * self.section).any(axis=-1))

    @property
    def relieved(self) -> bool:
        """Whether some of the sections' metal does not touch."""
        return bool(self.relieved_faces.any())

    @cached_property
    def read(self) -> Cells:
        """The cells that pressures are read from: so large whatever a face is cut into, or they would not compare."""
        if self.split == 1:
            return self
        area = self.merged(self.area)
        weight = np.where(_repeated(area > 0.0, self.grid, self.split), self.area, 1.0)
        all_ = self.merged(weight)
        x, y, *arm = (self.merged(weight * v) / all_ for v in (self.x, self.y, *np.moveaxis(self.arm, -1, 0)))
        return Cells(
            x=x,
            y=y,
            area=area,
            section=self.merged(self.section),
            width=self.merged(self.width) / self.split,
            height=self.merged(self.height) / self.split,
            x_edges=self.x_edges,
            y_edges=self.y_edges,
            arm=np.stack(arm, axis=-1),
        )

    def merged(self, values: Array) -> Array:
        """Sums over the cells (..., C) of each cell to be read."""
        if self.split == 1:
            return values
        columns, rows = (count // self.split for count in self.grid)
        blocks = values.reshape(*values.shape[:-1], columns, self.split, rows, self.split)
        return np.asarray(blocks.sum(axis=(-3, -1)).reshape(*values.shape[:-1], columns * rows))

    def of(self, where: Where) -> Cells:
        """The cells of some designs (indices, repeats allowed), or of a slice of the designs and one of the faces."""
        own = {
            f.name: getattr(self, f.name)[where] for f in fields(Cells) if f.name not in ("extents", "split")
        }
        extents = self.extents and _extents_of(self.extents, where)
        return Cells(**own, extents=extents, split=self.split)


def _repeated(values: NDArray[np.bool_], grid: tuple[int, int], split: int) -> NDArray[np.bool_]:
    """Values (..., C) of cells to be read on all cells of which they are made."""
    columns, rows = (count // split for count in grid)
    split_up = values.reshape(*values.shape[:-1], columns, 1, rows, 1)
    full = np.broadcast_to(split_up, (*values.shape[:-1], columns, split, rows, split))
    return full.reshape(*values.shape[:-1], -1)


def _extents_of(extents: Extents, where: Where) -> Extents:
    def of(pieces: Pieces) -> Pieces:
        return Pieces(**{f.name: getattr(pieces, f.name)[where] for f in fields(Pieces)})

    return Extents(of(extents.touching), of(extents.relieved), extents.holes[where])


def cut_faces(
    bridges: Bridges,
    *,
    jointed: Sequence[int],
    voids: Sequence[Void] = (),
    columns: int = COLUMNS,
    rows: int = ROWS,
    split: int = 1,
) -> Cells:
    """Cut the jointed bridges' faces into `columns` x `rows` cells to be read, each split into `split` x `split`.

    `voids` are the same in all designs.
    """
    own = _take(bridges, jointed)
    grid = Grid.of(own, columns * split, rows * split)
    whole, at = grid.whole()
    holes = hole_runs(own, grid)
    lost, extents = grid.lost(*counted_runs(holes, grid)), None
    section = whole - lost[0]
    if voids:
        in_holes = in_runs(holes, grid)
        missing = in_holes | ~touching(voids, grid)
        lost = grid.lost(*counted(missing, grid))
        extents = _extents(own, grid, in_holes=in_holes, missing=missing)
    area, *moments = (a - b for a, b in zip((whole, *at), lost, strict=True))
    alive = area > DEAD * whole
    weight = np.where(alive, area, whole)
    cx, cy = (np.where(alive, m, full) / weight for m, full in zip(moments, at, strict=True))
    width = np.broadcast_to(grid.strip * SAMPLES, area.shape)
    x_b, y_r = reference(own)
    return Cells(
        x=cx,
        y=cy,
        area=np.where(alive, area, 0.0),
        section=np.where(section > DEAD * whole, section, 0.0),
        width=width,
        height=whole / width,
        x_edges=own.x,
        y_edges=np.stack([grid.low.mean(axis=-1), own.y[..., 1]], axis=-1),
        arm=np.stack([np.ones_like(cx), cy - y_r[..., None], x_b[..., None] - cx], axis=-1),
        extents=extents,
        split=split,
    )


def _extents(
    bridges: Bridges, grid: Grid, *, in_holes: NDArray[np.bool_], missing: NDArray[np.bool_]
) -> Extents:
    return Extents(
        touching=Pieces(*grid.pieces(~missing)),
        relieved=Pieces(*grid.pieces(missing & ~in_holes)),
        holes=np.stack([bridges.hole_x, bridges.hole_y, bridges.hole_d], axis=-1),
    )


def _take(bridges: Bridges, which: Sequence[int]) -> Bridges:
    chosen = list(which)
    return Bridges(**{f.name: getattr(bridges, f.name)[:, chosen] for f in fields(Bridges)})
