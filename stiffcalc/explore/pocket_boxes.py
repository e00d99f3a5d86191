"""A handful of rectangles that take a volume away where it costs least.

Two ways of telling what a rectangle is worth. By cost: a depth d on a pixel costs K/3 ((h - d)^-3 - h^-3), h the metal
there before it is milled: the bending energy under moments that do not change, K = slope * (metal left)^4 from a solved
state; at a price per volume a rectangle over an area A gains price d A less its cost, with what does nothing beside its
steps (`pocket_raster`). By likeness: it brings a wanted field of mean depth m nearer by A d (2 m - d), least squares.
Rectangles are taken one after the other, each the one worth most beside the others; then each is taken out and sought
again until none moves. All with sides on a grid are tried at once, by sums over corners. Derived here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.explore.pocket_raster import HOLD, Mask, Raster
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
    wanted: Array  # mean depth of the field


class Worth(NamedTuple):
    """What every rectangle is worth, and how deep it is then, (n,) each."""

    gain: Array
    depth: Array


@dataclass(frozen=True)
class Rules:
    """How many rectangles, how wide, how far apart; `edges`: further x and y where sides may lie."""

    count: int
    cutter: float
    rib: float
    edges: tuple[Array, Array]


def tries(pixels: Raster, K: Array, height: Array, field: Array, rules: Rules) -> Tries:
    """Every rectangle that may be milled; K, metal's height and the wanted depth (ny, nx) of the pixels."""
    least = NARROWEST * rules.cutter
    x, (x0, x1) = _spans(pixels.x, rules.edges[0], least, rules.rib)
    y, (y0, y1) = _spans(pixels.y, rules.edges[1], least, rules.rib)

    def over(values: Array, grown: float = 0.0) -> Array:
        """Integral over every rectangle (ky, kx), grown by so much on every side, within the wall."""
        sums = pixels.pixel * _corner_sums(values)
        low, high = (
            _between(_between(sums, pixels.y, y + by).T, pixels.x, x + by).T for by in (-grown, grown)
        )
        mixed = _between(_between(sums, pixels.y, y + grown).T, pixels.x, x - grown).T
        other = _between(_between(sums, pixels.y, y - grown).T, pixels.x, x + grown).T
        upper = high[:, x1][y1] - mixed[:, x0][y1]
        lower = other[:, x1][y0] - low[:, x0][y0]
        return np.asarray(upper - lower)

    most, cost = np.zeros((len(y0), len(x0))), np.zeros((len(SHARES), len(y0), len(x0)))
    for level in np.unique(pixels.allowed[pixels.allowed > 0.0]):
        there = over((pixels.allowed < level).astype(float)) < 0.5 * pixels.pixel
        most[there] = level
        for i, share in enumerate(SHARES):
            left = np.maximum(height - share * level, 1.0)  # thinner is not allowed at this level
            idle = share * level / (2.0 * HOLD)  # mean width of what does nothing beside a step
            cost[i, there] = over(K / 3.0 * (left**-3.0 - height**-3.0), idle)[there]
    (X0, Y0), (X1, Y1), some = np.meshgrid(x[x0], y[y0]), np.meshgrid(x[x1], y[y1]), most > 0.0
    mean = over(field)[some] / ((X1 - X0) * (Y1 - Y0))[some]
    return Tries(X0[some], X1[some], Y0[some], Y1[some], most[some], cost[:, some], mean)


def by_cost(among: Tries, price: float) -> Worth:
    """At a price per mm3, with the best share of the depth allowed."""
    gains = price * SHARES[:, None] * among.most * _area(among) - among.cost
    return Worth(gains.max(axis=0), SHARES[gains.argmax(axis=0)] * among.most)


def by_likeness(among: Tries, raised: float) -> Worth:
    """To the wanted field with its depths raised by a factor."""
    mean = np.minimum(raised * among.wanted, among.most)
    return Worth(_area(among) * mean * (2.0 * raised * among.wanted - mean), mean)


def _area(among: Tries) -> Array:
    return np.asarray((among.x1 - among.x0) * (among.y1 - among.y0))


def boxes(among: Tries, worth: Worth, rules: Rules) -> tuple[Box, ...]:
    """The rectangles worth most; sides keep a rib from the wall's edges or lie in them."""
    good = worth.gain > 0.0
    left = Tries(*(v[..., good] for v in vars(among).values()))
    gain, depth = worth.gain[good], worth.depth[good]
    found: list[int] = []
    while len(found) < rules.count:
        new = _best(left, gain, found, rules.rib)
        if new is None or gain[new] < LEAST_GAIN * gain[found].sum():
            break
        found.append(new)
    for _ in range(ROUNDS):
        before = list(found)
        for i in range(len(found)):
            best = _best(left, gain, found[:i] + found[i + 1 :], rules.rib)
            found[i] = found[i] if best is None else best
        if found == before:
            break
    return tuple(sorted((_box(left, i, float(depth[i])) for i in found), key=lambda b: (b.x, b.y)))


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
    best = int(clear.argmax()) if len(clear) else 0
    return best if len(clear) and clear[best] > 0.0 else None


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
    k = (np.clip(lines, at[0], at[-1]) - at[0]) / (at[1] - at[0])
    low = np.clip(np.floor(k).astype(np.intp), 0, len(at) - 2)
    share = (k - low)[:, None]
    return np.asarray((1.0 - share) * values[low] + share * values[low + 1])
