"""Places that bolts can take in one bridge: arrangements tried about a mean, and which of them keep every rule."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.caliper.build import build
from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.explore.bolt_rules import RULES, TOUCH, Refusal, Room, Site, refusal, rooms
from stiffcalc.explore.bolt_sizes import bearing
from stiffcalc.study.schema import Bolt, BoltSearch, Design

AS_DRAWN = "as drawn"
MOST_EACH = 3  # bolts a bridge for which arrangements are known
# degrees from y; positive: lower bolt further from the body's middle
LINE_LEANS = {2: (0, 10, 20, 30, 40, 60, 90, -10, -20, -30, -40), 3: (0, 10, 20)}
TRIANGLE_TURNS = (0, 15, 30, 45, 60, -15, -30, -45)  # degrees; 0: two low, one high
PITCHES = (1.0, 1.25, 1.5)  # times the closest that heads allow
STEP = 1.0  # mm along x between columns looked at
KEPT = {1: 12, 2: 4, 3: 6}  # columns kept of those that fit, a shape


@dataclass(frozen=True)
class Group:
    """One bridge whose bolts are varied."""

    bridge: int
    name: str
    bolts: tuple[Bolt, ...]  # as drawn
    centre: Array  # (2,) mean of the bolts as drawn; the bridge's middle where it has none
    span: tuple[float, float]  # x


@dataclass(frozen=True)
class Fitting:
    """Places (C, n, 2) that keep every rule, each with its name; none where `refused` says why."""

    names: tuple[str, ...]
    places: Array
    refused: Refusal | None
    note: str = ""
    usual: int = 0  # the place nearest along x to the bolts as drawn


def groups_of(design: Design, search: BoltSearch) -> tuple[Group, ...]:
    """The bridges whose bolts are varied, in order of x. Raises `InputError` where there is nothing to vary."""
    body = build(design)
    jointed = [i for i, b in enumerate(body.bridges) if b.jointed and b.pads is None]  # bars have other bolts
    names = [body.bridges[i].name for i in jointed]
    if not jointed or not body.bolts:
        found = f'layout "{design.name}", which has no bolts'
        raise InputError([Fault("bolts", found, "a layout with bolts", "name one with --variant")])
    unknown = [n for n in search.bridges or () if n not in names]
    if unknown:
        found = f'"{unknown[0]}", no bolted bridge of layout "{design.name}"'
        raise InputError([Fault("bolts.bridges", found, ", ".join(names), "take these")])
    varied = [i for i in jointed if search.bridges is None or body.bridges[i].name in search.bridges]
    return tuple(_group(design, i) for i in sorted(varied, key=lambda i: body.bridges[i].x0))


def _group(design: Design, bridge: int) -> Group:
    body = build(design)
    shape = body.bridges[bridge]
    bolts = tuple(b for b, q in zip(design.caliper.bolts, body.bolts, strict=True) if q.bridge == bridge)
    x = 0.5 * (shape.x0 + shape.x1)
    low = shape.y0 if shape.arch is None else max(shape.y0, float(np.sqrt(max(shape.arch**2 - x**2, 0.0))))
    middle = np.array([x, 0.5 * (low + shape.y1)])
    centre = np.mean([(b.x, b.y) for b in bolts], axis=0) if bolts else middle
    return Group(bridge, shape.name, bolts, centre, (shape.x0, shape.x1))


def drawn(group: Group, *, shift: float, bolt: Bolt, metal: Site) -> Fitting:
    """The bolts as drawn, moved by `shift` in y, of the size of `bolt`."""
    places = np.array([[(b.x, b.y + shift) for b in group.bolts]]).reshape(1, -1, 2)
    if not group.bolts:
        return Fitting((AS_DRAWN,), places, None)
    found = rooms(places, bolt=bolt, bridge=group.bridge, site=metal)
    if max(float(room.short[0]) for room in found.values()) <= TOUCH:
        return Fitting((AS_DRAWN,), places, None)
    refused = _refused(found, 0, group.name)
    if shift == 0.0 and all(replace(bolt, x=b.x, y=b.y) == b for b in group.bolts):
        return Fitting((AS_DRAWN,), places, None, refused.text)  # it stands, whatever practice says
    return Fitting((AS_DRAWN,), places, refused)


def fitting(group: Group, n: int, *, shift: float, bolt: Bolt, metal: Site) -> Fitting:
    """`n` bolts about the mean of those as drawn, moved by `shift` in y: all that fit, thinned out evenly along x."""
    if n > MOST_EACH:
        text = f"{RULES['split'].broken}: no arrangement of {n} bolts is known ({group.name})"
        return Fitting((), np.empty((0, n, 2)), Refusal("split", text))
    outward = -1.0 if group.centre[0] < 0 else 1.0  # leading and trailing ends mirror each other
    shapes = shapes_of(n, pitch=bearing(bolt) + metal.head_gap)
    count = int((group.span[1] - group.span[0]) / STEP)
    columns = 0.5 * sum(group.span) + outward * STEP * (np.arange(count + 1) - 0.5 * count)
    centres = np.stack([columns, np.full_like(columns, group.centre[1] + shift)], axis=-1)
    offsets = np.stack([offset for _, offset in shapes]) * (outward, 1.0)
    places = centres[:, None] + offsets[:, None]  # (shapes, columns, n, 2)
    found = rooms(places.reshape(-1, n, 2), bolt=bolt, bridge=group.bridge, site=metal)
    worst = np.max([room.short for room in found.values()], axis=0)
    if worst.min() > TOUCH:
        return Fitting((), np.empty((0, n, 2)), _refused(found, int(np.argmin(worst)), group.name))
    fits = (worst <= TOUCH).reshape(len(shapes), len(columns))
    kept = [(s, c) for s in range(len(shapes)) for c in _thinned(np.flatnonzero(fits[s]), KEPT[n])]
    names, stand = tuple(shapes[s][0] for s, _ in kept), np.stack([places[s, c] for s, c in kept])
    away = np.abs(stand[..., 0].mean(axis=-1) - group.centre[0])
    return Fitting(names, stand, None, usual=int(np.argmin(away)))


def _thinned(found: np.ndarray, count: int) -> list[int]:
    """At most `count` of the entries, evenly spread, ends kept."""
    if not len(found):
        return []
    at = np.linspace(0, len(found) - 1, min(count, len(found))).round().astype(int)
    return [int(found[k]) for k in at]


def _refused(found: dict[str, Room], at: int, where: str) -> Refusal:
    """The rule that the group of places `at` breaks most."""
    rule = max(found, key=lambda k: float(found[k].short[at]))
    return refusal(rule, found=float(found[rule].found[at].min()), needed=found[rule].needed, where=where)


def shapes_of(n: int, *, pitch: float) -> list[tuple[str, Array]]:
    """Arrangements of n bolts about their mean at the trailing end, centres `pitch` or more apart: offsets (n, 2)."""
    if n == 1:
        return [("single", np.zeros((1, 2)))]
    kinds = [(_line_name(a), _line(n, lean=a)) for a in LINE_LEANS[n]]
    kinds += [(_triangle_name(a), _triangle(turn=a)) for a in TRIANGLE_TURNS if n == 3]
    return [
        (f"{name}, {pitch * wide:.1f} mm apart", pitch * wide * unit)
        for wide in PITCHES
        for name, unit in kinds
    ]


def _line(n: int, *, lean: float) -> Array:
    along = np.arange(n) - 0.5 * (n - 1)
    angle = np.radians(lean)
    return np.column_stack([-along * np.sin(angle), along * np.cos(angle)])


def _line_name(lean: int) -> str:
    return {0: "in line", 90: "abreast"}.get(lean, f"in line leaning {lean}°")


def _triangle(*, turn: float) -> Array:
    angle = np.radians(90.0 + turn + 120.0 * np.arange(3))
    return np.asarray(np.column_stack([np.cos(angle), np.sin(angle)]) / np.sqrt(3.0))


def _triangle_name(turn: int) -> str:
    plain = {0: "two low", 60: "one low", -30: "two outside", 30: "two inside"}
    return f"triangle, {plain[turn]}" if turn in plain else f"triangle turned {turn}°"
