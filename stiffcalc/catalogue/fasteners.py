"""ISO metric threads, property classes, clearance holes and cap-screw heads."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from stiffcalc.catalogue.material import ROOM_C, Curve, curves_of
from stiffcalc.catalogue.rows import MEMORY, Fact, facts, joined, rows, status_of, unknown_name
from stiffcalc.errors import Fault, InputError


@dataclass(frozen=True)
class Thread:
    """An ISO metric thread. Lengths in mm; basic profile of ISO 68-1, dimensions by ISO 724."""

    name: str
    d: float  # nominal diameter
    P: float  # pitch
    series: str  # "coarse" | "fine"
    source: str
    status: str

    @property
    def d2(self) -> float:
        """Pitch diameter, d - 0.649519 P = d - 3 sqrt(3)/8 P (ISO 724)."""
        return self.d - 3.0 * math.sqrt(3.0) / 8.0 * self.P

    @property
    def d3(self) -> float:
        """Root diameter of the bolt thread, d - 1.226869 P = d - 17 sqrt(3)/24 P (ISO 68-1, root H/6)."""
        return self.d - 17.0 * math.sqrt(3.0) / 24.0 * self.P

    @property
    def D1(self) -> float:
        """Minor diameter of the nut thread, d - 1.082532 P = d - 5 sqrt(3)/8 P (ISO 724)."""
        return self.d - 5.0 * math.sqrt(3.0) / 8.0 * self.P

    @property
    def A_s(self) -> float:
        """Tensile stress area, pi/4 ((d2 + d3)/2)^2, mm2 (ISO 898-1)."""
        return math.pi / 4.0 * ((self.d2 + self.d3) / 2.0) ** 2


@dataclass(frozen=True)
class Grade:
    """A bolt's property class: minimum strengths at room temperature, and the bolt's other constants."""

    name: str
    yield_MPa: float  # minimum Rp0.2
    ultimate_MPa: float  # minimum Rm
    proof_MPa: float  # stress under proof load
    E: float
    density_kg_m3: float
    expansion_per_K: float
    source: str
    status: str
    basis: str
    strength_curve: Curve | None  # factor on the three strengths over temperature
    E_curve: Curve | None  # MPa
    expansion_curve: Curve | None  # per K, mean from 20 °C to the temperature
    from_memory: tuple[str, ...]

    def strength_factor(self, temperature_C: float) -> tuple[float, str]:
        """Factor on the strengths, and a sentence where the data do not cover the temperature (else '')."""
        if ROOM_C[0] <= temperature_C <= ROOM_C[1]:
            return 1.0, ""
        if self.strength_curve is None:
            return 1.0, f"grade {self.name}: no strength over temperature known; room value used"
        factor, inside = self.strength_curve.at(temperature_C)
        outside = f"grade {self.name}: {temperature_C:g} °C is outside its strength data; nearest end used"
        return factor, "" if inside else outside

    def E_at(self, temperature_C: float) -> tuple[float, str]:
        """Modulus, MPa, and a sentence where the data do not cover the temperature (else '')."""
        return self._elastic("E", self.E_curve, self.E, temperature_C)

    def expansion_at(self, temperature_C: float) -> tuple[float, str]:
        """Mean expansion from 20 °C to the temperature, per K, and a sentence as for `E_at`."""
        return self._elastic("expansion", self.expansion_curve, self.expansion_per_K, temperature_C)

    def _elastic(
        self, what: str, curve: Curve | None, room: float, temperature_C: float
    ) -> tuple[float, str]:
        if curve is None:
            beside = ROOM_C[0] <= temperature_C <= ROOM_C[1]
            return (
                room,
                "" if beside else f"grade {self.name}: no {what} over temperature known; room value used",
            )
        value, inside = curve.at(temperature_C)
        outside = f"grade {self.name}: {temperature_C:g} °C is outside its data of {what}; nearest end used"
        return value, "" if inside else outside


@dataclass(frozen=True)
class Head:
    """A hexagon socket head cap screw's head by ISO 4762, plain (not knurled)."""

    diameter: float
    height: float
    key: float
    source: str
    status: str


@cache
def threads() -> Mapping[str, Thread]:
    """Every thread of the catalogue by name, such as 'M10x1.5'."""
    return {row["name"]: _thread(row) for row in rows("threads.csv")}


def _thread(row: Mapping[str, str]) -> Thread:
    diameter, pitch = float(row["diameter_mm"]), float(row["pitch_mm"])
    return Thread(row["name"], diameter, pitch, row["series"], row["source"], row["status"])


def thread(name: str, *, where: str = "thread") -> Thread:
    """One thread by name. 'M10 x 1.50' and 'm10x1.5' mean the same; 'M10' alone means the coarse thread."""
    known = threads()
    if name in known:
        return known[name]
    written = name.replace(" ", "").replace("×", "x").lower()
    for found in known.values():
        plain = f"m{found.d:g}"
        spellings = {f"{plain}x{found.P:g}", f"{plain}x{found.P:.1f}", f"{plain}x{found.P:.2f}"}
        if written in spellings or (written == plain and found.series == "coarse"):
            return found
    raise InputError([unknown_name(name, known, where=where, what="thread")])


@cache
def grades() -> Mapping[str, Grade]:
    """Every bolt grade of the catalogue by name, such as '12.9'."""
    return {name: _grade(name, known) for name, known in facts("grades.csv").items()}


def _grade(name: str, known: Mapping[str, Fact]) -> Grade:
    curves = curves_of("grade_curves.csv", name, known)
    memory = [key for key, fact in known.items() if fact.status == MEMORY]
    memory += [f"{key} over temperature" for key, curve in curves.items() if curve.status == MEMORY]
    return Grade(
        name=name,
        yield_MPa=known["yield_MPa"].value,
        ultimate_MPa=known["ultimate_MPa"].value,
        proof_MPa=known["proof_MPa"].value,
        E=known["E"].value,
        density_kg_m3=known["density_kg_m3"].value,
        expansion_per_K=known["expansion_per_K"].value,
        source=joined(fact.source for fact in known.values()),
        status=status_of(fact.status for fact in known.values()),
        basis=known["yield_MPa"].basis,
        strength_curve=curves.get("strength"),
        E_curve=curves.get("E"),
        expansion_curve=curves.get("expansion_per_K"),
        from_memory=tuple(memory),
    )


def grade(name: str, *, where: str = "grade") -> Grade:
    """One bolt grade by name; InputError with the nearest known name where there is none."""
    if name not in grades():
        raise InputError([unknown_name(name, grades(), where=where, what="grade")])
    return grades()[name]


def _by_diameter(file: str, diameter: float, *, what: str) -> Mapping[str, str]:
    for row in rows(file):
        if float(row["diameter_mm"]) == diameter:
            return row
    known = ", ".join(row["diameter_mm"] for row in rows(file))
    raise InputError([Fault(what, f"none for {diameter:g} mm", f"diameters {known} mm", "take one of these")])


def clearance_hole(diameter: float, *, series: str = "medium") -> float:
    """Clearance hole in mm for a thread of `diameter` mm; series fine, medium or coarse (ISO 273)."""
    if series not in ("fine", "medium", "coarse"):
        raise InputError(
            [Fault("clearance hole", f'series "{series}"', "fine, medium, coarse", "take one of these")]
        )
    return float(_by_diameter("clearance_holes.csv", diameter, what="clearance hole")[f"{series}_mm"])


@cache
def head(diameter: float) -> Head:
    """Cap-screw head for a thread of `diameter` mm (ISO 4762)."""
    row = _by_diameter("heads.csv", diameter, what="cap-screw head")
    wide, high, key = float(row["head_diameter_mm"]), float(row["head_height_mm"]), float(row["key_mm"])
    return Head(wide, high, key, row["source"], row["status"])
