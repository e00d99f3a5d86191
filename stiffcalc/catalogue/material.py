"""Materials: constants at room temperature, curves over temperature, and where each value comes from."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from stiffcalc.catalogue.rows import MEMORY, Fact, facts, joined, rows, status_of, unknown_name
from stiffcalc.errors import InputError

# A single value without a curve stands for room temperature; within this band it is used without a flag.
ROOM_C = (10.0, 30.0)


@dataclass(frozen=True)
class Curve:
    """A property over temperature, straight between its points."""

    temperature_C: tuple[float, ...] = field(metadata={"whole": True})  # rising; one for a batch of designs
    value: tuple[float, ...]
    source: str
    status: str

    def at(self, temperature_C: float) -> tuple[float, bool]:
        """Value, and whether the temperature lies inside the curve; outside, the nearest end is given."""
        first, last = self.temperature_C[0], self.temperature_C[-1]
        # A curve that starts at room temperature covers all of the room band.
        covered_from = min(first, ROOM_C[0]) if first <= ROOM_C[1] else first
        inside = covered_from <= temperature_C <= last
        if not first < temperature_C < last:
            return self.value[0 if temperature_C <= first else -1], inside
        # A value may be an array over designs, so that the straight line is drawn here.
        k = bisect_left(self.temperature_C, temperature_C)
        (x0, x1), (y0, y1) = self.temperature_C[k - 1 : k + 1], self.value[k - 1 : k + 1]
        return (y1 - y0) / (x1 - x0) * (temperature_C - x0) + y0, inside


@dataclass(frozen=True)
class Properties:
    """A material at one temperature. `flags`: one sentence for each value that its data do not cover."""

    temperature_C: float
    E: float  # MPa
    nu: float
    density_kg_m3: float
    expansion_per_K: float
    yield_MPa: float
    ultimate_MPa: float
    flags: tuple[str, ...]


@dataclass(frozen=True)
class Material:
    """An isotropic metal. Plain fields hold room temperature; `at` gives another one.

    `basis` says what the strengths are (typical, minimum, share of a test bar): a typical value is NOT a
    guaranteed minimum. `from_memory` names the properties whose value was not looked up.
    """

    name: str
    E: float  # MPa
    nu: float
    density_kg_m3: float
    expansion_per_K: float
    yield_MPa: float  # 0.2 % proof stress
    ultimate_MPa: float
    source: str
    status: str
    basis: str = "typical"
    description: str = ""
    head_pressure_MPa: float | None = None  # limiting pressure under a bolt head
    fatigue_5e8_MPa: float | None = None  # rotating bending amplitude at 5e8 cycles, smooth bar
    curves: Mapping[str, Curve] = field(default_factory=dict)  # field name -> curve, absolute values
    from_memory: tuple[str, ...] = ()

    def at(self, temperature_C: float) -> Properties:
        """The properties at `temperature_C`; never extrapolated: beyond its data the nearest known value is
        given and a sentence in `flags` says so."""
        found = {key: self.value_at(key, temperature_C) for key in _OVER_TEMPERATURE}
        values = {key: value for key, (value, _) in found.items()}
        flags = tuple(flag for _, flag in found.values() if flag)
        return Properties(temperature_C=temperature_C, flags=flags, **values)

    def value_at(self, key: str, temperature_C: float) -> tuple[float, str]:
        """One property such as "E" at a temperature, and its flag ('' where the data cover it).

        `expansion_per_K` is the mean from 20 °C to the temperature.
        """
        curve = self.curves.get(key)
        if curve is None:
            return getattr(self, key), self._flag_without_curve(key, temperature_C)
        value, inside = curve.at(temperature_C)
        return value, "" if inside else self._flag_outside(curve, key, temperature_C)

    def _flag_outside(self, curve: Curve, key: str, temperature_C: float) -> str:
        span = f"{curve.temperature_C[0]:g} to {curve.temperature_C[-1]:g} °C"
        outside = f"{self.name}: {key} at {temperature_C:g} °C is outside its data ({span}); nearest end used"
        lower = temperature_C > curve.temperature_C[-1] and key in _WATCHED
        return f"{outside}, the true value is lower" if lower else outside

    def _flag_without_curve(self, key: str, temperature_C: float) -> str:
        if key not in _WATCHED or ROOM_C[0] <= temperature_C <= ROOM_C[1]:
            return ""
        return f"{self.name}: no curve of {key} over temperature; room value used at {temperature_C:g} °C"


_OVER_TEMPERATURE = ("E", "nu", "density_kg_m3", "expansion_per_K", "yield_MPa", "ultimate_MPa")
# Poisson's ratio, density and expansion change too little to warn of when no curve is known.
_WATCHED = ("E", "yield_MPa", "ultimate_MPa")


def curves_of(file: str, name: str, room: Mapping[str, Fact]) -> dict[str, Curve]:
    """Curves of one material from a file of factors on the room value."""
    points: dict[str, list[tuple[float, float, str, str]]] = {}
    for row in rows(file):
        if row["name"] == name:
            value = float(row["factor"]) * (room[row["property"]].value if row["property"] in room else 1.0)
            point = (float(row["temperature_C"]), value, row["source"], row["status"])
            points.setdefault(row["property"], []).append(point)
    return {key: _curve(found) for key, found in points.items()}


def _curve(points: list[tuple[float, float, str, str]]) -> Curve:
    temperatures, values, sources, statuses = zip(*sorted(points), strict=True)
    return Curve(tuple(temperatures), tuple(values), joined(sources), status_of(statuses))


def _material(name: str, known: Mapping[str, Fact], description: str) -> Material:
    curves = curves_of("material_curves.csv", name, known)
    value = {key: fact.value for key, fact in known.items()}
    memory = [key for key, fact in known.items() if fact.status == MEMORY]
    memory += [f"{key} over temperature" for key, curve in curves.items() if curve.status == MEMORY]
    return Material(
        name=name,
        E=value["E"],
        nu=value["nu"],
        density_kg_m3=value["density_kg_m3"],
        expansion_per_K=value["expansion_per_K"],
        yield_MPa=value["yield_MPa"],
        ultimate_MPa=value["ultimate_MPa"],
        source=joined(fact.source for fact in known.values()),
        status=status_of(fact.status for fact in known.values()),
        basis=known["yield_MPa"].basis,
        description=description,
        head_pressure_MPa=value.get("head_pressure_MPa"),
        fatigue_5e8_MPa=value.get("fatigue_5e8_MPa"),
        curves=curves,
        from_memory=tuple(memory),
    )


@cache
def materials() -> Mapping[str, Material]:
    """Every material of the catalogue by name, in the file's order."""
    known = facts("materials.csv")
    words = {row["name"]: row["description"] for row in rows("material_words.csv")}
    return {name: _material(name, found, words[name]) for name, found in known.items()}


def material(name: str, *, where: str = "material") -> Material:
    """One material by name; InputError with the nearest known name where there is none."""
    known = materials()
    if name not in known:
        raise InputError([unknown_name(name, known, where=where, what="material")])
    return known[name]
