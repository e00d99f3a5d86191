"""Preload through the life of a joint: tightened, settled, hot, cold, hot soak then cold.

Every step is one solve of the same joint, so that bolts share what a face or a half gives way: settling is a
shortening of the grips, heat a lengthening and other moduli. Losses fall on the minimum and the nominal; the maximum
is taken to lose nothing, so that the interval holds what may be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper import heat
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.heat import ROOM, Warmth
from stiffcalc.caliper.preloads import preloads
from stiffcalc.condensed import Array
from stiffcalc.mechanics import settling
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.mechanics.joint import load, tighten
from stiffcalc.mechanics.joint_state import Pair, UnheldError
from stiffcalc.study.schema import Bolt, Design

TIGHTENED, SETTLED, HOT, COLD, SOAKED = "tightened", "settled", "hot", "cold", "cold after hot soak"
RZ_UM = {"fine": 5.0, "medium": 20.0, "coarse": 80.0}  # inside the guideline's three ranges of roughness
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
    pair: Pair  # at 20 °C
    stages: tuple[Stage, ...]

    def stage(self, name: str) -> Stage | None:
        """The stage of that name."""
        return next((s for s in self.stages if s.name == name), None)

    def at(self, warmth: Warmth) -> Stage:
        """Settled, then brought to another temperature."""
        settled = self.stages[1]
        if warmth == ROOM:
            return settled
        return _warmed(self, settled, warmth, f"at {warmth}")


def life(design: Design, body: Body, pair: Pair) -> Life:
    """The life of one layout's bolts; `pair` is its joint at 20 °C. Raises `JointError`."""
    tight = preloads(design)
    first = Stage(TIGHTENED, ROOM, tight, {"scatter": tight.nominal - tight.min})
    known = Life(design, body, pair, (first, _settled(design, body, pair, first)))
    d, cold = design.life, Warmth(design.life.cold_C, design.life.cold_C)
    later = [_warmed(known, known.stages[1], cold, COLD)]
    hot = Warmth(d.hot_body_C, d.hot_bolt_C)
    if hot != ROOM:
        warm = _warmed(known, known.stages[1], hot, HOT)
        later = [warm, *later, _soaked(known, warm, later[0])]
    return Life(design, body, pair, (*known.stages, *later))


def _settled(design: Design, body: Body, pair: Pair, tight: Stage) -> Stage:
    bolts = design.caliper.bolts
    shorter = -1e-3 * np.array([settling_um(b, design) for b in bolts]) * LOSES
    bedded = _carried(pair, pair, tight.preload, lengthening=shorter)
    creep = settling.creep_loss(bedded, share=np.array([b.creep_loss for b in bolts]) * LOSES)
    left = bedded - creep
    low = tight.preload.min
    losses = {**tight.losses, "settling": low - bedded[0], "creep": creep[0]}
    return Stage(SETTLED, ROOM, Preload(*left), losses)


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


def _warmed(life: Life, before: Stage, warmth: Warmth, name: str) -> Stage:
    found = _moved(life, before, warmth)
    return Stage(
        name, warmth, Preload(*found), {**before.losses, "temperature": before.preload.min - found[0]}
    )


def _soaked(life: Life, hot: Stage, cold: Stage) -> Stage:
    """A share lost while hot, then cold; what it costs beside the cold without it is the soak's."""
    lost = life.design.life.soak_loss * LOSES
    left = Preload(*(_ends(hot.preload) * (1.0 - lost)))
    found = _moved(life, Stage(hot.name, hot.warmth, left, {}), cold.warmth)
    losses = {**cold.losses, "hot soak": cold.preload.min - found[0]}
    return Stage(SOAKED, cold.warmth, Preload(*found), losses)


def _moved(life: Life, before: Stage, warmth: Warmth) -> Array:
    """Preloads (3, J) after going from the temperature of `before` to another one."""
    start, end = (heat.at_warmth(life.pair, life.design, life.body, w) for w in (before.warmth, warmth))
    grown = [heat.lengthening(life.design, life.body, w) for w in (before.warmth, warmth)]
    return _carried(start, end, before.preload, lengthening=grown[1] - grown[0])


def _carried(start: Pair, end: Pair, preload: Preload, *, lengthening: Array) -> Array:
    """Bolt forces (3, J) of joints tightened as `start` and then being `end`, grips grown by `lengthening` (.., J).

    A bolt cannot push: one that goes slack has 0 N. A joint that nothing holds any more has 0 N in every bolt.
    """
    force = _ends(preload)[None]
    if not force.size:
        return np.asarray(force[0])
    grown = np.broadcast_to(lengthening, force.shape)
    try:
        found = _carry(start, end, force, grown)
    except UnheldError:
        found = np.concatenate([_carry_one(start, end, force[:, [k]], grown[:, [k]]) for k in range(3)])
    return np.maximum(found, 0.0)


def _carry(start: Pair, end: Pair, force: Array, grown: Array) -> Array:
    tight = tighten(start, force)
    none = np.zeros(force.shape[:2])
    moved = load(end, tight, none, lengthening=grown, tightened_with=start.bolt_flexibility)
    force_now: Array = moved.response.bolt[0]
    return force_now


def _carry_one(start: Pair, end: Pair, force: Array, grown: Array) -> Array:
    try:
        return _carry(start, end, force, grown)
    except UnheldError:
        return np.zeros(force.shape[1:])


def _ends(preload: Preload) -> Array:
    return np.stack([preload.min, preload.nominal, preload.max])
