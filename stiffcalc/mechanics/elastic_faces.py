"""Faces that give way elastically: how cells of a joint face move under contact pressure, and how bolts press it.

A bridge that is cut at its joint answers to the linear part of its face's pressure as a beam does. What is left
of the pressure is in equilibrium by itself (no force, no moment) and moves the face out of its plane. Its reach
is the face's size, so the metal behind is taken for a half-space whose sides are the face's sides, made by
mirror images (Boussinesq 1885, Love 1929; K. L. Johnson, Contact Mechanics, chapter 3): C = P^T C_images P,
P taking the linear part away. Images keep the sides flat though they are free; the constant `give` stands for
that (faces before a rigid wall against solids 1.35, studies/solid_check/polygon_face.py), for the cells being boxes
even where a hole cuts them, and for the wall's own give. A face of which part does not touch asks more than one
factor on all: `land_give` has its cells' true extent, and counts sides and holes apart.

Bolts do not press a face evenly: their forces reach it as from heads at some height above, by Boussinesq's
stress, mirrored in the sides. While a face is closed its pressure is the beam's linear one plus each bolt's
uneven pattern; what the cells' forces depart from that pattern by is what moves the face out of its plane.

Axes: D designs, n faces, C cells a face, M = n C, J bolts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.face_cells import Cells
from stiffcalc.mechanics.face_inverse import anchored, onto_lands
from stiffcalc.mechanics.land_give import APART, land_give
from stiffcalc.mechanics.stacked import inverse, transposed


@dataclass(frozen=True)
class FaceConstants:
    """What half-spaces and plates do not know of a bridge's end."""

    give: float  # movement of a cell against the mirrored half-space's
    height: float  # of the way from the clamp plane to a head: where its force seems to come from
    seat: float  # of F / (E a): a head sinks into a wall that is taken for a plate


# Fitted to opening and bolt forces of two-piece solids (studies/solid_check/fit_faces.py, group `fit`).
FITTED = FaceConstants(give=1.6, height=0.7, seat=0.3)
# The give of whole faces before a rigid wall (studies/solid_check/polygon_face.py): what FITTED has beyond it is the
# wall's, and is added to faces with voids (`land_give`) as well.
RIGID_WALL = 1.35
IMAGES = (-1, 0, 1)
ROUNDING = 1e-9  # of a face's greatest give: below it an eigenvalue has no sign


@dataclass(frozen=True)
class ElasticFaces:
    """Cells of all joint faces of D designs and what they do under force. N, mm."""

    cells: Cells
    pressing: Array  # (D, M, J) share of a bolt's force on each cell, its linear part taken away
    give: Array | None  # (D, n, C, C) mm/N both halves together; None: faces move as planes
    plane: Array  # (D, n, C, 3) forces that press as a linear pressure on the section with unit resultant N, Mx, My
    fluid: Array | None = None  # (D, M) force of the ports' fluid per MPa, see `port_push`; None: no port
    anchored: Array | None = None  # (D, n, C, C) N/mm, see `face_inverse`; None as `give`
    onto: Array | None = (
        None  # (D, n, C, C) see `face_inverse.onto_lands`; None: faces move as planes, or are whole
    )

    def pressed(self, cells: Array, pressure: Array) -> Array:
        """All that presses the cells (D, ..., M): contact, and the fluid of ports at line pressure (D, ...).

        Faces that move as planes have no cells (M = 0).
        """
        if self.fluid is None or self.give is None:
            return cells
        fluid = np.expand_dims(self.fluid, tuple(range(1, pressure.ndim)))
        return np.asarray(cells + pressure[..., None] * fluid)

    @property
    def prying(self) -> Array | None:
        """Resultants N, Mx, My of the fluid's push on each face per MPa, (D, n, 3)."""
        if self.fluid is None:
            return None
        on_cells = self.fluid.reshape(self.cells.x.shape)[..., None]
        return np.asarray((transposed(self.cells.arm) @ on_cells)[..., 0])


def pressing_only(
    cells: Cells,
    *,
    bolts: Array,
    heights: Array,
    owner: Sequence[int],
    constants: FaceConstants = FITTED,
) -> ElasticFaces:
    """Faces that move as planes but are pressed unevenly.

    bolts (D, J, 2) mm; heights (D, J) mm from the clamp plane to the head, mean of both halves; owner: the face
    (index among the jointed ones) of each bolt, -1 for none.
    """
    D, n, C = cells.x.shape
    pressing = np.zeros((D, n, C, len(owner)))
    for face in range(n):
        own = [j for j, where in enumerate(owner) if where == face]
        if own:
            found = [_pattern(cells, face, bolts[:, j], constants.height * heights[:, j]) for j in own]
            pattern = np.stack(found, axis=-1)
            linear = cells.plane[:, face] @ (transposed(cells.arm[:, face]) @ pattern)
            pressing[:, face][..., own] = pattern - linear
    return ElasticFaces(cells, pressing.reshape(D, n * C, len(owner)), None, cells.plane)


def with_give(faces: ElasticFaces, *, E: Array, nu: Array, constants: FaceConstants = FITTED) -> ElasticFaces:
    """The same faces, of bridges with modulus E and Poisson's ratio nu (D, n), giving way cell by cell."""
    half_space = 2.0 * (1.0 - nu**2) / (np.pi * E)
    if not faces.cells.relieved:
        give = constants.give * half_space[..., None, None] * _give(faces.cells)
        return replace(faces, give=give, anchored=anchored(faces.cells, give))
    return _with_voids(faces, half_space, constants)


def _with_voids(faces: ElasticFaces, half_space: Array, constants: FaceConstants) -> ElasticFaces:
    """Faces some of which are relieved: each by its cells' true extent, the others as ever."""
    D, n, C = faces.cells.x.shape
    give, plane = np.zeros((D, n, C, C)), faces.plane.copy()
    pressing = faces.pressing.reshape(D, n, C, -1).copy()
    for d, i in np.ndindex(D, n):
        cells = faces.cells.of((slice(d, d + 1), slice(i, i + 1)))
        if not faces.cells.relieved_faces[d, i]:
            give[d, i] = constants.give * half_space[d, i] * _give(cells)[0, 0]
            continue
        land = land_give(cells, pressing[d, i])
        plane[d, i], pressing[d, i] = land.plane, land.pressing
        give[d, i] = constants.give / RIGID_WALL * half_space[d, i] * land.give
    return replace(
        faces,
        give=give,
        plane=plane,
        pressing=pressing.reshape(faces.pressing.shape),
        anchored=anchored(faces.cells, give),
        onto=onto_lands(faces.cells, give),
    )


def closed_forces(
    faces: ElasticFaces, *, tension: Array, bolt: Array, pressure: Array | None = None
) -> Array:
    """Forces (D, ..., M) that press the cells of closed faces: tension (D, ..., n, 3) of the bridges, bolt (D, ..., J).

    Those of the whole section, less what the fluid of ports carries at line pressure (D, ...); where part of it is
    relieved, what the touching cells then carry among themselves.
    """
    D, n, C = faces.cells.x.shape
    states = int(np.prod(bolt.shape[1:-1]))
    whole = (bolt.reshape(D, states, -1) @ transposed(faces.pressing)).reshape(D, states, n, C)
    whole -= (tension.reshape(D, states, n, 3).swapaxes(1, 2) @ transposed(faces.plane)).swapaxes(1, 2)
    if faces.fluid is not None and pressure is not None:
        line = np.broadcast_to(pressure, bolt.shape[:-1]).reshape(D, states, 1, 1)
        whole -= line * faces.fluid.reshape(D, 1, n, C)
    if faces.cells.relieved and faces.give is None:
        arm, over_land = faces.cells.arm, _plane_over_land(faces.cells)
        resultant = transposed(arm)[:, None] @ whole[..., None]
        whole = (over_land[:, None] @ resultant)[..., 0]
    elif faces.onto is not None:
        whole = (faces.onto[:, None] @ whole[..., None])[..., 0]
    return np.asarray(whole.reshape(*bolt.shape[:-1], n * C))


def _plane_over_land(cells: Cells) -> Array:
    """Forces on the touching cells (D, n, C, 3) of a linear pressure over them with unit resultant N, Mx, My."""
    weighed = cells.area[..., None] * cells.arm
    return np.asarray(weighed @ inverse(transposed(cells.arm) @ weighed))


def land_flexibility(faces: ElasticFaces) -> Array:
    """What reliefs add to a closed joint under forces f = (Q P of each face, -B of the bolts), (D, 3 n + J, 3 n + J).

    The touching cells' departure from the whole section's pressing, W f, costs f.W^T.C.W.f / 2. Zero without reliefs.
    """
    D, n, _ = faces.cells.x.shape
    bolts = faces.pressing.shape[-1]
    if faces.give is None or faces.onto is None:
        return np.zeros((D, 3 * n + bolts, 3 * n + bolts))
    depart = _departing(faces, faces.onto)
    return np.asarray((transposed(depart) @ faces.give @ depart).sum(axis=1))


def land_push(faces: ElasticFaces) -> Array:
    """How the fluid of ports moves the points of `land_flexibility` while the faces stay closed, (D, 3 n + J) per MPa.

    The fluid's part of the touching cells' departure, V = (1 - onto) fluid, costs W^T.C.V beside W^T.C.W f.
    """
    D, n, C = faces.cells.x.shape
    if faces.fluid is None or faces.give is None or faces.onto is None:
        return np.zeros((D, 3 * n + faces.pressing.shape[-1]))
    onto, fluid = faces.onto, faces.fluid.reshape(D, n, C, 1)
    moved = transposed(_departing(faces, onto)) @ faces.give @ (fluid - onto @ fluid)
    return np.asarray(moved.sum(axis=1)[..., 0])


def _departing(faces: ElasticFaces, onto: Array) -> Array:
    """W (D, n, C, 3 n + J): how touching cells depart from the whole section's pressing, see `land_flexibility`."""
    D, n, C = faces.cells.x.shape
    bolts = faces.pressing.shape[-1]
    pressing, plane = faces.pressing.reshape(D, n, C, bolts), faces.plane
    depart = np.zeros((D, n, C, 3 * n + bolts))
    for i in range(n):
        depart[:, i, :, 3 * i : 3 * i + 3] = (onto @ plane)[:, i]
    depart[..., 3 * n :] = pressing - onto @ pressing
    return depart


def heads_give(faces: ElasticFaces, *, cells: Array, bolt: Array) -> Array:
    """How far the faces' give lets the heads of each bolt part, (D, ..., J) mm: rho.C.(P - rho B).

    cells (D, ..., M): all that presses them (`ElasticFaces.pressed`); bolt (D, ..., J). Zero while every cell presses,
    or where faces move as planes.
    """
    if faces.give is None:
        return np.zeros_like(bolt)
    extra = tuple(range(1, bolt.ndim - 1))
    _, n, C = faces.cells.x.shape
    rho = np.expand_dims(faces.pressing, extra)
    depart = cells - (rho @ bolt[..., None])[..., 0]
    moved = np.expand_dims(faces.give, extra) @ depart.reshape(*depart.shape[:-1], n, C, 1)
    return np.asarray((rho.swapaxes(-1, -2) @ moved.reshape(*depart.shape, 1))[..., 0])


def stiffened(faces: ElasticFaces, modulus: Array) -> ElasticFaces:
    """The faces with the bridges' modulus multiplied by `modulus` (D, n)."""
    if faces.give is None or faces.anchored is None:
        return faces
    factor = modulus[..., None, None]
    return replace(faces, give=faces.give / factor, anchored=faces.anchored * factor)


def take(faces: ElasticFaces, rows: NDArray[np.intp]) -> ElasticFaces:
    """The faces of the designs `rows` (repeats allowed)."""
    give, *others = (
        None if v is None else v[rows] for v in (faces.give, faces.fluid, faces.anchored, faces.onto)
    )
    return ElasticFaces(faces.cells.of(rows), faces.pressing[rows], give, faces.plane[rows], *others)


def seat_flexibility(*, E: Array, bearing: Array, constants: FaceConstants = FITTED) -> Array:
    """How far a pair of heads sinks into the walls beyond the plate's own movement, mm/N: 2 seat / (E a).

    a: half the bearing diameter. A ring on a half-space sinks by 0.48 F / (E a) (uniform pressure, nu = 0.33, by
    numerical integration of the disc's surface displacement, Johnson, Contact Mechanics, eq. 3.29); part of that is in
    the plate.
    """
    return np.asarray(4.0 * constants.seat / (E * bearing))


def _without_plane(cells: Cells) -> Array:
    """P (D, n, C, C): takes from cell forces those of the linear pressure with the same resultant."""
    return np.asarray(np.eye(cells.x.shape[-1]) - cells.plane @ transposed(cells.arm))


def _give(cells: Cells) -> Array:
    """Mean of 1/r (D, n, C, C) over all cells of the sections, the linear part of their forces taken away."""
    P = _without_plane(cells)
    return _resisting(transposed(P) @ _mirrored(cells) @ P)


def _resisting(give: Array) -> Array:
    """The give (D, n, C, C) with the sign of every negative eigenvalue turned, so that contact has one answer.

    Two cells of which a hole leaves strips may all but coincide: seen from its centre each then moves the other further
    than itself, though in metal they are a hole apart. The size of what they give against each other is kept.
    """
    value = np.linalg.eigvalsh(give)
    for d, i in np.argwhere(value[..., 0] < -ROUNDING * value[..., -1]):
        own, pattern = np.linalg.eigh(give[d, i])
        give[d, i] = (pattern * np.abs(own)) @ pattern.T
    return give


def _mirrored(cells: Cells) -> Array:
    """Mean of 1 / distance over each source cell and its images, (D, n, C, C), symmetric."""
    total = np.zeros((*cells.x.shape, cells.x.shape[-1]))
    for i, k in product(IMAGES, IMAGES):
        x = _image(cells.x, cells.x_edges, i)
        y = _image(cells.y, cells.y_edges, k)
        total += _potential(
            cells.x[..., :, None] - x[..., None, :],
            cells.y[..., :, None] - y[..., None, :],
            width=cells.width[..., None, :],
            height=cells.height[..., None, :],
        )
    own = np.eye(total.shape[-1]) * total
    return np.asarray(0.5 * (total + transposed(total)) + APART * own)


def _image(place: Array, edges: Array, which: int) -> Array:
    """Where a source seems to stand beyond the low edge (-1), in the face (0) or beyond the high one (1)."""
    if which == 0:
        return place
    return 2.0 * edges[..., 0 if which < 0 else 1, None] - place


def _potential(dx: Array, dy: Array, *, width: Array, height: Array) -> Array:
    """Mean of 1/r over a rectangle, seen from (dx, dy) off its centre. Source: Love 1929."""
    total = np.zeros(np.broadcast_shapes(dx.shape, width.shape))
    for sx, sy in product((1.0, -1.0), (1.0, -1.0)):
        u, v = dx + 0.5 * sx * width, dy + 0.5 * sy * height
        # arcsinh form of x ln(y + r) + y ln(x + r): no cancellation for negative arguments
        au, av = np.maximum(np.abs(u), 1e-12), np.maximum(np.abs(v), 1e-12)
        total += sx * sy * (u * np.arcsinh(v / au) + v * np.arcsinh(u / av))
    return np.asarray(total / (width * height))


def _pattern(cells: Cells, face: int, place: Array, height: Array) -> Array:
    """Share (D, C) of a bolt's force on each cell: as 1 / (r^2 + z^2)^(5/2), mirrored in the sides, summing to 1."""
    images = [
        [(at[:, face] - _image(own, edges[:, face], i)) ** 2 for i in IMAGES]
        for at, own, edges in ((cells.x, place[:, :1], cells.x_edges), (cells.y, place[:, 1:], cells.y_edges))
    ]
    pressure = np.zeros_like(cells.x[:, face])
    away, root = np.empty_like(pressure), np.empty_like(pressure)
    for across, up in product(images[0], [up + height[:, None] ** 2 for up in images[1]]):
        np.add(across, up, out=away)
        np.sqrt(away, out=root)
        root *= away
        root *= away
        pressure += np.divide(1.0, root, out=root)
    force = pressure * cells.section[:, face]
    return np.asarray(force / force.sum(axis=-1, keepdims=True))
