"""[[caliper.lug]] of a study file: the bosses that the caliper is mounted by. Reading only."""

from __future__ import annotations

from stiffcalc import catalogue
from stiffcalc.errors import InputError
from stiffcalc.study import defaults
from stiffcalc.study.fields import Bounds, Table, choice, number, optional, subtables, text
from stiffcalc.study.numbers import NAN
from stiffcalc.study.schema import Lug
from stiffcalc.study.sections import LENGTH, X, Y

INNER, FLUSH, PROUD = "from inner face", "up to outer face", "on outer face"
STANDS = (INNER, FLUSH, PROUD)
_DIAMETER = Bounds(0.0, 200.0, "mm")


def read_lugs(caliper: Table) -> tuple[Lug, ...]:
    """Every [[caliper.lug]]."""
    return tuple(_lug(table) for table in subtables(caliper, "lug"))


def _lug(table: Table) -> Lug:
    thread = text(table, "thread") if table.has("thread") else None
    table.asked.add("thread")
    found = Lug(
        x=number(table, "x_mm", X),
        y=number(table, "y_mm", Y),
        diameter=number(table, "diameter_mm", _DIAMETER),
        hole=_hole(table, thread),
        height=number(table, "height_mm", LENGTH),
        stands=choice(table, "stands", STANDS, defaults.LUG_STANDS),
        thread=thread,
    )
    table.finish()
    return found


def _hole(table: Table, thread: str | None) -> float:
    """As given, else what the thread is tapped into: its pitch diameter."""
    if not thread:
        return number(table, "hole_mm", _DIAMETER)
    try:
        known = catalogue.thread(thread, where=table.path("thread"))
    except InputError as error:
        table.log.faults.extend(error.faults)
        hole = optional(table, "hole_mm", _DIAMETER)
        return NAN if hole is None else hole
    return number(table, "hole_mm", _DIAMETER, defaults.tapped_hole(known))
