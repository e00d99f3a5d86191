"""What a sizing returns: frozen data; `to_dict` gives its contract, format 1. Lengths mm, masses kg."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from stiffcalc.caliper.heading import heading
from stiffcalc.caliper.joint_results import plain
from stiffcalc.caliper.section_results import SectionResult
from stiffcalc.caliper.section_uses import Limit

LOW_END, HIGH_END, FREE = "low end", "high end", ""


@dataclass(frozen=True)
class Sized:
    """One dimension."""

    paths: tuple[str, ...]
    low: float
    high: float
    drawn: float  # as the study has it
    start: float
    end: float
    bound: str  # the end of its range that holds it; "" where none does


@dataclass(frozen=True)
class Held:
    """One limit: actual over allowed at the start and at the end, on adaptive meshes; of a check see `size_checks`."""

    limit: Limit
    start_use: float
    end_use: float
    active: bool


@dataclass(frozen=True)
class Step:
    """One design asked about on the way."""

    round: int
    iterate: bool  # a step of the search, not a trial within one
    checked: bool  # full response and adaptive meshes: the point of a round
    x: tuple[float, ...]
    mass: float | None  # None: the study's rules or the joint refuse it
    worst_use: float | None
    worst: Limit | None
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Unmet:
    """A check of an assessment that the sized layout does not meet, by the response that forces come from."""

    case: str
    what: str
    margin: float
    start_margin: float | None  # of the same check at the start; None where it was not asked there


@dataclass(frozen=True)
class SizeResult:
    """The answer. Masses: body, bolts and pistons as an assessment weighs them, and the fillets."""

    title: str
    note: str
    sha256: str
    version: str
    layout: str
    cautions: tuple[str, ...]
    defaults_used: tuple[str, ...]
    notices: tuple[str, ...]
    how: tuple[str, ...]  # it was done
    inputs: Mapping[str, object]
    model: str
    verdict: str
    settled: bool
    met: bool  # every limit
    start_mass: float
    end_mass: float
    rounds: int
    dimensions: tuple[Sized, ...]
    limits: tuple[Held, ...]  # most used first
    history: tuple[Step, ...]
    unmet: tuple[Unmet, ...]
    checks: int  # of an assessment
    changes: Mapping[str, object]  # paths of the variant
    before: tuple[SectionResult, ...]
    after: tuple[SectionResult, ...]

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists."""
        return {
            **heading(self),
            "units": {
                "length": "mm",
                "mass": "kg",
                "use": "actual over allowed; 1 - margin of a check that is not met",
            },
            "how": list(self.how),
            "layout": self.layout,
            "forces_from": self.model,
            "settled": self.settled,
            "met": self.met,
            "mass_kg": {"start": self.start_mass, "end": self.end_mass},
            "rounds": self.rounds,
            "dimensions": [_plain(d) for d in self.dimensions],
            "limits": [_plain(h) for h in self.limits],
            "history": [_plain(s) for s in self.history],
            "checks": self.checks,
            "unmet_checks": [_plain(u) for u in self.unmet],
            "set": dict(self.changes),
            "sections": {
                "start": [s.to_dict() for s in self.before],
                "end": [s.to_dict() for s in self.after],
            },
        }


def _plain(one: Sized | Held | Step | Unmet) -> dict[str, object]:
    """Fields as numbers, strings and lists; a limit's own fields beside the others, or under its field's name."""
    found: dict[str, object] = {}
    for f in fields(one):
        value = getattr(one, f.name)
        if isinstance(value, Limit):
            own: dict[str, object] = {g.name: getattr(value, g.name) for g in fields(value)}
            found |= own if f.name == "limit" else {f.name: own}
        else:
            found[f.name] = [plain(v) for v in value] if isinstance(value, tuple) else plain(value)
    return found
