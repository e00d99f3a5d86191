"""[size] of a study file: which dimensions of a section `stiffcalc size` moves, within what, held by which limits."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from stiffcalc.errors import Fault
from stiffcalc.study.defaults import Default
from stiffcalc.study.fields import Bounds, Table, flag, number, optional, pair, subtables, whole
from stiffcalc.study.schema import SizeDimension, SizePlan

MOST_DIMENSIONS = 12
MOST_ROUNDS = 20
ALLOWED = (
    "caliper.wall (or inboard, outboard) .thickness_mm, .top_y_mm, .bottom_y_mm, .pockets[N].depth_mm; "
    "caliper.bridge[N].y_mm[1], .y_mm[2], .fillet_mm"
)
_KNOWN = re.compile(
    r"caliper\.(?:(?:wall|inboard|outboard)\.(?:thickness_mm|top_y_mm|bottom_y_mm|pockets\[[1-9]\d*\]\.depth_mm)"
    r"|bridge\[[1-9]\d*\]\.(?:y_mm\[[12]\]|fillet_mm))"
)
_LENGTH = Bounds(0.0, 1000.0, "mm")
_FACTOR = Bounds(0.5, 10.0, low_open=False)

YIELD_FACTOR = Default(1.0, "not even a notch yields, as an assessment asks of fillets")
FATIGUE_FACTOR = Default(1.0, "on the amplitude, as stiffcalc section judges it")
ROUNDS = Default(8.0, "each with fresh meshes and forces; most studies need three")
HOLD = Default(True, "checks of an assessment that the start meets stay met")


def read_size(table: Table) -> SizePlan:
    """[size]; the caller turns `table.log.used` into `defaults_used`."""
    rows = subtables(table, "dimension", required="at least one table of what to size")
    found = SizePlan(
        dimensions=tuple(_read_dimension(t) for t in rows),
        yield_factor=number(table, "yield_factor", _FACTOR, YIELD_FACTOR),
        fatigue_factor=number(table, "fatigue_factor", _FACTOR, FATIGUE_FACTOR),
        rotation_mrad=optional(table, "rotation_mrad", Bounds(0.0, 100.0, "mrad")),
        bridges=_bridges(table),
        rounds=whole(table, "rounds", 1, MOST_ROUNDS, ROUNDS),
        hold_checks=flag(table, "hold_checks", HOLD),
        defaults_used=(),
    )
    table.finish()
    table.log.faults.extend(_plan_faults(found.dimensions))
    return found


def _read_dimension(table: Table) -> SizeDimension:
    paths = _paths(table)
    low, high = pair(table, "range", _LENGTH)
    table.finish()
    return SizeDimension(paths, low, high)


def _paths(table: Table) -> tuple[str, ...]:
    """A path or a list of them, all set to the same number."""
    if not table.has("path"):
        table.asked.add("path")
        table.missing("path", ALLOWED)
        return ()
    raw = table.take("path")
    given = raw if isinstance(raw, list) and raw else [raw]
    for one in given:
        if not isinstance(one, str) or not _KNOWN.fullmatch(one):
            table.log.wrong(table.path("path"), one, ALLOWED, "name a dimension that sections have")
    return tuple(p for p in given if isinstance(p, str))


def _bridges(table: Table) -> tuple[str, ...] | None:
    if not table.has("bridges"):
        table.asked.add("bridges")
        return None
    raw = table.take("bridges")
    if not isinstance(raw, list) or not raw or not all(isinstance(n, str) for n in raw):
        table.log.wrong(table.path("bridges"), raw, "a list of bridges' names", 'write bridges = ["..."]')
        return None
    return tuple(raw)


def _plan_faults(dimensions: Sequence[SizeDimension]) -> Iterator[Fault]:
    if len(dimensions) > MOST_DIMENSIONS:
        found = f"{len(dimensions)} entries"
        yield Fault("size.dimension", found, f"at most {MOST_DIMENSIONS}", "size fewer at once")
    seen: dict[str, int] = {}
    for i, dimension in enumerate(dimensions, start=1):
        for path in dimension.paths:
            if path in seen:
                where, found = (
                    f"size.dimension[{i}].path",
                    f'"{path}", which dimension[{seen[path]}] sets too',
                )
                yield Fault(where, found, "each path once", "take it out of one")
            seen.setdefault(path, i)
