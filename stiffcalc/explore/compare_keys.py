"""Free dimensions of the layouts compared: those of [explore], or the usual ones about each layout as drawn."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from stiffcalc.catalogue.rows import nearest
from stiffcalc.errors import Fault
from stiffcalc.explore.dimensions import FLUSH_MM
from stiffcalc.study.reader import read_design
from stiffcalc.study.schema import Bridge, Design, ExplorePlan, SweepKey
from stiffcalc.study.sweep import unknown_faults
from stiffcalc.study.variants import SETTABLE, steps_of, with_set

Drawn = Sequence[tuple[Design, Mapping[str, object]]]

WALL, FLOOR, BRIDGE, CENTRE = (0.75, 1.25), (0.75, 2.0), (0.6, 1.4), (0.5, 1.6)  # shares of what is drawn
TOP = 0.15  # of the wall's height: how far its top may come down
ROW_MM = 4.0  # how far a row of bolts may move either way
WHY = {
    "wall": f"{WALL[0]:g} to {WALL[1]:g} of what is drawn",
    "floor": f"{FLOOR[0]:g} to {FLOOR[1]:g} of what is drawn",
    "top": f"down by {TOP:g} of the wall's height; what is drawn is taken to be what the wheel leaves",
    "inner": f"width {BRIDGE[0]:g} to {BRIDGE[1]:g} of what is drawn, not over the pad; the outer end stays",
    "centre": f"width {CENTRE[0]:g} to {CENTRE[1]:g} of what is drawn",
    "row": f"{ROW_MM:g} mm either way of where it is drawn",
}


def stated_keys(
    source: Mapping[str, object], plan: ExplorePlan, drawn: Drawn
) -> tuple[list[tuple[SweepKey, ...]], list[Fault]]:
    """The plan's keys that each layout has, and what is wrong with them."""
    found, faults = [], list[Fault]()
    used: set[int] = set()
    for design, changes in drawn:
        raw = _raw(source, changes)
        own = [
            (i, k.key)
            for i, k in enumerate(plan.keys, start=1)
            if (not k.layouts or design.name in k.layouts) and _has(raw, design, k.key)
        ]
        used |= {i for i, _ in own}
        read = functools.partial(_faults, source, design.name, changes)
        faults += unknown_faults(own, read, where="explore.key")
        found.append(tuple(k for _, k in own))
        if not own:
            faults.append(
                Fault("explore.key", f"nothing that '{design.name}' has", "a key of every layout", "add one")
            )
    faults += [_idle(i, plan) for i in range(1, len(plan.keys) + 1) if i not in used]
    return found, faults


def _faults(
    source: Mapping[str, object], name: str, own: Mapping[str, object], changes: Mapping[str, object]
) -> Sequence[Fault]:
    return read_design(source, name, {**own, **changes})[1]


def _idle(i: int, plan: ExplorePlan) -> Fault:
    paths = _paths(plan.keys[i - 1].key)
    head = str((steps_of(paths[0]) or [paths[0]])[0])
    close = nearest(head, SETTABLE)
    mend = f"begin with {close}" if close and head not in SETTABLE else "mind the index, or remove the key"
    said = ", ".join(f'"{p}"' for p in paths)  # those of minus too: any may be wrong
    found = f"path {said}" if len(paths) == 1 else f"paths {said}, not all of them in one layout"
    return Fault(f"explore.key[{i}]", found, "paths that a compared layout has", mend)


def _paths(key: SweepKey) -> list[str]:
    return [*key.paths, *key.minus, *(p for level in key.levels for p in level.changes)]


def _raw(source: Mapping[str, object], changes: Mapping[str, object]) -> Mapping[str, Any]:
    return with_set({k: v for k, v in source.items() if k in SETTABLE}, changes)[0]


def _has(raw: Mapping[str, Any], design: Design, key: SweepKey) -> bool:
    return all(_reaches(raw, design, path) for path in _paths(key))


def _reaches(raw: Mapping[str, Any], design: Design, path: str) -> bool:
    """Whether what a path enters is there; its last key may be left to a default. Bolts left out are not there."""
    steps = steps_of(path)
    if steps is None:
        return True  # the reader says what is wrong with it
    if steps[:2] == ["caliper", "bolt"] and not _bolts_as_listed(raw, design):
        return False
    place: Any = raw
    for i, step in enumerate(steps):
        last = i == len(steps) - 1
        if isinstance(step, int):
            if not isinstance(place, list) or not 0 <= step < len(place):
                return False
        elif not isinstance(place, Mapping):
            return False
        elif step not in place:
            return last or not isinstance(steps[i + 1], int)
        place = place[step]
    return True


def _bolts_as_listed(raw: Mapping[str, Any], design: Design) -> bool:
    return len(raw["caliper"].get("bolt", ())) == len(design.caliper.bolts)


def default_keys(
    source: Mapping[str, object], drawn: Drawn
) -> tuple[list[tuple[SweepKey, ...]], tuple[str, ...]]:
    """The usual dimensions of each layout, and a line for each: what it is free in, and why."""
    found, lines = [], dict[str, list[str]]()
    for design, changes in drawn:
        own = list(usual(design, _raw(source, changes)))
        found.append(tuple(k for k, _ in own))
        for key, why in own:
            line = f'explore.key "{key.name}" = [{key.low:g}, {key.high:g}] ({WHY[why]}'
            lines.setdefault(line, []).append(design.name)
    return found, tuple(f"{line}; {', '.join(names)})" for line, names in lines.items())


def usual(design: Design, raw: Mapping[str, Any]) -> Iterator[tuple[SweepKey, str]]:
    """Wall, floor, top, inner ends of the end bridges, width of a centre bridge, rows of bolts."""
    c, wall = design.caliper, design.caliper.inboard
    alike = all(k not in raw["caliper"].get(s, {}) for s in ("inboard", "outboard") for k in _OWN)
    if alike:
        yield _key("wall, mm", ["caliper.wall.thickness_mm"], *_shares(wall.thickness, WALL)), "wall"
        yield _key("floor, mm", ["caliper.wall.floor_mm"], *_shares(wall.floor, FLOOR)), "floor"
        flush = [
            f"caliper.bridge[{i}].y_mm[2]"
            for i, b in enumerate(c.bridges, start=1)
            if b.y is not None and abs(b.y[1] - wall.top_y) < FLUSH_MM
        ]
        low = round(wall.top_y - TOP * (wall.top_y - wall.bottom_y), 1)
        yield _key("top, mm", ["caliper.wall.top_y_mm", *flush], low, wall.top_y), "top"
    yield from _widths(c.bridges, 0.5 * design.pad.length)
    if _bolts_as_listed(raw, design):
        yield from _rows(design)


_OWN = ("thickness_mm", "floor_mm", "top_y_mm")


def _shares(value: float, shares: tuple[float, float]) -> tuple[float, float]:
    return round(shares[0] * value, 1), round(shares[1] * value, 1)


def _key(name: str, paths: Sequence[str], low: float, high: float, minus: Sequence[str] = ()) -> SweepKey:
    return SweepKey(name, tuple(paths), tuple(minus), low, high, ())


def _widths(bridges: Sequence[Bridge], pad: float) -> Iterator[tuple[SweepKey, str]]:
    """Inner ends of the end bridges, both as one where they mirror each other; half widths of those between."""
    order = sorted(range(len(bridges)), key=lambda i: bridges[i].x)
    first, last = order[0], order[-1]
    a, b = bridges[first].x, bridges[last].x
    inner = f"caliper.bridge[{first + 1}].x_mm[2]", f"caliper.bridge[{last + 1}].x_mm[1]"
    if abs(a[0] + b[1]) < FLUSH_MM and abs(a[1] + b[0]) < FLUSH_MM and first != last:
        yield _key("inner end of the bridges, mm", [inner[1]], *_inner(b, pad), [inner[0]]), "inner"
    elif first != last:
        low, high = _inner((-a[1], -a[0]), pad)
        yield _key(f"inner end, {bridges[first].name}, mm", [inner[0]], -high, -low), "inner"
        yield _key(f"inner end, {bridges[last].name}, mm", [inner[1]], *_inner(b, pad)), "inner"
    for i in order[1:-1]:
        x, path = bridges[i].x, f"caliper.bridge[{i + 1}].x_mm"
        if abs(x[0] + x[1]) < FLUSH_MM:
            ends = [f"{path}[2]"], *_shares(x[1], CENTRE), [f"{path}[1]"]
            yield _key(f"half width, {bridges[i].name}, mm", *ends), "centre"


def _inner(x: tuple[float, float], pad: float) -> tuple[float, float]:
    """Range of the inner end of a bridge on the side of positive x; `pad`: half the pad's length."""
    width = x[1] - x[0]
    low = max(x[1] - BRIDGE[1] * width, min(pad, x[0]))
    return round(low, 1), round(x[1] - BRIDGE[0] * width, 1)


def _rows(design: Design) -> Iterator[tuple[SweepKey, str]]:
    """Bolts of one height move together."""
    rows: dict[float, list[int]] = {}
    for i, bolt in enumerate(design.caliper.bolts, start=1):
        rows.setdefault(bolt.y, []).append(i)
    for k, (y, bolts) in enumerate(sorted(rows.items()), start=1):
        paths = [f"caliper.bolt[{i}].y_mm" for i in bolts]
        yield _key(f"bolt row {k}, mm", paths, y - ROW_MM, y + ROW_MM), "row"
