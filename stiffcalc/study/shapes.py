"""A wall of any front outline, with pockets and ribs of any outline: reading only."""

from __future__ import annotations

import math
from collections.abc import Mapping

from stiffcalc.contours import Contour, straight
from stiffcalc.milling import Milled, Rib, WallShape
from stiffcalc.study.contours import read_outline, read_shape
from stiffcalc.study.defaults import Default
from stiffcalc.study.fields import Table, number, subtables
from stiffcalc.study.geometry import rectangle
from stiffcalc.study.schema import Wall
from stiffcalc.study.sections import LENGTH, Y

NAN = math.nan
BOX = ("length_mm", "bottom_y_mm", "top_y_mm")
LEFT_OUT = Default(None, "the wall's outline_mm says it")


def is_shaped(table: Table) -> bool:
    """True where a wall is more than a box with rectangular pockets."""
    pockets = table.raw.get("pockets")
    free = isinstance(pockets, list) and any(
        isinstance(p, Mapping) and ("outline_mm" in p or "centre_mm" in p) for p in pockets
    )
    return free or table.has("outline_mm") or table.has("ribs")


def shaped_wall(table: Table, floor: Default[float]) -> Wall:
    """A wall with its outline, pockets and ribs; after a fault its box is of no size, with which nothing compares."""
    before = len(table.log.faults)
    outline = _outline(table)
    thickness, depth = number(table, "thickness_mm", LENGTH), number(table, "floor_mm", LENGTH, floor)
    pockets = [_pocket(t) for t in subtables(table, "pockets")]
    ribs = [_rib(t) for t in subtables(table, "ribs")]
    if outline is None or len(table.log.faults) > before:
        return Wall(NAN, NAN, NAN, thickness, depth, (), None)
    low, high = outline.reach()
    shape = WallShape(outline, tuple(p for p in pockets if p), tuple(r for r in ribs if r))
    return Wall(float(high[0] - low[0]), float(low[1]), float(high[1]), thickness, depth, (), shape)


def _outline(table: Table) -> Contour | None:
    """outline_mm, or the box."""
    if table.has("outline_mm"):
        for key in BOX:
            if table.has(key):
                table.asked.add(key)
                table.default(key, LEFT_OUT)
        return read_outline(table)
    half = number(table, "length_mm", LENGTH) / 2
    bottom, top = number(table, "bottom_y_mm", Y), number(table, "top_y_mm", Y)
    if bottom >= top:
        found, allowed = f"{top:g}", f"above bottom_y_mm = {bottom:g}"
        table.log.fault(table.path("top_y_mm"), found, allowed, "raise the top")
    return None if math.isnan(half + bottom + top) else straight(rectangle((-half, half), (bottom, top)))


def _pocket(table: Table) -> Milled | None:
    outline, depth = read_shape(table), number(table, "depth_mm", LENGTH)
    table.finish()
    return None if outline is None else Milled(outline, depth)


def _rib(table: Table) -> Rib | None:
    outline = read_shape(table)
    height = number(table, "height_mm", LENGTH) if table.has("height_mm") else math.inf
    table.asked.add("height_mm")
    table.finish()
    return None if outline is None else Rib(outline, height)
