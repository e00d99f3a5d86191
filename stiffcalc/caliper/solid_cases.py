"""A bolted layout's load cases by its 3-D solid: what opens, what bolts take, how much touches, when contact is lost.

At 20 °C and the least preload after settling, beside the front view's figures in the same state. Bars on pads, lugs and
abutments are not in the solid; bridges of another metal have its modulus, and the body's Poisson's ratio.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from stiffcalc.caliper.body import Body
from stiffcalc.caliper.cases import Layout
from stiffcalc.caliper.requirement import LOW
from stiffcalc.caliper.response import bar_flexibility, first_loss
from stiffcalc.caliper.results import SolidCase
from stiffcalc.caliper.solid_faces import Joined, closed_faces, closed_fields
from stiffcalc.caliper.stages import Solved, Stages
from stiffcalc.condensed import Array
from stiffcalc.grid_solid.contact import Clamp, Face, JointState, sweep
from stiffcalc.mechanics.opening import Onset

# N/mm3 of faces: 0.35 mm of aluminium. Stiffer ones ask more of the grid's functions than they can follow, and leave a
# twentieth of a closed face apart; bolt forces do not mind.
BEARING = 2e5


def why_not(body: Body) -> str:
    """Why a body has no solid that is solved, or ''."""
    if any(b.pads is not None for b in body.bridges):
        return "a bar bolted on pads is not in the solid"
    if not any(b.jointed for b in body.bridges):
        return "no joint to solve"
    return ""


def judged(layout: Layout, solid: Joined) -> Layout:
    """The same layout with every onset pressure of the front view asked of the solid's closed faces."""
    stages, name = layout.stages, layout.headline
    fields = closed_fields(solid)

    def by_solid(solved: Solved) -> Solved:
        answer = solved.answers[name]
        if answer.tightened is None:
            return solved
        pair = replace(answer.pair, closed=closed_faces(fields, answer.pair))
        found = replace(answer, pair=pair, onset=first_loss(pair, answer.tightened))
        return replace(solved, answers={**solved.answers, name: found})

    new = {id(s): by_solid(s) for s in (stages.room, *stages.own.values(), *stages.others.values())}
    return replace(
        layout,
        stages=Stages(
            headline=name,
            room=new[id(stages.room)],
            own={w: new[id(s)] for w, s in stages.own.items()},
            others={n: new[id(s)] for n, s in stages.others.items()},
        ),
    )


def solid_cases(plate: Layout, judged: Layout, solid: Joined) -> tuple[SolidCase, ...]:
    """Every load case with pressure that the front view finds held, beside its figures before and after `judged`.

    None where settling leaves no bolt any preload, for nothing then says where the halves lie before they are loaded.
    Raises `ConvergenceError` where no equilibrium is found.
    """
    layout, room = plate, plate.stages.room
    answer, by_solid = (one.stages.room.answers[one.headline] for one in (plate, judged))
    cases = [
        c for c in layout.design.load_cases if answer.held[0, LOW, room.at(c.pressure)] and c.pressure > 0
    ]
    preload = room.stage.preload.min[0]
    if not cases or by_solid.onset is None or answer.onset is None or not preload.any():
        return ()
    pressures = np.unique([c.pressure for c in cases])
    tight, *loaded = states(solid, preload, pressures.tolist())
    by_pressure = dict(zip(pressures, loaded, strict=True))
    area = 0.25 * np.pi * np.array([b.diameter for b in solid.half.bores]) ** 2
    found = []
    for case in cases:
        at, state = room.at(case.pressure), by_pressure[case.pressure]
        opening = (state.outputs - tight.outputs)[: len(area)] / area
        found.append(
            SolidCase(
                name=case.name,
                pressure=case.pressure,
                onset=_first(by_solid.onset),
                by_bore=tuple(opening.tolist()),
                bolt_increment=tuple((state.bolt_force - tight.bolt_force).tolist()),
                touching=state.contact / tight.contact,
                plate_onset=_first(answer.onset),
                plate_by_bore=tuple(answer.openings.by_bore[0, LOW, at].tolist()),
                plate_bolt_increment=tuple(answer.change.bolt[0, LOW, at].tolist()),
            )
        )
    return tuple(found)


def states(solid: Joined, preload: Array, pressures: Sequence[float]) -> list[JointState]:
    """Tightened to preload (J,) N, then at each line pressure, MPa. Raises `ConvergenceError`."""
    return sweep(solid.pair, _face(solid), _clamp(solid, preload), load=_line(solid), pressures=pressures)


def _first(onset: Onset) -> float:
    """First loss of contact of any face at the least preload; 0 where one is open when tightened."""
    return float(np.nan_to_num(onset.pressure[0, LOW], nan=0.0, posinf=np.inf).min())


def _face(solid: Joined) -> Face:
    touching, trace = solid.touching, solid.trace
    return Face(trace.value[touching], trace.weight[touching], trace.points[touching], spring=BEARING)


def _clamp(solid: Joined, preload: Array) -> Clamp:
    bolts = range(len(preload))
    stiffness = np.array([1.0 / bar_flexibility(solid.body, j) for j in bolts])
    return Clamp(solid.heads, stiffness, preload, np.ones(len(preload)))


def _line(solid: Joined) -> Array:
    """Forces on the outputs of 1 MPa of line pressure."""
    load = np.ones(len(solid.pair.C))
    load[solid.heads] = 0.0
    return load
