"""A grid moved onto parts whose lengths have changed: the same elements, so that answers change smoothly with lengths.

Corners of outlines and regions give levels along x and along y; between two levels coordinates are stretched evenly.
That carries every edge parallel to an axis onto its new place; nodes of arcs and slanting edges are put on the new
edge at the same share of its length. Middle nodes of straight sides stay in the middle.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import StiffcalcError
from stiffcalc.plane.elements import Index
from stiffcalc.plane.section.grid import Grid, check_elements, zones_of
from stiffcalc.plane.section.outline import Edge, Loop, Part, Point

NEAR = 1e-7  # of the extent: corners nearer than this along an axis lie on one level


def moved(grid: Grid, before: Sequence[Part], after: Sequence[Part]) -> Grid | None:
    """The grid of `before` on `after`; None where they differ by more than lengths, or an element would fold over."""
    pairs = _edge_pairs(before, after)
    maps = None if pairs is None else [_levels(pairs, axis) for axis in (0, 1)]
    if pairs is None or maps is None or None in maps:
        return None
    nodes = np.stack(
        [np.interp(grid.nodes[:, i], *found) for i, found in enumerate(maps) if found is not None], axis=-1
    )
    nodes = _middles(_on_edges(grid.nodes, nodes, pairs), grid)
    found = replace(grid, nodes=nodes, zones=tuple(z for part in after for z in zones_of(part)))
    try:
        check_elements(found)
    except StiffcalcError:
        return None
    return found


def quality(grid: Grid) -> float:
    """Of the worst triangle, corners taken straight: 4 sqrt(3) area / sum of squared sides, 1 where equilateral."""
    corners = grid.nodes[grid.triangles[:, :3]]
    sides = np.roll(corners, -1, axis=1) - corners
    area = 0.5 * (sides[:, 0, 0] * sides[:, 1, 1] - sides[:, 0, 1] * sides[:, 1, 0])
    return float((4 * np.sqrt(3.0) * area / np.sum(sides**2, axis=(1, 2))).min())


Levels = tuple[Array, Array]  # rising, before and after


def _edge_pairs(before: Sequence[Part], after: Sequence[Part]) -> list[tuple[Edge, Edge]] | None:
    """Edges of outlines and regions, one by one; None where their numbers, names or kinds differ."""
    old, new = ([loop for part in parts for loop in _loops(part)] for parts in (before, after))
    if [_kinds(loop) for loop in old] != [_kinds(loop) for loop in new]:
        return None
    return [pair for a, b in zip(old, new, strict=True) for pair in zip(a, b, strict=True)]


def _loops(part: Part) -> Iterator[Loop]:
    yield from part.loops
    yield from (region.outline for region in part.regions)


def _kinds(loop: Loop) -> list[tuple[str, bool]]:
    return [(edge.name, edge.centre is None) for edge in loop]


def _corner_pairs(pairs: Sequence[tuple[Edge, Edge]]) -> Iterator[tuple[Point, Point]]:
    for a, b in pairs:
        yield a.start, b.start
        if a.centre is not None and b.centre is not None:
            yield a.centre, b.centre


def _levels(pairs: Sequence[tuple[Edge, Edge]], axis: int) -> Levels | None:
    """Levels of the corners along an axis, before and after; None where some have met, parted or changed places."""
    both = np.array([[p[axis], q[axis]] for p, q in _corner_pairs(pairs)])
    both = both[np.argsort(both[:, 0], kind="stable")]
    near = NEAR * float(np.ptp(both[:, 0]))
    first = np.r_[True, np.diff(both[:, 0]) > near]
    own = both[first]
    apart = both[:, 1] - own[np.cumsum(first) - 1, 1]
    if np.any(np.diff(own[:, 1]) <= near) or np.abs(apart).max() > near:
        return None
    return own[:, 0], own[:, 1]


def _on_edges(old: Array, nodes: Array, pairs: Sequence[tuple[Edge, Edge]]) -> Array:
    """Nodes of arcs and slanting edges put on the edge's new place."""
    tolerance = 1e-6 * float(np.ptp(old, axis=0).max())
    for a, b in pairs:
        along = np.abs(np.subtract(a.end, a.start))
        if a.centre is None and along.min() <= tolerance:
            continue
        on = np.flatnonzero(a.holds(old, tolerance=tolerance))
        nodes[on] = b.at(a.share(old[on]))
    return nodes


def _middles(nodes: Array, grid: Grid) -> Array:
    """Middle nodes of sides that were straight put in the middle again."""
    ends, middle = _sides(grid.triangles)
    was = grid.nodes[middle] - grid.nodes[ends].mean(axis=1)
    length = np.linalg.norm(grid.nodes[ends[:, 1]] - grid.nodes[ends[:, 0]], axis=-1)
    straight = np.linalg.norm(was, axis=-1) < 1e-9 * length
    nodes[middle[straight]] = nodes[ends[straight]].mean(axis=1)
    return nodes


def _sides(triangles: Index) -> tuple[Index, Index]:
    ends = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    return ends, triangles[:, 3:].ravel()
