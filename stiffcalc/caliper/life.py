"""Preload through the life of a joint: tightened, settled, hot, cold, hot soak then cold.

Every step is one solve of the same joint, so that bolts share what a face or a half gives way: settling is a
shortening of the grips, heat a lengthening and other moduli. Losses fall on the minimum and the nominal; the maximum
is taken to lose nothing, so that the interval holds what may be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper import heat
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.heat import ROOM, Warmth
from stiffcalc.caliper.preloads import preloads
from stiffcalc.condensed import Array
from stiffcalc.mechanics import settling, stacked
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.mechanics.joint import load, tighten
from stiffcalc.mechanics.joint_state import JointError, Pair, State, UnheldError
from stiffcalc.mechanics.trees import number, single, table
from stiffcalc.study import schema
from stiffcalc.study.schema import Bolt, Design

TIGHTENED, SETTLED, HOT, COLD, SOAKED = "tightened", "settled", "hot", "cold", "cold after hot soak"
ENDS = ("min", "nominal", "max")
EXTREMES = ("min", "max")  # all that checks read
RZ_UM = {"fine": 5.0, "medium": 20.0, "coarse": 80.0}  # inside the guideline's three ranges of roughness
ROUNDING_N = 1.0  # a bolt below this is loose: contact of loose halves is found to about a newton
LOSES = {"min": 1.0, "nominal": 1.0, "max": 0.0}


@dataclass(frozen=True)
class Stage:
    """The preloads at one moment of life, no pressure on. `losses` from the nominal as tightened to the minimum."""

    name: str
    warmth: Warmth
    preload: Preload  # (D, J) each; NaN where it was not asked for
    losses: Mapping[str, Array]  # cause -> (D, J) N; negative: a gain
    tight: State | None = (
        None  # (D, ends) the joint tightened to the preloads, where it has been solved already
    )

    def one(self, d: int) -> Stage:
        """That of one layout of a batch, D = 1."""
        preload, losses = stacked.one(self.preload, d), stacked.one(self.losses, d)
        return replace(self, preload=preload, losses=losses, tight=None)


@dataclass(frozen=True)
class Life:
    """Stages in order, of a layout or a batch of D; `hot` and what follows it only where the study gets hot."""

    design: Design
    body: Body
    stages: tuple[Stage, ...]
    own: Mapping[Warmth, Stage]  # settled, then brought to the temperatures of the load cases
    pairs: Mapping[Warmth, Pair]  # its joint at each of the temperatures
    ends: tuple[str, ...] = ENDS  # of the preload interval that were asked for

    def stage(self, name: str) -> Stage | None:
        """The stage of that name."""
        return next((s for s in self.stages if s.name == name), None)

    def one(self, d: int) -> Life:
        """That of one layout of a batch, D = 1; a stage that stands in two places is one object there too."""
        cut = {id(s): s.one(d) for s in (*self.stages, *self.own.values())}
        return Life(
            single(self.design, d),
            single(self.body, d),
            tuple(cut[id(s)] for s in self.stages),
            {warmth: cut[id(s)] for warmth, s in self.own.items()},
            {},
            self.ends,
        )


@dataclass(frozen=True)
class _Joints:
    """A layout or a batch of D, its joint at every temperature of its life."""

    design: Design
    body: Body
    pairs: Mapping[Warmth, Pair]
    ends: tuple[str, ...]  # of the preload interval

    def of_bolts(self, get: Callable[[Bolt, Design], float]) -> Array:
        """A figure of every bolt, (D, 1, J)."""
        return table([get(b, self.design) for b in self.design.caliper.bolts], self.body.count)[:, None]

    @property
    def loses(self) -> Array:
        """Share of every loss that the ends take, (ends, 1)."""
        return np.array([[LOSES[end]] for end in self.ends])

    def stacked(self, preload: Preload) -> Array:
        """Its ends, (D, ends, J)."""
        return np.stack([getattr(preload, end) for end in self.ends], axis=-2)

    def interval(self, force: Array) -> Preload:
        """The preloads of which `force` (D, ends, J) has the ends."""
        known = {end: force[:, k] for k, end in enumerate(self.ends)}
        unasked = np.full_like(force[:, 0], np.nan)
        return Preload(**{end: known.get(end, unasked) for end in ENDS})


def life(design: Design, body: Body, pair: Pair, *, ends: tuple[str, ...] = ENDS) -> Life:
    """The life of the bolts of a layout or a batch of D, at these ends of the preload interval.

    `pair` is their joint at 20 °C. Raises `JointError`.
    """
    joints = _Joints(design, body, heat.at_each(pair, design, body, _warmths(design)), ends)
    tightened = preloads(design, body.count)
    first = Stage(TIGHTENED, ROOM, tightened, {"scatter": tightened.nominal - tightened.min})
    settled = _settled(joints, first)
    stages = (first, settled, *_later(joints, settled, design.life))
    own = {ROOM: settled}
    for case in design.load_cases:
        warmth = Warmth(case.body_temperature_C, case.bolt_temperature_C)
        same = (s for s in stages if s.name in (HOT, COLD) and s.warmth == warmth)
        if warmth not in own:
            own[warmth] = next(same, None) or _warmed(joints, settled, warmth, f"at {warmth}")
    return Life(design, body, stages, own, joints.pairs, ends)


def _warmths(design: Design) -> Iterator[Warmth]:
    """Every temperature of a layout's life."""
    known = design.life
    yield from (ROOM, Warmth(known.cold_C, known.cold_C), Warmth(known.hot_body_C, known.hot_bolt_C))
    yield from (Warmth(c.body_temperature_C, c.bolt_temperature_C) for c in design.load_cases)


def _later(joints: _Joints, settled: Stage, known: schema.Life) -> tuple[Stage, ...]:
    cold = _warmed(joints, settled, Warmth(known.cold_C, known.cold_C), COLD)
    hot = Warmth(known.hot_body_C, known.hot_bolt_C)
    if hot == ROOM:
        return (cold,)
    warm = _warmed(joints, settled, hot, HOT)
    return warm, cold, _soaked(joints, warm, cold, known.soak_loss)


def _settled(joints: _Joints, tight: Stage) -> Stage:
    pair, first = joints.pairs[ROOM], joints.stacked(tight.preload)
    shorter = -1e-3 * joints.of_bolts(settling_um) * joints.loses
    bedded, _ = _carried(pair, pair, first, lengthening=shorter)
    creep = settling.creep_loss(bedded, share=joints.of_bolts(lambda b, _: b.creep_loss) * joints.loses)
    losses = {**tight.losses, "settling": tight.preload.min - bedded[:, 0], "creep": creep[:, 0]}
    left = bedded - creep
    return Stage(SETTLED, ROOM, joints.interval(left), losses, _tight(pair, left))


def _tight(pair: Pair, force: Array) -> State | None:
    """The joint tightened to `force` (D, ends, J); None without bolts, or where that finds no equilibrium."""
    try:
        return tighten(pair, force) if force.size else None
    except JointError:
        return None


def settling_um(bolt: Bolt, design: Design) -> float:
    """Settling of one bolt's grip: thread, head face, clamp plane and what a washer adds.

    Where a drag shears the clamp plane the guideline's larger amounts count.
    """
    load = "transverse" if any(c.drag for c in design.load_cases) else "axial"
    amount = catalogue.embedding(RZ_UM[bolt.roughness], load=load)
    return number(
        settling.embedding_amount(
            thread_um=amount.thread_um,
            face_um=amount.face_um,
            interface_um=amount.interface_um,
            interfaces=1 if bolt.washer_diameter is None else 2,
        )
    )


def _warmed(joints: _Joints, before: Stage, warmth: Warmth, name: str) -> Stage:
    found, tight = _moved(joints, before, warmth)
    losses = {**before.losses, "temperature": before.preload.min - found[:, 0]}
    return Stage(name, warmth, joints.interval(found), losses, tight)


def _soaked(joints: _Joints, hot: Stage, cold: Stage, share: float) -> Stage:
    """A share lost while hot, then cold; what it costs beside the cold without it is the soak's."""
    left = joints.interval(joints.stacked(hot.preload) * (1.0 - share * joints.loses))
    found, tight = _moved(joints, Stage(hot.name, hot.warmth, left, {}), cold.warmth)
    losses = {**cold.losses, "hot soak": cold.preload.min - found[:, 0]}
    return Stage(SOAKED, cold.warmth, joints.interval(found), losses, tight)


def _moved(joints: _Joints, before: Stage, warmth: Warmth) -> tuple[Array, State | None]:
    """Preloads (D, ends, J) after going from the temperature of `before` to another one, and the joint then."""
    both = (before.warmth, warmth)
    start, end = (joints.pairs[w] for w in both)
    grown = [heat.lengthening(joints.design, joints.body, w)[:, None] for w in both]
    force = joints.stacked(before.preload)
    return _carried(start, end, force, lengthening=grown[1] - grown[0], tight=before.tight)


def _carried(
    start: Pair, end: Pair, force: Array, *, lengthening: Array, tight: State | None = None
) -> tuple[Array, State | None]:
    """Bolt forces of joints tightened to `force` (D, ends, J) as `start`, then being `end`, grips grown.

    A bolt cannot push: one that goes slack has 0 N. A joint that nothing holds any more has 0 N in every bolt.
    Also the joints at rest under these forces; None where some had to be put right.
    """
    if not force.size:
        return force, None
    grown = np.broadcast_to(lengthening, force.shape)
    try:
        state = _carry(start, end, tight or tighten(start, force), grown)
    except JointError as error:
        found = _carried_one_by_one(start, end, force, grown, whole=error)
        return np.where(found > ROUNDING_N, found, 0.0), None
    found = state.response.bolt
    firm = found > ROUNDING_N
    return np.where(firm, found, 0.0), state if firm.all() else None


def _carry(start: Pair, end: Pair, tight: State, grown: Array) -> State:
    none = np.zeros(grown.shape[:2])
    return load(end, tight, none, lengthening=grown, tightened_with=start.bolt_flexibility)


def _carried_one_by_one(start: Pair, end: Pair, force: Array, grown: Array, *, whole: JointError) -> Array:
    """As `_carried`; 0 N where every grip shrinks by more than its bolt was stretched: loose halves lie anyhow.

    Another failure raises `whole`, the batch's own error.
    """
    found = np.zeros(force.shape)
    for d, k in np.ndindex(force.shape[:2]):
        at = slice(d, d + 1), slice(k, k + 1)
        try:
            before = stacked.one(start, d)
            moved = _carry(before, stacked.one(end, d), tighten(before, force[at]), grown[at])
            found[at] = moved.response.bolt
        except JointError as error:
            stretch = force[d, k] * start.bolt_flexibility[d]
            if not (isinstance(error, UnheldError) or np.all(stretch + grown[d, k] <= 0.0)):
                raise whole from error
    return found
