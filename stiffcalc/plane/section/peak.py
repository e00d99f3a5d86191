"""The largest stress of a section and how far it can be trusted.

The mesh is refined where the estimated error is largest until the peak is known to the asked accuracy; then three
meshes of like grading give the observed order and the extrapolated value. Where the peak only grows as the mesh
is refined, at a sharp re-entrant corner or the end of a support, there is none: that is said, and the stress at a
stated distance is given instead.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.elements import Index, locate
from stiffcalc.plane.section.corners import Corner, sharp_corners
from stiffcalc.plane.section.error import MEASURES, estimate_error, stress_error, wanted_sizes
from stiffcalc.plane.section.grid import Grid, mesh_section
from stiffcalc.plane.section.problem import Problem
from stiffcalc.plane.section.sizing import Background, Sizing
from stiffcalc.plane.section.solve import Solution, solve
from stiffcalc.plane.section.stress import AVERAGING, Stress, element_stress, recover, sample_at

ACCURACY = 0.02
PASSES = 8
SCALES = (2.0, 1.0, 0.5)  # sides of the three meshes over those of the last refined one
ORDERS = (0.5, 6.0)  # observed orders outside are noise of the meshes
GROWS = (
    0.1  # power of 1/side with which a peak grows that does not converge; a re-entrant corner has up to 0.5
)
ROUND = 10  # sides to the distance at which stress is given instead of a peak
NEAR = 3.0  # sides: how near a corner a peak counts as the corner's own


@dataclass(frozen=True)
class Where:
    """Where to look: on named edges (everywhere when none is named), but not within r of points (x, y, r)."""

    edges: tuple[str, ...] = ()
    skip: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True)
class MeshValue:
    """The largest value on one mesh."""

    unknowns: int
    side: float  # of the elements at the peak, mm
    value: float  # MPa
    estimate: float  # largest error of the element stress there and beside it, share of the value


@dataclass(frozen=True)
class Peak:
    """Largest stress of a section and what it rests on."""

    measure: str
    case: str
    value: float  # MPa, on the finest mesh
    x: float
    y: float
    zone: str
    exists: bool  # false: it grows without end as the mesh is refined
    asked: float  # accuracy, share of the value
    met: bool  # whether estimate and change between the last two meshes are within it
    passes: tuple[MeshValue, ...]  # refinement, in its order
    study: tuple[MeshValue, ...]  # three meshes of like grading, coarse to fine; empty where no peak exists
    order: float | None  # observed on `study`; None where the meshes' own noise hides it
    extrapolated: float | None  # MPa, from `study`
    growth: float  # power of 1/side with which the value grew over the last two meshes
    corner: Corner | None  # the sharp corner it sits at
    distance: float | None  # mm from it at which `at_distance` holds
    at_distance: float | None  # MPa
    averaging: str = AVERAGING

    @property
    def estimate(self) -> float:
        """Estimated error on the mesh of `value`, share of it."""
        return (self.study or self.passes)[-1].estimate

    def sentence(self) -> str:
        """What may be said of the figure, in one line."""
        if self.exists:
            return _trust(self)
        if self.corner is not None:
            here = f"sharp corner of {self.corner.angle_deg:.0f} degrees at ({self.x:.4g}, {self.y:.4g}) mm"
            advice = "give a fillet"
        else:
            here, advice = f"({self.x:.4g}, {self.y:.4g}) mm", "spread the support or load that ends there"
        instead = "" if self.at_distance is None else f"; at {self.distance:g} mm: {self.at_distance:.4g} MPa"
        grew = f"it grows as side^-{self.growth:.2f}"
        return f"no peak stress exists here: {advice} ({here}; {grew} as the mesh is refined){instead}"


def _trust(peak: Peak) -> str:
    last = peak.study[-1]
    order = "order hidden by mesh noise" if peak.order is None else f"observed order {peak.order:.1f}"
    further = "" if peak.extrapolated is None else f", extrapolated {peak.extrapolated:.4g} MPa"
    met = "within" if peak.met else "NOT within"
    return (
        f"{peak.measure} {peak.value:.4g} MPa at ({peak.x:.4g}, {peak.y:.4g}) mm, estimated error "
        f"{100 * last.estimate:.2g} %, {met} the asked {100 * peak.asked:g} % ({last.unknowns} unknowns, side "
        f"{last.side:.2g} mm there; {order}{further})"
    )


@dataclass(frozen=True)
class Traced:
    """A peak with the last mesh and its solution."""

    peak: Peak
    solution: Solution
    stress: Stress
    coarser: Solution | None = None  # on the study's mesh of twice the sides; None where no peak exists


@dataclass(frozen=True)
class _Found:
    """The largest value on one mesh and where it is."""

    solution: Solution
    stress: Stress
    case: int
    place: int
    at: MeshValue

    @property
    def xy(self) -> Array:
        return np.asarray(self.stress.grid.nodes[self.stress.node[self.place]])


def trace_peak(
    problem: Problem,
    *,
    sizing: Sizing,
    measure: str = "von Mises",
    where: Where | None = None,
    accuracy: float = ACCURACY,
    distance: float = 1.0,
    most_unknowns: int = 300_000,
    scales: tuple[float, float, float] = SCALES,
) -> Traced:
    """Refine until the largest stress over all cases is known to `accuracy`.

    measure: "von Mises", "largest principal" or "smallest principal" (positive in compression). distance: mm from a
    sharp corner at which stress is given instead. `met` is false where the passes or unknowns ran out first. scales:
    sides of the three meshes of the study, coarse to fine, each half the one before: (4, 2, 1) costs a quarter.
    """
    where = where or Where()
    _refuse(measure, accuracy, distance)
    found, grid = [], mesh_section(problem.parts, sizing=sizing)
    while True:
        found.append(_find(problem, grid, measure, where))
        if _settled(found, accuracy) or len(found) > PASSES or _diverges(problem, found):
            break
        finer = replace(sizing, background=_finer(found[-1], accuracy))
        grid = mesh_section(problem.parts, sizing=finer)
        if grid.unknowns > most_unknowns:
            break
    return _report(problem, sizing, found, measure, where, accuracy, distance, scales)


def largest(stress: Stress, *, measure: str, where: Where) -> tuple[int, int, float]:
    """Case, place and value of the largest stress. InputError where nothing is left to look at."""
    candidates = np.arange(len(stress.node))
    if where.edges:
        candidates = np.unique(np.concatenate([stress.at_edge(name) for name in where.edges]))
    xy = stress.grid.nodes[stress.node[candidates]]
    for x, y, r in where.skip:
        keep = np.hypot(xy[:, 0] - x, xy[:, 1] - y) > r
        candidates, xy = candidates[keep], xy[keep]
    if len(candidates) == 0:
        raise InputError([Fault("where", "no node left", "edges of the section", "skip less")])
    values = MEASURES[measure](stress.values[:, candidates])
    case, j = np.unravel_index(int(np.argmax(values)), values.shape)
    return int(case), int(candidates[j]), float(values[case, j])


def _refuse(measure: str, accuracy: float, distance: float) -> None:
    faults = []
    if measure not in MEASURES:
        faults.append(Fault("measure", measure, ", ".join(MEASURES), "name one of them"))
    if not 1e-4 <= accuracy <= 0.5:
        faults.append(Fault("accuracy", f"{accuracy}", "0.0001 to 0.5", "give a share of the peak"))
    if not 0 < distance < math.inf:
        faults.append(Fault("distance", f"{distance}", "a positive number", "give it in mm"))
    if faults:
        raise InputError(faults)


def _find(problem: Problem, grid: Grid, measure: str, where: Where) -> _Found:
    solution = solve(problem, grid)
    stress = recover(grid, solution.U)
    case, place, value = largest(stress, measure=measure, where=where)
    here = np.flatnonzero((stress.triangles == place).any(axis=1))
    own = _element_values(stress, solution, case, here, measure, place)
    alone = replace(stress, values=stress.values[case : case + 1])
    error = stress_error(alone, solution.U[case : case + 1], here)
    off = max(float(np.abs(own - value).max()), float(error.max()))
    side, share = float(grid.sizes()[here].mean()), off / value if value > 0 else 0.0
    return _Found(solution, stress, case, place, MeshValue(grid.unknowns, side, value, share))


def _element_values(
    stress: Stress, solution: Solution, case: int, here: Index, measure: str, place: int
) -> Array:
    """The measure at the peak's node from the stress of each element there, extrapolated linearly, MPa."""
    grid = stress.grid
    part = replace(grid, triangles=grid.triangles[here], zone=grid.zone[here], edges={})
    inner = element_stress(part, solution.U[case : case + 1])[0]  # (e, 3, 3)
    corner = np.einsum("cg,egs->ecs", FROM_POINTS, inner)
    nodal = np.concatenate([corner, (corner + corner[:, [1, 2, 0]]) / 2], axis=1)
    return np.asarray(MEASURES[measure](nodal[stress.triangles[here] == place]))


# Linear in a triangle: values at the corners from those at the three integration points (1/6, 1/6), (4/6, 1/6), ...
FROM_POINTS = np.array([[5.0, -1.0, -1.0], [-1.0, 5.0, -1.0], [-1.0, -1.0, 5.0]]) / 3


def _finer(found: _Found, accuracy: float) -> Background:
    errors = estimate_error(found.stress, found.solution.U)
    sizes = wanted_sizes(found.stress, errors, peak=found.at.value, allowed=accuracy)
    return found.stress.grid.background(sizes)


def _settled(found: Sequence[_Found], accuracy: float) -> bool:
    if len(found) < 2:
        return False
    before, last = found[-2].at, found[-1].at
    return last.estimate <= accuracy and abs(last.value - before.value) <= accuracy / 2 * last.value


def _growth(found: Sequence[_Found]) -> float:
    """Power of 1/side with which the value grew over the last two meshes."""
    if len(found) < 2:
        return 0.0
    before, last = found[-2].at, found[-1].at
    if not (last.side < 0.9 * before.side and last.value > 0 and before.value > 0):
        return 0.0
    return math.log(last.value / before.value) / math.log(before.side / last.side)


def _corner(problem: Problem, found: _Found) -> Corner | None:
    corners = [c for part in problem.parts for c in sharp_corners(part)]
    near = [c for c in corners if math.dist((c.x, c.y), found.xy) < NEAR * found.at.side]
    return min(near, key=lambda c: math.dist((c.x, c.y), found.xy), default=None)


def _diverges(problem: Problem, found: Sequence[_Found]) -> bool:
    """Growing like a power over three meshes in one place; at a known sharp corner two steps are proof enough."""
    corner = _corner(problem, found[-1])
    enough = 3 if corner else 5
    if len(found) < enough:
        return False
    steps = [_growth(found[: i + 1]) for i in range(len(found) - enough + 1, len(found))]
    moved = math.dist(found[-1].xy, found[-enough].xy)
    grows = min(GROWS, corner.exponent / 2) if corner else GROWS
    return min(steps) > grows and moved < NEAR * found[-enough].at.side


def _report(
    problem: Problem,
    sizing: Sizing,
    found: list[_Found],
    measure: str,
    where: Where,
    accuracy: float,
    distance: float,
    scales: Sequence[float],
) -> Traced:
    last, exists = found[-1], not _diverges(problem, found)
    corner = None if exists else _corner(problem, last)
    centre = last.xy if corner is None else np.array([corner.x, corner.y])
    study = _study(problem, sizing, last, measure, where, scales) if exists else []
    order, extrapolated = observed_order([f.at.value for f in study]) if exists else (None, None)
    met = exists and _settled([*found, *study[-1:]], accuracy)
    last = study[-1] if exists else last
    grid = last.stress.grid
    zone = grid.zone[(last.stress.triangles == last.place).any(axis=1)][0]
    peak = Peak(
        measure=measure,
        case=problem.cases[last.case].name,
        value=last.at.value,
        x=float(last.xy[0]),
        y=float(last.xy[1]),
        zone=grid.zones[zone].name,
        exists=exists,
        asked=accuracy,
        met=met,
        passes=tuple(f.at for f in found),
        study=tuple(f.at for f in study),
        order=order,
        extrapolated=extrapolated,
        growth=_growth(found),
        corner=corner,
        distance=None if exists else distance,
        at_distance=None if exists else _around(problem, sizing, last, centre, measure, distance),
    )
    return Traced(peak, last.solution, last.stress, study[-2].solution if exists else None)


def _study(
    problem: Problem, sizing: Sizing, last: _Found, measure: str, where: Where, scales: Sequence[float]
) -> list[_Found]:
    grid = last.stress.grid
    graded = replace(sizing, background=grid.background(grid.sizes()))
    meshes = [mesh_section(problem.parts, sizing=graded.scaled(factor)) for factor in scales]
    return [_find(problem, mesh, measure, where) for mesh in meshes]


def observed_order(values: Sequence[float]) -> tuple[float | None, float | None]:
    """Order and extrapolated value from three meshes, each side half of the one before.

    Richardson's extrapolation; None, None where the steps are not falling or the order is outside `ORDERS`.
    """
    first, second = values[1] - values[0], values[2] - values[1]
    if first * second <= 0 or abs(second) >= abs(first):
        return None, None
    order = math.log2(first / second)
    if not ORDERS[0] <= order <= ORDERS[1]:
        return None, None
    return order, values[2] + second / (2**order - 1)


def _around(
    problem: Problem, sizing: Sizing, found: _Found, centre: Array, measure: str, distance: float
) -> float | None:
    """Largest value on a circle round the corner, the part of it that lies in the metal, on a mesh made for it."""
    grid = found.stress.grid
    near = np.linalg.norm(grid.nodes[grid.triangles] - centre, axis=-1).min(axis=1) < 2 * distance
    sizes = np.where(near, np.minimum(grid.sizes(), distance / ROUND), grid.sizes())
    fine = mesh_section(problem.parts, sizing=replace(sizing, background=grid.background(sizes)))
    stress = recover(fine, solve(problem, fine).U)
    turn = np.linspace(0, 2 * np.pi, 181)[:-1]
    ring = centre + distance * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    inside = locate(fine.nodes, fine.triangles, ring)[0] >= 0
    if not inside.any():
        return None
    return float(MEASURES[measure](sample_at(stress, ring[inside])[found.case]).max())
