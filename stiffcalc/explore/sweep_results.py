"""What a sweep returns: frozen data and one array a column; `to_dict` gives plain numbers, strings and lists.

Units as in `caliper.results`: mm, N, MPa, kg.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper.heading import heading
from stiffcalc.caliper.joint_results import plain
from stiffcalc.caliper.results import UNITS
from stiffcalc.explore import sampling
from stiffcalc.explore.bolt_results import Figures, figures_dict
from stiffcalc.explore.sweep_chunk import EVALUATED, Columns, decoded
from stiffcalc.study.schema import SweepPlan

MOST_LISTED = 500  # designs of the front in the contract; the files of all designs mark every one


@dataclass(frozen=True)
class Tally:
    """What became of the designs."""

    designs: int
    evaluated: int
    feasible: int  # meet every check
    refused: int  # by the rules of the study file
    no_equilibrium: int


@dataclass(frozen=True)
class Best:
    """One of the designs taken out: what it is and both models' figures."""

    rank: int  # 1 is best
    rank_frame: int  # before the front view was asked
    design: int  # its number in the sweep
    keys: tuple[str, ...]  # what it has of each key, in words
    changes: Mapping[str, object]  # paths that it sets in the base
    mass_kg: float
    frame: Figures
    front_view: Figures | None
    note: str

    @property
    def figures(self) -> Figures:
        """The front view's where it ran, else the frame's."""
        return self.front_view or self.frame


@dataclass(frozen=True)
class Own:
    """The layout as drawn, by the frame."""

    mass_kg: float
    frame: Figures


@dataclass(frozen=True)
class SweepResult:
    """The answer. `columns` has a row for each design in order of its number."""

    title: str
    note: str
    sha256: str
    version: str
    cautions: tuple[str, ...]
    defaults_used: tuple[str, ...]
    notices: tuple[str, ...]
    plan: SweepPlan
    verdict: str
    tally: Tally
    reasons: tuple[tuple[str, int], ...]  # why designs were refused: what of the file, how many; most first
    governs: tuple[
        tuple[str, int, int], ...
    ]  # check with the worst margin, designs, feasible designs; most first
    own: Own | None  # None where the layout as drawn finds no equilibrium
    best: tuple[Best, ...]
    inputs: Mapping[str, object]
    columns: Columns  # those of a chunk and `rank` (0: none), `feasible`, `pareto`

    @property
    def front(self) -> NDArray[np.intp]:
        """Rows of the front, lightest first."""
        rows = np.flatnonzero(self.columns["pareto"])
        return rows[np.argsort(self.columns["mass_kg"][rows], kind="stable")]

    @property
    def solved(self) -> NDArray[np.intp]:
        """Rows of the designs that were evaluated."""
        return np.flatnonzero(self.columns["status"] == EVALUATED)

    def words(self, row: int) -> tuple[str, ...]:
        """What a design has of each key."""
        taken = (float(self.columns[f"key_{k + 1}"][row]) for k in range(len(self.plan.keys)))
        return tuple(sampling.label(key, t) for key, t in zip(self.plan.keys, taken, strict=True))

    def said(self, column: str, row: int) -> str:
        """A text of a design."""
        return decoded(self.columns[f"{column}_texts"][self.columns[column][row]])

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists, format 1; null where a figure does not exist."""
        return {
            **heading(self),
            "units": dict(UNITS),
            "sampling": {k: getattr(self.plan, k) for k in ("layout", "sampling", "samples", "seed", "aim")},
            "keys": [key.name for key in self.plan.keys],
            "tally": asdict(self.tally),
            "refused": [{"what": what, "designs": n} for what, n in self.reasons],
            "governs": [{"check": c, "designs": n, "feasible": m} for c, n, m in self.governs],
            "as_drawn": None if self.own is None else _figures(self.own.mass_kg, self.own.frame),
            "best": [self._best(b) for b in self.best],
            "front": {
                "designs": len(self.front),
                "listed": [self._point(int(row)) for row in self.front[:MOST_LISTED]],
            },
        }

    def _best(self, b: Best) -> dict[str, object]:
        return {
            "rank": b.rank,
            "rank_frame": b.rank_frame,
            "design": b.design,
            "keys": dict(zip((k.name for k in self.plan.keys), b.keys, strict=True)),
            "set": dict(b.changes),
            **_figures(b.mass_kg, b.frame),
            "front_view": figures_dict(b.front_view),
            "note": b.note,
        }

    def _point(self, row: int) -> dict[str, object]:
        names = ("design", "mass_kg", "spread_mm", "onset_MPa", "worst_margin")
        return {n: plain(self.columns[n][row]) for n in names} | {"governs": self.said("governs", row)}


def _figures(mass_kg: float, frame: Figures) -> dict[str, object]:
    return {"mass_kg": mass_kg, "frame": figures_dict(frame)}
