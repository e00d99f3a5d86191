"""Sections with the user's own outline, supports and loads, scaled to every load case."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from stiffcalc.caliper.heat import ROOM_C
from stiffcalc.caliper.requirement import allowed_stress
from stiffcalc.caliper.section_limits import Field, surface
from stiffcalc.caliper.section_read import place_errors
from stiffcalc.caliper.section_results import Drawing, OwnCase, OwnResult, trust
from stiffcalc.caliper.section_solve import DISTANCE, STUDY
from stiffcalc.caliper.section_whole import colour_top, idle_metal
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.section.curves import Outline
from stiffcalc.plane.section.error import estimate_error
from stiffcalc.plane.section.outline import Edge, Loop, Material, Part
from stiffcalc.plane.section.peak import ACCURACY, Traced, Where, trace_peak
from stiffcalc.plane.section.problem import Case, Load, Pressure, Problem, Resultant, Support
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.stress import von_mises
from stiffcalc.study.schema import Design, EdgeLoad, LoadCase, OwnSection

ON_EDGE = 0.1  # mm
HELD_ENDS = 0.05  # of the extent: round the ends of clamped edges stress is not looked at
AXES = "x, mm", "y, mm"
AS_GIVEN = LoadCase("as given", "service", 0.0, ROOM_C, ROOM_C, False, None)
NOTE = (
    "Largest von Mises stress anywhere but within {reach:.3g} mm of the ends of edges that are held both ways, where "
    "no peak exists."
)


def own_section(
    own: OwnSection, outline: Outline, design: Design, *, accuracy: float = ACCURACY
) -> OwnResult:
    """Solve one own section for the load cases of a layout.

    Raises InputError for outlines that cross themselves or are more than one body, for points that lie on no edge or
    on several, and for a section that is free to move.
    """
    part, cases = _part(own, outline), _cases(own, design)
    problem = _problem(own, part, cases)
    skip = tuple(_ends(own, part))
    traced = trace_peak(
        problem,
        sizing=Sizing(part.extent / 12),
        where=Where(skip=skip),
        accuracy=accuracy,
        distance=DISTANCE,
        scales=STUDY,
    )
    drawing = _drawing(own, part, cases, design, traced)
    clamped = (NOTE.format(reach=HELD_ENDS * part.extent),) if skip else ()
    return OwnResult(
        name=own.name,
        outline=own.outline,
        thickness=own.thickness,
        material=own.material.name,
        trust=trust(traced.peak),
        idle=idle_metal(traced.stress, drawing.used, density=np.array([own.material.density_kg_m3])),
        load_cases=tuple(_case(own, c, i, traced, skip) for i, c in enumerate(cases)),
        notes=(*outline.notes, *clamped),
        drawing=drawing,
    )


def _part(own: OwnSection, outline: Outline) -> Part:
    """The outline with a name for every edge."""
    count = 0
    loops: list[Loop] = []
    for loop in (outline.outer, *outline.holes):
        loops.append(tuple(replace(e, name=f"edge {count + i + 1}") for i, e in enumerate(loop)))
        count += len(loop)
    metal = Material(own.material.E, own.material.nu)
    return Part(own.name, loops[0], own.thickness, metal, holes=tuple(loops[1:]))


def _cases(own: OwnSection, design: Design) -> tuple[LoadCase, ...]:
    return (AS_GIVEN,) if own.at_pressure is None else design.load_cases


def _problem(own: OwnSection, part: Part, cases: Sequence[LoadCase]) -> Problem:
    faults: list[Fault] = []
    loads = [x for i, load in enumerate(own.loads, 1) for x in _loads(own, load, i, part, faults)]
    held = [
        Support(e.name, x=s.x, y=s.y)
        for i, s in enumerate(own.supports, 1)
        for e in _edges(s.at, part, f"section.{own.name}.support[{i}].at_mm", faults)
    ]
    faults += _unfelt(own, part)
    if faults:
        raise InputError(faults)
    factor = 1.0 if own.at_pressure is None else 1.0 / own.at_pressure
    scaled = [Case(c.name, {"loads": factor * c.pressure if own.at_pressure else 1.0}) for c in cases]
    return Problem((part,), {"loads": tuple(loads)}, tuple(scaled), supports=tuple(held))


def _loads(own: OwnSection, load: EdgeLoad, number: int, part: Part, faults: list[Fault]) -> Iterator[Load]:
    where = f"section.{own.name}.load[{number}]"
    edges = _edges(load.at, part, f"{where}.at_mm", faults)
    if load.pressure is not None:
        yield from (Pressure(e.name, load.pressure) for e in edges)
    if (*load.force, load.moment) == (0.0, 0.0, 0.0):
        return
    if len(edges) > 1:
        faults.append(
            Fault(where, f"a force on {len(edges)} edges", "one edge", "give each edge its own load")
        )
    yield from (Resultant(e.name, *load.force, load.moment) for e in edges)


def _unfelt(own: OwnSection, part: Part) -> Iterator[Fault]:
    """Loads on an edge that is held against them: nothing of them reaches the metal."""
    for j, s in enumerate(own.supports, 1):
        held = {e.name for e in _edges(s.at, part, "", [])}
        for i, load in enumerate(own.loads, 1):
            given = load.pressure is None and load.moment == 0.0
            only = given and all(h or f == 0.0 for h, f in zip((s.x, s.y), load.force, strict=True))
            on = {e.name for e in _edges(load.at, part, "", [])}
            if on and on <= held and ((s.x and s.y) or only):
                found = f"an edge that support[{j}] holds against it"
                where = f"section.{own.name}.load[{i}].at_mm"
                yield Fault(
                    where, found, "an edge that can give way", "load another edge, or move the support"
                )


def _edges(points: Sequence[tuple[float, float]], part: Part, where: str, faults: list[Fault]) -> list[Edge]:
    """The edge under each point."""
    every, found = [e for loop in part.loops for e in loop], []
    for point in points:
        here = [e for e in every if e.holds(np.array(point), tolerance=ON_EDGE)]
        if len(here) == 1:
            found.append(here[0])
            continue
        away = min(float(np.hypot(*(e.at(np.linspace(0, 1, 200)) - np.array(point)).T).min()) for e in every)
        told = (
            f"{point}, where {len(here)} edges meet"
            if here
            else f"{point}, {away:.3g} mm from the nearest edge"
        )
        faults.append(
            Fault(where, told, f"a point within {ON_EDGE:g} mm of one edge", "move it along the edge")
        )
    return found


def _ends(own: OwnSection, part: Part) -> Iterator[tuple[float, float, float]]:
    reach = HELD_ENDS * part.extent
    for support in own.supports:
        if support.x and support.y:
            for edge in _edges(support.at, part, "", []):
                yield from ((*p, reach) for p in (edge.start, edge.end))


def _case(
    own: OwnSection, case: LoadCase, i: int, traced: Traced, skip: Sequence[tuple[float, float, float]]
) -> OwnCase:
    stress = traced.stress
    xy = stress.grid.nodes[stress.node]
    places = np.flatnonzero(
        np.all([np.hypot(*(xy - p[:2]).T) > p[2] for p in skip], axis=0) | np.full(len(xy), not skip)
    )
    now = stress.values[[i]][:, places]
    alone = replace(stress, values=stress.values[[i]])
    errors = place_errors(stress, estimate_error(alone, traced.solution.U[[i]]).stress)[:, places]
    field = Field(now, np.zeros_like(now), von_mises(now), errors, xy[places], ("",))
    worst = surface(field, case=case, material=own.material)
    return OwnCase(case.name, case.kind, case.pressure, case.body_temperature_C, worst)


def _drawing(
    own: OwnSection, part: Part, cases: Sequence[LoadCase], design: Design, traced: Traced
) -> Drawing:
    level = von_mises(traced.stress.values)
    allowed = np.array([allowed_stress(own.material, c, design.limits)[0] for c in cases])
    share = level / allowed[:, None]
    shown = int(share.max(axis=1).argmax())
    return Drawing(
        axes=AXES,
        parts=(part,),
        heads=(),
        solution=traced.solution,
        stress=traced.stress,
        used=share.max(axis=0),
        shown=cases[shown].name,
        cases=tuple(c.name for c in cases),
        level=level[shown],
        top=max(colour_top(traced.stress, level[shown]), traced.peak.value if traced.peak.exists else 0.0),
    )
