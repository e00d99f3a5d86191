"""The answer of a search for pockets, put together from what was solved."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper import verdict
from stiffcalc.caliper.assess import CAUTIONS, catalogue_notes
from stiffcalc.caliper.idealise import footprint_outline
from stiffcalc.caliper.results import VariantResult, worst_first
from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.pocket_boxes import Box
from stiffcalc.explore.pocket_field import Field
from stiffcalc.explore.pocket_propose import Proposal
from stiffcalc.explore.pocket_raster import Raster
from stiffcalc.explore.pocket_results import (
    AS_DRAWN,
    CUT,
    EVEN,
    FIELD,
    PROPOSED,
    Checked,
    HalfField,
    Pockets,
    Stage,
)
from stiffcalc.explore.pocket_task import KG_PER_MM3, Task
from stiffcalc.explore.pocket_words import in_words
from stiffcalc.study.schema import Design, Study
from stiffcalc.version import __version__

WORDS = {
    AS_DRAWN: "the layout of the study",
    EVEN: "its mass without pockets",
    FIELD: "depth free over every triangle, smoothed over a cutter's radius",
    CUT: "what a flat cutter reaches of it",
    PROPOSED: "rectangular pockets",
}


@dataclass(frozen=True)
class Drawn:
    """A side's field on pixels (ny, nx): as found, and as a cutter leaves it."""

    pixels: Raster
    field: Array
    cut: Array


@dataclass(frozen=True)
class Outcome:
    """What a search ended at."""

    field: Field
    pictures: Mapping[str, Drawn]  # by side
    cut: Array  # (e,) depths as a cutter leaves them
    cut_spread: Array  # (cases,)
    expected: Array  # (cases,) spreads of the proposal with what is idle beside its steps
    proposal: Proposal
    answers: Mapping[str, VariantResult]  # by name of the body
    changes: Mapping[str, Mapping[str, object]]  # paths and values of the proposal and of the even wall


def gathered(study: Study, design: Design, task: Task, found: Outcome) -> Pockets:
    """All of it, in words and figures."""
    proposed, drawn, field = found.answers[PROPOSED], found.answers[AS_DRAWN], found.field
    sets = found.proposal.sets
    halves = tuple(_half(task, side, picture, sets[side]) for side, picture in found.pictures.items())
    checks = sorted(_checked(proposed, drawn), key=lambda c: worst_first(c.margin))
    answer = Pockets(
        title=study.title,
        layout=design.name,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        cautions=CAUTIONS,
        defaults_used=(*study.defaults_used, *task.plan.defaults_used),
        notices=(*_notices(task, field, found.proposal), *catalogue_notes(study)),
        verdict="",
        aim=task.plan.aim,
        case=verdict.most_pressed(design.load_cases).name,
        cutter=task.plan.cutter,
        rib=task.plan.room.rib,
        even_thickness={s: getattr(task.start.even.caliper, s).thickness for s in task.start.milled},
        stages=_stages(task, found),
        halves=halves,
        expected_less=1.0 - float(np.mean(found.expected / task.even)),
        steps=field.steps,
        settled=field.settled,
        unmet=tuple(c for c in checks if not c.margin >= 0.0),
        worst=checks[0] if checks else None,
        validity=tuple(dict.fromkeys(v for c in proposed.load_cases for v in c.validity)),
        changes=found.changes[PROPOSED],
        even_changes=found.changes[EVEN],
        inputs=study.source,
    )
    return in_words(answer)


def _stages(task: Task, found: Outcome) -> tuple[Stage, ...]:
    """From the layout as it is to the proposal."""
    names, answers = [c.name for c in task.blank.cases], found.answers
    free = task.solved(found.field.depth).spread
    return (
        *(answered(answers[name], name, answers[EVEN], names) for name in (AS_DRAWN, EVEN)),
        _on_the_way(task, FIELD, found.field.depth, free, names),
        _on_the_way(task, CUT, found.cut, found.cut_spread, names),
        answered(answers[PROPOSED], PROPOSED, answers[EVEN], names),
    )


def answered(found: VariantResult, name: str, even: VariantResult, cases: Sequence[str]) -> Stage:
    """A body that both models answered. Raises `ConvergenceError` where its joint does not hold."""
    spread, beside = _spreads(found, cases), _spreads(even, cases)
    tilts = verdict.governing(found).tilt_by_bore
    return Stage(
        name=name,
        words=WORDS[name],
        mass=found.mass.total,
        spread=spread,
        less=1.0 - float(np.mean([spread[c] / beside[c] for c in cases])),
        tilt=max(tilts, key=abs) if tilts else None,
        frame={c.name: c.models["frame"].spread for c in found.load_cases if c.name in cases},
    )


def _spreads(found: VariantResult, cases: Sequence[str]) -> dict[str, float]:
    spread = {c.name: c.spread for c in found.load_cases}
    for name in cases:
        if spread[name] is None:
            raise ConvergenceError(
                f"'{found.name}' does not hold in '{name}'", residual=math.nan, iterations=0
            )
    return {name: float(spread[name] or 0.0) for name in cases}


def _on_the_way(task: Task, name: str, depth: Array, spread: Array, cases: Sequence[str]) -> Stage:
    """A field on the search's own mesh, beside the even wall on a mesh as fine."""
    per_mm3 = KG_PER_MM3 * task.start.blank.caliper.material.density_kg_m3 * task.start.copies
    full = task.blank_mass
    return Stage(
        name=name,
        words=WORDS[name],
        mass=full - per_mm3 * float(depth @ task.place.area),
        spread=dict(zip(cases, spread.tolist(), strict=True)),
        less=1.0 - float(np.mean(spread / task.even)),
        tilt=None,
        frame={},
    )


def _half(task: Task, side: str, drawn: Drawn, boxes: tuple[Box, ...]) -> HalfField:
    room, body = task.rooms[side], task.blank.body
    return HalfField(
        side="both" if task.start.copies == 2 else side,
        thickness=room.half.thickness,
        floor=room.half.floor,
        least=room.least,
        least_floor=room.floor,
        outline=room.half.outline,
        bores=tuple((b.x, b.y, b.diameter) for b in room.half.bores),
        heads=tuple((b.x, b.y, b.bearing) for b in body.bolts),
        feet=tuple(footprint_outline(b) for b in body.bridges),
        x=drawn.pixels.x,
        y=drawn.pixels.y,
        field=drawn.field,
        cut=drawn.cut,
        allowed=drawn.pixels.allowed,
        boxes=boxes,
    )


def _checked(found: VariantResult, drawn: VariantResult) -> Iterator[Checked]:
    """Every check of the proposal beside the layout's own."""
    before = {(c.name, k.id): k.margin for c in drawn.load_cases for k in c.checks}
    for case in found.load_cases:
        for check in case.checks:
            yield Checked(case.name, check.what, check.margin, before.get((case.name, check.id)))


def _notices(task: Task, field: Field, proposal: Proposal) -> Iterator[str]:
    """What must be known of the search and the proposal."""
    if not field.settled:
        yield f"The depth field still moved after {len(field.steps)} steps; a little more may be had."
    if proposal.short:
        yield (
            "Rectangles of the depth allowed do not take away what is asked for: allow more of them (count), a thinner "
            "wall (least_thickness_mm), or a thinner blank (blank_mm)."
        )
    left = corner_mass(task, proposal)
    if left > 0.0:
        yield (
            f"Corners of {task.plan.cutter / 2:g} mm radius, left by a cutter of {task.plan.cutter:g} mm, keep "
            f"{1e3 * left:.0f} g more than the sharp ones counted here."
        )


def corner_mass(task: Task, proposal: Proposal) -> float:
    """Metal in the rounded corners, kg: (1 - pi/4) r^2 each, where the cutter does not run out over an edge."""
    per_mm3 = KG_PER_MM3 * task.start.blank.caliper.material.density_kg_m3 * task.start.copies
    corner = (1.0 - math.pi / 4.0) * (task.plan.cutter / 2.0) ** 2
    total = 0.0
    for side, own in proposal.sets.items():
        low, high = task.rooms[side].half.outline.min(axis=0), task.rooms[side].half.outline.max(axis=0)
        for b in own:
            ends = [
                sum(abs(v - e) > 1e-6 for v, e in zip(span, (low[i], high[i]), strict=True))
                for i, span in enumerate((b.x, b.y))
            ]
            total += ends[0] * ends[1] * corner * b.depth
    return per_mm3 * total
