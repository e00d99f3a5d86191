"""A small sweep round the demo's body. Invented numbers."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from stiffcalc.explore import sweep_chunk
from stiffcalc.explore.sweep_chunk import Job
from stiffcalc.study import load
from stiffcalc.study.schema import Study, SweepPlan

STUDY: Study = load(Path(__file__).parents[2] / "studies" / "sweep_two_piece.toml")
assert STUDY.sweep is not None
PLAN: SweepPlan = STUDY.sweep


def plan(**changes: Any) -> SweepPlan:
    """The demo's plan with changes."""
    return replace(PLAN, **changes)


def job(**changes: Any) -> Job:
    """The demo's sweep with changes of its plan."""
    return sweep_chunk.job(STUDY, plan(**changes))
