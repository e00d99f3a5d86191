"""What a joint face is besides its outline: ports with their seals, reliefs and lands. Reading only."""

from __future__ import annotations

from collections.abc import Mapping

from stiffcalc.study import defaults
from stiffcalc.study.breach import Breach, said
from stiffcalc.study.fields import Bounds, Table, checked, number, pair, subtable, subtables
from stiffcalc.study.geometry import crossing_sides, rectangle
from stiffcalc.study.numbers import NAN
from stiffcalc.study.schema import Outline, Port
from stiffcalc.study.sections import X, Y

_DIAMETER = Bounds(0.0, 100.0, "mm")
_SHAPE = "x_mm = [low, high] with y_mm = [low, high], or outline_mm = [[x, y], ...] of three corners or more"


def read_ports(caliper: Table) -> dict[str, Port]:
    """[caliper.port], or [[caliper.port]] for several: where -> port."""
    return {table.where: _port(table) for table in _one_or_more(caliper, "port")}


def _port(table: Table) -> Port:
    diameter = number(table, "diameter_mm", _DIAMETER, defaults.PORT_DIAMETER_MM)
    port = Port(
        x=number(table, "x_mm", X),
        y=number(table, "y_mm", Y),
        diameter=diameter,
        seal_diameter=number(table, "seal_diameter_mm", _DIAMETER, defaults.seal_diameter(diameter)),
    )
    table.log.note(
        Breach(
            port.seal_diameter <= diameter,
            table.path("seal_diameter_mm"),
            said("{:g}", port.seal_diameter),
            said("more than diameter_mm = {:g}", diameter),
            "give the outer diameter of the seal's groove",
        )
    )
    table.finish()
    return port


def read_reliefs(bridge: Table) -> tuple[Outline, ...]:
    """relief of one bridge: one table or a list of them."""
    return tuple(_outline(table) for table in _one_or_more(bridge, "relief"))


def read_land(bridge: Table) -> Outline | None:
    """land of one bridge, or None."""
    bridge.asked.add("land")
    return _outline(subtable(bridge, "land")) if bridge.has("land") else None


def _one_or_more(table: Table, key: str) -> list[Table]:
    """A table, or each of a list of tables."""
    if isinstance(table.raw.get(key), Mapping):
        return [subtable(table, key)]
    return subtables(table, key)


def _outline(table: Table) -> Outline:
    """A box or a polygon; corners of NaN after a fault."""
    table.asked.update(("x_mm", "y_mm", "outline_mm"))
    boxed = table.has("x_mm") or table.has("y_mm")
    if table.whole and boxed == table.has("outline_mm"):
        found = "a box and an outline at once" if boxed else "no shape"
        table.log.fault(table.where, found, _SHAPE, "give one of the two")
        return _NOTHING
    read = _box(table) if boxed else _polygon(table)
    table.finish()
    return read


_NOTHING: Outline = ((NAN, NAN),) * 3


def _box(table: Table) -> Outline:
    corners = rectangle(pair(table, "x_mm", X), pair(table, "y_mm", Y))
    return tuple((float(x), float(y)) for x, y in corners)


def _polygon(table: Table) -> Outline:
    raw, where = table.take("outline_mm"), table.path("outline_mm")
    if not isinstance(raw, list) or len(raw) < 3:
        if table.whole:
            table.log.wrong(where, raw, "[[x, y], ...], three corners or more", "give the corners in order")
        return _NOTHING
    corners = tuple(_corner(table, f"{where}[{i}]", corner) for i, corner in enumerate(raw, start=1))
    crossed = crossing_sides(corners)
    if crossed:
        a, b = crossed
        found = f"sides that meet: corner {a} to {a % len(raw) + 1}, corner {b} to {b % len(raw) + 1}"
        mend = "give the corners once round, the first not again at the end"
        table.log.fault(where, found, "an outline that does not cross or touch itself", mend)
        return _NOTHING
    return corners


def _corner(table: Table, where: str, raw: object) -> tuple[float, float]:
    if not isinstance(raw, list) or len(raw) != 2:
        table.log.wrong(where, raw, "[x, y], two numbers", "give two numbers in brackets")
        return NAN, NAN
    return checked(table.log, f"{where}[1]", raw[0], X), checked(table.log, f"{where}[2]", raw[1], Y)
