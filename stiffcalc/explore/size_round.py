"""One round of a sizing: uses of every limit and their slopes near one point, on meshes that move with dimensions.

Forces follow the dimensions: every design asked about, each finite step too, is answered by the batched frame, plus
what the full response at the round's own point differs from it. Uses of one limit over its places are put together by
a smooth maximum; each is multiplied by what the adaptive mesh says at the round's point over what this mesh says there.
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
from stiffcalc.explore.batches import each
from stiffcalc.explore.size_job import Cut, Job
from stiffcalc.explore.size_search import Sample, Slopes
from stiffcalc.plane.section.grid import Grid, mesh_section
from stiffcalc.plane.section.moving import moved, quality
from stiffcalc.plane.section.outline import Part

STEP = 2e-4  # of a range, mm
SHARPNESS = 60.0  # of the smooth maximum: a place at 0.95 of the largest counts a twentieth
POOR = 0.5  # of the worst triangle's quality when meshed: then the section is meshed anew
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
class Round:
    """What stays the same while dimensions move: the job, the full response at one point, factors on the uses."""

    job: Job
    shifts: Mapping[
        Cut, Mapping[str, CutState]
    ]  # full response less the frame at the round's point, by state
    meshes: Meshes
    limits: tuple[Limit, ...] = ()
    factors: Array = field(default_factory=lambda: np.ones(0))  # (m,)

    def sample(self, x: Array) -> Sample | None:
        """Cost, kg, and uses; None where the study's rules or the joint refuse the design."""
        try:
            (layout,) = self.layouts([x])
            return self._read(
                layout, {cut: self.place(cut, m) for cut, m in self.job.models(layout.design).items()}
            )
        except NoAnswerError:
            return None

    def slopes(self, x: Array) -> Slopes:
        """Forward differences, backward at upper ends."""
        step = STEP * (self.job.high - self.job.low)
        step = np.where(x + 2 * step > self.job.high, -step, step)
        points = [x, *(x + step[i] * np.eye(len(x))[i] for i in range(len(x)))]
        here, *near = self.layouts(points)
        before = self.job.models(here.design)
        grids = {cut: self.place(cut, model) for cut, model in before.items()}
        base = self._read(here, grids)
        found = [self._beside(base, before, grids, layout, x, i, step[i]) for i, layout in enumerate(near)]
        costs, changes = zip(*found, strict=True)
        return Slopes(np.array(costs), np.stack(changes, axis=1))

    def _beside(
        self,
        base: Sample,
        before: Mapping[Cut, SectionModel],
        grids: Mapping[Cut, Grid],
        layout: Layout,
        x: Array,
        i: int,
        step: float,
    ) -> tuple[float, Array]:
        """Slope of one dimension; where the step changes what the section consists of, from one step further on."""
        there = {
            c: moved(grids[c], before[c].parts, m.parts) for c, m in self.job.models(layout.design).items()
        }
        if all(g is not None for g in there.values()):
            after = self._read(layout, {c: g for c, g in there.items() if g is not None})
            return (after.cost - base.cost) / step, (after.uses - base.uses) / step
        unit = np.eye(len(x))[i]
        one, two = self.layouts([x + step * unit, x + 2 * step * unit])
        models = self.job.models(one.design)
        fresh = {cut: mesh_section(m.parts, sizing=m.sizing()) for cut, m in models.items()}
        further = {
            c: moved(fresh[c], models[c].parts, m.parts) for c, m in self.job.models(two.design).items()
        }
        if any(g is None for g in further.values()):
            raise NoAnswerError("the section's parts change within a step of its dimensions")
        first, second = (
            self._read(one, fresh),
            self._read(two, {c: g for c, g in further.items() if g is not None}),
        )
        return (second.cost - first.cost) / step, (second.uses - first.uses) / step

    def layouts(self, points: Sequence[Array]) -> list[Layout]:
        """Designs solved by the frame, in one batch."""
        designs = []
        for x in points:
            design, faults = self.job.read(x)
            if faults:
                raise NoAnswerError(str(faults[0]))
            designs.append(design)
        found = each(designs, lambda layout: layout)
        for one in found:
            if isinstance(one, ConvergenceError):
                raise NoAnswerError(str(one))
        return [one for one in found if not isinstance(one, ConvergenceError)]

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

    def _read(self, layout: Layout, grids: Mapping[Cut, Grid]) -> Sample:
        """Mass and uses of a design on given meshes."""
        found = dict(self.smooth(layout, grids))
        if self.limits and tuple(found) != self.limits:
            raise NoAnswerError("a load case in which nothing holds the halves together")
        uses_ = np.array(list(found.values()))
        return Sample(mass(layout), uses_ * self.factors if self.limits else uses_)

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


def shifted(state: CutState, by: CutState | None) -> CutState:
    """A state with what the full response differs by."""
    if by is None:
        return state
    return replace(
        state,
        tension=state.tension + by.tension,
        cut=(state.cut[0] + by.cut[0], state.cut[1] + by.cut[1]),
        bolts=state.bolts + by.bolts,
        preload=state.preload + by.preload,
        turn=state.turn + by.turn,
    )


def difference(full: CutState, frame: CutState) -> CutState:
    """What to add to the frame's state."""
    return replace(
        full,
        tension=full.tension - frame.tension,
        cut=(full.cut[0] - frame.cut[0], full.cut[1] - frame.cut[1]),
        bolts=full.bolts - frame.bolts,
        preload=full.preload - frame.preload,
        turn=full.turn - frame.turn,
    )


def opened(job: Job, x: Array, full: Layout, known: Mapping[Limit, float]) -> Round:
    """A round about x: `full` is the layout there by the full response, `known` its uses on the adaptive mesh."""
    empty = Round(job, {}, Meshes())
    (frame,) = empty.layouts([x])
    models = job.models(full.design)
    shifts = {}
    for cut in job.cuts:
        ours = {s.name: s for s in states(frame, models[cut], cut[0])}
        theirs = states(full, models[cut], cut[0])
        shifts[cut] = {s.name: difference(s, ours[s.name]) for s in theirs if s.name in ours}
    bare = replace(empty, shifts=shifts)
    own = dict(bare.smooth(frame, {cut: bare.place(cut, m) for cut, m in models.items()}))
    if tuple(own) != tuple(known):
        raise NoAnswerError("a load case that the frame and the full response answer differently")
    return replace(bare, limits=tuple(own), factors=np.array([known[k] / own[k] for k in own]))
