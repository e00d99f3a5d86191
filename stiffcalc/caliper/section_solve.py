"""A section solved for every state of its bridge's cut: the fillet's peak traced, the face closed, a coarser mesh."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.caliper.section_model import LOOSE, SectionModel
from stiffcalc.caliper.section_states import CutState
from stiffcalc.condensed import Array
from stiffcalc.plane.section.error import ErrorEstimate, estimate_error
from stiffcalc.plane.section.grid import Grid, mesh_section
from stiffcalc.plane.section.peak import Peak, Where, trace_peak
from stiffcalc.plane.section.problem import Case, Problem
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.solve import Solution, solve
from stiffcalc.plane.section.stress import Stress, recover, sample_at

STUDY = (2.8, 1.4, 0.7)  # meshes of the fillet's study; coarser ones show no clear order
DISTANCE = 1.0  # mm from a sharp corner


@dataclass(frozen=True)
class Solved:
    """The last mesh with all states, one twice as coarse, and the face closed under unit N and unit Mx."""

    solution: Solution
    stress: Stress
    errors: ErrorEstimate | None  # None: not asked
    peak: Peak | None
    coarse: Solution | None
    closed: Solution | None
    beside: Array | None  # stress (l, p, 3) round a sharp corner


def solve_section(model: SectionModel, every: Sequence[CutState], *, accuracy: float) -> Solved:
    """Solve all states; `accuracy` of the fillet's peak, share."""
    problem, sizing = section_problem(model, every), model.sizing()
    if model.fillets:
        where = Where(edges=model.fillets)
        traced = trace_peak(problem, sizing=sizing, where=where, accuracy=accuracy, scales=STUDY)
        solution, stress, coarser = traced.solution, traced.stress, traced.coarser
        peak: Peak | None = traced.peak
    else:
        peak = _sharp(problem, sizing, model, accuracy)
        fine = _near_corner(model, sizing) if model.corner else sizing.scaled(0.5)
        solution, coarser = solve(problem, mesh_section(model.parts, sizing=fine)), None
        stress = recover(solution.grid, solution.U)
    return Solved(
        solution=solution,
        stress=stress,
        errors=estimate_error(stress, solution.U),
        peak=peak,
        coarse=(coarser or _coarser(problem, sizing, solution.grid)) if model.hole_zones else None,
        closed=_closed(model, solution.grid) if model.kind != LOOSE else None,
        beside=_ring(model, stress) if model.corner and not model.fillets else None,
    )


def solve_on(model: SectionModel, every: Sequence[CutState], grid: Grid) -> Solved:
    """All states on a given mesh, without what figures are trusted by."""
    solution = solve(section_problem(model, every), grid)
    return Solved(
        solution=solution,
        stress=recover(grid, solution.U),
        errors=None,
        peak=None,
        coarse=None,
        closed=_closed(model, grid) if model.fillets else None,
        beside=None,
    )


def section_problem(model: SectionModel, every: Sequence[CutState]) -> Problem:
    """All states as cases; preloads in proportion to those of the first state."""
    first = every[0].preload
    own = [j for c in model.clamps for j in c.bolts]
    share = dict(zip(sorted(own), first, strict=True)) if model.clamps else {}
    cases = tuple(
        Case(
            s.name,
            {"N": s.cut[0], "Mx": s.cut[1]},
            preload=float(s.preload.sum() / first.sum()) if model.clamps else 1.0,
        )
        for s in every
    )
    return Problem(
        model.parts,
        model.loads(),
        cases,
        supports=model.supports(),
        bars=model.bars([sum(share[j] for j in c.bolts) for c in model.clamps]),
        contacts=model.contacts(),
    )


def _sharp(problem: Problem, sizing: Sizing, model: SectionModel, accuracy: float) -> Peak | None:
    """What a sharp corner under the bridge says of itself; None where there is no corner."""
    if not model.corner:
        return None
    where = Where(edges=("underside", "inner face"))
    return trace_peak(
        problem, sizing=sizing, where=where, accuracy=accuracy, distance=DISTANCE, scales=STUDY
    ).peak


def _near_corner(model: SectionModel, sizing: Sizing) -> Sizing:
    assert model.corner
    return replace(sizing, points=((*model.corner, DISTANCE / 10),))


def _ring(model: SectionModel, stress: Stress) -> Array:
    """Stress at `DISTANCE` round the corner, in the metal: three quarters of a turn from straight down to the left."""
    assert model.corner
    turn = np.linspace(-0.5 * np.pi, np.pi, 91)[1:-1]
    return sample_at(
        stress, np.array(model.corner) + DISTANCE * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    )


def _coarser(problem: Problem, sizing: Sizing, grid: Grid) -> Solution:
    sides = replace(sizing, background=grid.background(grid.sizes())).scaled(2.0)
    return solve(problem, mesh_section(problem.parts, sizing=sides))


def _closed(model: SectionModel, grid: Grid) -> Solution:
    """The face joined for good, no bolts: unit N and unit Mx."""
    cases = Case("N", {"N": 1.0}), Case("Mx", {"Mx": 1.0})
    return solve(Problem(model.parts, model.loads(), cases, supports=model.supports(closed=True)), grid)
