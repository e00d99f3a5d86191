"""pads = { ... } of a bolted-in bridge: a bar laid across the opening, its ends bolted down on the walls along y."""

from __future__ import annotations

import math

from stiffcalc.study import defaults
from stiffcalc.study.fastening import read_screw
from stiffcalc.study.fields import Bounds, Table, number, pair, subtable
from stiffcalc.study.schema import Bridge, Pads
from stiffcalc.study.sections import LENGTH

_FRICTION = Bounds(0.0, 1.0)
_BOLTS = Bounds(1.0, 6.0, "bolts", low_open=False)
_ANY_DEPTH = 1000.0  # mm; how deep a wall can be tapped from its top is seen when the wall is known


def read_pads(bridge: Table, *, kind: str, width: float) -> Pads | None:
    """The pads of one bridge, `width` wide, or None."""
    bridge.asked.add("pads")
    if not bridge.has("pads"):
        return None
    table = subtable(bridge, "pads")
    if kind == "integral":
        table.log.fault(
            table.where, "pads of an integral bridge", "a bolted-in one", 'set kind = "bolted-in"'
        )
    length = number(table, "length_mm", LENGTH)
    count = _count(table)
    pads = Pads(
        length=length,
        bolts_per_side=count,
        pitch=number(table, "pitch_mm", LENGTH, defaults.pad_pitch(width, count)),
        setback=number(table, "setback_mm", LENGTH, defaults.pad_setback(length)),
        friction=pair(table, "seat_friction", _FRICTION, defaults.SEAT_FRICTION),
        screw=read_screw(table, _ANY_DEPTH),
    )
    table.finish()
    return pads


def _count(table: Table) -> int:
    """Bolts on each wall; 1 after a fault."""
    found = number(table, "bolts_per_side", _BOLTS, defaults.PAD_BOLTS)
    if found.is_integer():
        return int(found)
    if not math.isnan(found):
        table.log.wrong(table.path("bolts_per_side"), found, "a whole number", "count the bolts of one wall")
    return 1


def bolt_places(bridge: Bridge, pads: Pads) -> list[float]:
    """x of the bolts on one wall."""
    middle, n = 0.5 * (bridge.x[0] + bridge.x[1]), pads.bolts_per_side
    return [middle + pads.pitch * (i - 0.5 * (n - 1)) for i in range(n)]
