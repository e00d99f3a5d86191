"""What is left of a wall of any front outline: pockets milled from its outer face, ribs and bosses left in them; mm.

The plane is cut along y into slabs at every corner and crossing, so that in each slab sides are straight and do not
cross; between two sides the depth is the same throughout. Areas, stations and masses are read from these strips.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.contours import Contour

DIGITS = 9  # decimals, mm, to which corners of slabs are told apart
LEAST_AREA = 1e-9  # mm2 of a strip that counts
TOUCH_MM = 1e-3  # by which a disc must reach over an edge to lie on both sides of it


class Milled(NamedTuple):
    """A pocket milled from the outer face."""

    outline: Contour
    depth: float


class Rib(NamedTuple):
    """Metal that pockets leave: a rib, or a boss; infinite height: up to the outer face."""

    outline: Contour
    height: float  # above the floor of the pocket it stands in


@dataclass(frozen=True)
class WallShape:
    """A wall's front outline, its pockets and ribs. Tuples throughout: the same in all designs of a batch."""

    outline: Contour
    pockets: tuple[Milled, ...] = ()
    ribs: tuple[Rib, ...] = ()


@dataclass(frozen=True)
class Strips:
    """Strips of S slabs, K in each (some of no height), and which of P outlines each lies in."""

    x: Array  # (S + 1,)
    low: Array  # (S, K, 2) y of the lower side at the slab's left and right
    high: Array  # (S, K, 2)
    inside: NDArray[np.bool_]  # (S, K, P)

    @property
    def area(self) -> Array:
        """Area of each strip, (S, K), mm2."""
        return np.asarray(np.diff(self.x)[:, None] * (self.high - self.low).mean(axis=-1))


@dataclass(frozen=True)
class Slabs:
    """A shaped wall's box cut into strips: `depth` milled from the outer face; infinite beside the outline."""

    x: Array  # (S + 1,)
    low: Array  # (S, K, 2)
    high: Array  # (S, K, 2)
    depth: Array  # (S, K)
    marks: Array  # (n,) x where something begins

    def at(self, x: Array) -> tuple[Array, Array, Array]:
        """Lower and upper y and depth of the strips at x (...): (..., K) each; of no height off the wall."""
        i = np.clip(np.searchsorted(self.x, x, side="right") - 1, 0, len(self.x) - 2)
        t = np.clip((x - self.x[i]) / (self.x[i + 1] - self.x[i]), 0.0, 1.0)[..., None]
        low, high = (v[i, :, 0] + t * (v[i, :, 1] - v[i, :, 0]) for v in (self.low, self.high))
        on = ((self.x[0] <= x) & (x <= self.x[-1]))[..., None]
        return low, np.where(on, high, low), self.depth[i]

    def edges(self, x: Array) -> tuple[Array, Array]:
        """Lowest and highest y of the metal at x (...)."""
        low, high, depth = self.at(x)
        metal = np.isfinite(depth) & (high > low)
        return np.where(metal, low, np.inf).min(axis=-1), np.where(metal, high, -np.inf).max(axis=-1)

    def gaps(self) -> float:
        """Share of the wall's length in which it stands in pieces one above another."""
        metal = (np.isfinite(self.depth) & ((self.high - self.low).mean(axis=-1) > 10.0**-DIGITS)).astype(int)
        tall = (self.high - self.low).mean(axis=-1) > 10.0**-DIGITS
        pieces = np.zeros(len(metal), dtype=int)
        before = np.zeros(len(metal), dtype=int)
        for k in range(metal.shape[1]):
            pieces += tall[:, k] & (metal[:, k] > before)
            before = np.where(tall[:, k], metal[:, k], before)
        width = np.diff(self.x)
        return float(width[pieces > 1].sum() / width.sum())

    def depth_at(self, x: Array, y: Array) -> Array:
        """Milled depth at points (...); 0 beside every strip."""
        low, high, depth = self.at(x)
        there = (low <= y[..., None]) & (y[..., None] <= high)
        return np.asarray(np.where(there, depth, 0.0).max(axis=-1))

    def trapezoids(self, *, milled: bool = True) -> tuple[Array, Array]:
        """Corners (T, 4, 2), counter-clockwise, of strips and their depths (T,); of all, or where metal is missing."""
        area = np.diff(self.x)[:, None] * (self.high - self.low).mean(axis=-1)
        s, k = np.nonzero((area > LEAST_AREA) & ((self.depth > 0) | (not milled)))
        left, right = self.x[s], self.x[s + 1]
        (a, b), (d, c) = self.low[s, k].T, self.high[s, k].T
        corners = np.stack(
            [np.stack([left, right, right, left], axis=-1), np.stack([a, b, c, d], axis=-1)], axis=-1
        )
        return corners, self.depth[s, k]

    def depths_over(self, x: float, y: float, diameter: float) -> tuple[float, float]:
        """Least and largest depth milled over a disc; infinite beside the outline."""
        corners, depth = self.trapezoids(milled=False)
        under = depth[_distance(corners - np.array([x, y])) < 0.5 * diameter - TOUCH_MM]
        reach = np.array([x, y]) + 0.5 * diameter * np.array([[-1.0], [1.0]])
        box = np.array([[self.x[0], self.low.min()], [self.x[-1], self.high.max()]])
        hangs = np.any(reach[0] < box[0] - TOUCH_MM) or np.any(reach[1] > box[1] + TOUCH_MM)
        return float(under.min(initial=np.inf)), np.inf if hangs else float(under.max(initial=0.0))


def shared(found: Slabs, count: int) -> Slabs:
    """The same with a leading axis of `count` designs on every array, for batches that are cut along it."""
    spread = {f.name: getattr(found, f.name) for f in fields(found)}
    return Slabs(**{name: np.broadcast_to(v, (count, *v.shape)) for name, v in spread.items()})


def first(found: Slabs) -> Slabs:
    """One design's of `shared` ones."""
    return Slabs(**{f.name: getattr(found, f.name)[0] for f in fields(found)})


def _distance(corners: Array) -> Array:
    """Distance (T,) of the origin from convex polygons (T, 4, 2), counter-clockwise; 0 inside."""
    after = np.roll(corners, -1, axis=1) - corners
    length = np.maximum((after**2).sum(axis=-1), 1e-300)
    t = np.clip(-(corners * after).sum(axis=-1) / length, 0.0, 1.0)
    away = np.linalg.norm(corners + t[..., None] * after, axis=-1).min(axis=1)
    left = after[..., 0] * -corners[..., 1] - after[..., 1] * -corners[..., 0] >= 0.0
    return np.where(left.all(axis=1), 0.0, away)


@lru_cache(maxsize=32)
def slabs(shape: WallShape) -> Slabs:
    """A shaped wall as slabs. Where pockets overlap the deeper one counts, where ribs do the taller.

    Every rule of a study file that looks at a wall asks for its slabs: those of the last few walls are kept, and cannot
    be written to.
    """
    outlines = [shape.outline, *(p.outline for p in shape.pockets), *(r.outline for r in shape.ribs)]
    cut = strips([o.polyline() for o in outlines])
    pockets = len(shape.pockets)
    milled = cut.inside[..., 1 : 1 + pockets] * np.array([p.depth for p in shape.pockets])
    depth = milled.max(axis=-1, initial=0.0)
    left = np.where(cut.inside[..., 1 + pockets :], np.array([r.height for r in shape.ribs]), 0.0)
    depth = np.maximum(depth - left.max(axis=-1, initial=0.0), 0.0)
    depth = np.where(cut.inside[..., 0], depth, np.inf)
    marks = np.concatenate([o.marks() for o in outlines])
    found = Slabs(cut.x, cut.low, cut.high, depth, np.unique(np.round(marks, DIGITS)))
    for values in vars(found).values():
        values.setflags(write=False)
    return found


def strips(polygons: Sequence[Array]) -> Strips:
    """Cut the box round the first of closed polygons (N, 2) by all their sides."""
    starts = np.concatenate(polygons)
    ends = np.concatenate([np.roll(p, -1, axis=0) for p in polygons])
    owner = np.repeat(np.arange(len(polygons)), [len(p) for p in polygons])
    (x0, y0), (x1, y1) = polygons[0].min(axis=0), polygons[0].max(axis=0)
    # the box's own bottom and top, of no polygon
    starts = np.concatenate([starts, [(x0, y0), (x0, y1)]])
    ends = np.concatenate([ends, [(x1, y0), (x1, y1)]])
    owner = np.append(owner, [len(polygons)] * 2)
    met = [_crossings(a, b) for a, b in combinations(polygons, 2)]
    x = np.unique(np.round(np.concatenate([starts[:, 0], *met]), DIGITS))
    x = x[(x >= round(x0, DIGITS)) & (x <= round(x1, DIGITS))]
    return _sorted_strips(x, starts, ends, owner, len(polygons))


def _sorted_strips(x: Array, starts: Array, ends: Array, owner: NDArray[np.int64], count: int) -> Strips:
    middle = 0.5 * (x[1:] + x[:-1])[:, None]
    spans = (np.minimum(starts[:, 0], ends[:, 0]) < middle) & (middle < np.maximum(starts[:, 0], ends[:, 0]))
    run = ends[:, 0] - starts[:, 0]
    slope = (ends[:, 1] - starts[:, 1]) / np.where(run == 0.0, 1.0, run)

    def height(at: Array) -> Array:
        return starts[:, 1] + (at - starts[:, 0]) * slope

    order = np.argsort(np.where(spans, height(middle), np.inf), axis=1)[:, : int(spans.sum(axis=1).max())]
    taken = np.take_along_axis(spans, order, axis=1)
    y = np.stack([np.take_along_axis(height(v), order, axis=1) for v in (x[:-1, None], x[1:, None])], axis=-1)
    for k in range(1, y.shape[1]):  # columns of no side repeat the last one
        y[:, k] = np.where(taken[:, k, None], np.maximum(y[:, k], y[:, k - 1]), y[:, k - 1])
    crossed = (owner[order][..., None] == np.arange(count)) & taken[..., None]
    return Strips(x, y[:, :-1], y[:, 1:], np.cumsum(crossed, axis=1)[:, :-1] % 2 == 1)


def _crossings(one: Array, other: Array) -> Array:
    """x of every point in which sides of two closed polygons cross."""
    boxes = [(p.min(axis=0), p.max(axis=0)) for p in (one, other)]
    if np.any(boxes[0][1] < boxes[1][0]) or np.any(boxes[1][1] < boxes[0][0]):
        return np.zeros(0)
    (p, d), (q, e) = ((c, np.roll(c, -1, axis=0) - c) for c in (one, other))
    across = d[:, None, 0] * e[:, 1] - d[:, None, 1] * e[:, 0]
    gap = q - p[:, None]
    safe = np.where(across == 0.0, 1.0, across)
    t = (gap[..., 0] * e[:, 1] - gap[..., 1] * e[:, 0]) / safe
    u = (gap[..., 0] * d[:, None, 1] - gap[..., 1] * d[:, None, 0]) / safe
    i, j = np.nonzero((across != 0.0) & (t > 0.0) & (t < 1.0) & (u > 0.0) & (u < 1.0))
    return np.asarray(p[i, 0] + t[i, j] * d[i, 0])
