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


def kg(mass: float) -> str:
    """A mass that layouts are compared at: to 10 g, and to the gram where it is a layout's lightest."""
    return next((said for n in (2, 3) if float(said := f"{mass:.{n}f}") == mass), f"{mass:.6g}")


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
    # kg; of the designs asked about that meet every check. None: there is none, or masses were stated and the lightest
    # of them is met, so that it was not looked for.
    lightest: float | None
    lightest_frame: float | None  # kg; of all designs evaluated, by the frame
    points: tuple[
        Point | None, ...
    ]  # by mass. None: nothing holds, or another layout's lightest that this one has not

    @property
    def start(self) -> int | None:
        """The first mass at which it meets its checks, by its place."""
        return next((i for i, p in enumerate(self.points) if p is not None and p.meets), None)

    @property
    def begin(self) -> Point | None:
        """The point at its lightest, where that was looked for and is among the masses."""
        return None if self.lightest is None or self.start is None else self.points[self.start]


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
    targets: tuple[float, ...]  # masses that were asked for, or evenly chosen
    masses: tuple[float, ...]  # all compared: those, and each layout's lightest
    curves: tuple[Curve, ...]
    gaps: tuple[Gap, ...]
    crossings: tuple[Crossing, ...]
    inputs: Mapping[str, object]

    def shown(self, curve: Curve) -> list[int]:
        """Places of the masses that a layout's tables show: those asked for, and where it begins."""
        return [i for i, m in enumerate(self.masses) if m in self.targets or i == curve.start]

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
            "target_masses_kg": list(self.targets),
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
        "lightest_by_frame_kg": c.lightest_frame,
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
