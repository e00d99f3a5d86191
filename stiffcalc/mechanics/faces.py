"""Joint faces: one bridge's contact area in the clamp plane as a bed of fibres that carry compression only.

The face separates like a plane, a . s with a = [1, y - y_r, -(x - x_b)]; where it is closed (a . s <= 0) each
fibre carries k a . s, k = E / length of the layer. Integrals run over the bridge's own columns, clipped to
the closed part, so they are exact along y, and a fully closed face is the solid section to the last digit.
The integrand vanishes on the line a . s = 0, so the reaction is K s and its tangent K, both with the K of
the closed part.

Axes: D designs, n faces a design; s may carry further axes (load states) between them, (D, ..., n, 3).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import (
    Bridges,
    Columns,
    integral_aa,
    reference,
    section,
    underside,
    underside_kinks,
)
from stiffcalc.mechanics.stacked import greatest

Index = NDArray[np.intp]


@dataclass(frozen=True)
class Faces:
    """Faces of D designs, n a design. mm, MPa."""

    columns: Columns  # (D, n, C) about the reference point
    area: Array  # (D, n, 3, 3) integral of a a^T dA over the whole face
    x_b: Array  # (D, n) reference point
    y_r: Array  # (D, n)
    corner_x: Array  # (D, n, 6) extreme points of the face's convex hull
    corner_y: Array  # (D, n, 6)
    foundation: Array  # (D, n) k = E / layer length, both halves together, MPa/mm

    @property
    def count(self) -> int:
        """Faces a design."""
        return int(self.x_b.shape[1])


@dataclass(frozen=True)
class PressureMap:
    """Contact pressure over one face on a regular grid. `metal` is False outside the face and in holes."""

    x: Array  # (nx,)
    y: Array  # (ny,)
    pressure: Array  # (ny, nx) MPa, 0 where open or no metal
    metal: NDArray[np.bool_]  # (ny, nx)


# Depth of a half's elastic layer over the square root of the face's area, for faces that move as planes: least rms
# error of the front view's opening over the sweeps of the `fit` group (studies/solid_check) when all faces did. The
# form, sqrt(A), was chosen with both groups in view; a second seed solved later gave +0.2 %, scatter 2.2 %, worst
# 7.6 %.
LAYER = 0.53
LAYER_MOST = 0.98  # of the bridge's length: the layer cannot be deeper than the bridge


def elastic_layer(bridges: Bridges, *, depth: float = LAYER) -> Array:
    """Depth of the layer that gives way under an opening face, both halves together (D, N), mm.

    2 * depth * sqrt(A), as a punch of area A sinks into a half-space; at most the bridge's own length.
    """
    area = section(bridges).area
    return np.minimum(2.0 * depth * np.sqrt(area), LAYER_MOST * bridges.length)


def make_faces(bridges: Bridges, *, layer: Array) -> Faces:
    """Faces of all bridges; `layer` (D, N) mm: elastic layer of both halves together, 0 = no joint."""
    x_b, y_r = reference(bridges)
    corner_x, corner_y = _corners(bridges)
    return Faces(
        columns=bridges.columns,
        area=bridges.area_matrix,
        x_b=x_b,
        y_r=y_r,
        corner_x=corner_x,
        corner_y=corner_y,
        foundation=np.where(layer > 0.0, bridges.E / np.where(layer > 0.0, layer, 1.0), 0.0),
    )


def take(faces: Faces, rows: Index | slice, which: Sequence[int]) -> Faces:
    """The faces `which` of the designs `rows` (repeats allowed)."""
    pick: Any = rows
    if tuple(which) != tuple(range(faces.count)):
        pick = np.ix_(np.arange(len(faces.x_b))[rows], np.asarray(which, dtype=np.intp))
    c = faces.columns
    return Faces(
        columns=Columns(x=c.x[pick], lo=c.lo[pick], hi=c.hi[pick], weight=c.weight[pick]),
        area=faces.area[pick],
        x_b=faces.x_b[pick],
        y_r=faces.y_r[pick],
        corner_x=faces.corner_x[pick],
        corner_y=faces.corner_y[pick],
        foundation=faces.foundation[pick],
    )


def align(faces: Faces, s: Array) -> Faces:
    """The same faces with axes of length 1 for the load states of s (D, ..., n, 3): both broadcast."""
    extra = tuple(range(1, s.ndim - 2))
    if not extra:
        return faces
    c = faces.columns
    return Faces(
        columns=Columns(*(np.expand_dims(v, extra) for v in (c.x, c.lo, c.hi, c.weight))),
        area=np.expand_dims(faces.area, extra),
        x_b=np.expand_dims(faces.x_b, extra),
        y_r=np.expand_dims(faces.y_r, extra),
        corner_x=np.expand_dims(faces.corner_x, extra),
        corner_y=np.expand_dims(faces.corner_y, extra),
        foundation=np.expand_dims(faces.foundation, extra),
    )


def separation(faces: Faces, s: Array, *, x: Array, y: Array) -> Array:
    """Separation a . s, mm, at points (..., n, P) of faces moved by s (..., n, 3); negative: pressed."""
    dy, dx = y - faces.y_r[..., None], x - faces.x_b[..., None]
    return s[..., 0, None] + s[..., 1, None] * dy - s[..., 2, None] * dx


def closed_part(faces: Faces, s: Array) -> Columns:
    """The columns clipped to where a . s <= 0, `lo` being their end that is closed: of a face closed at its top, upside
    down, so that integrals over it are negative (s_1 < 0).
    """
    c, lean = faces.columns, s[..., 1]
    level = lean == 0.0  # such a column is closed as a whole or not at all
    y = s[..., 2, None] * c.x  # from here on in place: no pass over the columns more than it takes
    y -= s[..., 0, None]
    if level.any():
        y = np.where(level[..., None], np.where(y < 0.0, -np.inf, np.inf), y)
    y /= np.where(level, 1.0, lean)[..., None]  # where a . s = 0
    np.maximum(y, c.lo, out=y)
    np.minimum(y, c.hi, out=y)
    end, above = np.broadcast_to(c.lo, y.shape).copy(), lean < 0.0
    end[above] = np.broadcast_to(c.hi, y.shape)[above]
    return Columns(c.x, end, y, c.weight)


def face_stiffness(faces: Faces, s: Array) -> Array:
    """K (D, n, 3, 3) of the closed part; the face pulls with K s, has the tangent K and stores s.K.s / 2."""
    signed = np.where(s[..., 1] < 0.0, -faces.foundation, faces.foundation)
    return np.asarray(signed[..., None, None] * integral_aa(closed_part(faces, s)))


def closed_stiffness(faces: Faces) -> Array:
    """K (D, n, 3, 3) of the fully closed faces."""
    return np.asarray(faces.foundation[..., None, None] * faces.area)


def open_fraction(faces: Faces, s: Array, *, beyond: float = 0.0) -> Array:
    """Share of each face's area that has lost contact, (D, ..., n); any up to `beyond` may be given as 0."""
    if beyond:
        closed = open_at_most(faces, s) <= beyond
    else:
        gap = separation(align(faces, s), s, x=_states(faces.corner_x, s), y=_states(faces.corner_y, s))
        closed = greatest(gap) <= 0.0
    states = np.nonzero(~closed.all(axis=-1))
    some, own = take(faces, states[0], range(faces.count)), s[states]
    share = np.zeros(s.shape[:-1])
    share[states] = 1.0 - np.abs(_area(closed_part(some, own))) / _area(some.columns)
    return share


def open_at_most(faces: Faces, s: Array) -> Array:
    """A share of each face's area that the part that has lost contact cannot exceed, (D, ..., n).

    Where the mean m of the separation over the face is negative, and q the mean of its square: 1 - m^2 / q, by
    Cantelli's inequality; else 1.
    """
    own = np.moveaxis(s, -2, 1).reshape(len(s), faces.count, -1, 3)  # states of each face
    moved = own @ faces.area
    pressed, area = -moved[..., 0], faces.area[..., 0, 0, None]
    square = area * np.einsum("...i,...i->...", moved, own)
    most = np.where(pressed > 0.0, 1.0 - pressed**2 / np.where(pressed > 0.0, square, 1.0), 1.0)
    return np.moveaxis(most.reshape(len(s), faces.count, *s.shape[1:-2]), 1, -1)


def face_pressure(faces: Faces, s: Array, *, x: Array, y: Array) -> Array:
    """Contact pressure, MPa, at points x, y (D, n, P) of the faces, (D, ..., n, P); zero where open."""
    spread = align(faces, s)
    gap = separation(spread, s, x=_states(x, s), y=_states(y, s))
    return spread.foundation[..., None] * np.maximum(0.0, -gap)


def _states(values: Array, s: Array) -> Array:
    """Values (D, n, ...) with the load-state axes of s (D, ..., n, 3) after the designs."""
    return np.expand_dims(values, tuple(range(1, s.ndim - 2)))


def pressure_range(faces: Faces, s: Array) -> tuple[Array, Array]:
    """Least and greatest contact pressure on each face, (D, ..., n) MPa: a plane has both at corners."""
    p = face_pressure(faces, s, x=faces.corner_x, y=faces.corner_y)
    return -greatest(-p), greatest(p)


def _corners(bridges: Bridges) -> tuple[Array, Array]:
    """Extreme points of the faces' convex hulls: the arch bulges inward, so only its ends and kinks count."""
    x0, x1 = bridges.x[..., 0], bridges.x[..., 1]
    kink = underside_kinks(bridges)
    below = np.stack([x0, np.clip(-kink, x0, x1), np.clip(kink, x0, x1), x1], axis=-1)
    top = np.broadcast_to(bridges.y[..., 1, None], bridges.x.shape)
    return np.concatenate([below, bridges.x], axis=-1), np.concatenate(
        [underside(bridges, below), top], axis=-1
    )


def _area(part: Columns) -> Array:
    area: Array = (part.weight * (part.hi - part.lo)).sum(axis=-1)
    return area
