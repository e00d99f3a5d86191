"""What passes through one bridge's cut in every load case: N, Mx of bridge and bolts together, from the response."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.cases import Layout
from stiffcalc.caliper.heat import Warmth
from stiffcalc.caliper.idealise import bridges, walls
from stiffcalc.caliper.requirement import HIGH, LOW
from stiffcalc.caliper.section_model import SectionModel
from stiffcalc.caliper.stages import Solved
from stiffcalc.condensed import Array
from stiffcalc.mechanics.constants import FITTED
from stiffcalc.mechanics.joint_state import Response
from stiffcalc.mechanics.local import root_flexibility
from stiffcalc.mechanics.opening import onset
from stiffcalc.mechanics.wall import footprints
from stiffcalc.study.schema import LoadCase

PROBE = "probe"
ENDS = {LOW: "minimum preload", HIGH: "maximum preload"}


@dataclass(frozen=True)
class CutState:
    """One state of one bridge. N, N mm about the section's reference point."""

    name: str
    case: LoadCase | None  # None: no pressure, or the probe of the onset
    pressure: float
    end: str  # "minimum preload", "maximum preload"; "" where nothing is tightened
    body_C: float
    tension: Array  # (3,) N, Mx, My of the bridge alone
    cut: tuple[float, float]  # N, Mx of bridge and bolts together
    bolts: Array  # (k,) N, those of the bridge, by the joint
    preload: Array  # (k,) N without pressure
    before: str  # the state without pressure it started from; "" where nothing is tightened
    turn: float  # rad, one half beyond that state, by the response's closed form: bridge, face and root


@dataclass(frozen=True)
class ClosedForm:
    """One half's bridge and root by closed form with the face closed: w, mm, and theta_x, rad, per N and per N mm."""

    w_per_N: float
    turn_per_Mx: float


def states(layout: Layout, model: SectionModel, bridge: int) -> tuple[CutState, ...]:
    """Every held load case at both ends of the preload, each after the state without pressure it starts from."""
    found: dict[str, CutState] = {}
    for case in layout.design.load_cases:
        solved = layout.stages.of(case)
        answer, at = solved.answers[layout.headline], solved.at(case.pressure)
        tight = answer.tightened is not None
        for end in (LOW, HIGH) if tight else (LOW,):
            if not answer.held[0, end, at]:
                continue
            read = _Reading(layout, model, bridge, solved, end)
            start = read.tightened() if tight else None
            if start:
                found.setdefault(start.name, start)
            own = read.loaded(at, case, start.name if start else "")
            found[own.name] = own
    return tuple(found.values())


def probe(layout: Layout, model: SectionModel, bridge: int) -> tuple[CutState, ...]:
    """At 20 °C and minimum preload: without pressure, and under the lowest pressure of the sweep, still closed."""
    solved = layout.stages.room
    read = _Reading(layout, model, bridge, solved, LOW)
    start = read.tightened()
    return start, read.loaded(1, None, start.name)


def own_onset(layout: Layout, bridge: int, *, bent_about_y: bool) -> float:
    """The joint's own onset pressure at 20 °C and minimum preload, MPa."""
    answer = layout.stages.room.answers[layout.headline]
    assert answer.tightened is not None
    return float(onset(answer.pair, answer.tightened, bent_about_y=bent_about_y).pressure[0, LOW, bridge])


@dataclass(frozen=True)
class _Reading:
    layout: Layout
    model: SectionModel
    bridge: int
    solved: Solved
    end: int

    @property
    def warmth(self) -> Warmth:
        return self.solved.stage.warmth

    def tightened(self) -> CutState:
        answer = self.solved.answers[self.layout.headline]
        assert answer.tightened is not None
        name = f"no pressure, {self.warmth}, {ENDS[self.end]}"
        return self._state(name, answer.tightened.response, (0, self.end), 0.0, None, "", 0.0)

    def loaded(self, at: int, case: LoadCase | None, before: str) -> CutState:
        answer, index = self.solved.answers[self.layout.headline], (0, self.end, at)
        name = f"{case.name if case else PROBE}{', ' + ENDS[self.end] if before else ''}"
        turn = self._turn(answer.change, index)
        return self._state(name, answer.loaded, index, float(self.solved.pressure[at]), case, before, turn)

    def _state(
        self,
        name: str,
        response: Response,
        index: tuple[int, ...],
        pressure: float,
        case: LoadCase | None,
        before: str,
        turn: float,
    ) -> CutState:
        body = self.layout.body
        own = [j for j, q in enumerate(body.bolts) if q.bridge == self.bridge]
        tension, bolts = response.tension[index][self.bridge], response.bolt[index][own]
        lever = np.array([body.bolts[j].y for j in own]) - self.model.y_r
        stage = self.solved.stage.preload
        preload = stage.min if self.end == LOW else stage.max
        tight = self.solved.answers[self.layout.headline].tightened is not None
        return CutState(
            name=name,
            case=case,
            pressure=pressure,
            end=ENDS[self.end] if tight else "",
            body_C=self.warmth.body_C,
            tension=tension,
            cut=(float(tension[0] + bolts.sum()), float(tension[1] + bolts @ lever)),
            bolts=bolts,
            preload=preload[0, own],
            before=before,
            turn=turn,
        )

    def _turn(self, change: Response, index: tuple[int, ...]) -> float:
        """theta_x of the wall: half the bridge and its face, and the root."""
        pair, i = self.solved.answers[self.layout.headline].pair, self.bridge
        tension, s = change.tension[index][i], change.separation[index][i]
        closed = pair.bridge_flexibility[0, i] @ tension
        beyond = s - pair.layer_share[0, i] * closed
        root = _root(self.layout, self.model.side, i) @ tension
        return float(0.5 * (closed + beyond)[1] + root[1] * self._softer())

    def _softer(self) -> float:
        material = self.layout.design.caliper.material
        return material.E / material.value_at("E", self.warmth.body_C)[0]


def closed_form(layout: Layout, side: str, bridge: int) -> ClosedForm:
    """Half the bridge in beam theory and the root's fitted layer, at 20 °C."""
    body = layout.body
    half = body.half_gap / body.bridges[bridge].E * np.linalg.inv(_area(layout)[0, bridge])
    whole = half + _root(layout, side, bridge)
    return ClosedForm(float(whole[0, 0]), float(whole[1, 1]))


def _root(layout: Layout, side: str, bridge: int) -> Array:
    """Root flexibility (3, 3) of one bridge, per N, Mx, My."""
    wall = walls(layout.body, side)
    return np.asarray(root_flexibility(wall, area=_area(layout), constants=FITTED)[0, bridge])


def _area(layout: Layout) -> Array:
    return footprints(bridges(layout.body)).area
