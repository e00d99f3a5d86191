"""One load case of one layout: figures read from the solved states, with their checks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from stiffcalc.caliper import clamp_plane
from stiffcalc.caliper.batch import of, row
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.checked import Checks, Flags
from stiffcalc.caliper.checks import run_checks
from stiffcalc.caliper.joint_results import BoltState, JointState
from stiffcalc.caliper.life import Life
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.metal import Metal
from stiffcalc.caliper.ports import port_state
from stiffcalc.caliper.requirement import HIGH, LOW, Context
from stiffcalc.caliper.response import Answer
from stiffcalc.caliper.results import CaseResult, Fluid, ModelOpening
from stiffcalc.caliper.stages import Solved, Stages
from stiffcalc.caliper.validity import sentences
from stiffcalc.condensed import Array
from stiffcalc.mechanics import hydraulics, stacked, trees
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.study.schema import Design, LoadCase

MRAD = 1e3


@dataclass(frozen=True)
class Layout:
    """A layout or a batch of D, solved: what every load case reads from. Preload states S as `Life.ends`."""

    design: Design
    body: Body
    metal: Metal
    mass: Masses
    life: Life
    stages: Stages

    @property
    def headline(self) -> str:
        """The model the published figures come from."""
        return self.stages.headline

    def one(self, d: int) -> Layout:
        """One layout of a batch, its design, body and masses in plain numbers."""
        life = self.life.one(d)
        mass, metal = trees.single(self.mass, d), stacked.one(self.metal, d)
        return Layout(life.design, life.body, metal, mass, life, self.stages.one(d))


def case_result(layout: Layout, case: LoadCase) -> CaseResult:
    """All figures of one load case at its own temperature, those of a joint at minimum preload unless said."""
    context = context_of(layout, case)
    solved, answer, at = layout.stages.of(case), context.answer, context.at
    tilts = tilt_figures(answer, at) if context.tilt_mrad is not None else {}
    bare = _screened(context, layout).one(0)
    if not context.held[0]:
        return bare
    models = {
        name: model_opening(name, a, at) for name, a in solved.answers.items() if a.held[0, :, at].all()
    }
    return replace(
        bare,
        models=models,
        **opening_figures(answer, at),
        **tilts,
        fluid=fluid_volume(layout, case, answer, at),
        **stiffness(bare.clamp_force, float(answer.openings.spread[0, 0, at]), layout.mass.total),
        contributions={n: float(v[0, 0, at]) for n, v in answer.contributions.items()},
        joints=joint_states(layout, solved, at),
        ports=tuple(port_state(context, k) for k in range(len(layout.body.ports))),
    )


@dataclass(frozen=True)
class Screened:
    """One load case of D designs with no figures but the spread: what a search of designs ranks by."""

    case: LoadCase
    model: str
    clamp_force: Array  # (D,) of one side, N
    spread: Array  # (D,) mm; NaN where nothing holds the halves together
    checks: Checks
    validity: Flags

    def one(self, design: int) -> CaseResult:
        """One design's load case, words included."""
        spread = float(self.spread[design])
        return CaseResult(
            name=self.case.name,
            kind=self.case.kind,
            pressure=self.case.pressure,
            clamp_force=float(self.clamp_force[design]),
            model=self.model,
            models={},
            spread=None if np.isnan(spread) else spread,
            opening_max=None,
            by_bore=(),
            middle=None,
            bow=None,
            tilt_by_bore=None,
            tilt_middle=None,
            yaw=None,
            fluid=None,
            stiffness_kN_per_mm=None,
            stiffness_per_mass=None,
            contributions={},
            joints=(),
            checks=self.checks.one(design),
            validity=self.validity.one(design),
        )


def screening(layout: Layout, case: LoadCase) -> Screened:
    """Every check and sentence of one load case."""
    return _screened(context_of(layout, case), layout)


def _screened(c: Context, layout: Layout) -> Screened:
    return Screened(
        case=c.case,
        model=layout.headline,
        clamp_force=np.broadcast_to(c.clamp_force, c.count),
        spread=np.where(c.held, c.answer.openings.spread[:, LOW, c.at], np.nan),
        checks=run_checks(c),
        validity=sentences(c, tilted=layout.headline == "front view"),
    )


def least_onset(layout: Layout, case: LoadCase) -> Array:
    """Onset pressure (D,) of the face that opens first at the case's temperature; infinite without joint faces."""
    solved = layout.stages.of(case)
    answer = solved.answers[layout.headline]
    held = np.asarray(answer.held[:, :, solved.at(case.pressure)].all(axis=1))
    if answer.onset is None:
        return np.full(len(held), np.inf)
    pressure = answer.onset.pressure[:, LOW, list(answer.pair.jointed)]
    return np.where(held, np.nan_to_num(pressure, nan=0.0, posinf=np.inf).min(axis=-1), np.inf)


def context_of(layout: Layout, case: LoadCase) -> Context:
    """What the checks of one load case look at."""
    solved = layout.stages.of(case)
    answer, at = solved.answers[layout.headline], solved.at(case.pressure)
    fluid = sum(fluid_parts(layout, case, answer, at).values())
    return Context(
        design=layout.design,
        body=layout.body,
        metal=layout.metal,
        case=case,
        answer=answer,
        at=at,
        mass=layout.mass,
        fluid=np.asarray(fluid),
        tilt_mrad=answer.openings.tilt[:, LOW, at] * MRAD if layout.headline == "front view" else None,
        low=layout.stages.low(case),
        high=layout.stages.high(case),
    )


def opening_figures(answer: Answer, at: int, *, state: int = LOW) -> dict[str, Any]:
    """Openings of one pressure and preload state, by the names of `CaseResult`."""
    found = answer.openings
    line = found.cut_opening[0, state, at]
    return {
        "spread": float(found.spread[0, state, at]),
        "opening_max": float(found.by_bore[0, state, at].max()),
        "by_bore": tuple(float(v) for v in found.by_bore[0, state, at]),
        "middle": _middle(line),
        "bow": _middle(line) - float(line[0] + line[-1]) / 2,
        "yaw": float(found.yaw[0, state, at]) * MRAD,
    }


def tilt_figures(answer: Answer, at: int, *, state: int = LOW) -> dict[str, Any]:
    """Tilts of one pressure and preload state, by the names of `CaseResult`; of the front view only."""
    found = answer.openings
    return {
        "tilt_by_bore": tuple(float(v) * MRAD for v in found.tilt[0, state, at]),
        "tilt_middle": _middle(found.cut_slope[0, state, at]) * MRAD,
    }


def stiffness(clamp: float, spread: float, mass: float) -> dict[str, Any]:
    """Clamp force over spread, and per mass; none without pressure."""
    if clamp <= 0.0:
        return {}
    found = clamp / spread / 1e3
    return {"stiffness_kN_per_mm": found, "stiffness_per_mass": found / mass}


def _middle(line: Array) -> float:
    return float(line[len(line) // 2])


def diameters(body: Body) -> Array:
    """Bore diameters of one side, (B,) or (D, B) mm."""
    return row(b.diameter for b in body.inboard.bores)


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


def fluid_volume(layout: Layout, case: LoadCase, answer: Answer, at: int, *, state: int = LOW) -> Fluid:
    """Fluid that a caliper takes, of one design."""
    parts = fluid_parts(layout, case, answer, at, state=state)
    return Fluid(**{name: of(part, 0) for name, part in parts.items()})


def fluid_parts(
    layout: Layout, case: LoadCase, answer: Answer, at: int, *, state: int = LOW
) -> dict[str, Array]:
    """Both sides' floors and bore walls, two pads, the fluid's own compression, (D,) or () mm3; see `results.Fluid`."""
    found, c = answer.openings, layout.design.caliper
    bores = diameters(layout.body)
    pad = hydraulics.pad_compression(
        case.pressure,
        diameters=bores,
        compressibility_um_per_MPa=layout.design.pad.compressibility_um_per_MPa,
    )
    trapped = 2 * hydraulics.trapped_fluid(bores, depth=c.fluid_depth)
    return {
        "floors": (found.by_bore[:, state, at] * hydraulics.piston_area(bores)).sum(axis=-1),
        "bore_walls": found.bore_wall[:, state, at].sum(axis=-1),
        "pads": 2 * pad,
        "fluid": hydraulics.fluid_compression(trapped, pressure=case.pressure),
    }


def joint_states(layout: Layout, solved: Solved, at: int) -> tuple[JointState, ...]:
    """State of every joint face."""
    answer = solved.answers[layout.headline]
    first = answer.onset
    if first is None:
        return ()
    open_part = clamp_plane.open_share(answer, at)[0, LOW]
    low, high = (v[0] for v in clamp_plane.pressure_range(answer, at))
    part_open = clamp_plane.part_open_at(answer, solved.pressure)
    swing, opening = clamp_plane.stroke(answer, at)
    return tuple(
        JointState(
            bridge=layout.body.bridges[i].name,
            onset_MPa=float(first.pressure[0, 0, i]),
            onset_x=float(first.x[0, 0, i]),
            onset_y=float(first.y[0, 0, i]),
            open_fraction=float(open_part[i]),
            face_pressure_max_MPa=float(high[HIGH, i]),
            face_pressure_min_MPa=float(low[LOW, i]),
            bolts=tuple(
                bolt_state(answer, solved.stage.preload, j, at)
                for j, b in enumerate(layout.body.bolts)
                if b.bridge == i
            ),
            open_2pct_MPa=part_open[i],
            swing_MPa=float(swing.pressure[i]),
            swing_x=float(swing.x[i]),
            swing_y=float(swing.y[i]),
            opening_share=float(opening[i]),
        )
        for i in answer.pair.jointed
    )


def bolt_state(answer: Answer, preload: Preload, j: int, at: int) -> BoltState:
    """Forces of one bolt."""
    force = answer.loaded.bolt[0, :, at, j]
    swing = np.abs(answer.change.bolt[0, :, at, j])
    return BoltState(
        index=j + 1,  # as in the study file
        preload_min=float(preload.min[0, j]),
        preload_nominal=float(preload.nominal[0, j]),
        preload_max=float(preload.max[0, j]),
        force=float(force[0]),
        force_max=float(force[-1]),
        amplitude=float(swing.max()) / 2,
    )
