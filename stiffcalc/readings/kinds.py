"""What can be read: quantities, where they are read, units and their conversion to those of the results."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from stiffcalc.quantities import Quantity, quantity
from stiffcalc.study.schema import Caliper

CALIPER, MIDDLE = "caliper", "middle"
LENGTH = {"mm": 1.0, "um": 1e-3, "µm": 1e-3, "μm": 1e-3}  # the micro sign and the Greek letter look alike
ANGLE = {"mrad": 1.0, "rad": 1e3, "deg": 1e3 * math.pi / 180, "°": 1e3 * math.pi / 180}
VOLUME = {"mm3": 1.0, "mm³": 1.0, "cm3": 1e3, "cm³": 1e3, "ml": 1e3, "mL": 1e3}
FORCE = {"N": 1.0, "kN": 1e3}
# 1 bar = 0.1 MPa by definition; 1 psi: NIST Special Publication 811, Appendix B.8 (from memory)
PRESSURE = {"MPa": 1.0, "bar": 0.1, "psi": 6.894757e-3}


@dataclass(frozen=True)
class Kind:
    """One quantity of the results that may be read. `places`: caliper, middle, bore, bolt."""

    name: str
    key: str  # row of `stiffcalc.quantities`
    units: Mapping[str, float]  # unit -> factor to the stored unit
    places: tuple[str, ...]
    meaning: str

    @property
    def quantity(self) -> Quantity:
        """How it is stored and shown."""
        return quantity(self.key)

    @property
    def unit_names(self) -> str:
        """Units in words; of two micro signs that look alike one."""
        return ", ".join(u for u in self.units if u != "μm")

    def points(self, caliper: Caliper) -> tuple[str, ...]:
        """Names of the points of that layout where it can be read."""
        counts = {"bore": len(caliper.bores), "bolt": len(caliper.bolts)}
        return tuple(
            name
            for place in self.places
            for name in ([f"{place} {i + 1}" for i in range(counts[place])] if place in counts else [place])
        )


KINDS = {
    k.name: k
    for k in (
        Kind("spread", "spread", LENGTH, (CALIPER,), "area-weighted mean opening of the bore floors"),
        Kind(
            "opening",
            "opening",
            LENGTH,
            ("bore", MIDDLE),
            "halves apart: mean over two facing bore floors; or at the middle of the row of bores",
        ),
        Kind(
            "tilt",
            "tilt_middle",
            ANGLE,
            ("bore", MIDDLE),
            "d(opening)/dy; negative: the pad's side opens more",
        ),
        Kind("yaw", "yaw", ANGLE, (CALIPER,), "d(opening)/dx; positive: the trailing end opens more"),
        Kind(
            "bow", "bow", LENGTH, (MIDDLE,), "opening at the middle beyond the line through the end bridges"
        ),
        Kind(
            "fluid volume",
            "fluid.total",
            VOLUME,
            (CALIPER,),
            "fluid taken by the whole caliper, pads included",
        ),
        Kind("bolt force", "bolt_force", FORCE, ("bolt",), "beyond the tightened state"),
    )
}


def title(name: str, point: str) -> str:
    """A quantity at a point, in words."""
    return name if point in (CALIPER, MIDDLE) and len(KINDS[name].places) == 1 else f"{name}, {point}"


def points_of(caliper: Caliper) -> dict[str, tuple[str, ...]]:
    """Quantity -> points of that layout."""
    return {name: kind.points(caliper) for name, kind in KINDS.items()}
