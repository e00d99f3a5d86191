"""Random admissible bodies: the same number always gives the same body. Dimensions in mm, preloads in N."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from bodies import rectangle, text_of_shape

from stiffcalc.caliper.body import Body, BoltShape, BoreShape, BridgeShape, HalfShape, PocketShape
from stiffcalc.condensed import Array

SEED = 20
LIGAMENT = 4.0  # least metal between holes, bores and edges
TRIES = 20000
BOLT_E = 205000.0

Random = np.random.Generator


@dataclass(frozen=True)
class Sample:
    """A body with its bolts' nominal preloads, its group, and the dimensions that `Body` does not keep."""

    name: str
    group: str  # "fit" or "blind", decided by the number alone
    body: Body
    preload: Array
    remaining: float  # share of the tightened contact that the scaled sweep leaves at its last pressure
    rotor_radius: float
    rotor_thickness: float
    pad_thickness: float
    running_clearance: float


@dataclass(frozen=True)
class Plan:
    """Choices that rejection must not skew: fixed by the number before any dimension is drawn."""

    bores: int
    equal_bores: bool
    mirrored: bool
    centre: bool
    flat_centre: bool
    height_over_thickness: float
    bolt: float
    end_bolts: int
    centre_bolts: bool


class _Rejected(Exception):
    """This draw is not admissible."""


def _plan(number: int) -> Plan:
    golden = (number * 0.6180339887) % 1.0  # even spread whatever the count
    three = number % 7 in (2, 5)
    return Plan(
        bores=1 + number % 3,
        equal_bores=number % 5 < 2,
        mirrored=(number // 4) % 2 == 1,
        centre=(number // 2) % 2 == 1,
        flat_centre=(number // 8) % 2 == 1,
        height_over_thickness=1.5 + 2.5 * golden,
        bolt=(8.0, 10.0, 8.0 if three else 12.0)[(number // 3) % 3],  # three M12 find no room
        end_bolts=3 if three else 2,
        centre_bolts=number % 11 not in (3, 6),
    )


def one_piece(number: int, *, seed: int = SEED) -> Sample:
    """One-piece body of equal halves."""
    return _draw(f"one_{number:02d}", _group(number), _one_piece, seed=seed)


def two_piece(number: int, *, seed: int = SEED) -> Sample:
    """Two-piece body of equal halves, bolted."""
    return _draw(f"two_{number:02d}", _group(number), _two_piece, seed=seed)


def pocketed(number: int, *, seed: int = SEED) -> Sample:
    """One-piece (odd) or two-piece (even number) body with rectangular pockets in its outer faces."""
    bolted = number % 2 == 0
    return _draw(
        f"pocket_{number:02d}", "blind", lambda rng, plan: _with_pockets(rng, plan, bolted=bolted), seed=seed
    )


def unequal(number: int, *, seed: int = SEED) -> Sample:
    """One-piece body whose halves differ in thickness, floor and bottom edge."""
    return _draw(f"unequal_{number:02d}", "blind", _unequal, seed=seed)


def by_name(name: str, *, seed: int = SEED) -> Sample:
    """The sample called `name`, such as one_07."""
    kind, number = name.rsplit("_", 1)
    makers = {"one": one_piece, "two": two_piece, "pocket": pocketed, "unequal": unequal}
    return makers[kind](int(number), seed=seed)


def _group(number: int) -> str:
    return "fit" if number % 2 else "blind"


def _draw(name: str, group: str, make: Callable[[Random, Plan], Sample], *, seed: int) -> Sample:
    kind, number = name.rsplit("_", 1)
    rng, plan = np.random.default_rng([seed, *kind.encode(), int(number)]), _plan(int(number))
    for _ in range(TRIES):
        try:
            return replace(make(rng, plan), name=name, group=group)
        except _Rejected:
            continue
    raise RuntimeError(f"no admissible draw for {name}")


def _need(condition: bool) -> None:
    if not condition:
        raise _Rejected


def _one_piece(rng: Random, plan: Plan) -> Sample:
    return _shape(rng, plan, bolted=False)


def _two_piece(rng: Random, plan: Plan) -> Sample:
    return _with_bolts(rng, plan, _shape(rng, plan, bolted=True))


def _shape(rng: Random, plan: Plan, *, bolted: bool) -> Sample:
    """Rotor, wall, bores and bridges."""
    radius, clearance = rng.uniform(140, 200), rng.uniform(2, 4)
    rotor, pad, running = rng.uniform(20, 36), rng.uniform(10, 20), 0.5
    gap = 0.5 * rotor + pad + running
    _need(22 <= gap <= 36)
    bores = _bores(rng, plan, radius=radius)
    low = min(b.y - 0.5 * b.diameter for b in bores) - rng.uniform(7, 14)
    high = radius + clearance + rng.uniform(14, 26)
    thickness = (high - low) / plan.height_over_thickness
    floor = rng.uniform(6, 16)
    _need(22 <= thickness <= 50 and thickness - floor >= 12)
    widths = np.full(2, rng.uniform(22, 48)) if plan.mirrored else rng.uniform(22, 48, 2)
    reach = max(abs(b.x) + 0.5 * b.diameter for b in bores)
    length = 2 * (reach + rng.uniform(LIGAMENT, 45 if len(bores) == 1 else 30) + widths.max())
    _need(170 <= length <= 300)
    arch, E = radius + clearance, rng.uniform(69000, 74000)
    ends = (
        ("leading end", -length / 2, widths[0] - length / 2),
        ("trailing end", length / 2 - widths[1], length / 2),
    )
    bridges = [BridgeShape(n, float(a), float(b), low, high, arch, 0.0, E, 0.33, bolted) for n, a, b in ends]
    if plan.centre:
        bridges.append(_centre_bridge(rng, plan, bridges[0], ends))
    half = HalfShape(rectangle(-length / 2, length / 2, low, high), thickness, floor, bores, ())
    body = Body(half, half, gap, tuple(bridges), (), E, 0.33)
    remaining = rng.uniform(0.12, 0.3)
    return Sample("", "", body, np.zeros(0), remaining, radius, rotor, pad, running)


def _bores(rng: Random, plan: Plan, *, radius: float) -> tuple[BoreShape, ...]:
    """A row of bores near y = R - 30; equal where mirrored (ends alike for three)."""
    count, mirrored = plan.bores, plan.mirrored
    sizes = np.full(count, rng.uniform(28, 46)) if plan.equal_bores else rng.uniform(28, 46, count)
    if mirrored:
        sizes = 0.5 * (sizes + sizes[::-1])
    webs = np.full(count - 1, rng.uniform(5, 16)) if mirrored else rng.uniform(5, 16, count - 1)
    x = np.concatenate([[0.0], np.cumsum(0.5 * (sizes[:-1] + sizes[1:]) + webs)])
    left, right = x[0] - 0.5 * sizes[0], x[-1] + 0.5 * sizes[-1]
    x = x - 0.5 * (left + right) + (0.0 if mirrored else rng.uniform(-8, 8))
    top = radius - rng.uniform(3, 14)
    y = top - 0.5 * sizes.max() + (np.zeros(count) if mirrored else rng.uniform(-3, 3, count))
    _need(bool((y + 0.5 * sizes < radius - 1).all()))
    if mirrored:
        x = 0.5 * (x - x[::-1])
    return tuple(BoreShape(float(a), float(b), float(c)) for a, b, c in zip(x, y, sizes, strict=True))


def _centre_bridge(rng: Random, plan: Plan, end: BridgeShape, ends: Any) -> BridgeShape:
    """Flat or arched underside, clear of the end bridges; bores lie below the rotor circle and so clear of it."""
    assert end.arch is not None
    width = rng.uniform(26, 48) if end.jointed else rng.uniform(14, 40)
    x = 0.0 if plan.mirrored else rng.uniform(-12, 12)
    x0, x1 = x - 0.5 * width, x + 0.5 * width
    _need(x0 > ends[0][2] + LIGAMENT and x1 < ends[1][1] - LIGAMENT)
    flat = plan.flat_centre
    y0 = end.arch + rng.uniform(0, 5) if flat else end.y0
    y1 = end.y1 - (rng.uniform(0, 3) if rng.random() < 0.3 else 0.0)
    _need(y1 - max(y0, end.arch) >= 10)
    return replace(end, name="centre", x0=x0, x1=x1, y0=y0, y1=y1, arch=None if flat else end.arch)


def _with_bolts(rng: Random, plan: Plan, sample: Sample) -> Sample:
    """Two or three bolts an end bridge; two in most centre bridges."""
    body, size, count = sample.body, plan.bolt, plan.end_bolts
    bearing = rng.uniform(1.6, 2.0) * size
    bolts = _place(rng, body, 0, count, size, bearing)
    if plan.mirrored:
        bolts += [replace(b, x=-b.x, bridge=1) for b in bolts]
    else:
        bolts += _place(rng, body, 1, count, size, bearing)
    preload = [float(rng.uniform(0.45, 1.0) * min(60e3, 510.0 * size**2))] * len(bolts)
    if plan.centre and plan.centre_bolts:
        small = min(size, 10.0)
        bolts += _place_centre(rng, body, small, bearing / size * small)
        preload += [float(max(12e3, rng.uniform(0.45, 1.0) * 510.0 * small**2))] * 2
    _clear(body, bolts)
    return replace(
        sample, body=replace(body, bolts=tuple(bolts)), preload=np.maximum(np.array(preload), 12e3)
    )


def _underside(bridge: BridgeShape, x: Array) -> Array:
    if bridge.arch is None:
        return np.full_like(x, bridge.y0)
    return np.maximum(bridge.y0, np.sqrt(np.maximum(bridge.arch**2 - x**2, 0.0)))


def _place(rng: Random, body: Body, index: int, count: int, size: float, bearing: float) -> list[BoltShape]:
    """Bolts spread over one end bridge's face, inside the ring's and the ligaments' limits."""
    bridge = body.bridges[index]
    hole = 1.1 * size
    reach = 0.5 * hole + LIGAMENT
    low_x, high_x = bridge.x0 + reach, bridge.x1 - reach
    if index == 0:
        low_x = max(low_x, bridge.x0 + 0.5 * bearing + 0.3)
    else:
        high_x = min(high_x, bridge.x1 - 0.5 * bearing - 0.3)
    _need(low_x <= high_x)
    top = bridge.y1 - max(reach, 0.5 * bearing + 0.3)
    bolts = []
    for k in range(count):
        x = float(rng.uniform(low_x, high_x))
        floor = float(_underside(bridge, x + np.linspace(-reach, reach, 9)).max()) + reach
        _need(floor < top)
        share = (k + rng.uniform(0.0, 1.0)) / count if count == 3 else rng.uniform(0.0, 0.35) + 0.65 * k
        bolts.append(BoltShape(x, floor + share * (top - floor), size, hole, bearing, BOLT_E, index))
    return bolts


def _place_centre(rng: Random, body: Body, size: float, bearing: float) -> list[BoltShape]:
    bridge = body.bridges[2]
    reach = 0.5 * 1.1 * size + LIGAMENT
    middle = 0.5 * (bridge.x0 + bridge.x1)
    low, high = 0.5 * max(1.1 * size + LIGAMENT, bearing + 0.3), bridge.x1 - middle - reach
    top = body.outboard.outline[:, 1].max() - 0.5 * bearing - 0.3
    _need(low <= high)
    offset = float(rng.uniform(low, high))
    floor = float(_underside(bridge, middle + np.linspace(-1, 1, 41) * (offset + reach)).max()) + reach
    top = min(top, bridge.y1 - reach)
    _need(floor <= top)
    y = float(rng.uniform(floor, top))
    return [BoltShape(middle + s * offset, y, size, 1.1 * size, bearing, BOLT_E, 2) for s in (-1.0, 1.0)]


def _clear(body: Body, bolts: list[BoltShape]) -> None:
    """Holes clear of bores and of each other; rings inside the wall and clear of each other."""
    outline = body.outboard.outline
    (x0, y0), (x1, y1) = outline.min(axis=0), outline.max(axis=0)
    for i, b in enumerate(bolts):
        ring = 0.5 * b.bearing + 0.2
        _need(x0 + ring < b.x < x1 - ring and y0 + ring < b.y < y1 - ring)
        for c in body.outboard.bores:
            _need(np.hypot(b.x - c.x, b.y - c.y) > 0.5 * (b.hole + c.diameter) + LIGAMENT)
        for other in bolts[:i]:
            apart = np.hypot(b.x - other.x, b.y - other.y)
            _need(apart > 0.5 * (b.hole + other.hole) + LIGAMENT)
            _need(apart > 0.5 * (b.bearing + other.bearing) + 0.4)


def _with_pockets(rng: Random, plan: Plan, *, bolted: bool) -> Sample:
    sample = _two_piece(rng, plan) if bolted else _one_piece(rng, plan)
    body = sample.body
    pockets: list[PocketShape] = []
    for _ in range(int(rng.integers(1, 4))):
        pockets += _pocket(rng, body, pockets)
    half = replace(body.outboard, pockets=tuple(pockets))
    return replace(sample, body=replace(body, inboard=half, outboard=half))


def _pocket(rng: Random, body: Body, others: list[PocketShape]) -> list[PocketShape]:
    """A rectangle in the outer face, deep beside the bores or shallow over them, clear of heads and other pockets."""
    half = body.outboard
    (x0, y0), (x1, y1) = half.outline.min(axis=0), half.outline.max(axis=0)
    for _ in range(200):
        width, height = rng.uniform(14, 0.4 * (x1 - x0)), rng.uniform(12, 0.6 * (y1 - y0))
        left, low = rng.uniform(x0 + 5, x1 - 5 - width), rng.uniform(y0 + 5, y1 - 5 - height)
        box = (left, left + width, low, low + height)
        over = any(_gap(box, b.x, b.y) < 0.5 * b.diameter + LIGAMENT for b in half.bores)
        depth = (
            rng.uniform(2, half.floor - 5)
            if over and half.floor > 8
            else rng.uniform(4, 0.55 * half.thickness)
        )
        if over and half.floor <= 8:
            continue
        heads = all(_gap(box, b.x, b.y) > 0.5 * b.bearing + 2 for b in body.bolts)
        apart = all(_apart(box, p.outline) > LIGAMENT for p in others)
        if heads and apart:
            return [PocketShape(rectangle(*box), float(depth))]
    raise _Rejected


def _gap(box: tuple[float, float, float, float], x: float, y: float) -> float:
    """Distance from a point to a rectangle."""
    return float(np.hypot(max(box[0] - x, x - box[1], 0.0), max(box[2] - y, y - box[3], 0.0)))


def _apart(box: tuple[float, float, float, float], outline: Array) -> float:
    (a0, b0), (a1, b1) = outline.min(axis=0), outline.max(axis=0)
    return float(max(a0 - box[1], box[0] - a1, b0 - box[3], box[2] - b1))


def _unequal(rng: Random, plan: Plan) -> Sample:
    sample = _one_piece(rng, plan)
    half = sample.body.outboard
    outline = half.outline.copy()
    outline[:2, 1] -= rng.uniform(-4, 10)
    thickness, floor = half.thickness * rng.uniform(0.7, 1.4), float(rng.uniform(6, 16))
    _need(22 <= thickness <= 50 and thickness - floor >= 12)
    height = float(np.ptp(outline[:, 1]))
    _need(1.5 <= height / thickness <= 4.0)
    other = replace(half, outline=outline, thickness=float(thickness), floor=floor)
    bridges = tuple(
        replace(b, y0=max(b.y0, float(outline[0, 1]))) if b.arch is not None else b
        for b in sample.body.bridges
    )
    return replace(sample, body=replace(sample.body, inboard=other, bridges=bridges))


def row_of(sample: Sample) -> dict[str, Any]:
    """All parameters as one CSV row; lists as JSON text."""
    body = sample.body
    row: dict[str, Any] = {
        "body": sample.name,
        "group": sample.group,
        "kind": "two-piece" if body.bolts else "one-piece",
        "symmetric": body.symmetric,
        "rotor_radius_mm": sample.rotor_radius,
        "rotor_thickness_mm": sample.rotor_thickness,
        "pad_thickness_mm": sample.pad_thickness,
        "running_clearance_mm": sample.running_clearance,
        "half_gap_mm": body.half_gap,
        "E_MPa": body.E,
        "nu": body.nu,
    }
    for side, half in (("inboard", body.inboard), ("outboard", body.outboard)):
        row[f"{side}_outline_mm"] = json.dumps(half.outline.tolist())
        row[f"{side}_thickness_mm"], row[f"{side}_floor_mm"] = half.thickness, half.floor
        row[f"{side}_pockets"] = json.dumps(
            [{"outline": p.outline.tolist(), "depth": p.depth} for p in half.pockets]
        )
        if half.shape is not None:
            row[f"{side}_outline_mm"] = ""
            row[f"{side}_shape"] = text_of_shape(half.shape)
    row["bores"] = json.dumps([vars(b) for b in body.outboard.bores])
    row["bridges"] = json.dumps([vars(b) for b in body.bridges])
    row["bolts"] = json.dumps([vars(b) for b in body.bolts])
    row["preload_N"] = json.dumps(sample.preload.tolist())
    return row
