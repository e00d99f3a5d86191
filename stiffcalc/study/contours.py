"""Outlines written by hand: corners `[x, y]`, rounded corners `[x, y, radius]`, arcs `{ through = [x, y] }`."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.contours import Contour, Corner, Spot, bulge_through, circle, rounding, straight, turned
from stiffcalc.study.fields import Bounds, Table, checked, number, pair
from stiffcalc.study.geometry import rectangle
from stiffcalc.study.sections import LENGTH, X, Y

POINTS = "corners [x, y] in order, rounded ones [x, y, radius], between two corners { through = [x, y] } for an arc"
SHAPE = "outline_mm = [[x, y], ...], or x_mm with y_mm = [low, high], or centre_mm = [x, y] with diameter_mm"
_RADIUS = Bounds(0.0, 1000.0, "mm")
_KEYS = {"outline_mm": ("outline_mm",), "x_mm": ("x_mm", "y_mm"), "centre_mm": ("centre_mm", "diameter_mm")}
NAN = math.nan
LEAST = 1e-6  # mm; what is shorter is no side, what bends less is no arc


@dataclass(frozen=True)
class _Entry:
    """One entry of an outline as it stands in the file."""

    where: str
    spot: Spot
    radius: float = 0.0
    through: bool = False


def read_shape(table: Table) -> Contour | None:
    """An outline, a box or a circle, whichever the table states; None after a fault."""
    table.asked.update(key for keys in _KEYS.values() for key in keys)
    stated = [kind for kind, keys in _KEYS.items() if any(table.has(key) for key in keys)]
    if len(stated) != 1:
        if table.whole:
            found = " and ".join(stated) or "no shape"
            table.log.fault(table.where, found, SHAPE, "give one of the three")
        return None
    if stated == ["outline_mm"]:
        return read_outline(table)
    before = len(table.log.faults)
    found_shape = _box(table) if stated == ["x_mm"] else _circle(table)
    return found_shape if len(table.log.faults) == before else None


def _box(table: Table) -> Contour:
    return straight(rectangle(pair(table, "x_mm", X), pair(table, "y_mm", Y)))


def _circle(table: Table) -> Contour:
    raw, where = table.raw.get("centre_mm"), table.path("centre_mm")
    diameter = number(table, "diameter_mm", LENGTH)
    if not isinstance(raw, list) or len(raw) != 2:
        table.log.wrong(where, raw, "[x, y], two numbers", "give two numbers in brackets")
        return circle(NAN, NAN, diameter)
    return circle(
        checked(table.log, f"{where}[1]", raw[0], X), checked(table.log, f"{where}[2]", raw[1], Y), diameter
    )


def read_outline(table: Table, key: str = "outline_mm") -> Contour | None:
    """A closed outline with arcs; None after a fault."""
    raw, where, log = table.take(key), table.path(key), table.log
    if not isinstance(raw, list) or len(raw) < 3:
        log.wrong(where, raw, f"three entries or more: {POINTS}", "give the outline once round")
        return None
    before = len(log.faults)
    entries = [_entry(table, f"{where}[{i}]", item) for i, item in enumerate(raw, start=1)]
    corners = _corners(table, entries) if len(log.faults) == before else []
    if len(log.faults) > before:
        return None
    found = turned(corners)
    return None if _refuse_crossing(table, where, found.polyline()) else found


def _entry(table: Table, where: str, raw: object) -> _Entry:
    through = isinstance(raw, Mapping)
    values = raw.get("through") if isinstance(raw, Mapping) and set(raw) == {"through"} else raw
    if not isinstance(values, list) or not (len(values) == 2 or (len(values) == 3 and not through)):
        table.log.wrong(where, raw, POINTS, "correct this entry")
        return _Entry(where, (NAN, NAN))
    spot = checked(table.log, f"{where}[1]", values[0], X), checked(table.log, f"{where}[2]", values[1], Y)
    radius = checked(table.log, f"{where}[3]", values[2], _RADIUS) if len(values) == 3 else 0.0
    return _Entry(where, spot, radius, through)


def _corners(table: Table, entries: list[_Entry]) -> list[Corner]:
    """Corners with the bulges of the sides after them, roundings as sides of their own."""
    found: list[Corner] = []
    count = len(entries)
    for entry, after in zip(entries, entries[1:] + entries[:1], strict=True):
        if math.dist(entry.spot, after.spot) < LEAST:
            mend = "drop it: the outline closes itself, the first corner comes not again at the end"
            table.log.fault(after.where, "the place of the entry before it", "a place of its own", mend)
            return []
    for i, entry in enumerate(entries):
        before, after = entries[i - 1], entries[(i + 1) % count]
        if entry.through:
            if before.through or before.radius or after.through or after.radius:
                allowed = "a plain corner [x, y] before and after it"
                table.log.fault(
                    entry.where, "an arc without two corners", allowed, "put corners between arcs"
                )
                return []
            continue
        if entry.radius:
            if before.through or after.through:
                allowed = "straight sides beside a rounded corner"
                table.log.fault(entry.where, "a rounded corner at an arc", allowed, "leave its radius out")
                return []
            start, end, bulge = _rounded(table, entry, before, after)
            found += [(*start, bulge), (*end, 0.0)]
            continue
        found.append((*entry.spot, _bulge(table, entry, after, entries[(i + 2) % count])))
    return _closed(table, found, entries)


def _bulge(table: Table, entry: _Entry, after: _Entry, end: _Entry) -> float:
    if not after.through:
        return 0.0
    bulge = bulge_through(entry.spot, after.spot, end.spot)
    if not LEAST < abs(bulge) < 1 / LEAST:
        found = "a point in line with the corners beside it"
        table.log.fault(
            after.where,
            found,
            "a third point of the arc between them",
            "move it off the line, or leave it out",
        )
        return 0.0
    return bulge


def _rounded(table: Table, entry: _Entry, before: _Entry, after: _Entry) -> tuple[Spot, Spot, float]:
    sides = [np.subtract(entry.spot, before.spot), np.subtract(after.spot, entry.spot)]
    turn = math.atan2(
        float(sides[0][0] * sides[1][1] - sides[0][1] * sides[1][0]), float(sides[0] @ sides[1])
    )
    if not 1e-4 < abs(turn) < math.pi - 1e-4:
        table.log.fault(
            entry.where, "a radius where the outline does not turn", "a radius at a corner", "leave it out"
        )
        return entry.spot, entry.spot, 0.0
    return rounding(before.spot, entry.spot, after.spot, entry.radius)


def _closed(table: Table, corners: list[Corner], entries: list[_Entry]) -> list[Corner]:
    """Corners that roundings bring together as one; roundings too large for their sides are faults."""
    for i, entry in enumerate(entries):
        after = entries[(i + 1) % len(entries)]
        length = math.dist(entry.spot, after.spot)
        cut = _cut(entries, i) + _cut(entries, (i + 1) % len(entries))
        if cut > length + LEAST:
            found = f"roundings that take {cut:.4g} mm of a side of {length:.4g} mm"
            table.log.fault(entry.where, found, "roundings that fit their side", "give smaller radii")
    pairs = zip(corners, corners[1:] + corners[:1], strict=True)
    return [a for a, b in pairs if math.dist(a[:2], b[:2]) > LEAST or a[2]]


def _cut(entries: list[_Entry], i: int) -> float:
    """What the rounding of entry i takes of each of its sides."""
    e = entries[i]
    if not e.radius:
        return 0.0
    start, _, _ = rounding(entries[i - 1].spot, e.spot, entries[(i + 1) % len(entries)].spot, e.radius)
    return math.dist(start, e.spot)


def _refuse_crossing(table: Table, where: str, points: Array) -> bool:
    """Whether sides of a closed polygon (N, 2) meet elsewhere than in their common corner; says where."""
    met = np.argwhere(np.triu(_meeting(points), 1))
    if len(met):
        (x, y), (u, v) = points[met[0]]
        found = f"sides that meet, near ({x:.4g}, {y:.4g}) and ({u:.4g}, {v:.4g})"
        mend = "give the corners once round, the first not again at the end"
        table.log.fault(where, found, "an outline that does not cross or touch itself", mend)
    return len(met) > 0


def _meeting(points: Array) -> NDArray[np.bool_]:
    """Which sides (N, N) have a point in common, neighbours' corners left out."""
    after = np.roll(points, -1, axis=0)
    low, high = np.minimum(points, after), np.maximum(points, after)
    apart = ((high[:, None] < low) | (high < low[:, None])).any(axis=-1)

    def turn(ends: Array) -> Array:
        """On which side of side i (rows) the point of side j lies."""
        along, away = (after - points)[:, None], ends - points[:, None]
        return np.asarray(along[..., 0] * away[..., 1] - along[..., 1] * away[..., 0])

    split = turn(points) * turn(after) <= 0.0
    met = split & split.T & ~apart
    i = np.arange(len(points))
    step, past = after - points, np.roll(after, -1, axis=0) - after
    folded = (step[:, 0] * past[:, 1] == step[:, 1] * past[:, 0]) & ((step * past).sum(axis=-1) <= 0.0)
    met[i, i - 1] = met[i - 1, i] = np.roll(folded, 1)
    return np.asarray(met & (i[:, None] != i))
