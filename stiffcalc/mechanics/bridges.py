"""A batch of bridges as arrays, and the integrals over their sections. Axes: D designs, N bridges.

Every integral over a section is a sum over columns: Gauss points along x, exact along y. The joint face
uses the same columns, clipped to what is in contact, so that a fully closed face is the solid section to
the last digit.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError

PANELS = 3  # along x, so that both crossings of the arch with a flat underside can be panel ends
_NODES, _WEIGHTS = (np.asarray(v, dtype=float) for v in np.polynomial.legendre.leggauss(8))
# Gauss-Chebyshev rule of the second kind: exact for a polynomial times the chord of a circle.
_ANGLES = np.pi * np.arange(1, 5) / 5.0


@dataclass(frozen=True)
class Bridges:
    """Bridges of D designs, each a prism along z. mm, MPa. A missing hole has diameter 0."""

    x: Array  # (D, N, 2) ends along x
    y: Array  # (D, N, 2) lowest allowed underside, and top
    arch: Array  # (D, N) radius of the underside's circle about the origin; 0 = flat underside at y[..., 0]
    length: Array  # (D, N) from inner face to inner face
    hole_x: Array  # (D, N, H) bolt holes through this bridge
    hole_y: Array  # (D, N, H)
    hole_d: Array  # (D, N, H)
    E: Array  # (D, N)

    @cached_property
    def columns(self) -> Columns:
        """`columns` of the sections, counted from the reference points: what all integrals over them begin with."""
        x_b, y_r = reference(self)
        return about(columns(self), x_b=x_b, y_r=y_r)

    @cached_property
    def area_matrix(self) -> Array:
        """Integral of a a^T dA over each section, (D, N, 3, 3); a = [1, y - y_r, -(x - x_b)], see `reference`."""
        return integral_aa(self.columns)


@dataclass(frozen=True)
class Columns:
    """A section cut into columns, mm: integral of f over it = sum of weight * integral of f dy from lo to hi.

    Shapes (..., C). Columns of holes have negative weight.
    """

    x: Array
    lo: Array
    hi: Array
    weight: Array


@dataclass(frozen=True)
class Section:
    """Area (mm2), centroid (mm), second moments about it (mm4): Ix = int y^2, Iy = int x^2, Ixy = int x y."""

    area: Array
    x: Array
    y: Array
    Ix: Array
    Iy: Array
    Ixy: Array


def underside(bridges: Bridges, x: Array) -> Array:
    """Underside at x (D, N, ...), mm: max(y0, sqrt(arch^2 - x^2)), or y0 beyond the arch's circle."""
    more = (...,) + (None,) * (x.ndim - 2)
    rise = bridges.arch[more] ** 2 - x**2
    return np.maximum(bridges.y[..., 0][more], np.sqrt(np.maximum(rise, 0.0)))


def reference(bridges: Bridges) -> tuple[Array, Array]:
    """Reference point (x_b, y_r) of each bridge, (D, N) mm: mid x, mid between underside there and top."""
    x_b = bridges.x.mean(axis=-1)
    return x_b, 0.5 * (underside(bridges, x_b) + bridges.y[..., 1])


def underside_kinks(bridges: Bridges) -> Array:
    """The arch meets the flat underside at x = -k and +k: k (D, N) mm, inf where it does not."""
    rise = bridges.arch**2 - bridges.y[..., 0] ** 2
    return np.where(rise > 0.0, np.sqrt(np.abs(rise)), np.inf)


def columns(bridges: Bridges) -> Columns:
    """Cut each section into columns (D, N, C).

    24 Gauss columns for the outline, in three panels that end where the arch meets the flat underside, and
    four for each hole (holes must lie inside the bridge): an opened face is then within 2e-5 of one of hundreds.
    Raises `InputError` where the underside does not stay below the top.
    """
    x, weight = _gauss(_panel_ends(bridges))
    lo, hi = underside(bridges, x), np.broadcast_to(bridges.y[..., 1, None], x.shape)
    if not np.all(lo < hi):
        raise InputError([_no_section(bridges, lo=lo, hi=hi)])
    sine = np.sin(_ANGLES)
    r = 0.5 * bridges.hole_d[..., None]
    chord = r * sine
    flat = (*x.shape[:2], -1)

    def both(outline: Array, hole: Array) -> Array:
        return np.concatenate([outline, hole.reshape(flat)], axis=-1)

    return Columns(
        x=both(x, bridges.hole_x[..., None] + r * np.cos(_ANGLES)),
        lo=both(lo, bridges.hole_y[..., None] - chord),
        hi=both(hi, bridges.hole_y[..., None] + chord),
        weight=both(weight, -r * sine * (np.pi / (len(_ANGLES) + 1))),
    )


def about(cut: Columns, *, x_b: Array, y_r: Array) -> Columns:
    """The same columns (..., C), their x and y counted from the reference point (...)."""
    y = y_r[..., None]
    return Columns(cut.x - x_b[..., None], cut.lo - y, cut.hi - y, cut.weight)


def integral_aa(cut: Columns) -> Array:
    """Integral of a a^T dA over columns (..., C) about the reference point, (..., 3, 3); a = [1, y, -x]."""
    height = cut.hi - cut.lo
    y = cut.hi + cut.lo
    y *= 0.5
    dA = cut.weight * height
    dAx, dAy = dA * cut.x, dA * y
    m = np.empty((*dA.shape[:-1], 3, 3))
    m[..., 0, 0] = _dot(cut.weight, height)
    m[..., 0, 1] = m[..., 1, 0] = _dot(dA, y)
    m[..., 0, 2] = m[..., 2, 0] = -_dot(dA, cut.x)
    np.multiply(height, height, out=height)
    m[..., 1, 1] = _dot(dAy, y) + _dot(dA, height) / 12.0
    m[..., 1, 2] = m[..., 2, 1] = -_dot(dAy, cut.x)
    m[..., 2, 2] = _dot(dAx, cut.x)
    return m


def area_matrix(bridges: Bridges) -> Array:
    """`Bridges.area_matrix`."""
    return bridges.area_matrix


def section(bridges: Bridges) -> Section:
    """Area, centroid and centroidal second moments of each section, all (D, N)."""
    x_b, y_r = reference(bridges)
    m = area_matrix(bridges)
    area = m[..., 0, 0]
    dy, dx = m[..., 0, 1] / area, -m[..., 0, 2] / area
    return Section(
        area=area,
        x=x_b + dx,
        y=y_r + dy,
        Ix=m[..., 1, 1] - area * dy**2,
        Iy=m[..., 2, 2] - area * dx**2,
        Ixy=-m[..., 1, 2] - area * dx * dy,
    )


def _dot(a: Array, b: Array) -> Array:
    """Sum of products over the last axis; einsum is several times faster here than multiply and sum."""
    return np.asarray(np.einsum("...c,...c->...", a, b))


def _panel_ends(bridges: Bridges) -> Array:
    """Ends of the three panels along x, (D, N, 4): at the kinks of the underside where it has any."""
    x0, x1 = bridges.x[..., 0], bridges.x[..., 1]
    kink = underside_kinks(bridges)
    left, right = (x0 < -kink) & (-kink < x1), (x0 < kink) & (kink < x1)
    first = np.where(left, -kink, np.where(right, kink, (2.0 * x0 + x1) / 3.0))
    middle = np.where(first - x0 > x1 - first, 0.5 * (x0 + first), 0.5 * (first + x1))
    second = np.where(left & right, kink, np.where(left | right, middle, (x0 + 2.0 * x1) / 3.0))
    return np.stack([x0, np.minimum(first, second), np.maximum(first, second), x1], axis=-1)


def _gauss(ends: Array) -> tuple[Array, Array]:
    """Gauss points and weights on each panel, (D, N, panels * points)."""
    half = 0.5 * np.diff(ends, axis=-1)[..., None]
    middle = 0.5 * (ends[..., 1:] + ends[..., :-1])[..., None]
    shape = (*ends.shape[:-1], -1)
    return (middle + half * _NODES).reshape(shape), (half * _WEIGHTS).reshape(shape)


def _no_section(bridges: Bridges, *, lo: Array, hi: Array) -> Fault:
    d, n, c = (int(i) for i in np.argwhere(~(lo < hi))[0])
    return Fault(
        where=f"bridge {n} of design {d}",
        found=f"underside at y = {lo[d, n, c]:.4g} mm, top at {hi[d, n, c]:.4g} mm",
        allowed="underside below the top over the whole width",
        mend="raise the top, lower the underside, or move the bridge away from the crown of the rotor",
    )
