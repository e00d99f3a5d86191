"""Preload through the life of a joint: tightened, settled, hot, cold, hot soak then cold.

Every step is one solve of the same joint, so that bolts share what a face or a half gives way: settling is a
shortening of the grips, heat a lengthening and other moduli. Losses fall on the minimum and the nominal; the maximum
is taken to lose nothing, so that the interval holds what may be.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper import heat
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.heat import ROOM, Warmth
from stiffcalc.caliper.idealise import table
from stiffcalc.caliper.preloads import preloads
from stiffcalc.condensed import Array
from stiffcalc.mechanics import settling, stacked
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.mechanics.joint import load, tighten
from stiffcalc.mechanics.joint_state import JointError, Pair, UnheldError
from stiffcalc.study import schema
from stiffcalc.study.schema import Bolt, Design

TIGHTENED, SETTLED, HOT, COLD, SOAKED = "tightened", "settled", "hot", "cold", "cold after hot soak"
RZ_UM = {"fine": 5.0, "medium": 20.0, "coarse": 80.0}  # inside the guideline's three ranges of roughness
ENDS = ("min", "nominal", "max")
ROUNDING_N = 1.0  # a bolt below this is loose: contact of loose halves is found to about a newton
LOSES = np.array([[1.0], [1.0], [0.0]])  # minimum, nominal, maximum


@dataclass(frozen=True)
class Stage:
    """The preloads at one moment of life, no pressure on. `losses` from the nominal as tightened to the minimum."""

    name: str
    warmth: Warmth
    preload: Preload  # (J,) each
    losses: Mapping[str, Array]  # cause -> (J,) N; negative: a gain


@dataclass(frozen=True)
class Life:
    """Stages in order; `hot` and what follows it only where the study gets hot."""

    design: Design
    body: Body
    stages: tuple[Stage, ...]
    own: Mapping[Warmth, Stage]  # settled, then brought to the temperatures of the load cases

    def stage(self, name: str) -> Stage | None:
        """The stage of that name."""
        return next((s for s in self.stages if s.name == name), None)


@dataclass(frozen=True)
class _Joints:
    """D layouts of one topology and of one study's temperatures; `pair` at 20 °C. Their stages hold (D, J) each."""

    designs: Sequence[Design]
    bodies: Sequence[Body]
    pair: Pair

    def of_bolts(self, get: Callable[[Bolt, Design], float]) -> Array:
        """A figure of every bolt, (D, 1, J)."""
        return table([[get(b, d) for b in d.caliper.bolts] for d in self.designs])[:, None]


def life(design: Design, body: Body, pair: Pair) -> Life:
    """The life of one layout's bolts; `pair` is its joint at 20 °C. Raises `JointError`."""
    return lives([design], [body], pair)[0]


def lives(designs: Sequence[Design], bodies: Sequence[Body], pair: Pair) -> tuple[Life, ...]:
    """The lives of D layouts at once: one topology, the same load cases and temperatures. Raises `JointError`."""
    joints = _Joints(designs, bodies, pair)
    tight = [preloads(d) for d in designs]
    tightened = Preload(*(np.stack([getattr(p, end) for p in tight]) for end in ENDS))
    first = Stage(TIGHTENED, ROOM, tightened, {"scatter": tightened.nominal - tightened.min})
    settled = _settled(joints, first)
    stages = (first, settled, *_later(joints, settled, designs[0].life))
    own = {ROOM: settled}
    for case in designs[0].load_cases:
        warmth = Warmth(case.body_temperature_C, case.bolt_temperature_C)
        same = (s for s in stages if s.name in (HOT, COLD) and s.warmth == warmth)
        if warmth not in own:
            own[warmth] = next(same, None) or _warmed(joints, settled, warmth, f"at {warmth}")
    return tuple(_one(joints, stages, own, d) for d in range(len(designs)))


def _later(joints: _Joints, settled: Stage, known: schema.Life) -> tuple[Stage, ...]:
    cold = _warmed(joints, settled, Warmth(known.cold_C, known.cold_C), COLD)
    hot = Warmth(known.hot_body_C, known.hot_bolt_C)
    if hot == ROOM:
        return (cold,)
    warm = _warmed(joints, settled, hot, HOT)
    return warm, cold, _soaked(joints, warm, cold, known.soak_loss)


def _one(joints: _Joints, stages: Sequence[Stage], own: Mapping[Warmth, Stage], d: int) -> Life:
    """One layout's life; a stage that stands in two places is one object there too."""
    cut = {id(s): _row(s, d) for s in (*stages, *own.values())}
    temperatures = {warmth: cut[id(s)] for warmth, s in own.items()}
    return Life(joints.designs[d], joints.bodies[d], tuple(cut[id(s)] for s in stages), temperatures)


def _row(stage: Stage, d: int) -> Stage:
    preload = Preload(*(getattr(stage.preload, end)[d] for end in ENDS))
    return Stage(stage.name, stage.warmth, preload, {cause: lost[d] for cause, lost in stage.losses.items()})


def _settled(joints: _Joints, tight: Stage) -> Stage:
    shorter = -1e-3 * joints.of_bolts(settling_um) * LOSES
    bedded = _carried(joints.pair, joints.pair, tight.preload, lengthening=shorter)
    creep = settling.creep_loss(bedded, share=joints.of_bolts(lambda b, _: b.creep_loss) * LOSES)
    losses = {**tight.losses, "settling": tight.preload.min - bedded[:, 0], "creep": creep[:, 0]}
    return Stage(SETTLED, ROOM, _preload(bedded - creep), losses)


def settling_um(bolt: Bolt, design: Design) -> float:
    """Settling of one bolt's grip: thread, head face, clamp plane and what a washer adds.

    Where a drag shears the clamp plane the guideline's larger amounts count.
    """
    load = "transverse" if any(c.drag for c in design.load_cases) else "axial"
    amount = catalogue.embedding(RZ_UM[bolt.roughness], load=load)
    return float(
        settling.embedding_amount(
            thread_um=amount.thread_um,
            face_um=amount.face_um,
            interface_um=amount.interface_um,
            interfaces=2 if bolt.washer_diameter else 1,
        )
    )


def _warmed(joints: _Joints, before: Stage, warmth: Warmth, name: str) -> Stage:
    found = _moved(joints, before, warmth)
    losses = {**before.losses, "temperature": before.preload.min - found[:, 0]}
    return Stage(name, warmth, _preload(found), losses)


def _soaked(joints: _Joints, hot: Stage, cold: Stage, share: float) -> Stage:
    """A share lost while hot, then cold; what it costs beside the cold without it is the soak's."""
    left = _preload(_ends(hot.preload) * (1.0 - share * LOSES))
    found = _moved(joints, Stage(hot.name, hot.warmth, left, {}), cold.warmth)
    losses = {**cold.losses, "hot soak": cold.preload.min - found[:, 0]}
    return Stage(SOAKED, cold.warmth, _preload(found), losses)


def _moved(joints: _Joints, before: Stage, warmth: Warmth) -> Array:
    """Preloads (D, 3, J) after going from the temperature of `before` to another one."""
    both = (before.warmth, warmth)
    start, end = (heat.at_warmth(joints.pair, joints.designs, joints.bodies, w) for w in both)
    grown = [heat.lengthening(joints.designs, joints.bodies, w)[:, None] for w in both]
    return _carried(start, end, before.preload, lengthening=grown[1] - grown[0])


def _carried(start: Pair, end: Pair, preload: Preload, *, lengthening: Array) -> Array:
    """Bolt forces (D, 3, J) of joints tightened as `start` and then being `end`, grips grown by `lengthening`.

    A bolt cannot push: one that goes slack has 0 N. A joint that nothing holds any more has 0 N in every bolt.
    """
    force = _ends(preload)
    if not force.size:
        return force
    grown = np.broadcast_to(lengthening, force.shape)
    try:
        found = _carry(start, end, force, grown)
    except JointError as error:
        found = _carried_one_by_one(start, end, force, grown, whole=error)
    return np.where(found > ROUNDING_N, found, 0.0)


def _carry(start: Pair, end: Pair, force: Array, grown: Array) -> Array:
    tight = tighten(start, force)
    none = np.zeros(force.shape[:2])
    moved = load(end, tight, none, lengthening=grown, tightened_with=start.bolt_flexibility)
    return moved.response.bolt


def _carried_one_by_one(start: Pair, end: Pair, force: Array, grown: Array, *, whole: JointError) -> Array:
    """As `_carried`; 0 N where every grip shrinks by more than its bolt was stretched: loose halves lie anyhow.

    Another failure raises `whole`, the batch's own error.
    """
    found = np.zeros(force.shape)
    for d, k in np.ndindex(force.shape[:2]):
        at = slice(d, d + 1), slice(k, k + 1)
        try:
            found[at] = _carry(stacked.one(start, d), stacked.one(end, d), force[at], grown[at])
        except JointError as error:
            stretch = force[d, k] * start.bolt_flexibility[d]
            if not (isinstance(error, UnheldError) or np.all(stretch + grown[d, k] <= 0.0)):
                raise whole from error
    return found


def _ends(preload: Preload) -> Array:
    return np.stack([getattr(preload, end) for end in ENDS], axis=-2)


def _preload(ends: Array) -> Preload:
    """From (D, 3, J)."""
    return Preload(*(ends[:, k] for k in range(3)))
