"""Section constants of a bored wall at stations along it. Axes: D designs, Q stations.

The section at x is a rectangle less rectangular cuts: bores (from the inner face to the floor), pockets (from
the outer face), bolt holes and what lies off the outline (full depth). Within a section y is measured from the
wall's mid-height and z from its mid-thickness, positive outward. Bores and holes must not overlap, nor pockets one
another (the study reader sees to it).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics import shaped
from stiffcalc.mechanics.walls import Walls

# J = b t^3 [1/3 - (64/pi^5)(t/b) sum over odd n of tanh(n pi b / 2t) / n^5]; beyond n = 1 the tanh is as good
# as 1.
_TORSION_FACTOR = 64.0 / np.pi**5
_TORSION_TAIL = 0.0045237627951386  # sum of 1/n^5, n = 3, 5, 7 ...


@dataclass(frozen=True)
class Sections:
    """Section constants, all (D, Q), mm."""

    area: Array
    y: Array  # centroid
    z: Array
    Iw: Array  # int (z - z_c)^2 dA: bending out of the wall's plane
    Iv: Array  # int (y - y_c)^2 dA
    Iyz: Array
    shear_area: Array  # kappa A for a force along z
    shear_y: Array  # shear centre
    J_solid: Array  # Saint-Venant constant as if there were no bores
    J_open: Array  # legs and floors side by side

    @property
    def I_bending(self) -> Array:
        """Second moment for bending out of plane while the in-plane moment is zero: Iw - Iyz^2 / Iv."""
        return self.Iw - self.Iyz**2 / self.Iv


@dataclass(frozen=True)
class _Cut:
    """Rectangles taken from the section between the same two depths, z0 to z1 (D, 1) each, as their sums over y."""

    width: Array  # (D, Q)
    moment: Array  # (D, Q) of width times y
    square: Array  # (D, Q) int y^2 dy
    z0: Array
    z1: Array


def _cut(rectangles: Iterable[tuple[Array, Array, float]], z0: Array, z1: Array) -> Iterator[_Cut]:
    """The cut of rectangles (width (D, Q), middle y, sign 1, or -1 where given back); none without rectangles."""
    sums: list[Array] = []
    for width, y, sign in rectangles:
        signed = width if sign > 0.0 else -width
        moment = signed * y
        square = moment * y + signed * (width * width) / 12.0
        if not sums:
            sums = [signed.copy(), moment, square]
            continue
        for total, own in zip(sums, (signed, moment, square), strict=True):
            total += own
    if sums:
        whole, moment, square = sums
        yield _Cut(whole, moment, square, z0, z1)


def rectangle_torsion(a: Array, b: Array) -> Array:
    """Saint-Venant torsion constant of a rectangle a x b, mm4, relative error below 1e-5; 0 for a side of 0.

    Source: Timoshenko & Goodier, Theory of Elasticity, torsion of rectangular bars (the series, summed).
    """
    long, short = np.maximum(a, b), np.minimum(a, b)
    fade = np.exp(-np.pi * long / np.maximum(short, 1e-9 * long))
    tanh = (1.0 - fade) / (1.0 + fade)  # of pi long / 2 short; numpy's own takes ten times as long
    cube = short * short * short  # a power of an array costs as much as ten products
    J: Array = cube * (long / 3.0 - _TORSION_FACTOR * short * (tanh + _TORSION_TAIL))
    return J


def chord(x: Array, *, centre: Array, diameter: Array) -> Array:
    """Width (D, n, Q) at stations x (D, Q) of circles (D, n); 0 outside them."""
    offset = x[:, None, :] - centre[:, :, None]
    width: Array = 2.0 * np.sqrt(np.maximum(0.25 * diameter[:, :, None] ** 2 - offset * offset, 0.0))
    return width


def sections_at(walls: Walls, x: Array) -> Sections:
    """Section constants of the walls at stations x (D, Q)."""
    height, t = np.diff(walls.y, axis=1), walls.thickness[:, None]
    bores = chord(x, centre=walls.bore_x, diameter=walls.bore_d)
    cuts, both = _cuts(walls, x, bores)
    area, Sy, Sz, Iv, Iw, Iyz = _moments(cuts, height=height, t=t)
    y, z = Sy / area, Sz / area
    Iw = Iw - area * z * z
    cubic, shear_y = _cubic(walls, cuts, both, height=height)
    # A pocket or hole weakens torsion as it weakens the plate's int h^3 dy; bores are told apart into legs.
    low, high = shaped.edges(walls, x)
    bores_only, _ = _cubic(walls, cuts[: bool(bores.shape[1])], [], height=high - low)
    weakened = cubic / bores_only
    return Sections(
        area=area,
        y=y,
        z=z,
        Iw=Iw,
        Iv=Iv - area * y * y,
        Iyz=Iyz - area * y * z,
        shear_area=_shear_area(walls, cuts, Iw=Iw, z=z, height=height),
        shear_y=shear_y,
        J_solid=rectangle_torsion(high - low, t) * weakened,
        J_open=_open_torsion(walls, bores, low, high) * weakened,
    )


def _cuts(walls: Walls, x: Array, bores: Array) -> tuple[list[_Cut], list[_Cut]]:
    """All cuts, that of the bores first; and what each pocket takes from the floors of bores, as a list of its own."""
    middle = walls.y.mean(axis=1)[:, None]
    half = 0.5 * walls.thickness[:, None]
    bore_y, hole_y = walls.bore_y - middle, walls.hole_y - middle
    holes = chord(x, centre=walls.hole_x, diameter=walls.hole_d)

    def rows(chords: Array, y: Array) -> list[tuple[Array, Array]]:
        return [(chords[:, i], y[:, i : i + 1]) for i in _each(chords)]

    drilled, bored = rows(holes, hole_y), rows(bores, bore_y)
    cuts = list(_cut(((w, y, 1.0) for w, y in bored), -half, half - walls.floor[:, None]))
    cuts += _cut(((w, y, 1.0) for w, y in drilled), -half, half)
    both = list[_Cut]()
    for inside, low, high, depth in _pits(walls, x):
        low, high = low - middle, high - middle
        pit = [(inside * (high - low), 0.5 * (low + high), 1.0)]
        pit += [(inside * w, y, -1.0) for w, y in (_common(*hole, low, high) for hole in drilled)]
        cuts += _cut(pit, half - depth, half)
        floors = (_common(*bore, low, high) for bore in bored)
        both += _cut(((inside * w, y, 1.0) for w, y in floors), half - depth, half)
    return cuts, both


def _pits(walls: Walls, x: Array) -> Iterator[tuple[NDArray[np.bool_], Array, Array, Array]]:
    """Pockets at stations x (D, Q): whether one is there, its lower and upper y, its depth; (D, 1) or (D, Q) each."""
    for k in _each(walls.pocket_depth):
        inside = (walls.pocket_x[:, k, :1] <= x) & (x <= walls.pocket_x[:, k, 1:])
        yield inside, walls.pocket_y[:, k, :1], walls.pocket_y[:, k, 1:], walls.pocket_depth[:, k, None]
    for low, high, depth in zip(*(np.moveaxis(v, -1, 0) for v in shaped.strips_at(walls, x)), strict=True):
        yield high > low, low, high, depth


def _each(array: Array) -> range:
    return range(array.shape[1])


def _common(width: Array, y: Array, low: Array, high: Array) -> tuple[Array, Array]:
    """Width and middle of what a chord and the strip low..high have in common."""
    a, b = np.maximum(y - 0.5 * width, low), np.minimum(y + 0.5 * width, high)
    return np.maximum(b - a, 0.0), 0.5 * (a + b)


def _moments(cuts: list[_Cut], *, height: Array, t: Array) -> tuple[Array, ...]:
    """A, int y, int z, int y^2, int z^2, int yz over the section about mid-height and mid-thickness."""
    shape = np.broadcast_shapes(height.shape, *(c.width.shape for c in cuts))
    area = height * t
    A, Iv, Iw = (np.broadcast_to(v, shape).copy() for v in (area, area * height**2 / 12, area * t**2 / 12))
    Sy, Sz, Iyz = (np.zeros(shape) for _ in range(3))
    for c in cuts:
        depth, z = c.z1 - c.z0, 0.5 * (c.z0 + c.z1)
        a, ay = c.width * depth, c.moment * depth
        A -= a
        Sy -= ay
        Sz -= a * z
        Iyz -= ay * z
        Iv -= c.square * depth
        Iw -= a * (z * z + depth * depth / 12.0)
    return A, Sy, Sz, Iv, Iw, Iyz


def _cubic(walls: Walls, cuts: list[_Cut], both: list[_Cut], *, height: Array) -> tuple[Array, Array]:
    """int h^3 dy of the metal's thickness h(y), and its centroid: the shear centre of a plate of strips.

    Strips of a wall bent alike share the shear force as their stiffness; source: derived, Bernoulli strips.
    """
    t = walls.thickness[:, None]
    total, moment = height * t**3, 0.0 * height
    for c in cuts:
        lost = t**3 - (t - c.z1 + c.z0) ** 3
        total = total - c.width * lost
        moment = moment - c.moment * lost
    for c in both:
        floor, depth = walls.floor[:, None], c.z1 - c.z0
        kept = t**3 - floor**3 - (t - depth) ** 3 + (floor - depth) ** 3
        total, moment = total + c.width * kept, moment + c.moment * kept
    return total, moment / total


def _shear_area(walls: Walls, cuts: list[_Cut], *, Iw: Array, z: Array, height: Array) -> Array:
    """kappa A = I^2 / int (S^2 / b) dz, S the static moment above z and b the metal's width at z.

    Source: energy method with the shear stress of Zhuravskii, Gere & Timoshenko, Mechanics of Materials
    (5/6 of the area for a rectangle, whatever Poisson's ratio).
    """
    energy = np.zeros_like(Iw)
    static = np.zeros_like(Iw)
    for low, high, width in _layers(walls, cuts, height=height):
        top, mid, depth = high - z, 0.5 * (low + high) - z, high - low
        middle = static + 0.25 * width * depth * (top + mid)
        end = static + width * depth * mid
        # S is a parabola in the layer; its square integrates exactly from end, middle and end values.
        # A pocket across the whole height leaves a layer without metal, and no static moment above it.
        energy += (
            depth
            / np.where(width > 0.0, width, 1.0)
            * (2 * static**2 + 8 * middle**2 + 2 * end**2 + 2 * middle * (static + end) - static * end)
            / 15
        )
        static = end
    return Iw * Iw / energy


def _layers(walls: Walls, cuts: list[_Cut], *, height: Array) -> Iterator[tuple[Array, Array, Array]]:
    """Layers of constant width from the outer face inward: z low, z high (D, 1), width (D, Q)."""
    half = 0.5 * walls.thickness[:, None]
    levels = [-half, half, half - walls.floor[:, None]]
    levels += [half - walls.pocket_depth[:, i : i + 1] for i in _each(walls.pocket_depth)]
    levels += [half - depth for depth in shaped.depths(walls)]
    ends = np.sort(np.concatenate(levels, axis=1), axis=1)[:, ::-1]
    for i in range(ends.shape[1] - 1):
        high, low = ends[:, i : i + 1], ends[:, i + 1 : i + 2]
        middle = 0.5 * (low + high)
        width = np.zeros_like(cuts[0].width) + height if cuts else height
        for c in cuts:
            width = width - c.width * ((c.z0 < middle) & (middle < c.z1))
        yield low, high, width


def _open_torsion(walls: Walls, bores: Array, low: Array, high: Array) -> Array:
    """Legs between bores as rectangles, floors as thin strips, not joined."""
    order = np.argsort(walls.bore_y, axis=1)
    centre = np.take_along_axis(walls.bore_y, order, axis=1)
    chords = np.take_along_axis(bores, order[:, :, None], axis=1)
    t, floor = walls.thickness[:, None], walls.floor[:, None]
    start = np.broadcast_to(low, bores[:, 0].shape if bores.shape[1] else low.shape)
    total = np.zeros_like(start)
    for i in _each(bores):
        width, y = chords[:, i], centre[:, i : i + 1]
        leg = rectangle_torsion(np.maximum(y - 0.5 * width - start, 0.0), t) + width * floor**3 / 3.0
        total = total + np.where(width > 0.0, leg, 0.0)
        start = np.where(width > 0.0, y + 0.5 * width, start)
    return total + rectangle_torsion(np.maximum(high - start, 0.0), t)
