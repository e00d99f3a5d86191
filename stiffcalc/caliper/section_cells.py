"""A section's metal in rows and columns: how much of the strip's width is left in each cell, and the outline.

What is missing stands as boxes in (x, y, z). Cells with next to nothing left are cut out of the outline, cells with
less than the whole width become thinner regions; the rest is plain.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.section.outline import Loop, Point, polygon

GONE = 0.05  # of the strip's width: less metal than this is none
SMALL = 1e-6  # mm

Range = tuple[float, float]


@dataclass(frozen=True)
class Levels:
    """Heights y and depths z of a section, mm."""

    gap: float  # inner face
    outer: float  # outer face
    bottom: float  # of the wall
    top: float
    under: float  # underside of the bridge in the plane
    crown: float  # its top
    fillet: float


@dataclass(frozen=True)
class Box:
    """Missing metal."""

    name: str
    x: Range
    y: Range
    z: Range

    def across(self, strip: Range) -> float:
        """How much of the strip's width it takes, mm."""
        return max(0.0, min(self.x[1], strip[1]) - max(self.x[0], strip[0]))


@dataclass(frozen=True)
class Grid:
    """The strip x0..x1, what is missing of it, and pieces (name, y, half width) of the outer face with a name."""

    levels: Levels
    strip: Range
    boxes: tuple[Box, ...]
    named: tuple[tuple[str, float, float], ...] = ()

    @property
    def width(self) -> float:
        """mm."""
        return self.strip[1] - self.strip[0]


@dataclass(frozen=True)
class Cell:
    """A rectangle of one kind and thickness, thinner than the strip is wide."""

    name: str
    kind: str  # "bridge", "root" (the wall behind it), "wall"
    y: Range
    z: Range
    thickness: float


def metal_left(grid: Grid, *, y: float, z: float) -> float:
    """Width of the strip that is metal at a place, mm."""
    here = [b for b in grid.boxes if b.y[0] < y < b.y[1] and b.z[0] < z < b.z[1]]
    ends = sorted((max(b.x[0], grid.strip[0]), min(b.x[1], grid.strip[1])) for b in here)
    missing, reached = 0.0, -np.inf
    for low, high in ends:
        missing += max(0.0, high - max(low, reached))
        reached = max(reached, high)
    return grid.width - missing


def cells(grid: Grid) -> tuple[Cell, ...]:
    """Every thinner rectangle that is left, equal neighbours put together, with a name of its own."""
    rows = [list(_row(grid, y)) for y in _rows(grid, grid.levels.bottom, grid.levels.top)]
    growing: dict[tuple[str, str, Range, float], Cell] = {}
    done: list[Cell] = []
    for row in rows:
        upright: dict[tuple[str, str, Range, float], Cell] = {}
        for cell in row:
            key = (cell.kind, cell.name, cell.z, cell.thickness)
            below = growing.get(key)
            upright[key] = replace(cell, y=(below.y[0], cell.y[1])) if below else cell
        done += [c for key, c in growing.items() if key not in upright]
        growing = upright
    return tuple(replace(c, name=f"{c.name} {i}") for i, c in enumerate([*done, *growing.values()], start=1))


def _row(grid: Grid, y: Range) -> Iterator[Cell]:
    """Thinner cells of one row, from the mid-plane outward."""
    last: Cell | None = None
    for kind, z in _columns(grid, y):
        middle = sum(y) / 2, sum(z) / 2
        left = metal_left(grid, y=middle[0], z=middle[1])
        hole = any(b.name.startswith("hole") and b.y[0] < middle[0] < b.y[1] for b in grid.boxes)
        cell = Cell(f"{kind}{' hole' if hole else ''} {left:.4g} mm", kind, y, z, left)
        if last and (last.name, last.z[1]) == (cell.name, z[0]):
            last = replace(last, z=(last.z[0], z[1]))
            continue
        yield from _kept(grid, last)
        last = cell
    yield from _kept(grid, last)


def _kept(grid: Grid, cell: Cell | None) -> Iterator[Cell]:
    if cell and GONE * grid.width < cell.thickness < grid.width - SMALL:
        yield cell


def _columns(grid: Grid, y: Range) -> Iterator[tuple[str, Range]]:
    """Kind and z of each cell of a row."""
    v, middle = grid.levels, sum(y) / 2
    beside = v.under < middle < v.crown
    start = v.gap + v.fillet if beside else v.gap
    if beside:
        yield "bridge", (0.0, start)
    ends = [e for b in grid.boxes if b.y[0] < middle < b.y[1] for e in b.z]
    kind = "root" if v.under - v.fillet < middle < v.crown else "wall"
    for z in pairwise(_between(ends, start, v.outer)):
        yield kind, z


def _rows(grid: Grid, low: float, high: float) -> list[Range]:
    """Rows from bottom to top, a border wherever something begins or ends."""
    v = grid.levels
    ends = [e for b in grid.boxes for e in b.y] + [v.under - v.fillet, v.under, v.crown]
    ends += [e for _, y, half in grid.named for e in (y - half, y + half)]
    return list(pairwise(_between(ends, low, high)))


def _between(ends: Sequence[float], low: float, high: float) -> list[float]:
    """Sorted ends inside low..high, with low and high, near ones once."""
    found = [low]
    for e in sorted(ends):
        if found[-1] + SMALL < e < high - SMALL:
            found.append(float(e))
    return [*found, high]


def _faces(grid: Grid, y: Range) -> Range:
    """Where the metal of a row begins and ends in the wall, z."""
    v, middle = grid.levels, sum(y) / 2
    whole = list(pairwise(_between([e for b in grid.boxes for e in b.z], v.gap, v.outer)))
    there = [z for z in whole if metal_left(grid, y=middle, z=sum(z) / 2) > GONE * grid.width]
    if not there:
        found = f"no metal in the wall at y = {middle:.4g} mm"
        raise InputError([Fault("section", found, "a wall behind the bridge", "name another bridge")])
    return there[0][0], there[-1][1]


Named = tuple[Point, str]  # a corner and the name of the edge that leaves it


def outline(grid: Grid, *, mid_plane: str, fillet: str) -> Loop:
    """Bridge and wall in one, from the underside at the mid-plane round by inner and outer face; its corner rounded."""
    v = grid.levels
    path: list[Named] = [((0.0, v.under), "underside")]
    if v.under > v.bottom + SMALL:
        path += [((v.gap, v.under), "inner face"), *_inner(grid, v.bottom, v.under)]
    else:
        path.append(((v.gap, v.bottom), "lower end"))
    path += _outer(grid)
    if v.top > v.crown + SMALL:
        path += [((v.gap, v.top), "inner face above"), ((v.gap, v.crown), "bridge top")]
    path.append(((0.0, v.crown), mid_plane))
    points, names = zip(*path, strict=True)
    radii = [v.fillet if p == (v.gap, v.under) else 0.0 for p in points]
    return polygon(points, names=names, radii=radii, fillet=fillet)


def profile(grid: Grid, *, seat: str) -> Loop:
    """The wall alone; `seat` is where a separate bridge presses on it."""
    v = grid.levels
    path: list[Named] = [((v.gap, v.top), "inner face above")] if v.top > v.crown + SMALL else []
    path.append(((v.gap, v.crown), seat))
    path += (
        [((v.gap, v.under), "inner face"), *_inner(grid, v.bottom, v.under)]
        if v.under > v.bottom + SMALL
        else []
    )
    path += _outer(grid)
    points, names = zip(*path, strict=True)
    return polygon(points, names=names)


def _inner(grid: Grid, low: float, high: float) -> Iterator[Named]:
    """Down the inner face from its upper end: steps where bores are cut, and the corner at the bottom."""
    plain = depth = grid.levels.gap
    for y in reversed(_rows(grid, low, high)):
        z, _ = _faces(grid, y)
        if abs(z - depth) > SMALL:
            yield (depth, y[1]), "bore"
            yield (z, y[1]), "inner face" if z == plain else "bore"
            depth = z
    yield (depth, low), "lower end"


def _outer(grid: Grid) -> Iterator[Named]:
    """Up the outer face: steps where pockets are cut, pieces under heads by their names."""
    v = grid.levels
    rows = _rows(grid, v.bottom, v.top)
    depth, name = _faces(grid, rows[0])[1], _piece(grid, rows[0])
    yield (depth, v.bottom), name
    for y in rows[1:]:
        z, own = _faces(grid, y)[1], _piece(grid, y)
        if abs(z - depth) > SMALL:
            yield (depth, y[0]), "pocket"
            yield (z, y[0]), own
        elif own != name:
            yield (depth, y[0]), own
        depth, name = z, own
    yield (depth, v.top), "top"


def _piece(grid: Grid, y: Range) -> str:
    middle = sum(y) / 2
    return next((n for n, at, half in grid.named if abs(middle - at) < half), "outer face")
