"""What drawn bodies return: frozen data only; `to_dict` gives plain numbers, strings and lists."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from stiffcalc.caliper.heading import heading
from stiffcalc.caliper.joint_results import plain
from stiffcalc.condensed import Array


@dataclass(frozen=True)
class Band:
    """One figure: `here` of the layout itself, below `low`, `median`, `high` lie 5, 50, 95 % of the bodies."""

    here: float
    low: float
    median: float
    high: float
    mean: float
    deviation: float  # standard


@dataclass(frozen=True)
class Chance:
    """How likely one check is met."""

    case: str
    id: str
    what: str
    margin: float  # at the layout itself
    met: int
    bodies: int
    probability: float
    low: float  # 95 % interval of Wilson, of the number of bodies alone
    high: float


@dataclass(frozen=True)
class Cause:
    """What one input's scatter is of the spread's variance."""

    cause: str
    variance_share: float


@dataclass(frozen=True)
class UncertaintyResult:
    """The answer."""

    title: str
    layout: str
    note: str
    sha256: str
    version: str
    cautions: tuple[str, ...]
    defaults_used: tuple[str, ...]
    notices: tuple[str, ...]
    verdict: str
    assumptions: tuple[str, ...]
    model: str
    samples: int
    seed: int
    loose: (
        int  # bodies that do not hold, or whose joint finds no equilibrium: no check of theirs counts as met
    )
    case: str
    case_pressure: float
    limit: float | None  # of the spread
    pressure: Array  # (P,) at 20 °C
    curve: Array  # (P,) of the layout itself
    curve_band: Array  # (3, P) below which 5, 50, 95 % of the bodies lie
    spread: Band
    mass: Band
    every: Chance  # all checks at once
    chances: tuple[Chance, ...]  # least likely first
    causes: tuple[Cause, ...]  # largest first; what is left is not linear
    unexplained: float
    inputs: Mapping[str, object]

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists, format 1; null where a figure does not exist."""
        return {
            **heading(self),
            "layout": self.layout,
            "assumptions": list(self.assumptions),
            "model": self.model,
            "samples": self.samples,
            "seed": self.seed,
            "loose": self.loose,
            "load_case": {"name": self.case, "pressure_MPa": self.case_pressure},
            "curve": {
                "pressure_MPa": plain(self.pressure),
                "spread_mm": plain(self.curve),
                "percent": [5, 50, 95],
                "spread_band_mm": plain(self.curve_band),
            },
            "spread_mm": _plain(self.spread),
            "mass_kg": _plain(self.mass),
            "every_check": _plain(self.every),
            "checks": [_plain(c) for c in self.chances],
            "causes_of_spread": [_plain(c) for c in self.causes],
            "unexplained": plain(self.unexplained),
        }


def _plain(found: Band | Chance | Cause) -> dict[str, object]:
    return {k: plain(v) for k, v in asdict(found).items()}
