"""[caliper] of a study file: walls, bores, bridges, bolts, pistons."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from stiffcalc import catalogue
from stiffcalc.catalogue import Grade, Material, Thread
from stiffcalc.errors import InputError
from stiffcalc.study import defaults
from stiffcalc.study.defaults import Default
from stiffcalc.study.fields import (
    NAN,
    Bounds,
    Table,
    choice,
    number,
    optional,
    pair,
    subtable,
    subtables,
    text,
)
from stiffcalc.study.schema import Bolt, Bore, Bridge, Caliper, Piston, Pocket, Wall
from stiffcalc.study.sections import LENGTH, find_material

X = Bounds(-1000.0, 1000.0, "mm", low_open=False)
Y = Bounds(0.0, 1000.0, "mm")
LAYOUTS = ("monoblock", "two-piece")
_WALL_KEYS = ("length_mm", "bottom_y_mm", "top_y_mm", "thickness_mm", "floor_mm", "pockets")


@dataclass(frozen=True)
class Parts:
    """A caliper as read, with the place in the file of each part that may be at fault later."""

    caliper: Caliper
    walls: Mapping[str, Wall]  # where -> wall; one entry where both halves are alike
    bores: tuple[str, ...]  # where, in the order of caliper.bores
    bolts: tuple[str, ...]  # where, in the order of caliper.bolts


def read_caliper(table: Table, own: Mapping[str, Material]) -> Parts:
    """[caliper] and everything below it."""
    layout = choice(table, "layout", LAYOUTS)
    material = find_material(table, "material", own, defaults.LAYOUT_MATERIAL)
    placed = _read_bores(table)
    bores = tuple(bore for _, bore in placed)
    inboard, outboard, walls = _read_walls(table, max((b.diameter for b in bores), default=NAN))
    bridges = tuple(_bridge(t, material, own) for t in subtables(table, "bridge", required=_NEEDS_BRIDGE))
    tables = subtables(table, "bolt")
    bolts = tuple(_bolt(t, max(inboard.thickness, outboard.thickness)) for t in tables)
    caliper = Caliper(
        layout=layout,
        material=material,
        inboard=inboard,
        outboard=outboard,
        bores=bores,
        bridges=bridges,
        bolts=bolts,
        piston=_read_piston(subtable(table, "piston"), own),
        fluid_depth=number(table, "fluid_depth_mm", LENGTH, defaults.FLUID_DEPTH_MM),
        joint_friction=number(table, "joint_friction", Bounds(0.0, 1.0), defaults.JOINT_FRICTION),
    )
    table.finish()
    return Parts(caliper, walls, tuple(where for where, _ in placed), tuple(t.where for t in tables))


_NEEDS_BRIDGE = "at least one bridge, to hold the halves together"


def _read_walls(table: Table, largest_bore: float) -> tuple[Wall, Wall, dict[str, Wall]]:
    """Both halves after overrides, and where each stands in the file."""
    common = subtable(table, "wall", required=True)
    sides = [subtable(table, side) for side in ("inboard", "outboard")]
    inboard, outboard = (_wall(_merged(common, side), largest_bore) for side in sides)
    for part in (common, *sides):
        part.asked.update(_WALL_KEYS)
        part.finish()
    names = [side.where if side.raw else common.where for side in sides]
    return inboard, outboard, dict(zip(names, (inboard, outboard), strict=True))


def _merged(common: Table, side: Table) -> Table:
    """The common wall with this side's keys put over it."""
    homes = {key: common.where for key in _WALL_KEYS if key not in side.raw}
    return Table({**common.raw, **side.raw}, side.where, common.log, whole=common.whole, homes=homes)


def _wall(table: Table, largest_bore: float) -> Wall:
    return Wall(
        length=number(table, "length_mm", LENGTH),
        bottom_y=number(table, "bottom_y_mm", Y),
        top_y=number(table, "top_y_mm", Y),
        thickness=number(table, "thickness_mm", LENGTH),
        floor=number(table, "floor_mm", LENGTH, defaults.floor(largest_bore)),
        pockets=tuple(_pocket(pocket) for pocket in subtables(table, "pockets")),
    )


def _pocket(table: Table) -> Pocket:
    pocket = Pocket(pair(table, "x_mm", X), pair(table, "y_mm", Y), number(table, "depth_mm", LENGTH))
    table.finish()
    return pocket


def _read_bores(table: Table) -> list[tuple[str, Bore]]:
    """Bores with where they stand; bores given a side each must face a like one and are merged with it."""
    tables = subtables(table, "bore", required="at least one bore")
    read = [(t, _bore(t), _side(t)) for t in tables]
    for t, bore, side in read:
        t.finish()
        if side and not any(b == bore and s == _OTHER[side] for _, b, s in read):
            _lonely(t, bore, side)
    return [(t.where, bore) for t, bore, side in read if side != "outboard"]


_OTHER = {"inboard": "outboard", "outboard": "inboard"}


def _bore(table: Table) -> Bore:
    return Bore(
        x=number(table, "x_mm", X),
        y=number(table, "y_mm", Y),
        diameter=number(table, "diameter_mm", Bounds(5.0, 150.0, "mm", low_open=False)),
    )


def _side(table: Table) -> str:
    """The side a bore is given for; "" for both (or after a fault)."""
    table.asked.add("side")
    return choice(table, "side", tuple(_OTHER)) if table.has("side") else ""


def _lonely(table: Table, bore: Bore, side: str) -> None:
    if math.isnan(bore.x + bore.y + bore.diameter):
        return
    found = f"an {side} bore of {bore.diameter:g} mm at x {bore.x:g}, y {bore.y:g} without its like"
    allowed = (
        f"an {_OTHER[side]} bore of the same x, y and diameter (unequal opposed forces push the disc aside)"
    )
    table.log.fault(table.where, found, allowed, "leave side out for a bore on both sides")


def _bridge(table: Table, body: Material, own: Mapping[str, Material]) -> Bridge:
    kind = choice(table, "kind", ("integral", "bolted-in"), defaults.BRIDGE_KIND)
    bridge = Bridge(
        name=text(table, "name"),
        x=pair(table, "x_mm", X),
        y=pair(table, "y_mm", Y) if table.has("y_mm") else None,
        kind=kind,
        fillet=number(table, "fillet_mm", Bounds(0.0, 100.0, "mm", low_open=False), defaults.FILLET_MM),
        material=_bridge_material(table, kind, body, own),
    )
    table.asked.add("y_mm")
    table.finish()
    return bridge


def _bridge_material(table: Table, kind: str, body: Material, own: Mapping[str, Material]) -> Material:
    if kind == "integral" and table.has("material"):
        where, mend = table.path("material"), 'leave it out, or set kind = "bolted-in"'
        table.log.wrong(
            where, table.take("material"), "nothing: an integral bridge is of the body's material", mend
        )
    table.asked.add("material")
    if kind != "bolted-in":
        return body
    return find_material(table, "material", own, Default(body.name, "as the body"))


def _read_piston(table: Table, own: Mapping[str, Material]) -> Piston:
    piston = Piston(
        material=find_material(table, "material", own, defaults.PISTON_MATERIAL),
        wall=number(table, "wall_mm", LENGTH, defaults.PISTON_WALL_MM),
        crown=number(table, "crown_mm", LENGTH, defaults.PISTON_CROWN_MM),
    )
    table.finish()
    return piston


def _bolt(table: Table, wall_thickness: float) -> Bolt:
    """One bolt; what depends on an unknown thread or grade is left as a placeholder."""
    thread, grade = _thread(table), _grade(table)
    torque, preload = _tightening(table, thread, grade)
    washer_diameter, washer_thickness = _washer(table)
    hole, engagement = _sizes(table, thread, wall_thickness)
    friction = number(table, "friction", _FRICTION, defaults.BOLT_FRICTION)
    bolt = Bolt(
        x=number(table, "x_mm", X),
        y=number(table, "y_mm", Y),
        thread=thread.name if thread else "",
        grade=grade.name if grade else "",
        torque_Nm=torque,
        preload_N=preload,
        friction_thread=friction,
        friction_head=number(table, "friction_head", _FRICTION, Default(friction, "as in the thread")),
        scatter=number(table, "scatter", Bounds(1.0, 10.0, low_open=False), defaults.BOLT_SCATTER),
        washer_diameter=washer_diameter,
        washer_thickness=washer_thickness,
        engagement=engagement,
        hole=hole,
    )
    table.finish()
    return bolt


_FRICTION = Bounds(0.0, 1.0)
_SMALL = Bounds(0.0, 100.0, "mm")


def _thread(table: Table) -> Thread | None:
    name = text(table, "thread")
    try:
        return catalogue.thread(name, where=table.path("thread")) if name else None
    except InputError as error:
        table.log.faults.extend(error.faults)
        return None


def _grade(table: Table) -> Grade | None:
    name = text(table, "grade")
    try:
        return catalogue.grade(name, where=table.path("grade")) if name else None
    except InputError as error:
        table.log.faults.extend(error.faults)
        return None


def _washer(table: Table) -> tuple[float | None, float]:
    """Outer diameter and thickness; None and 0 without a washer."""
    table.asked.add("washer")
    if not table.has("washer"):
        return None, 0.0
    washer = subtable(table, "washer")
    found = number(washer, "diameter_mm", _SMALL), number(washer, "thickness_mm", _SMALL)
    washer.finish()
    return found


def _sizes(table: Table, thread: Thread | None, wall_thickness: float) -> tuple[float, float]:
    """Hole diameter and thread engagement."""
    if thread is None:
        hole, engagement = optional(table, "hole_mm", _SMALL), optional(table, "engagement_mm", _SMALL)
        return hole or NAN, engagement or NAN
    hole = number(table, "hole_mm", _SMALL, defaults.hole(thread))
    return hole, number(table, "engagement_mm", _SMALL, defaults.engagement(thread, wall_thickness))


def _tightening(
    table: Table, thread: Thread | None, grade: Grade | None
) -> tuple[float | None, float | None]:
    """Torque and preload, one of them None; the default preload where neither is given."""
    torque = optional(table, "torque_Nm", Bounds(0.0, 1000.0, "N·m"))
    preload = optional(table, "preload_N", Bounds(0.0, 1.0e6, "N"))
    if torque is not None and preload is not None:
        found = f"torque_Nm = {torque:g} and preload_N = {preload:g}"
        table.log.fault(
            table.where, found, "one of the two; the other follows from friction", "remove one of them"
        )
    if thread is None or grade is None:
        return torque, preload
    limit = grade.ultimate_MPa * thread.A_s
    if preload is not None and preload >= limit:
        allowed = f"below {limit:.0f}, where {thread.name} of grade {grade.name} breaks"
        table.log.wrong(table.path("preload_N"), preload, allowed, "lower the preload or take a larger bolt")
    if torque is not None or preload is not None:
        return torque, preload
    usual = defaults.preload(thread, grade)
    table.default("preload_N", usual)
    return None, usual.value
