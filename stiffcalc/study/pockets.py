"""[pockets] of a study file: what `stiffcalc pockets` may mill from the outer faces, and what for."""

from __future__ import annotations

from stiffcalc.study import defaults
from stiffcalc.study.fields import Bounds, Table, choice, flag, number, optional, pair, subtables, whole
from stiffcalc.study.schema import PocketPlan, PocketRoom
from stiffcalc.study.sections import X, Y

AIMS = ("least spread", "least mass")
HALVES = ("both", "inboard", "outboard")
MOST_COUNT = 12
_ADDED = Bounds(0.0, 50.0, "mm")
_LENGTH = Bounds(0.0, 100.0, "mm")
_ROOM = Bounds(0.0, 50.0, "mm", low_open=False)
_CUTTER = Bounds(2.0, 50.0, "mm", low_open=False)
_MASS = Bounds(0.0, 100.0, "kg")
_SPREAD = Bounds(0.0, 10.0, "mm")


def read_pockets(table: Table) -> PocketPlan:
    """[pockets]; the caller turns `table.log.used` into `defaults_used`."""
    aim = choice(table, "aim", AIMS, defaults.POCKET_AIM)
    found = PocketPlan(
        aim=aim,
        mass=_asked(table, "mass_kg", _MASS, aim == "least spread"),
        spread=_asked(table, "spread_mm", _SPREAD, aim == "least mass"),
        halves=choice(table, "halves", HALVES, defaults.POCKET_HALVES),
        blank=number(table, "blank_mm", _ADDED, defaults.POCKET_BLANK_MM),
        least_thickness=_or_by_rule(table, "least_thickness_mm", defaults.POCKET_THICKNESS),
        least_floor=_or_by_rule(table, "least_floor_mm", defaults.POCKET_FLOOR),
        cutter=number(table, "cutter_mm", _CUTTER, defaults.POCKET_CUTTER_MM),
        room=PocketRoom(
            rib=number(table, "rib_mm", _LENGTH, defaults.POCKET_RIB_MM),
            bore=number(table, "bore_margin_mm", _ROOM, defaults.POCKET_BORE_MM),
            seat=number(table, "seat_margin_mm", _ROOM, defaults.POCKET_SEAT_MM),
            behind_bridges=flag(table, "behind_bridges", defaults.POCKET_BRIDGES),
            keep=tuple(_box(t) for t in subtables(table, "keep")),
        ),
        count=whole(table, "count", 1, MOST_COUNT, defaults.POCKET_COUNT),
        defaults_used=(),
    )
    table.finish()
    return found


def _asked(table: Table, key: str, bounds: Bounds, allowed: bool) -> float | None:
    """What is held; None: the layout's own. Only beside the aim that needs it."""
    if table.has(key) and not allowed:
        table.log.wrong(table.path(key), table.take(key), "nothing beside this aim", f"remove {key}")
        return None
    found = optional(table, key, bounds)
    if found is None and allowed:
        table.default(key, defaults.POCKET_HELD)
    return found


def _or_by_rule(table: Table, key: str, rule: defaults.Default[None]) -> float | None:
    found = optional(table, key, _LENGTH)
    if found is None:
        table.default(key, rule)
    return found


def _box(table: Table) -> tuple[tuple[float, float], tuple[float, float]]:
    """A rectangle where nothing is milled."""
    found = pair(table, "x_mm", X), pair(table, "y_mm", Y)
    table.finish()
    return found
