"""Does the metal fit of walls of real shape: pockets, ribs, bores' floors, bridges' feet, heads and pads' slots.

Shapes are the same in all designs of a batch; what meets them may differ, and is then asked design by design.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.contours import Contour
from stiffcalc.milling import WallShape, slabs, strips
from stiffcalc.study import reach
from stiffcalc.study.breach import Breach, said
from stiffcalc.study.geometry import depths_inside, footprint, rectangle
from stiffcalc.study.parts import Parts
from stiffcalc.study.schema import Bridge, Pads, Rotor, Wall

OFF_MM = 0.005  # by which outlines drawn flush may overlap: chords stand for arcs
FLUSH_MM = 1e-3
INSIDE = "inside the wall's outline"


def each(ask: Callable[..., float], *values: Any) -> Any:
    """What `ask` says of plain numbers, or of each design where numbers are arrays (D,) or outlines (D, N, 2)."""
    axes = [np.ndim(v) % 2 if np.ndim(v) in (0, 1) else np.ndim(v) - 2 for v in values]
    count = max((len(v) for v, axis in zip(values, axes, strict=True) if axis), default=0)
    if not count:
        return ask(*values)
    rows = ((v[d] if axis else v for v, axis in zip(values, axes, strict=True)) for d in range(count))
    return np.array([ask(*row) for row in rows])


def shape_faults(where: str, wall: Wall, parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    """Every rule of one wall of real shape; none for a box."""
    if wall.shape is None:
        return
    shape, outline = wall.shape, wall.shape.outline.polyline()
    pockets = [(f"{where}.pockets[{i}]", p.outline) for i, p in enumerate(shape.pockets, start=1)]
    ribs = [(f"{where}.ribs[{i}]", r.outline) for i, r in enumerate(shape.ribs, start=1)]
    for word, placed in (("pocket", pockets), ("rib", ribs)):
        for place, contour in placed:
            lost = beside(contour.polyline(), outline)
            found = f"a {word} of which {lost:.4g} mm2 lie outside the wall"
            yield Breach(lost > 0, place, found, INSIDE, "move it or make it smaller")
    for (place, a), (other, b) in combinations(pockets, 2):
        both = _common(a.polyline(), b.polyline()) > 0
        yield Breach(both, other, f"an overlap with {place}", "pockets beside each other", "move them apart")
    for (place, _), pocket in zip(pockets, shape.pockets, strict=True):
        allowed = said("below {:g}, the wall's thickness there", wall.thickness)
        mend = "make the pocket shallower"
        yield Breach(pocket.depth >= wall.thickness, f"{place}.depth_mm", f"{pocket.depth:g}", allowed, mend)
    yield from _rib_faults(ribs, shape)
    yield from _floor_faults(where, wall, shape, parts)
    yield from _feet_faults(where, outline, parts, rotor)


def _rib_faults(ribs: list[tuple[str, Contour]], shape: WallShape) -> Iterator[Breach]:
    for (place, contour), rib in zip(ribs, shape.ribs, strict=True):
        line = contour.polyline()
        depths = [p.depth for p in shape.pockets if _common(line, p.outline.polyline()) > 0]
        mend = "move it into a pocket, or thicken the wall and mill a pocket round it"
        yield Breach(not depths, place, "a rib where nothing is milled", "ribs that a pocket leaves", mend)
        least = min(depths, default=np.inf)
        too_high = np.isfinite(rib.height) and rib.height > least
        allowed = f"at most {least:g}, the depth of the pocket it stands in"
        mend = "leave it out for a rib up to the outer face"
        yield Breach(too_high, f"{place}.height_mm", f"{rib.height:g}", allowed, mend)


def _floor_faults(where: str, wall: Wall, shape: WallShape, parts: Parts) -> Iterator[Breach]:
    cut = slabs(shape)
    for place, bore in zip(parts.bores, parts.caliper.bores, strict=True):
        deepest = each(lambda x, y, d: cut.depths_over(x, y, d)[1], bore.x, bore.y, bore.diameter)
        found = said("pockets that go {:.4g} mm deep behind {}", deepest, place)
        allowed = said("below {:g}, the floor there", wall.floor)
        mend = "make them shallower, or leave a boss (ribs) behind the bore"
        yield Breach((deepest >= wall.floor) & (deepest < np.inf), f"{where}.pockets", found, allowed, mend)


def _feet_faults(where: str, outline: Array, parts: Parts, rotor: Rotor) -> Iterator[Breach]:
    for i, bridge in enumerate(parts.caliper.bridges, start=1):
        lost = each(lambda foot: beside(foot, outline), footprint(bridge, parts.caliper, rotor))
        found = said(
            f'a foot of "{bridge.name}" of which {{:.4g}} mm2 lie outside the outline of {where}', lost
        )
        allowed, mend = (
            "a bridge that meets the wall's metal all over",
            "move or lower it, or widen the outline",
        )
        yield Breach(lost > 0, f"caliper.bridge[{i}]", found, allowed, mend)


def seat_faults(where: str, seat: tuple[float, float, float], place: str, wall: Wall) -> Iterator[Breach]:
    """Rule of a head (or washer) at x, y of a diameter on a wall of real shape: one depth under all of it."""
    if wall.shape is None:
        return
    cut = slabs(wall.shape)

    def step(x: float, y: float, diameter: float) -> float:
        least, most = cut.depths_over(x, y, diameter)
        return most - least if np.isfinite(most) else 0.0  # beyond the outline is refused elsewhere

    found = said("a head (or washer) of {:g} mm across the edge of a pocket or rib of {}", seat[2], place)
    allowed = "a head wholly outside a pocket, wholly inside, or on a boss as wide as itself"
    yield Breach(each(step, *seat) > 0, where, found, allowed, "move the bolt, the pocket or the boss")


def slot_faults(
    where: str, bridge: Bridge, pads: Pads, placed: tuple[str, Wall], low: float
) -> Iterator[Breach]:
    """Rules of a bar's slot in a wall of real shape, from the foot of its tapped holes (y = low) up."""
    place, wall = placed
    if wall.shape is None:
        return
    top = reach.heights(wall, bridge.x)[1]
    found = said("a slot under an outline that ends at y {:.4g}", top)
    allowed = said("a flat top of {} over the bar, at y {:.4g}", place, wall.top_y)
    yield Breach(wall.top_y - top > FLUSH_MM, where, found, allowed, "move the bar or straighten the outline")
    box = rectangle(bridge.x, (low, wall.top_y))
    for i, pocket in enumerate(wall.shape.pockets, start=1):
        line = pocket.outline.polyline()
        met = each(lambda slot, line=line: _common(slot, line), box) > 0
        deep = wall.thickness - pocket.depth <= np.maximum(pads.length, pads.setback + 0.5 * pads.screw.hole)
        found_text, mend = (
            f"a slot or tapped hole that meets {place}.pockets[{i}]",
            "move or flatten the pocket",
        )
        yield Breach(met & deep, where, found_text, "metal between them", mend)


def beside(shape: Array, outline: Array) -> float:
    """Area of a polygon that lies outside another, mm2; 0 where they are flush, NaN from NaN."""
    return _area([shape, outline], lambda inside: inside[..., 0] & ~inside[..., 1])


def _common(one: Array, other: Array) -> float:
    """Area that two polygons have in common, mm2; 0 where they are flush, NaN from NaN."""
    return _area([one, other], lambda inside: np.asarray(inside.all(axis=-1)))


def _area(polygons: list[Array], counts: Callable[[NDArray[np.bool_]], NDArray[np.bool_]]) -> float:
    """Area of the strips that count, unless it is no more than what chords leave along the first outline."""
    if any(np.isnan(p).any() for p in polygons):
        return float("nan")
    cut = strips(polygons)
    round_ = np.linalg.norm(np.roll(polygons[0], -1, axis=0) - polygons[0], axis=-1).sum()
    area = float(cut.area[counts(cut.inside)].sum())
    return area if area > OFF_MM * round_ else 0.0


def pocket_edges(wall: Wall) -> list[Array]:
    """Outlines of everything that is milled or left, of any wall."""
    if wall.shape is None:
        return [rectangle(p.x, p.y) for p in wall.pockets]
    return [o.polyline() for o, _ in (*wall.shape.pockets, *wall.shape.ribs)]


def milled_depth(wall: Wall, points: Array) -> Array:
    """Depth (...) milled from the outer face of any wall at points (..., 2)."""
    if wall.shape is not None:
        return slabs(wall.shape).depth_at(points[..., 0], points[..., 1])
    cut = [np.where(depths_inside(points, rectangle(p.x, p.y)) > 0, p.depth, 0.0) for p in wall.pockets]
    return np.asarray(np.max([np.zeros(points.shape[:-1]), *cut], axis=0))
