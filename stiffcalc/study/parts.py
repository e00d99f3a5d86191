"""[caliper] of a study file: walls, bores, bridges, bolts, pistons."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stiffcalc.catalogue import Material
from stiffcalc.study import defaults
from stiffcalc.study.abutments import read_abutments
from stiffcalc.study.breach import Breach, said
from stiffcalc.study.clamp_plane import read_land, read_ports, read_reliefs
from stiffcalc.study.defaults import Default
from stiffcalc.study.fastening import read_bolt, read_dowel, read_joint_friction
from stiffcalc.study.fields import (
    Bounds,
    Log,
    Table,
    choice,
    number,
    pair,
    subtable,
    subtables,
    text,
)
from stiffcalc.study.lugs import read_lugs
from stiffcalc.study.numbers import either, isnt, most, unread
from stiffcalc.study.pads import read_pads
from stiffcalc.study.schema import Bore, Bridge, Caliper, Piston, Pocket, Wall
from stiffcalc.study.sections import LENGTH, X, Y, find_material
from stiffcalc.study.shapes import is_shaped, shaped_wall

LAYOUTS = ("monoblock", "two-piece")
_WALL_KEYS = (
    "length_mm",
    "bottom_y_mm",
    "top_y_mm",
    "thickness_mm",
    "floor_mm",
    "pockets",
    "outline_mm",
    "ribs",
)


@dataclass(frozen=True)
class Parts:
    """A caliper as read, with the place in the file of each part that may be at fault later."""

    caliper: Caliper
    walls: Mapping[str, Wall]  # where -> wall; one entry where both halves are alike
    bores: tuple[str, ...]  # where, in the order of caliper.bores
    bolts: tuple[str, ...]  # where, in the order of caliper.bolts
    dowels: tuple[str, ...]  # where, in the order of caliper.dowels
    ports: tuple[str, ...]  # where, in the order of caliper.ports


def read_caliper(table: Table, own: Mapping[str, Material]) -> Parts:
    """[caliper] and everything below it."""
    layout = choice(table, "layout", LAYOUTS)
    material = find_material(table, "material", own, defaults.LAYOUT_MATERIAL)
    placed = _read_bores(table)
    bores = tuple(bore for _, bore in placed)
    inboard, outboard, walls = _read_walls(table, most(*(b.diameter for b in bores)))
    bridges = tuple(_bridge(t, material, own) for t in subtables(table, "bridge", required=_NEEDS_BRIDGE))
    tables = subtables(table, "bolt")
    bolts = tuple(read_bolt(t, most(inboard.thickness, outboard.thickness)) for t in tables)
    friction = read_joint_friction(table)
    pins, ports = subtables(table, "dowel"), read_ports(table)
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
        joint_friction=friction[0],
        joint_friction_high=friction[1],
        dowels=tuple(read_dowel(t, own) for t in pins),
        ports=tuple(ports.values()),
        abutments=read_abutments(table),
        lugs=read_lugs(table),
        fittings=number(table, "fittings_g", _FITTINGS, defaults.FITTINGS_G) / 1e3,
    )
    table.finish()
    return Parts(
        caliper=caliper,
        walls=walls,
        bores=tuple(where for where, _ in placed),
        bolts=tuple(t.where for t in tables),
        dowels=tuple(t.where for t in pins),
        ports=tuple(ports),
    )


_FITTINGS = Bounds(0.0, 1e5, "g", low_open=False)
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


def has_shaped_walls(raw: Mapping[str, object]) -> bool:
    """True where a wall of the file `raw` is more than a box with rectangular pockets."""
    caliper = raw.get("caliper")
    halves = caliper if isinstance(caliper, Mapping) else {}
    walls = [halves.get(key) for key in ("wall", "inboard", "outboard")]
    return any(is_shaped(Table(wall, "", Log())) for wall in walls if isinstance(wall, Mapping))


def _merged(common: Table, side: Table) -> Table:
    """The common wall with this side's keys put over it."""
    homes = {key: common.where for key in _WALL_KEYS if key not in side.raw}
    return Table({**common.raw, **side.raw}, side.where, common.log, whole=common.whole, homes=homes)


def _wall(table: Table, largest_bore: float) -> Wall:
    if is_shaped(table):
        return shaped_wall(table, defaults.floor(largest_bore))
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
        if side:
            met = either(_alike(b, bore) for _, b, s in read if s == _OTHER[side])
            table.log.note(_lonely(t.where, bore, side, bad=isnt(met)))
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


def _alike(a: Bore, b: Bore) -> bool:
    return (a.x == b.x) & (a.y == b.y) & (a.diameter == b.diameter)


def _lonely(where: str, bore: Bore, side: str, *, bad: bool) -> Breach:
    words = f"an {side} bore of {{:g}} mm at x {{:g}}, y {{:g}} without its like"
    allowed = (
        f"an {_OTHER[side]} bore of the same x, y and diameter (unequal opposed forces push the disc aside)"
    )
    return Breach(
        bad & isnt(unread(bore.x + bore.y + bore.diameter)),
        where,
        said(words, bore.diameter, bore.x, bore.y),
        allowed,
        "leave side out for a bore on both sides",
    )


def _bridge(table: Table, body: Material, own: Mapping[str, Material]) -> Bridge:
    kind = choice(table, "kind", ("integral", "bolted-in"), defaults.BRIDGE_KIND)
    x = pair(table, "x_mm", X)
    bridge = Bridge(
        name=text(table, "name"),
        x=x,
        y=pair(table, "y_mm", Y) if table.has("y_mm") else None,
        kind=kind,
        fillet=number(table, "fillet_mm", Bounds(0.0, 100.0, "mm", low_open=False), defaults.FILLET_MM),
        material=_bridge_material(table, kind, body, own),
        pads=read_pads(table, kind=kind, width=x[1] - x[0]),
        reliefs=read_reliefs(table),
        land=read_land(table),
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
