"""[[caliper.abutment]] of a study file, where a pad's drag is taken; and where flanks and backing plates stand."""

from __future__ import annotations

from stiffcalc.study import defaults
from stiffcalc.study.fields import Table, choice, pair, subtables, text
from stiffcalc.study.numbers import pick
from stiffcalc.study.schema import Abutment, Bridge, Pad, Range, Rotor
from stiffcalc.study.sections import FROM_MID_PLANE, Y

HALVES = ("inboard", "outboard")


def read_abutments(caliper: Table) -> tuple[Abutment, ...]:
    """Every [[caliper.abutment]]."""
    return tuple(_abutment(table) for table in subtables(caliper, "abutment"))


def _abutment(table: Table) -> Abutment:
    found = Abutment(
        bridge=text(table, "bridge"),
        half=choice(table, "half", ("both", *HALVES), defaults.ABUTMENT_HALF),
        y=pair(table, "y_mm", Y),
        z=pair(table, "z_mm", FROM_MID_PLANE),
    )
    table.finish()
    return found


def halves_of(abutment: Abutment) -> tuple[str, ...]:
    """The halves that have this patch; none after a fault."""
    return tuple(half for half in HALVES if abutment.half in (half, "both"))


def flank(bridge: Bridge) -> float:
    """x of the end of a bridge that faces the pad: the one nearer to x = 0."""
    return pick(bridge.x[0] >= 0, bridge.x[0], bridge.x[1])


def plates(rotor: Rotor, pad: Pad) -> tuple[Range, Range]:
    """Where a backing plate pressed on the disc stands along z, from the mid-plane: of a new pad, of a worn one."""
    new, worn = (rotor.thickness / 2 + t for t in (pad.thickness, pad.worn_thickness))
    return (new - pad.backing, new), (worn - pad.backing, worn)
