"""What sensitivities return: frozen data only; `to_dict` gives plain numbers, strings and lists.

Slopes are per `per` of the dimension: 1 mm, 1 kN, 1 N m or 1 GPa.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from stiffcalc.caliper.heading import heading
from stiffcalc.caliper.joint_results import plain


@dataclass(frozen=True)
class Slope:
    """What one dimension does."""

    path: str  # as in the study file
    words: str
    carries: tuple[str, ...]  # what is flush and moves with it
    value: float  # mm, N, N m, MPa
    unit: str
    per: str
    spread: float  # mm per `per`
    tilt: float | None  # mrad per `per`, of the largest tilt's size; None without the front view
    mass: float  # kg per `per`
    worst_margin: float | None  # per `per`; None without checks
    margin_up: float | None  # of a change upward alone
    margin_down: float | None
    margin_half_step: float | None
    grams_per_um: float | None  # of mass paid for spread taken away; None where the spread does not change
    step: float  # in `unit`
    step_change: float  # of the spread's slope when the step is halved, relative

    @property
    def kinked(self) -> bool:
        """Whether the worst margin's slope depends on side or step: another place takes over, or cells of a face do."""
        found = [v for v in (self.margin_up, self.margin_down, self.margin_half_step) if v is not None]
        return bool(found) and max(found) - min(found) > KINK * max(abs(v) for v in found)


KINK = 0.1


@dataclass(frozen=True)
class Confirmed:
    """One slope of the spread beside finite steps of the front view."""

    path: str
    words: str
    per: str
    frame: float  # mm per `per`, times rho
    front_view: float
    noise: float  # standard error of the front view's by remeshing
    step: float


@dataclass(frozen=True)
class Formula:
    """The closed form of a simple body, and what it gives here."""

    portal: float  # spread per MPa, mm
    frame: float  # the batched frame's
    bores: int
    centre: bool
    slopes: Mapping[str, float]  # symbol -> d(spread per MPa)/d(symbol) x symbol, mm
    values: Mapping[str, float]  # symbol -> value
    words: Mapping[str, str]  # symbol -> what it is
    lines: tuple[tuple[str, str], ...]  # what stands in the line, the line as MathML
    derivatives: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Sensitivities:
    """The answer: slopes by the size of their spread, largest first."""

    title: str
    layout: str
    note: str
    sha256: str
    version: str
    cautions: tuple[str, ...]
    defaults_used: tuple[str, ...]
    notices: tuple[str, ...]
    verdict: str
    model: str
    case: str  # whose spread and tilt are looked at
    pressure: float
    spread: float
    tilt: float | None
    mass: float
    worst_margin: float | None
    governs: str
    slopes: tuple[Slope, ...]
    confirmed: tuple[Confirmed, ...]
    remeshing: float | None  # relative scatter of the front view's spread by remeshing
    seed: int
    formula: Formula | None
    no_formula: str  # why there is none
    inputs: Mapping[str, object]

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists, format 1; null where a figure does not exist."""
        return {
            **heading(self),
            "layout": self.layout,
            "model": self.model,
            "load_case": {"name": self.case, "pressure_MPa": self.pressure},
            "here": {
                "spread_mm": self.spread,
                "tilt_mrad": self.tilt,
                "mass_kg": self.mass,
                "worst_margin": plain(self.worst_margin),
                "governs": self.governs,
            },
            "slopes": [_slope(s) for s in self.slopes],
            "front_view": {
                "remeshing_relative": self.remeshing,
                "seed": self.seed,
                "confirmed": [asdict(c) for c in self.confirmed],
            },
            "formula": None if self.formula is None else _formula(self.formula),
            "no_formula": self.no_formula,
        }


def _formula(f: Formula) -> dict[str, Any]:
    """The closed form without its markup."""
    return {k: v for k, v in asdict(f).items() if k not in ("lines", "derivatives")}


def _slope(s: Slope) -> dict[str, Any]:
    return {**{k: plain(v) for k, v in asdict(s).items()}, "kinked": s.kinked}
