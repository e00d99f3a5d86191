"""What a comparison at equal mass returns: frozen data only; `to_dict` gives plain numbers, strings and lists.

Units as in `caliper.results`: mm, N, MPa, kg. Spread: of the service case of highest pressure, at minimum preload.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from stiffcalc.caliper.heading import heading
from stiffcalc.caliper.joint_results import plain
from stiffcalc.caliper.results import UNITS
from stiffcalc.explore.bolt_results import Figures, figures_dict


@dataclass(frozen=True)
class Limit:
    """One thing that keeps a design from being better."""

    kind: str  # mass, envelope, room, onset, stress, thread, spread, ...
    what: str
    margin: float | None  # None where it is no check


@dataclass(frozen=True)
class Scatter:
    """Standard uncertainties of a design's spread, mm."""

    model: float  # the model against solids
    preload: float  # preload of each bolt and friction
    modulus: float
    shares: Mapping[str, float]  # material -> change of the spread per standard deviation of its modulus, mm

    @property
    def total(self) -> float:
        """All together, as if independent."""
        return float((self.model**2 + self.preload**2 + self.modulus**2) ** 0.5)


@dataclass(frozen=True)
class Point:
    """The design of least spread that one layout gives within one mass."""

    budget: float  # the mass allowed
    mass: float  # with what the study adds
    keys: tuple[str, ...]  # what it has of each free dimension, in words
    changes: Mapping[str, object]  # paths that it sets in the base
    figures: Figures  # the front view's where it ran, else the frame's
    spread: float
    spread_frame: float | None
    spread_searched: float  # the frame's with joint faces that move as planes, which the search goes by
    stiffness_kN_per_mm: float | None
    stiffness_per_mass: float | None
    limits: tuple[Limit, ...]
    meets: bool  # every check but the limits of spread and mass, which the curves show
    within: bool  # those too
    scatter: Scatter | None  # None where it does not meet its checks
    note: str


@dataclass(frozen=True)
class Free:
    """One free dimension and its range; `low` and `high` in words of what stands there."""

    name: str
    paths: tuple[str, ...]
    low: str
    high: str
    choices: bool  # a list to choose from, not a range


@dataclass(frozen=True)
class Curve:
    """One layout over all masses."""

    name: str
    pieces: str  # in words
    two_piece: bool
    extra: float  # kg added by the study
    free: tuple[Free, ...]
    evaluated: int
    refused: int
    asked: int  # designs that the front view was asked about
    lightest: (
        float | None
    )  # kg; of all designs evaluated that meet their checks by the frame; None: there is none
    points: tuple[Point | None, ...]  # None: no design asked about holds


@dataclass(frozen=True)
class Gap:
    """Two layouts at one mass."""

    first: str
    second: str
    budget: float
    difference: float  # spread of the second less that of the first, mm
    uncertainty: float  # standard, of the difference, mm
    apart: bool  # the difference is more than twice that


@dataclass(frozen=True)
class Crossing:
    """Where the better of two layouts changes."""

    first: str  # better below
    second: str  # better above
    crossing_mass: float  # by a straight line between the masses beside it
    between: tuple[float, float]  # those masses
    told: bool  # the two are told apart on both sides


@dataclass(frozen=True)
class CompareResult:
    """The answer."""

    title: str
    note: str
    sha256: str
    version: str
    cautions: tuple[str, ...]
    defaults_used: tuple[str, ...]
    notices: tuple[str, ...]
    assumptions: tuple[str, ...]
    verdict: str
    limited: tuple[str, ...]  # what limits each layout, a sentence each
    model: str
    case: str
    case_pressure: float
    spread_limit: float | None
    mass_limit: float | None
    seed: int
    effort: str
    masses: tuple[float, ...]
    curves: tuple[Curve, ...]
    gaps: tuple[Gap, ...]
    crossings: tuple[Crossing, ...]
    inputs: Mapping[str, object]

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists, format 1; null where a figure does not exist."""
        return {
            **heading(self),
            "units": dict(UNITS),
            "assumptions": list(self.assumptions),
            "limited": list(self.limited),
            "model": self.model,
            "load_case": {"name": self.case, "pressure_MPa": self.case_pressure},
            "limits": {"spread_mm": self.spread_limit, "mass_kg": self.mass_limit},
            "search": {"seed": self.seed, "effort": self.effort},
            "masses_kg": list(self.masses),
            "layouts": [_curve(c) for c in self.curves],
            "differences": [
                {
                    "first": g.first,
                    "second": g.second,
                    "mass_kg": g.budget,
                    "difference_mm": g.difference,
                    "uncertainty_mm": g.uncertainty,
                    "told_apart": g.apart,
                }
                for g in self.gaps
            ],
            "crossings": [
                {
                    "better_below": c.first,
                    "better_above": c.second,
                    "mass_kg": c.crossing_mass,
                    "between_kg": list(c.between),
                    "told_apart": c.told,
                }
                for c in self.crossings
            ],
        }


def _curve(c: Curve) -> dict[str, object]:
    return {
        "name": c.name,
        "layout": c.pieces,
        "added_kg": c.extra,
        "lightest_kg": c.lightest,
        "free": [asdict(f) | {"paths": list(f.paths)} for f in c.free],
        "designs": {"evaluated": c.evaluated, "refused": c.refused, "front_view": c.asked},
        "points": [None if p is None else _point(c, p) for p in c.points],
    }


def _point(c: Curve, p: Point) -> dict[str, object]:
    return {
        "mass_allowed_kg": p.budget,
        "mass_kg": p.mass,
        "spread_mm": p.spread,
        "models": {"frame": p.spread_frame, "searched": p.spread_searched},
        "stiffness_kN_per_mm": plain(p.stiffness_kN_per_mm),
        "stiffness_per_mass": plain(p.stiffness_per_mass),
        "figures": figures_dict(p.figures),
        "limits": [asdict(limit) | {"margin": plain(limit.margin)} for limit in p.limits],
        "meets_checks": p.meets,
        "within_limits": p.within,
        "uncertainty_mm": None
        if p.scatter is None
        else {
            "model": p.scatter.model,
            "preload_and_friction": p.scatter.preload,
            "modulus": p.scatter.modulus,
            "total": p.scatter.total,
        },
        "free": dict(zip((f.name for f in c.free), p.keys, strict=True)),
        "set": dict(p.changes),
        "note": p.note,
    }
