"""Contact pressure over joint faces, for drawing: at the highest load case, and step by step from tightened."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper.cases import Layout
from stiffcalc.caliper.idealise import bridges, face_voids
from stiffcalc.caliper.joint_results import FaceMap, FaceStep
from stiffcalc.caliper.requirement import LOW
from stiffcalc.caliper.response import Answer
from stiffcalc.mechanics import clamp_plane
from stiffcalc.mechanics.joint_state import picked

STEP_MM, FINE_MM = 1.0, 0.5  # of the grids of small and large maps


def drawn(layout: Layout) -> tuple[Answer, int, float, float] | None:
    """The load case of highest pressure that holds: its answer, index, pressure and body temperature."""
    for case in sorted(layout.design.load_cases, key=lambda c: -c.pressure):
        solved = layout.stages.of(case)
        answer, at = solved.answers[layout.headline], solved.at(case.pressure)
        if answer.held[0, LOW, at]:
            return answer, at, case.pressure, case.body_temperature_C
    return None


def face_maps(layout: Layout) -> tuple[FaceMap, ...]:
    """Every joint face at the highest load case, minimum preload; none where that is unheld."""
    shown, highest = drawn(layout), max(c.pressure for c in layout.design.load_cases)
    if shown is None or shown[2] < highest:
        return ()
    answer, at, *_ = shown
    return tuple(_maps(layout, answer, at, step=FINE_MM))


def face_steps(layout: Layout) -> tuple[FaceStep, ...]:
    """Tightened (settled, 20 °C), then every load case that holds at its own temperature; minimum preload."""
    room = layout.stages.room
    first = room.answers[layout.headline]
    if not first.pair.jointed or not first.held[0, LOW, 0]:
        return ()
    steps = [FaceStep("tightened", 0.0, tuple(_maps(layout, first, 0, step=STEP_MM)))]
    for case in layout.design.load_cases:
        solved = layout.stages.of(case)
        answer, at = solved.answers[layout.headline], solved.at(case.pressure)
        if answer.held[0, LOW, at]:
            steps.append(FaceStep(case.name, case.pressure, tuple(_maps(layout, answer, at, step=STEP_MM))))
    return tuple(steps)


def _maps(layout: Layout, answer: Answer, at: int, *, step: float) -> Iterator[FaceMap]:
    """Every joint face at one pressure of an answer, minimum preload."""
    batch, state = bridges(layout.body), picked(answer.loaded, (slice(None), LOW, at))
    voids = face_voids(layout.body)
    for face, i in enumerate(answer.pair.jointed):
        own = tuple(v for v in voids if v.face == face)
        found = clamp_plane.pressure_map(answer.pair, batch, state, bridge=i, voids=own, step=step)
        metal = np.where(found.metal, found.pressure, np.nan)
        yield FaceMap(layout.body.bridges[i].name, found.x, found.y, metal)
