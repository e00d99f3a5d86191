"""Each bolt's life as results: its stages, the preload its face needs, its torque."""

from __future__ import annotations

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.joint_results import BoltLife, LifeStage
from stiffcalc.caliper.life import SETTLED, TIGHTENED, Life, Stage
from stiffcalc.caliper.preloads import torque_shares
from stiffcalc.caliper.requirement import LOW
from stiffcalc.caliper.stages import Stages
from stiffcalc.mechanics import fasteners


def bolt_lives(life: Life, stages: Stages) -> tuple[BoltLife, ...]:
    """The life of every bolt of a layout."""
    return tuple(_bolt_life(life, stages, j) for j in range(len(life.design.caliper.bolts)))


def _bolt_life(life: Life, stages: Stages, j: int) -> BoltLife:
    bolt = life.design.caliper.bolts[j]
    size, grade = catalogue.thread(bolt.thread), catalogue.grade(bolt.grade)
    tight = life.stages[0]
    assert tight.name == TIGHTENED
    return BoltLife(
        index=j + 1,
        bridge=life.body.bridges[life.body.bolts[j].bridge].name,
        needed=needed_preload(life, stages, j),
        proof_load=float(fasteners.proof_load(grade.proof_MPa, thread=size)),
        torque=torque_shares(bolt, float(tight.preload.nominal[0, j])),
        stages=tuple(_stage(s, j) for s in life.stages),
    )


def _stage(stage: Stage, j: int) -> LifeStage:
    p = stage.preload
    return LifeStage(
        name=stage.name,
        body_C=stage.warmth.body_C,
        bolt_C=stage.warmth.bolt_C,
        min=float(p.min[0, j]),
        nominal=float(p.nominal[0, j]),
        max=float(p.max[0, j]),
        losses={name: float(lost[0, j]) for name, lost in stage.losses.items()},
    )


def needed_preload(life: Life, stages: Stages, j: int) -> float | None:
    """Preload of one bolt at which its face just stays closed at the highest service pressure, N.

    Onset is proportional to preload, all bolts in the proportion they have when settled (20 °C, minimum).
    """
    service = [c.pressure for c in life.design.load_cases if c.kind == "service"]
    answer = stages.room.answers[stages.headline]
    settled = life.stage(SETTLED)
    if not service or answer.onset is None or settled is None:
        return None
    first = float(answer.onset.pressure[0, LOW, life.body.bolts[j].bridge])
    if not (np.isfinite(first) and first > 0.0):
        return None
    return float(settled.preload.min[0, j]) * max(service) / first
