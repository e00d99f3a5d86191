"""The simple sections of a study file: rotor, pad, load cases, limits and the user's own materials."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from types import MappingProxyType

from stiffcalc import catalogue
from stiffcalc.catalogue import Curve, Material
from stiffcalc.catalogue.rows import unknown_name
from stiffcalc.study import defaults
from stiffcalc.study.defaults import Default
from stiffcalc.study.fields import (
    Bounds,
    Table,
    checked,
    choice,
    flag,
    number,
    optional,
    pair,
    subtable,
    subtables,
    text,
)
from stiffcalc.study.numbers import NAN
from stiffcalc.study.schema import Life, Limits, LoadCase, Pad, Rotor

LENGTH = Bounds(0.0, 1000.0, "mm")
X = Bounds(-1000.0, 1000.0, "mm", low_open=False)
Y = Bounds(0.0, 1000.0, "mm")
FROM_MID_PLANE = Bounds(0.0, 1000.0, "mm", low_open=False)
KINDS = ("service", "proof", "burst", "fatigue", "assembly")
IN_USE = ("service", "fatigue")  # kinds in which the caliper has to brake
PRESSURE = Bounds(0.0, 100.0, "MPa")
# Brakes are used below 20 MPa: what is beyond twice that was meant in bar or psi. Common practice, no source.
_USED = Bounds(0.0, 40.0, "MPa")
_PRESSURES = {"assembly": Bounds(0.0, 100.0, "MPa", low_open=False), **dict.fromkeys(IN_USE, _USED)}
_TEMPERATURE = Bounds(-273.15, 600.0, "°C")
_FRICTION = Bounds(0.0, 1.0)

_MATERIAL = {
    "E_MPa": Bounds(1000.0, 1.0e6, "MPa"),
    "nu": Bounds(0.0, 0.5, high_open=True),
    "density_kg_m3": Bounds(500.0, 25000.0, "kg/m3"),
    "expansion_per_K": Bounds(0.0, 1.0e-4, "per K", low_open=False),
    "yield_MPa": Bounds(1.0, 5000.0, "MPa"),
    "ultimate_MPa": Bounds(1.0, 5000.0, "MPa"),
}
_ROOM_C = 20.0


def read_rotor(table: Table) -> Rotor:
    """[rotor]."""
    rotor = Rotor(
        outer_radius=number(table, "outer_radius_mm", LENGTH),
        thickness=number(table, "thickness_mm", Bounds(0.0, 200.0, "mm")),
        edge_clearance=number(
            table, "edge_clearance_mm", Bounds(0.0, 100.0, "mm", low_open=False), defaults.EDGE_CLEARANCE_MM
        ),
    )
    table.finish()
    return rotor


def read_pad(table: Table) -> Pad:
    """[pad]."""
    thickness = number(table, "thickness_mm", Bounds(0.0, 200.0, "mm"))
    friction = number(table, "friction", _FRICTION, defaults.PAD_FRICTION)
    backing = number(table, "backing_mm", LENGTH, defaults.PAD_BACKING_MM)
    pad = Pad(
        thickness=thickness,
        backing=backing,
        worn_thickness=number(table, "worn_thickness_mm", LENGTH, defaults.worn_thickness(backing)),
        height=number(table, "height_mm", LENGTH),
        length=number(table, "length_mm", LENGTH),
        running_clearance=number(
            table,
            "running_clearance_mm",
            Bounds(0.0, 20.0, "mm", low_open=False),
            defaults.RUNNING_CLEARANCE_MM,
        ),
        friction=friction,
        friction_range=pair(table, "friction_range", _FRICTION, defaults.friction_range(friction)),
        compressibility_um_per_MPa=number(
            table,
            "compressibility_um_per_MPa",
            Bounds(0.0, 1000.0, "µm/MPa", low_open=False),
            defaults.PAD_COMPRESSIBILITY,
        ),
    )
    table.finish()
    return pad


def read_load_cases(root: Table) -> tuple[LoadCase, ...]:
    """[[load_case]]."""
    tables = subtables(root, "load_case", required="at least one load case")
    return tuple(_load_case(table) for table in tables)


def _load_case(table: Table) -> LoadCase:
    name = text(table, "name")
    kind = choice(table, "kind", KINDS, defaults.CASE_KIND)
    unpressed = defaults.ASSEMBLY_PRESSURE_MPA if kind == "assembly" else None
    pressure = number(table, "pressure_MPa", _PRESSURES.get(kind, PRESSURE), unpressed)
    body = number(table, "body_temperature_C", _TEMPERATURE, defaults.BODY_TEMPERATURE_C)
    bolt = number(table, "bolt_temperature_C", _TEMPERATURE, Default(body, "as warm as the body"))
    case = LoadCase(
        name=name,
        kind=kind,
        pressure=pressure,
        body_temperature_C=body,
        bolt_temperature_C=bolt,
        drag=flag(table, "drag", defaults.DRAG),
        cycles=_cycles(table, kind),
    )
    table.finish()
    return case


def _cycles(table: Table, kind: str) -> float | None:
    bounds = Bounds(1.0, 1.0e12, "cycles", low_open=False)
    if kind == "fatigue":
        return number(table, "cycles", bounds, defaults.FATIGUE_CYCLES)
    return optional(table, "cycles", bounds)


def read_life(table: Table, cases: tuple[LoadCase, ...]) -> Life:
    """[life]: how cold and how hot the joint gets between tightening and the end of its life."""
    hottest = max(cases, key=lambda c: c.body_temperature_C, default=None)
    coldest = min((t for c in cases for t in (c.body_temperature_C, c.bolt_temperature_C)), default=NAN)
    hot = number(
        table, "hot_body_C", _TEMPERATURE, defaults.hot_body(hottest.body_temperature_C if hottest else NAN)
    )
    bolt = number(table, "hot_bolt_C", _TEMPERATURE, defaults.hot_bolt(hot, hottest))
    life = Life(
        cold_C=number(table, "cold_C", _TEMPERATURE, defaults.cold(coldest)),
        hot_body_C=hot,
        hot_bolt_C=bolt,
        soak_loss=number(table, "soak_loss_percent", _PERCENT, defaults.soak_loss(hot)) / 100.0,
    )
    if life.cold_C > hot:
        allowed = f"at most the hot body's {hot:g}"
        table.log.wrong(table.path("cold_C"), life.cold_C, allowed, "swap the two, or leave cold_C out")
    table.finish()
    return life


_PERCENT = Bounds(0.0, 100.0, "%", low_open=False, high_open=True)


def read_limits(table: Table) -> Limits:
    """[limits]."""
    factors = subtable(table, "factors")
    limits = Limits(
        spread=optional(table, "spread_mm", Bounds(0.0, 10.0, "mm")),
        tilt_mrad=optional(table, "tilt_mrad", Bounds(0.0, 100.0, "mrad")),
        fluid_mm3=optional(table, "fluid_mm3", Bounds(0.0, 1.0e6, "mm3")),
        mass_kg=optional(table, "mass_kg", Bounds(0.0, 100.0, "kg")),
        clamp_force_N=optional(table, "clamp_force_N", Bounds(0.0, 1.0e7, "N")),
        factors=MappingProxyType(
            {
                kind: number(factors, kind, Bounds(0.5, 10.0, low_open=False), factor)
                for kind, factor in defaults.FACTORS.items()
            }
        ),
    )
    factors.finish()
    table.finish()
    return limits


def read_materials(root: Table) -> dict[str, Material]:
    """[material.NAME]: the user's own materials by name."""
    table = subtable(root, "material")
    own = {name: _material(name, subtable(table, name)) for name in table.raw}
    for name in own:
        if name in catalogue.materials():
            table.log.wrong(
                table.path(name), name, "a name that the catalogue does not use", "give it another name"
            )
    return own


def _material(name: str, table: Table) -> Material:
    read = {key: _property(table, key, bounds) for key, bounds in _MATERIAL.items()}
    room = {key: value for key, (value, _) in read.items()}
    if room["yield_MPa"] > room["ultimate_MPa"]:
        at_most = f"at most ultimate_MPa = {room['ultimate_MPa']:g}"
        table.log.wrong(
            table.path("yield_MPa"), room["yield_MPa"], at_most, "swap or correct the two strengths"
        )
    material = Material(
        name=name,
        E=room["E_MPa"],
        nu=room["nu"],
        density_kg_m3=room["density_kg_m3"],
        expansion_per_K=room["expansion_per_K"],
        yield_MPa=room["yield_MPa"],
        ultimate_MPa=room["ultimate_MPa"],
        source="the study file",
        status="given in the study",
        basis="as given",
        head_pressure_MPa=optional(table, "head_pressure_MPa", Bounds(0.0, 10000.0, "MPa")),
        fatigue_5e8_MPa=optional(table, "fatigue_5e8_MPa", Bounds(0.0, 5000.0, "MPa")),
        curves={"E" if key == "E_MPa" else key: curve for key, (_, curve) in read.items() if curve},
    )
    table.finish()
    return material


def _property(table: Table, key: str, bounds: Bounds) -> tuple[float, Curve | None]:
    """A number, or a list of [temperature_C, value] points: the value at room temperature and the curve."""
    raw = table.raw.get(key)
    if not isinstance(raw, list):
        return number(table, key, bounds), None
    table.take(key)
    where, before = table.path(key), len(table.log.faults)
    points = [_point(table, f"{where}[{i}]", point, bounds) for i, point in enumerate(raw, start=1)]
    temperatures = tuple(t for t, _ in points)
    if len(table.log.faults) > before:
        return NAN, None
    if len(points) < 2 or any(b <= a for a, b in pairwise(temperatures)):
        table.log.wrong(
            where, raw, "at least two points [temperature_C, value], temperature rising", "sort them"
        )
        return NAN, None
    if not temperatures[0] <= _ROOM_C <= temperatures[-1]:
        table.log.wrong(where, raw, "a curve that covers 20 °C", "add a point at 20 °C")
        return NAN, None
    curve = Curve(temperatures, tuple(v for _, v in points), "the study file", "given in the study")
    return curve.at(_ROOM_C)[0], curve


def _point(table: Table, where: str, raw: object, bounds: Bounds) -> tuple[float, float]:
    if not isinstance(raw, list) or len(raw) != 2:
        table.log.wrong(where, raw, "a point [temperature_C, value]", "give two numbers in brackets")
        return NAN, NAN
    return (
        checked(table.log, f"{where}[1]", raw[0], _TEMPERATURE),
        checked(table.log, f"{where}[2]", raw[1], bounds),
    )


def find_material(table: Table, key: str, own: Mapping[str, Material], default: Default[str]) -> Material:
    """The material that `key` names, from the file or the catalogue; a placeholder after a fault."""
    before = len(table.log.faults)
    name = text(table, key, default)
    known = {**catalogue.materials(), **own}
    if name and name not in known and len(table.log.faults) == before:
        table.log.faults.append(unknown_name(name, known, where=table.path(key), what="material"))
    return known.get(name, _NO_MATERIAL)


_NO_MATERIAL = Material("", NAN, NAN, NAN, NAN, NAN, NAN, "", "")
