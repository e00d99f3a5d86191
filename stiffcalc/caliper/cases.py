"""One load case of one layout: figures read from the solved states, with their checks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.body import Body
from stiffcalc.caliper.checks import run_checks
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.requirement import Context
from stiffcalc.caliper.response import Answer
from stiffcalc.caliper.results import BoltState, CaseResult, Fluid, JointState, ModelOpening
from stiffcalc.caliper.validity import sentences
from stiffcalc.condensed import Array
from stiffcalc.mechanics import faces, hydraulics, opening
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.study.schema import Design, LoadCase

MRAD = 1e3


@dataclass(frozen=True)
class Layout:
    """One layout, solved: what every load case of it reads from. Preload states S = (min, nominal, max)."""

    design: Design
    body: Body
    mass: Masses
    preload: Preload  # (J,) each
    pressure: Array  # (P,)
    answers: Mapping[str, Answer]  # "frame", and "front view" where it ran

    @property
    def headline(self) -> str:
        """The model the published figures come from."""
        return "front view" if "front view" in self.answers else "frame"

    @property
    def answer(self) -> Answer:
        """The headline model's answer."""
        return self.answers[self.headline]


def case_result(layout: Layout, case: LoadCase) -> CaseResult:
    """All figures of one load case; those of a joint at minimum preload unless their name says otherwise."""
    at = int(np.searchsorted(layout.pressure, case.pressure))
    answer, body = layout.answer, layout.body
    found = answer.openings
    spread = float(found.spread[0, 0, at])
    line = found.cut_opening[0, 0, at]
    tilted = layout.headline == "front view"
    clamp = float(hydraulics.clamp_force(case.pressure, diameters=diameters(body)))
    stiffness = clamp / spread / 1e3 if case.pressure > 0 else float("nan")
    fluid = fluid_volume(layout, case, at)
    joints = joint_states(layout, at)
    tilt = tuple(float(v) * MRAD for v in found.tilt[0, 0, at])
    parts = opening.contributions(answer.pair, answer.change)
    context = Context(
        layout.design, body, case, answer, at, layout.preload, layout.mass, fluid, tilt if tilted else None
    )
    return CaseResult(
        name=case.name,
        kind=case.kind,
        pressure=case.pressure,
        clamp_force=clamp,
        model=layout.headline,
        models={name: model_opening(name, a, at) for name, a in layout.answers.items()},
        spread=spread,
        opening_max=float(found.by_bore[0, 0, at].max()),
        by_bore=tuple(float(v) for v in found.by_bore[0, 0, at]),
        middle=float(line[len(line) // 2]),
        bow=float(line[len(line) // 2] - (line[0] + line[-1]) / 2),
        tilt_by_bore=tilt if tilted else None,
        tilt_middle=float(found.cut_slope[0, 0, at, len(line) // 2]) * MRAD if tilted else None,
        yaw=float(found.yaw[0, 0, at]) * MRAD,
        fluid=fluid,
        stiffness_kN_per_mm=stiffness,
        stiffness_per_mass=stiffness / layout.mass.total,
        contributions={name: float(part[0, 0, at]) for name, part in parts.items()},
        joints=joints,
        checks=run_checks(context),
        validity=sentences(layout.design, body, case, answer, at, tilted=tilted),
    )


def diameters(body: Body) -> Array:
    """Bore diameters of one side, mm."""
    return np.array([b.diameter for b in body.inboard.bores])


def model_opening(name: str, answer: Answer, at: int) -> ModelOpening:
    """One model's figures; the frame's tilt is not published (8 % low, up to 18 %)."""
    found, checks = answer.openings, answer.checks
    tilt = tuple(float(v) * MRAD for v in found.tilt[0, 0, at]) if name == "front view" else None
    return ModelOpening(
        spread=float(found.spread[0, 0, at]),
        by_bore=tuple(float(v) for v in found.by_bore[0, 0, at]),
        tilt_by_bore=tilt,
        residual=float(checks.residual.max()),
        equilibrium=float(checks.equilibrium.max()),
        energy=float(checks.energy.max()),
    )


def fluid_volume(layout: Layout, case: LoadCase, at: int) -> Fluid:
    """Fluid a caliper takes: both sides' floors and bore walls, two pads, the fluid's own compression."""
    found, c = layout.answer.openings, layout.design.caliper
    bores = diameters(layout.body)
    pad = hydraulics.pad_compression(
        case.pressure,
        diameters=bores,
        compressibility_um_per_MPa=layout.design.pad.compressibility_um_per_MPa,
    )
    trapped = 2 * hydraulics.trapped_fluid(bores, depth=c.fluid_depth)
    return Fluid(
        floors=float(found.by_bore[0, 0, at] @ hydraulics.piston_area(bores)),
        bore_walls=float(found.bore_wall[0, 0, at].sum()),
        pads=2 * float(pad),
        fluid=float(hydraulics.fluid_compression(trapped, pressure=case.pressure)),
    )


def joint_states(layout: Layout, at: int) -> tuple[JointState, ...]:
    """State of every joint face."""
    answer = layout.answer
    if answer.tightened is None:
        return ()
    first = opening.onset(answer.pair, answer.tightened)
    s = answer.loaded.separation[:, :, at]
    open_part = faces.open_fraction(answer.pair.faces, s)[0, 0]
    low, high = faces.pressure_range(answer.pair.faces, s)
    return tuple(
        JointState(
            bridge=layout.body.bridges[i].name,
            onset_MPa=float(first.pressure[0, 0, i]),
            onset_x=float(first.x[0, 0, i]),
            onset_y=float(first.y[0, 0, i]),
            open_fraction=float(open_part[i]),
            face_pressure_max_MPa=float(high[0, -1, i]),
            face_pressure_min_MPa=float(low[0, 0, i]),
            bolts=tuple(bolt_state(layout, j, at) for j, b in enumerate(layout.body.bolts) if b.bridge == i),
        )
        for i in answer.pair.jointed
    )


def bolt_state(layout: Layout, j: int, at: int) -> BoltState:
    """Forces of one bolt."""
    force = layout.answer.loaded.bolt[0, :, at, j]
    swing = np.abs(layout.answer.change.bolt[0, :, at, j])
    p = layout.preload
    return BoltState(
        index=j + 1,  # as in the study file
        preload_min=float(p.min[j]),
        preload_nominal=float(p.nominal[j]),
        preload_max=float(p.max[j]),
        force=float(force[0]),
        force_max=float(force[-1]),
        amplitude=float(swing.max()) / 2,
    )
