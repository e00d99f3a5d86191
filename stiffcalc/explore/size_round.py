"""One round of a sizing: uses of every limit and their slopes near one point, on meshes that move with dimensions.

Forces follow the dimensions: every design asked about, each finite step too, is answered by the batched frame, plus
what the full response at the round's own point differs from it. Uses of one limit over its places are put together by
a smooth maximum; each is multiplied by what the adaptive mesh says at the round's point over what this mesh says there.
To uses of checks is added what the full response's differ by at the round's point.
Slopes are differences over `STEP` of each range on one mesh, whose nodes move and whose elements stay.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from stiffcalc.caliper.cases import Layout
from stiffcalc.caliper.section_model import SectionModel
from stiffcalc.caliper.section_read import Reading
from stiffcalc.caliper.section_solve import solve_on
from stiffcalc.caliper.section_states import CutState, states
from stiffcalc.caliper.section_uses import Limit, uses
from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError, StiffcalcError
from stiffcalc.explore.batches import together
from stiffcalc.explore.size_checks import check_uses, reserve
from stiffcalc.explore.size_job import Cut, Job
from stiffcalc.explore.size_search import Sample, Slopes
from stiffcalc.explore.size_shift import difference, shifted
from stiffcalc.plane.section.grid import Grid, mesh_section
from stiffcalc.plane.section.moving import moved, quality
from stiffcalc.plane.section.outline import Part

STEP = 2e-4  # of a range, mm
SHARPNESS = 60.0  # of the smooth maximum: a place at 0.95 of the largest counts a twentieth
POOR = 0.5  # of the worst triangle's quality when meshed: then the section is meshed anew
UNKNOWN = "a check whose margin is no number: it is never met"
KG = 1e-9  # kg/m3 times mm3
FULL = 1.0 - np.pi / 4  # of a fillet's square: its metal


class NoAnswerError(StiffcalcError, ValueError):
    """A design between the bounds that cannot be answered: why stands in the text."""


@dataclass(frozen=True)
class Meshed:
    """A section as it was when it was meshed."""

    parts: tuple[Part, ...]
    grid: Grid
    quality: float


@dataclass
class Meshes:
    """Meshes made so far, and where: (n,) points. Kept by whoever runs the round, written to in `Round.place`."""

    made: dict[Cut, list[Meshed]] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)  # not yet told


@dataclass(frozen=True)
class Answered:
    """A design answered by the frame, and what it uses of the checks that are held, (k,)."""

    layout: Layout
    checks: Array


@dataclass(frozen=True)
class Round:
    """What stays the same while dimensions move: the job, the full response at one point, what corrects uses."""

    job: Job
    shifts: Mapping[
        Cut, Mapping[str, CutState]
    ]  # full response less the frame at the round's point, by state
    meshes: Meshes
    limits: tuple[Limit, ...] = ()
    factors: Array = field(default_factory=lambda: np.ones(0))  # (m,) on uses of `limits`
    checks: tuple[Limit, ...] = ()
    raised: Array = field(default_factory=lambda: np.zeros(0))  # (k,) added to uses of `checks`

    def sample(self, x: Array) -> Sample | None:
        """Cost, kg, and uses; None where the study's rules or the joint refuse the design."""
        try:
            (found,) = self.answered([x])
            models = self.job.models(found.layout.design)
            return self._read(found, {cut: self.place(cut, m) for cut, m in models.items()})
        except NoAnswerError:
            return None

    def slopes(self, x: Array) -> Slopes:
        """Forward differences, backward at upper ends."""
        step = STEP * (self.job.high - self.job.low)
        step = np.where(x + 2 * step > self.job.high, -step, step)
        points = [x, *(x + step[i] * np.eye(len(x))[i] for i in range(len(x)))]
        here, *near = self.answered(points)
        before = self.job.models(here.layout.design)
        grids = {cut: self.place(cut, model) for cut, model in before.items()}
        base = self._read(here, grids)
        found = [self._beside(base, before, grids, one, x, i, step[i]) for i, one in enumerate(near)]
        costs, changes = zip(*found, strict=True)
        return Slopes(np.array(costs), np.stack(changes, axis=1))

    def _beside(
        self,
        base: Sample,
        before: Mapping[Cut, SectionModel],
        grids: Mapping[Cut, Grid],
        near: Answered,
        x: Array,
        i: int,
        step: float,
    ) -> tuple[float, Array]:
        """Slope of one dimension; where the step changes what the section consists of, from one step further on."""
        models = self.job.models(near.layout.design)
        there = {c: moved(grids[c], before[c].parts, m.parts) for c, m in models.items()}
        if all(g is not None for g in there.values()):
            after = self._read(near, {c: g for c, g in there.items() if g is not None})
            return (after.cost - base.cost) / step, (after.uses - base.uses) / step
        unit = np.eye(len(x))[i]
        one, two = self.answered([x + step * unit, x + 2 * step * unit])
        models = self.job.models(one.layout.design)
        fresh = {cut: mesh_section(m.parts, sizing=m.sizing()) for cut, m in models.items()}
        further = {
            c: moved(fresh[c], models[c].parts, m.parts)
            for c, m in self.job.models(two.layout.design).items()
        }
        if any(g is None for g in further.values()):
            raise NoAnswerError("the section's parts change within a step of its dimensions")
        first, second = (
            self._read(one, fresh),
            self._read(two, {c: g for c, g in further.items() if g is not None}),
        )
        return (second.cost - first.cost) / step, (second.uses - first.uses) / step

    def layouts(self, points: Sequence[Array]) -> list[Layout]:
        """Designs solved by the frame."""
        return [found.layout for found in self.answered(points)]

    def answered(self, points: Sequence[Array]) -> list[Answered]:
        """Designs solved by the frame, in one batch, their checks too."""
        designs = []
        for x in points:
            design, faults = self.job.read(x)
            if faults:
                raise NoAnswerError(str(faults[0]))
            designs.append(design)
        found = together(designs, self._each)
        for one in found:
            if isinstance(one, ConvergenceError):
                raise NoAnswerError(str(one))
        return [one for one in found if not isinstance(one, ConvergenceError)]

    def _each(self, whole: Layout) -> list[Answered]:
        return [Answered(whole.one(d), own) for d, own in enumerate(check_uses(whole, self.checks))]

    def place(self, cut: Cut, model: SectionModel) -> Grid:
        """The section's mesh: one made before, moved; a new one where none fits or triangles get poor."""
        kept = self.meshes.made.setdefault(cut, [])
        why = "meshed"
        for known in reversed(kept):
            grid = moved(known.grid, known.parts, model.parts)
            if grid is not None and quality(grid) >= POOR * known.quality:
                return grid
            why = "other parts" if grid is None else "poor triangles"
        grid = mesh_section(model.parts, sizing=model.sizing())
        if kept:
            self.meshes.notes.append(f"{model.bridge}, {model.side} meshed anew: {why}")
        kept.append(Meshed(model.parts, grid, quality(grid)))
        return grid

    def remade(self, x: Array) -> None:
        """Make again the meshes that were made at x."""
        for cut, model in self.job.models(self.job.read(x)[0]).items():
            self.place(cut, model)
        self.meshes.notes.clear()

    def _read(self, one: Answered, grids: Mapping[Cut, Grid]) -> Sample:
        """Mass and uses of a design on given meshes."""
        found = dict(self.smooth(one.layout, grids))
        if self.limits and tuple(found) != self.limits:
            raise NoAnswerError("a load case in which nothing holds the halves together")
        if not np.isfinite(one.checks).all():
            raise NoAnswerError(UNKNOWN)
        own = np.array(list(found.values()))
        held = own * self.factors if self.limits else own
        return Sample(mass(one.layout), np.append(held, one.checks + self.raised))

    def smooth(self, layout: Layout, grids: Mapping[Cut, Grid]) -> Iterator[tuple[Limit, float]]:
        """Every limit's use, factors left out."""
        models = self.job.models(layout.design)
        for cut, grid in grids.items():
            found = states(layout, models[cut], cut[0])
            every = tuple(shifted(s, self.shifts.get(cut, {}).get(s.name)) for s in found)
            r = Reading(layout, models[cut], cut[0], every, solve_on(models[cut], every, grid))
            for limit, share in uses(r, self.job.plan).items():
                yield limit, smooth_maximum(share)


def smooth_maximum(values: Array) -> float:
    """log(sum(exp(a v / top))) / a times the largest value, top."""
    top = float(values.max())
    if top <= 0.0:
        return top
    return top * (1.0 + float(np.log(np.sum(np.exp(SHARPNESS * (values / top - 1.0))))) / SHARPNESS)


def mass(layout: Layout) -> float:
    """Body, bolts and pistons as an assessment weighs them, and the metal of the fillets, kg."""
    c = layout.design.caliper
    extra = sum(
        2 * FULL * b.fillet**2 * (b.x1 - b.x0) * c.material.density_kg_m3 * KG
        for b, drawn in zip(layout.body.bridges, c.bridges, strict=True)
        if drawn.kind == "integral"
    )
    return layout.mass.total + extra


def opened(
    job: Job,
    x: Array,
    full: Layout,
    known: Mapping[Limit, float],
    first: Mapping[Limit, float] | None = None,
) -> Round:
    """A round about x: `full` is the layout there by the full response, `known` its uses on the adaptive mesh.

    first: uses at the start of the sizing, where that is elsewhere.
    """
    checks = tuple(limit for limit in known if limit.check)
    empty = Round(job, {}, Meshes(), checks=checks)
    ((frame, used),) = ((a.layout, a.checks) for a in empty.answered([x]))
    models = job.models(full.design)
    shifts = {}
    for cut in job.cuts:
        ours = {s.name: s for s in states(frame, models[cut], cut[0])}
        theirs = states(full, models[cut], cut[0])
        shifts[cut] = {s.name: difference(s, ours[s.name]) for s in theirs if s.name in ours}
    bare = replace(empty, shifts=shifts)
    own = dict(bare.smooth(frame, {cut: bare.place(cut, m) for cut, m in models.items()}))
    if (*own, *checks) != tuple(known):
        raise NoAnswerError("a load case that the frame and the full response answer differently")
    raised = np.array([known[k] for k in checks]) - used
    if not np.isfinite(raised).all():
        raise NoAnswerError(UNKNOWN)
    left = reserve(np.array([(first or known)[k] for k in checks]))
    factors = np.array([known[k] / own[k] for k in own])
    return replace(bare, limits=tuple(own), factors=factors, raised=raised + left)
