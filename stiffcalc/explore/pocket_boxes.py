"""A handful of rectangles that take a volume away where it costs least.

The cost of a depth d on a pixel is taken as K/3 ((h - d)^-3 - h^-3), h the metal there before it is milled: the bending
energy under moments that do not change, K = slope * (metal left)^4 from a solved state. At a price per volume a
rectangle over an area A gains price d A less its cost; of some shares of the depth allowed over it the best counts.
Rectangles are taken one after the other, each the one that gains most beside the others; then each is taken out and
sought again until none moves. All rectangles with sides on a grid are tried at once, by sums over corners. Derived
here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.explore.pocket_raster import Mask, Raster
from stiffcalc.mechanics.faces import Index

GRID_MM = 2.0
ROUNDS = 4
NARROWEST = 1.25  # of the cutter: a slot as wide as its cutter is milled badly
SHARES = np.array([0.4, 0.7, 0.9, 1.0])  # of the depth allowed that are tried
LEAST_GAIN = 0.02  # of what all rectangles gain
TOUCH = 1e-6


@dataclass(frozen=True)
class Box:
    """A rectangular pocket; depth mm; `most`: the greatest depth allowed over it."""

    x: tuple[float, float]
    y: tuple[float, float]
    depth: float
    most: float

    @property
    def area(self) -> float:
        """mm2."""
        return (self.x[1] - self.x[0]) * (self.y[1] - self.y[0])


@dataclass(frozen=True)
class Tries:
    """Every rectangle with sides on the grid, flat (n,)."""

    x0: Array
    x1: Array
    y0: Array
    y1: Array
    most: Array  # depth allowed all over it
    cost: Array  # (SHARES, n) of that share of it


@dataclass(frozen=True)
class Rules:
    """How many rectangles, how wide, how far apart; `edges`: further x and y where sides may lie."""

    count: int
    cutter: float
    rib: float
    edges: tuple[Array, Array]


def tries(pixels: Raster, K: Array, height: Array, rules: Rules) -> Tries:
    """Every rectangle that may be milled; K and metal's height (ny, nx) of the pixels."""
    least = NARROWEST * rules.cutter
    x, (x0, x1) = _spans(pixels.x, rules.edges[0], least, rules.rib)
    y, (y0, y1) = _spans(pixels.y, rules.edges[1], least, rules.rib)

    def over(values: Array) -> Array:
        """Integral over every rectangle (ky, kx)."""
        sums = pixels.pixel * _corner_sums(values)
        at = _between(_between(sums, pixels.y, y).T, pixels.x, x).T
        along = at[:, x1] - at[:, x0]
        return np.asarray(along[y1] - along[y0])

    most, cost = np.zeros((len(y0), len(x0))), np.zeros((len(SHARES), len(y0), len(x0)))
    for level in np.unique(pixels.allowed[pixels.allowed > 0.0]):
        there = over((pixels.allowed < level).astype(float)) < 0.5 * pixels.pixel
        most[there] = level
        for i, share in enumerate(SHARES):
            left = np.maximum(height - share * level, 1.0)  # thinner is not allowed at this level
            cost[i, there] = over(K / 3.0 * (left**-3.0 - height**-3.0))[there]
    (X0, Y0), (X1, Y1), some = np.meshgrid(x[x0], y[y0]), np.meshgrid(x[x1], y[y1]), most > 0.0
    return Tries(X0[some], X1[some], Y0[some], Y1[some], most[some], cost[:, some])


def boxes(among: Tries, price: float, rules: Rules) -> tuple[Box, ...]:
    """The best rectangles at a price per mm3; sides keep a rib from the wall's edges or lie in them."""
    area = (among.x1 - among.x0) * (among.y1 - among.y0)
    gains = price * SHARES[:, None] * among.most * area - among.cost
    which = gains.argmax(axis=0)
    gain, depth = gains.max(axis=0), SHARES[which] * among.most
    found: list[int] = []
    while len(found) < rules.count:
        new = _best(among, gain, found, rules.rib)
        if new is None or gain[new] < LEAST_GAIN * gain[found].sum():
            break
        found.append(new)
    for _ in range(ROUNDS):
        before = list(found)
        for i in range(len(found)):
            others = found[:i] + found[i + 1 :]
            best = _best(among, gain, others, rules.rib)
            found[i] = found[i] if best is None else best
        if found == before:
            break
    return tuple(sorted((_box(among, i, float(depth[i])) for i in found), key=lambda b: (b.x, b.y)))


def _box(among: Tries, i: int, depth: float) -> Box:
    x, y = ((float(a[i]), float(b[i])) for a, b in ((among.x0, among.x1), (among.y0, among.y1)))
    return Box(x, y, depth, float(among.most[i]))


def deepened(found: tuple[Box, ...], factor: float) -> tuple[Box, ...]:
    """All depths times a factor, within what is allowed."""
    return tuple(replace(b, depth=min(factor * b.depth, b.most)) for b in found)


def _best(among: Tries, gain: Array, others: list[int], rib: float) -> int | None:
    """The rectangle that gains most beside others."""
    clear = gain
    for k in others:
        clear = np.where(_clear(among, k, rib), clear, 0.0)
    best = int(clear.argmax())
    return best if clear[best] > 0.0 else None


def _clear(among: Tries, other: int, rib: float) -> Mask:
    """A rib apart, or side by side."""
    gap_x = np.maximum(among.x0 - among.x1[other], among.x0[other] - among.x1)
    gap_y = np.maximum(among.y0 - among.y1[other], among.y0[other] - among.y1)
    apart = (gap_x >= rib - TOUCH) | (gap_y >= rib - TOUCH)
    beside = ((np.abs(gap_x) < TOUCH) & (gap_y < -TOUCH)) | ((np.abs(gap_y) < TOUCH) & (gap_x < -TOUCH))
    return np.asarray(apart | beside)


def _spans(edges: Array, own: Array, least: float, rib: float) -> tuple[Array, tuple[Index, Index]]:
    """Grid lines (n,), in the wall's edges or a rib off them, and pairs (k,) of them at least `least` apart."""
    low, high = edges[0], edges[-1]
    grid = GRID_MM * np.arange(np.ceil((low + rib) / GRID_MM), np.floor((high - rib) / GRID_MM) + 1)
    inner = own[(own >= low + rib) & (own <= high - rib)]
    lines = np.unique(np.round(np.concatenate([[low, high], grid, inner]), 6))
    i, k = np.triu_indices(len(lines), 1)
    wide = lines[k] - lines[i] >= least
    return lines, (i[wide], k[wide])


def _corner_sums(values: Array) -> Array:
    """Sums (ny + 1, nx + 1) of all pixels below and left of each corner."""
    return np.pad(values.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))


def _between(values: Array, at: Array, lines: Array) -> Array:
    """Rows of `values`, which stand at even places, interpolated at lines."""
    k = (lines - at[0]) / (at[1] - at[0])
    low = np.clip(np.floor(k).astype(np.intp), 0, len(at) - 2)
    share = (k - low)[:, None]
    return np.asarray((1.0 - share) * values[low] + share * values[low + 1])
