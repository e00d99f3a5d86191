"""Volume and first moments of prisms, exact and in closed form; any leading axes (designs, bores, bolts).

A front section is an array (..., 3): area mm2, and its first moments int x dA, int y dA, mm3. A solid is an
array (..., 4): volume mm3, and int x dV, int y dV, int z dV, mm4. Both add and subtract as arrays, so that a
body is a sum of what stands minus what is cut.
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array


def extrude(section: Array, *, z0: Array, z1: Array) -> Array:
    """Prism of a section (..., 3) from z0 to z1 (...): solid (..., 4). Source: definition."""
    depth = np.asarray(z1 - z0)[..., None]
    last = section[..., :1] * depth * (0.5 * np.asarray(z0 + z1)[..., None])
    return np.concatenate([section * depth, last], axis=-1)


def together(*values: float | Array) -> Array:
    """Numbers or arrays (...) side by side, (..., n)."""
    return np.stack(np.broadcast_arrays(*values), axis=-1)


def added(parts: Array) -> Array:
    """Sum of sections or solids side by side (..., n, k), (..., k); of few several times as fast as numpy's own."""
    return np.asarray(np.einsum("...nk->...k", parts))


def polygon(outline: Array) -> Array:
    """Section of a closed polygon (..., N, 2), counter-clockwise; it need not be convex.

    Source: Green's theorem along the edges (shoelace formula and its first moments).
    """
    return added(_edge_sections(outline, np.roll(outline, -1, axis=-2)))


def box(x: Array, y: Array) -> Array:
    """Corners (..., 4, 2) of rectangles x (..., 2) by y (..., 2), counter-clockwise; leading axes broadcast."""
    return np.stack(np.broadcast_arrays(x[..., [0, 1, 1, 0]], y[..., [0, 0, 1, 1]]), axis=-1)


def disc(x: Array, y: Array, *, diameter: Array) -> Array:
    """Section of a full circle about (x, y)."""
    area = 0.25 * np.pi * diameter**2
    return together(area, area * x, area * y)


def disc_in_polygon(x: Array, y: Array, *, diameter: Array, outline: Array) -> Array:
    """Section of what a circle (...) and a polygon (..., N, 2), counter-clockwise, have in common.

    Each edge, seen from the circle's centre, sweeps a triangle where it runs inside the circle and a sector
    where it runs outside; their signed sum is the common area. Source: derived (Green's theorem).
    """
    centre = np.stack([x, y], axis=-1)
    radius = 0.5 * np.asarray(diameter)[..., None, None]
    start = outline - centre[..., None, :]
    end = np.roll(start, -1, axis=-2)
    enter, leave = (start + t * (end - start) for t in _inside(start, end, radius))
    local = added(
        _sectors(start, enter, radius) + _edge_sections(enter, leave) + _sectors(leave, end, radius)
    )
    return np.concatenate([local[..., :1], local[..., 1:] + local[..., :1] * centre], axis=-1)


def bridge(x: Array, y: Array, *, arch: Array) -> Array:
    """Section of a bridge: x (..., 2), y (..., 2) lowest underside and top, arch (...) radius or 0 = flat.

    Its underside is max(y[..., 0], sqrt(arch^2 - x^2)). Source: integrals of the circle, in closed form.
    """
    low = y[..., 0]
    flat = polygon(box(x, y))
    kink = np.sqrt(np.maximum(arch**2 - low**2, 0.0))
    a, b = (np.clip(x[..., i], -kink, kink) for i in (0, 1))
    return flat - _under_arch(a, b, arch=arch, low=low)


def _under_arch(a: Array, b: Array, *, arch: Array, low: Array) -> Array:
    """Section between the flat underside and the circle above it, from x = a to b."""
    ya, yb = (np.sqrt(np.maximum(arch**2 - v**2, 0.0)) for v in (a, b))
    rise = 0.5 * (b * yb - a * ya + arch**2 * (np.arctan2(b, yb) - np.arctan2(a, ya)))
    area = rise - low * (b - a)
    first_x = (ya**3 - yb**3) / 3.0 - 0.5 * low * (b**2 - a**2)
    first_y = 0.5 * ((arch**2 - low**2) * (b - a) - (b**3 - a**3) / 3.0)
    return np.stack([area, first_x, first_y], axis=-1)


def _edge_sections(start: Array, end: Array) -> Array:
    """Signed sections of the triangles origin, start, end: (..., 3)."""
    area = 0.5 * (start[..., 0] * end[..., 1] - start[..., 1] * end[..., 0])[..., None]
    return np.concatenate([area, area * (start + end) / 3.0], axis=-1)


def _sectors(start: Array, end: Array, radius: Array) -> Array:
    """Signed sections of the circle's sectors swept from the direction of start to that of end: (..., 3)."""
    turn = np.arctan2(start[..., 0] * end[..., 1] - start[..., 1] * end[..., 0], (start * end).sum(axis=-1))[
        ..., None
    ]
    first = np.arctan2(start[..., 1], start[..., 0])[..., None]
    along_x = np.sin(first + turn) - np.sin(first)
    along_y = np.cos(first) - np.cos(first + turn)
    return np.concatenate(
        [0.5 * radius**2 * turn, radius**3 / 3.0 * along_x, radius**3 / 3.0 * along_y], axis=-1
    )


def _inside(start: Array, end: Array, radius: Array) -> tuple[Array, Array]:
    """Shares of each edge (..., N, 1) at which it enters and leaves the circle about the origin."""
    step = end - start
    a = (step**2).sum(axis=-1, keepdims=True)
    b = (step * start).sum(axis=-1, keepdims=True)
    c = (start**2).sum(axis=-1, keepdims=True) - radius**2
    root = np.sqrt(np.maximum(b**2 - a * c, 0.0))
    safe = np.where(a > 0.0, a, 1.0)
    return np.clip((-b - root) / safe, 0.0, 1.0), np.clip((-b + root) / safe, 0.0, 1.0)
