"""[section.NAME] of a study file: sections whose outline is the user's own, from a STEP or CSV file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from stiffcalc.catalogue import Material
from stiffcalc.study.defaults import Default
from stiffcalc.study.fields import (
    Bounds,
    Log,
    Table,
    checked,
    flag,
    number,
    optional,
    subtable,
    subtables,
    text,
)
from stiffcalc.study.numbers import NAN
from stiffcalc.study.schema import EdgeLoad, EdgeSupport, OwnSection
from stiffcalc.study.sections import PRESSURE, find_material, read_materials

PLACE = Bounds(-10_000.0, 10_000.0, "mm", low_open=False)
THICKNESS = Bounds(0.0, 1000.0, "mm")
FORCE = Bounds(-1e7, 1e7, "N", low_open=False)
MOMENT = Bounds(-1e9, 1e9, "N mm", low_open=False)
PUSH = Bounds(-1000.0, 1000.0, "MPa", low_open=False)
FREE = Default(False, "free to move that way")
NO_MOMENT = Default(0.0, "no moment")
POINTS = "[x, y], or a list of such points, each on one edge of the outline"
ENDINGS = (".step", ".stp", ".csv")


def read_sections(root: Table, *, material: str) -> tuple[OwnSection, ...]:
    """Every [section.NAME]; `material`: name of the caliper's, the default. Defaults used are not listed."""
    table = subtable(replace(root, log=Log(faults=root.log.faults)), "section")
    own = read_materials(Table(root.raw, "", Log())) if table.raw else {}  # their faults are noted elsewhere
    return tuple(_section(name, subtable(table, name), own, material) for name in table.raw)


def _section(name: str, table: Table, own: Mapping[str, Material], material: str) -> OwnSection:
    outline = text(table, "outline")
    if outline and not outline.lower().endswith(ENDINGS):
        table.log.wrong(table.path("outline"), outline, ", ".join(ENDINGS), "export it as one of these")
    found = OwnSection(
        name=name,
        outline=outline,
        thickness=number(table, "thickness_mm", THICKNESS),
        material=find_material(table, "material", own, Default(material, "as the caliper")),
        supports=tuple(_support(t) for t in subtables(table, "support", required="what holds the section")),
        loads=tuple(_load(t) for t in subtables(table, "load", required="what acts on the section")),
        at_pressure=optional(table, "at_pressure_MPa", PRESSURE),
    )
    table.finish()
    return found


def _support(table: Table) -> EdgeSupport:
    found = EdgeSupport(at=_points(table), x=flag(table, "x", FREE), y=flag(table, "y", FREE))
    if table.whole and not (found.x or found.y):
        table.log.fault(
            table.where, "neither x nor y held", "x = true, y = true or both", "say which way it is held"
        )
    table.finish()
    return found


def _load(table: Table) -> EdgeLoad:
    found = EdgeLoad(
        at=_points(table),
        pressure=optional(table, "pressure_MPa", PUSH),
        force=_pair(table, "force_N"),
        moment=number(table, "moment_Nmm", MOMENT, NO_MOMENT),
    )
    if table.whole and found.pressure is None and not table.has("force_N") and not table.has("moment_Nmm"):
        allowed = "pressure_MPa, force_N = [x, y] or moment_Nmm"
        table.log.fault(table.where, "a load of nothing", allowed, "state one")
    table.finish()
    return found


def _pair(table: Table, key: str) -> tuple[float, float]:
    if not table.has(key):
        table.asked.add(key)
        return 0.0, 0.0
    raw = table.take(key)
    if not isinstance(raw, list) or len(raw) != 2:
        table.log.wrong(table.path(key), raw, "[x, y], newtons", "give two numbers in brackets")
        return NAN, NAN
    x, y = (checked(table.log, f"{table.path(key)}[{i}]", v, FORCE) for i, v in enumerate(raw, start=1))
    return x, y


def _points(table: Table) -> tuple[tuple[float, float], ...]:
    """at_mm: one point or several."""
    if not table.has("at_mm"):
        table.asked.add("at_mm")
        table.missing("at_mm", POINTS)
        return ()
    raw, where = table.take("at_mm"), table.path("at_mm")
    several = raw if isinstance(raw, list) and raw and isinstance(raw[0], list) else [raw]
    if not all(isinstance(p, list) and len(p) == 2 for p in several):
        table.log.wrong(where, raw, POINTS, "give two numbers in brackets")
        return ()
    found = []
    for i, (x, y) in enumerate(several, start=1):
        place = where if several is not raw else f"{where}[{i}]"
        found.append(
            (checked(table.log, f"{place}[1]", x, PLACE), checked(table.log, f"{place}[2]", y, PLACE))
        )
    return tuple(found)
