"""Random bodies of real shape: outlines with slopes, arcs and scallops; pockets of any outline with ribs and bosses.

Layout, bores, bridges and bolts are drawn as in `random_bodies`; then the box is cut to shape. The same number always
gives the same body; even numbers are two-piece. All are inventions, kept out of every fit.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import random_bodies as plain
from random_bodies import LIGAMENT, Plan, Random, Sample, _need

from stiffcalc.caliper.body import Body, BridgeShape, HalfShape
from stiffcalc.caliper.idealise import footprint_outline
from stiffcalc.condensed import Array
from stiffcalc.contours import Contour, Corner, circle, rounding, straight, turned
from stiffcalc.milling import Milled, Rib, Slabs, WallShape, slabs, strips
from stiffcalc.study.geometry import depths_inside

SEED = 31
RIM = 4.0  # least metal beside a pocket
KINDS = ("web", "islands", "crossed", "islands")


def by_name(name: str, *, seed: int | None = None) -> Sample:
    """A sample of any kind, such as shape_04 or two_07."""
    kind, number = name.rsplit("_", 1)
    if kind == "shape":
        return shaped(int(number), seed=SEED if seed is None else seed)
    return plain.by_name(name, seed=plain.SEED if seed is None else seed)


def shaped(number: int, *, seed: int = SEED) -> Sample:
    """One-piece (odd) or two-piece (even number) body of equal halves and real shape."""

    def make(rng: Random, plan: Plan) -> Sample:
        sample = _outlined(rng, plan, plain._shape(rng, plan, bolted=number % 2 == 0))
        if number % 2 == 0:
            sample = plain._with_bolts(rng, plan, sample)
        return _milled(rng, plan, sample, KINDS[number // 2 % len(KINDS)])

    return plain._draw(f"shape_{number:02d}", "blind", make, seed=seed)


def _outlined(rng: Random, plan: Plan, sample: Sample) -> Sample:
    """The wall cut to an outline that keeps the bridges' feet and the bores."""
    body = sample.body
    y1 = float(body.outboard.outline[:, 1].max())
    right = _side(rng, body, 1.0)
    left = right if plan.mirrored else _side(rng, body, -1.0)
    top = _scallops(rng, plan, body, y1)
    corners = [*right[0], *_corner(*right[1]), *top, *_mirrored(_corner(*left[1])), *_mirrored(left[0])]
    outline = turned(corners)
    fall = {0: left[1][2], 1: right[1][2]}
    bridges = tuple(replace(b, y1=min(b.y1, y1 - fall.get(i, 0.0))) for i, b in enumerate(body.bridges))
    half = replace(body.outboard, outline=outline.polyline(), shape=WallShape(outline))
    for bore in half.bores:
        room = float(depths_inside(np.array([bore.x, bore.y]), half.outline))
        _need(room > 0.5 * bore.diameter + LIGAMENT)
    for b in bridges:
        _need(b.y1 - max(b.y0, b.arch or 0.0) >= 10 and _foot_inside(b, half.outline))
    return replace(sample, body=replace(body, inboard=half, outboard=half, bridges=bridges))


Upper = tuple[float, float, float]  # x and y of the upper corner, its radius


def _side(rng: Random, body: Body, sign: float) -> tuple[list[Corner], Upper]:
    """One end of the outline as if it were the right one, from the bottom up: lower slope or arc, upper corner."""
    (_, y0), (x1, y1) = body.outboard.outline.min(axis=0), body.outboard.outline.max(axis=0)
    arch = body.bridges[0].arch or 0.0
    foot = math.sqrt(max(arch**2 - x1**2, 0.0))
    rise = rng.uniform(0.3, 0.95) * max(foot - y0, 0.0)
    outer = max(sign * b.x + 0.5 * b.diameter for b in body.outboard.bores)
    start = rng.uniform(outer - 8, x1 - 12)
    bulge = float(rng.uniform(-0.25, 0.25)) if rng.random() < 0.6 else 0.0
    lower: list[Corner] = [(start, y0, bulge), (x1, y0 + rise, 0.0)] if rise > 6 else [(x1, y0, 0.0)]
    return lower, (x1, y1, float(rng.uniform(4, 14)))


def _corner(x: float, y: float, radius: float) -> list[Corner]:
    """The upper right corner, rounded."""
    start, end, bulge = rounding((x, y - 100), (x, y), (x - 100, y), radius)
    return [(*start, bulge), (*end, 0.0)]


def _mirrored(corners: list[Corner]) -> list[Corner]:
    """Corners of the left end, in order: a side's bulge stays with its side, which now starts at its other end."""
    turned_over = [(-x, y) for x, y, _ in reversed(corners)]
    bulges = [b for *_, b in reversed(corners[:-1])] + [0.0]
    return [(*spot, bulge) for spot, bulge in zip(turned_over, bulges, strict=True)]


def _scallops(rng: Random, plan: Plan, body: Body, y1: float) -> list[Corner]:
    """Hollows of the top edge between neighbouring bridges, from right to left."""
    ends = sorted((b.x0, b.x1) for b in body.bridges)
    found: list[Corner] = []
    deep = float(rng.uniform(2, 9))
    for (_, a), (b, _) in reversed(list(pairwise(ends))):
        if b - a < 34:
            continue
        deep = deep if plan.mirrored else float(rng.uniform(2, 9))
        start, end = b - 3.0, a + 3.0
        found += [(start, y1, -2 * deep / (start - end)), (end, y1, 0.0)]
    return found


def _foot_inside(bridge: BridgeShape, outline: Array) -> bool:
    foot = footprint_outline(bridge)
    return bool((depths_inside(foot, outline) > -1e-6).all()) and _outside(foot, outline) < 1e-3


def _outside(shape: Array, outline: Array) -> float:
    """Area of a polygon beside another, mm2."""
    cut = strips([shape, outline])
    return float(cut.area[cut.inside[..., 0] & ~cut.inside[..., 1]].sum())


def _milled(rng: Random, plan: Plan, sample: Sample, kind: str) -> Sample:
    """Pockets, ribs and bosses in the outer faces, alike on both halves."""
    half = sample.body.outboard
    for bolt in sample.body.bolts:
        room = float(depths_inside(np.array([bolt.x, bolt.y]), half.outline))
        _need(room > 0.5 * bolt.bearing + 0.2)
    assert half.shape is not None
    maker = {"web": _web, "islands": _islands, "crossed": _crossed}[kind]
    for _ in range(60):
        pockets, ribs = maker(rng, plan, sample.body)
        shape = WallShape(half.shape.outline, tuple(pockets), tuple(ribs))
        if pockets and _sound(sample.body, half, shape):
            half = replace(half, shape=shape)
            return replace(sample, body=replace(sample.body, inboard=half, outboard=half))
    raise plain._Rejected


def _sound(body: Body, half: HalfShape, shape: WallShape) -> bool:
    """Rims, floors and seats as a reader would ask for them."""
    cut = slabs(shape)
    for pocket in shape.pockets:
        if float(depths_inside(pocket.outline.polyline(), half.outline).min()) < RIM:
            return False
    floors = [cut.depths_over(b.x, b.y, b.diameter + 2)[1] for b in half.bores]
    seats = [cut.depths_over(b.x, b.y, b.bearing + 1) for b in body.bolts]
    return (
        all(f < half.floor - 4 or f == 0 for f in floors)
        and all(a == b for a, b in seats)
        and _used(shape, cut)
    )


def _used(shape: WallShape, cut: Slabs) -> bool:
    """At least 5 % of the face milled."""
    corners, depth = cut.trapezoids()
    x, y = corners[..., 0], corners[..., 1]
    area = 0.5 * (x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1)).sum(axis=1)
    return float(area[np.isfinite(depth)].sum()) > 0.05 * shape.outline.area


def _web(rng: Random, plan: Plan, body: Body) -> tuple[list[Milled], list[Rib]]:
    """One large pocket with bosses behind the bores and under the heads, and ribs across it."""
    half = body.outboard
    (x0, y0), (x1, y1) = half.outline.min(axis=0), half.outline.max(axis=0)
    inset = rng.uniform(RIM + 1, 26, 4)
    if plan.mirrored:
        inset[1] = inset[0]
    box = (x0 + inset[0], x1 - inset[1], y0 + inset[2], y1 - inset[3])
    _need(box[1] - box[0] > 60 and box[3] - box[2] > 30)
    pocket = Milled(
        _rounded_box(*box, float(rng.uniform(5, 12))), float(rng.uniform(0.12, 0.4) * half.thickness)
    )
    wide = float(rng.uniform(4, 9))
    ribs = [Rib(circle(b.x, b.y, b.diameter + 2 * wide), math.inf) for b in half.bores]
    ribs += [Rib(circle(b.x, b.y, b.bearing + 5.0), math.inf) for b in body.bolts]
    height = math.inf if rng.random() < 0.5 else float(rng.uniform(0.4, 0.9) * pocket.depth)
    y = float(rng.uniform(box[2] + 8, box[3] - 8))
    ribs.append(Rib(_bar((box[0] - 2, y), (box[1] + 2, y), float(rng.uniform(6, 12))), height))
    return [pocket], ribs


def _crossed(rng: Random, plan: Plan, body: Body) -> tuple[list[Milled], list[Rib]]:
    """The web with two ribs that cross instead of one."""
    (pocket,), ribs = _web(rng, plan, body)
    low, high = pocket.outline.reach()
    height, wide = ribs[-1].height, float(rng.uniform(6, 11))
    ends = [(low, high), (np.array([low[0], high[1]]), np.array([high[0], low[1]]))]
    bars = [Rib(_bar(tuple(a), tuple(b), wide), height) for a, b in ends]
    return [pocket], [*ribs[:-1], *bars]


def _islands(rng: Random, plan: Plan, body: Body) -> tuple[list[Milled], list[Rib]]:
    """Two to four rounded polygons, some over a bore, one with a round boss in it."""
    half = body.outboard
    (x0, y0), (x1, y1) = half.outline.min(axis=0), half.outline.max(axis=0)
    pockets: list[Milled] = []
    for _ in range(24):
        x, y = rng.uniform(x0 + 14, x1 - 14), rng.uniform(y0 + 12, y1 - 12)
        count = int(rng.integers(3, 6))
        turn = 2 * math.pi * (np.arange(count) + rng.uniform(-0.25, 0.25, count)) / count + rng.uniform(
            0, 6.3
        )
        far = rng.uniform(14, 34, count)
        spots = [
            (float(x + f * math.cos(a)), float(y + f * math.sin(a))) for f, a in zip(far, turn, strict=True)
        ]
        outline = _rounded(spots, float(rng.uniform(2.5, 5.0)))
        over = any(
            float(depths_inside(np.array([b.x, b.y]), outline.polyline())) > -0.5 * b.diameter - LIGAMENT
            for b in half.bores
        )
        depth = rng.uniform(1.5, half.floor - 4.5) if over else rng.uniform(0.12, 0.5) * half.thickness
        if depth < 1.5 or float(depths_inside(outline.polyline(), half.outline).min()) < RIM:
            continue
        if any(_gap(outline, other.outline) < RIM for other in pockets):
            continue
        pockets.append(Milled(outline, float(depth)))
        if len(pockets) == 4:
            break
    _need(len(pockets) >= 2)
    low, high = pockets[0].outline.reach()
    boss = Rib(circle(*(float(v) for v in 0.5 * (low + high)), float(rng.uniform(7, 12))), math.inf)
    ribs = [Rib(circle(b.x, b.y, b.bearing + 5.0), math.inf) for b in body.bolts]
    return pockets, [boss, *ribs]


def _gap(a: Contour, b: Contour) -> float:
    points, others = a.polyline(), b.polyline()
    return -max(float(depths_inside(points, others).max()), float(depths_inside(others, points).max()))


def _rounded_box(x0: float, x1: float, y0: float, y1: float, radius: float) -> Contour:
    return _rounded([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], radius)


def _rounded(spots: list[tuple[float, float]], radius: float) -> Contour:
    found: list[Corner] = []
    for i, spot in enumerate(spots):
        before, after = spots[i - 1], spots[(i + 1) % len(spots)]
        start, end, bulge = rounding(before, spot, after, radius)
        room = min(math.dist(before, spot), math.dist(spot, after))
        _need(math.dist(start, spot) < 0.45 * room)
        found += [(*start, bulge), (*end, 0.0)]
    return turned(found)


def _bar(start: tuple[float, float], end: tuple[float, float], wide: float) -> Contour:
    along = np.subtract(end, start) / math.dist(start, end)
    off = 0.5 * wide * np.array([-along[1], along[0]])
    return straight(np.array([start - off, end - off, end + off, start + off]))
