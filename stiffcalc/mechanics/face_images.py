"""Joint faces cut into cells and pressed by bolts; of two that mirror each other in x = 0 one is the other's image.

Most bodies are alike on either side of the middle but for their bores, so that half of that work is saved.
Axes: D designs, n faces, C cells a face, J bolts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges
from stiffcalc.mechanics.elastic_faces import FITTED, ElasticFaces, FaceConstants, pressing_only
from stiffcalc.mechanics.face_cells import Cells, cut_faces
from stiffcalc.mechanics.stacked import in_slabs, some
from stiffcalc.mechanics.voids import Void


@dataclass(frozen=True)
class FaceBolts:
    """The bolts of joint faces."""

    place: Array  # (D, J, 2) mm
    height: Array  # (D, J) mm from the clamp plane to the head, mean of both halves
    owner: tuple[int, ...]  # face of each bolt, -1: none

    def of(self, face: int) -> list[int]:
        """The bolts of one face, in their order."""
        return [j for j, where in enumerate(self.owner) if where == face]


def sources(bridges: Bridges, bolts: FaceBolts, jointed: Sequence[int]) -> tuple[int, ...]:
    """For each face of the jointed bridges the one to be cut: itself, or the earlier one it is the image of.

    In all designs of a batch. Holes and bolts are compared in their order: in another one a face counts for its own.
    """
    found: list[int] = []
    for face in range(len(jointed)):
        earlier = (i for i in dict.fromkeys(found) if _image(bridges, bolts, jointed, (i, face)))
        found.append(next(earlier, face))
    return tuple(found)


def _image(bridges: Bridges, bolts: FaceBolts, jointed: Sequence[int], faces: tuple[int, int]) -> bool:
    """Whether the second of two faces is the image of the first one."""
    i, k = (jointed[face] for face in faces)
    first, second = (bolts.of(face) for face in faces)
    if len(first) != len(second):
        return False
    alike = [(v[:, i], v[:, k]) for v in (bridges.y, bridges.arch, bridges.hole_y, bridges.hole_d)]
    alike += [(v[:, first], v[:, second]) for v in (bolts.place[..., 1], bolts.height)]
    bored = np.where(bridges.hole_d > 0.0, bridges.hole_x, 0.0)
    turned = [
        (bridges.x[:, i, ::-1], bridges.x[:, k]),
        (bored[:, i], bored[:, k]),
        (bolts.place[:, first, 0], bolts.place[:, second, 0]),
    ]
    return all(np.array_equal(a, b) for a, b in alike) and all(np.array_equal(-a, b) for a, b in turned)


def pressed_faces(
    bridges: Bridges,
    bolts: FaceBolts,
    *,
    jointed: Sequence[int],
    voids: Sequence[Void] = (),
    split: int = 1,
    constants: FaceConstants = FITTED,
) -> ElasticFaces:
    """The jointed bridges' faces as `pressing_only` gives them, cut as `cut_faces` does."""
    source = tuple(range(len(jointed))) if voids else sources(bridges, bolts, jointed)
    kept = list(dict.fromkeys(source))

    def of(rows: slice) -> ElasticFaces:
        cells = cut_faces(some(bridges, rows), jointed=[jointed[i] for i in kept], voids=voids, split=split)
        known = pressing_only(
            cells,
            bolts=bolts.place[rows],
            heights=bolts.height[rows],
            owner=[kept.index(i) if i in kept else -1 for i in bolts.owner],
            constants=constants,
        )
        return known if len(kept) == len(source) else _with_images(known, source, bolts)

    return in_slabs(of, len(bridges.x))


def _with_images(known: ElasticFaces, source: Sequence[int], bolts: FaceBolts) -> ElasticFaces:
    """All faces, of which those are known that are sources; without give and voids."""
    kept, cells = list(dict.fromkeys(source)), known.cells
    copy = _Copy([kept.index(i) for i in source], [i != face for face, i in enumerate(source)], cells.grid)
    width = np.diff(cells.x_edges, axis=-1)[:, copy.place] / cells.grid[0]
    every = Cells(
        x=copy.odd(cells.x),
        y=copy.of(cells.y),
        area=copy.of(cells.area),
        section=copy.of(cells.section),
        width=np.broadcast_to(width, (*width.shape[:2], cells.x.shape[2])),
        height=copy.of(cells.height),
        x_edges=copy.ends(cells.x_edges),
        y_edges=cells.y_edges[:, copy.place],
        arm=copy.about_y(cells.arm),
    )
    return ElasticFaces(every, _pressing(known, copy, source, bolts), None, copy.about_y(known.plane))


def _pressing(known: ElasticFaces, copy: _Copy, source: Sequence[int], bolts: FaceBolts) -> Array:
    """What each bolt presses on the cells of all faces, (D, M, J)."""
    D, n, _ = known.cells.x.shape
    shares = known.pressing.reshape(D, n, *copy.grid, -1)
    pressing = np.zeros((D, len(source), *copy.grid, len(bolts.owner)))
    for face, i in enumerate(source):
        for j, own in zip(bolts.of(face), bolts.of(i), strict=True):
            pressing[:, face, ..., j] = copy.one(shares[..., own], face)
    return pressing.reshape(D, -1, len(bolts.owner))


@dataclass(frozen=True)
class _Copy:
    """How faces are copied: of which one, and whether as its image."""

    place: list[int]  # (n) among the faces that are known
    image: list[bool]  # (n)
    grid: tuple[int, int]

    def one(self, values: Array, face: int) -> Array:
        """One face's values (D, columns, rows, ...): of an image the columns the other way round."""
        own = values[:, self.place[face]]
        return own[:, ::-1] if self.image[face] else own

    def of(self, values: Array) -> Array:
        """Values (D, n, C, ...) that an image has in common with its source."""
        D, _, C, *items = values.shape
        known = values.reshape(D, -1, *self.grid, *items)
        found = np.empty((D, len(self.place), *self.grid, *items))
        for face in range(len(self.place)):
            found[:, face] = self.one(known, face)
        return found.reshape(D, -1, C, *items)

    def odd(self, values: Array) -> Array:
        """Values whose sign changes."""
        found = self.of(values)
        for face in np.flatnonzero(self.image):
            np.negative(found[:, face], out=found[:, face])
        return found

    def about_y(self, values: Array) -> Array:
        """Values (D, n, C, 3) of N, Mx, My: those of My change their sign."""
        found = self.of(values)
        for face in np.flatnonzero(self.image):
            np.negative(found[:, face, :, 2], out=found[:, face, :, 2])
        return found

    def ends(self, edges: Array) -> Array:
        """Ends (D, n, 2) along x."""
        own = edges[:, self.place]
        own[:, self.image] = -own[:, self.image, ::-1]
        return own
