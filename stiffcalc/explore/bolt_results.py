"""What a matrix of bolts returns: frozen data only; `to_dict` gives plain numbers, strings and lists.

Units as in `caliper.results`: mm, N, MPa, kg, mm3; torque in N m.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from stiffcalc.caliper.heading import heading
from stiffcalc.caliper.joint_results import plain
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.results import UNITS
from stiffcalc.explore.bolt_rules import RULES, Refusal
from stiffcalc.study.schema import Bolt


@dataclass(frozen=True)
class Figures:
    """One model's answer over all load cases; opening and onset at minimum preload."""

    spread: float | None  # in the service case of highest pressure; None where the joint does not hold
    onset_MPa: float  # least of all joint faces and load cases; inf: never within the linear range
    worst_margin: float
    governs: str  # check with the worst margin, and its load case
    fatigue_margin: float | None  # of the bolts; None where no load case is repeated
    unmet: int
    checks: int
    validity: tuple[str, ...]  # where this combination is outside what its model was compared for


@dataclass(frozen=True)
class Row:
    """One combination: what it is, and its figures or the reason why it has none."""

    rank: int | None  # 1 is best; None where it was refused
    rank_frame: int | None  # before the front view was asked
    count: int  # bolts in the varied bridges
    pattern: tuple[int, ...]  # in each of them, in order of x
    drawn: bool  # placed as drawn, else where the joint opens last through life
    thread: str
    grade: str
    row_shift: float  # of each bridge's mean bolt from the bolts as drawn, outward positive
    arrangement: tuple[str, ...]
    bolts: tuple[Bolt, ...]  # of the whole layout; empty where refused
    preload_nominal: float  # of the first varied bolt
    torque_Nm: float
    mass: Masses | None
    frame: Figures | None
    front_view: Figures | None
    own: bool  # the study's own bolts
    refused: Refusal | None
    notes: tuple[str, ...]

    @property
    def figures(self) -> Figures | None:
        """The front view's where it ran, else the frame's."""
        return self.front_view or self.frame


@dataclass(frozen=True)
class BoltMatrix:
    """The answer: rows in order of rank, refused ones last."""

    title: str
    layout: str  # whose body it is
    note: str
    sha256: str
    version: str
    cautions: tuple[str, ...]
    defaults_used: tuple[str, ...]
    notices: tuple[str, ...]
    aim: str
    verdict: str
    tightening: str  # how every bolt is made and tightened, in words
    bridges: tuple[str, ...]  # whose bolts are varied
    hold_MPa: float  # highest pressure at which the joint must stay closed; NaN where none asks it
    inputs: Mapping[str, object]  # the study as read
    own: Row  # the study's own bolts; a row of the matrix where they are one size and shared out alike
    rows: tuple[Row, ...]

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists, format 1; null where a figure does not exist."""
        return {
            **heading(self),
            "layout": self.layout,
            "units": dict(UNITS),
            "aim": self.aim,
            "tightening": self.tightening,
            "bridges": list(self.bridges),
            "hold_MPa": plain(self.hold_MPa),
            "rules": {k: {"letter": r.letter, "asks": r.asks, "source": r.source} for k, r in RULES.items()},
            "own": row_dict(self.own),
            "rows": [row_dict(row) for row in self.rows],
        }


def row_dict(row: Row) -> dict[str, object]:
    """One row of the contract."""
    return {
        "rank": row.rank,
        "rank_frame": row.rank_frame,
        "own": row.own,
        "count": row.count,
        "pattern": list(row.pattern),
        "placed": "as drawn" if row.drawn else "by rule",
        "thread": row.thread,
        "grade": row.grade,
        "row_shift_mm": row.row_shift,
        "arrangement": list(row.arrangement),
        "places_mm": [[b.x, b.y] for b in row.bolts],
        "preload_nominal_N": plain(row.preload_nominal),
        "torque_Nm": plain(row.torque_Nm),
        "mass_kg": None if row.mass is None else {"total": row.mass.total, "bolts": row.mass.bolts},
        "frame": figures_dict(row.frame),
        "front_view": figures_dict(row.front_view),
        "refused": None if row.refused is None else {**asdict(row.refused), "letter": row.refused.letter},
        "notes": list(row.notes),
    }


def figures_dict(found: Figures | None) -> dict[str, object] | None:
    """One model's figures of the contract."""
    if found is None:
        return None
    return {
        "spread_mm": found.spread,
        "onset_MPa": plain(found.onset_MPa),
        "worst_margin": plain(found.worst_margin),
        "governs": found.governs,
        "fatigue_margin": plain(found.fatigue_margin),
        "unmet": found.unmet,
        "checks": found.checks,
        "validity": list(found.validity),
    }
