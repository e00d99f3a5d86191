"""A bar bolted down on the walls, as its checks see it: what its short bolts keep of their preload through life.

Its bolts share nothing with those of the clamp plane, so settling, creep and heat are those of one bolt and one pad.
Losses fall on the minimum and the nominal; the maximum is taken to lose nothing (as in `life`).
Figures are those of one design, or arrays (D,) over the designs of a batch (`mechanics.trees`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper import heat
from stiffcalc.caliper.batch import column, row
from stiffcalc.caliper.body import Body, BridgeShape, PadShape
from stiffcalc.caliper.heat import ROOM, ROOM_C, WASHER, Warmth
from stiffcalc.caliper.life import COLD, HOT, RZ_UM, SETTLED, SOAKED, TIGHTENED
from stiffcalc.caliper.preloads import nominal_preload
from stiffcalc.caliper.stages import LIVED
from stiffcalc.catalogue import Material
from stiffcalc.condensed import Array
from stiffcalc.mechanics import resilience, settling, tightening, warming
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.mechanics.pads import Seat, pad_flexibility, seat
from stiffcalc.study.schema import Bridge, Design, Pads, Screw

LOSES = np.array([1.0, 1.0, 0.0])  # minimum, nominal, maximum


@dataclass(frozen=True)
class Bar:
    """One bar on pads of one layout. Lengths mm, at 20 °C."""

    index: int  # of its bridge
    bridge: Bridge
    held_by: Pads
    shape: BridgeShape
    pads: PadShape
    wall: Material
    E_wall: float

    @property
    def name(self) -> str:
        """The bridge's name."""
        return self.bridge.name

    @property
    def screw(self) -> Screw:
        """Its bolts, all alike."""
        return self.held_by.screw

    @property
    def count(self) -> int:
        """Bolts on each side."""
        return len(self.pads.x)

    @property
    def width(self) -> float:
        """Along x."""
        return self.shape.x1 - self.shape.x0

    @property
    def height(self) -> float:
        """Of a pad, from its seat to its top."""
        return self.shape.y1 - self.pads.seat

    @property
    def places(self) -> Array:
        """x of the bolts of one side from the bar's middle, (n,) or (D, n)."""
        return row(self.pads.x) - column(0.5 * (self.shape.x0 + self.shape.x1))

    @property
    def grip(self) -> float:
        """From under the head to the seat."""
        return self.height + (0.0 if self.screw.washer_diameter is None else self.screw.washer_thickness)

    @property
    def seat(self) -> Seat:
        """One pad's seat, its holes taken out."""
        p = self.pads
        return seat(
            width=self.width, length=p.length, setback=p.setback, holes=float(self.count), hole=p.hole
        )

    def flexibility(self, lever: float) -> Array:
        """What one pad gives at a point `lever` above its seat (3, 3)."""
        return pad_flexibility(
            width=self.width,
            height=self.height,
            length=self.pads.length,
            lever=lever,
            E_wall=self.E_wall,
            E_bar=self.shape.E,
        )

    @property
    def room_round_a_bolt(self) -> Array:
        """Least distance from a bolt's axis to the pad's edge, or half way to its neighbour."""
        p = self.pads
        along = 0.5 * self.width - np.abs(self.places).max(axis=-1)
        between = 0.5 * self.held_by.pitch if self.count > 1 else along
        return np.asarray(row((along, between, p.setback, p.length - p.setback)).min(axis=-1))

    @cached_property
    def cone(self) -> Array:
        """Tangent of the pressure cone under a head; 0 where the pad is no wider than the head: a sleeve."""
        head = catalogue.head(catalogue.thread(self.screw.thread).d).diameter
        limit = 2.0 * self.room_round_a_bolt
        wide = limit > head
        tangent = resilience.cone_tangent(
            self.grip, outer=head, limit=np.where(wide, limit, 2.0 * head), tapped=True
        )
        return np.where(wide, tangent, 0.0)

    @cached_property
    def bolt_resilience(self) -> Array:
        """mm/N of one bolt: head, grip and engaged thread, the wall's thread with the wall's modulus."""
        size, grade = catalogue.thread(self.screw.thread), catalogue.grade(self.screw.grade)
        length = self.grip + self.screw.engagement
        free = np.maximum(0.0, np.minimum(2.0 * size.d + 12.0, length) - self.screw.engagement)
        thread = np.minimum(free, self.grip)
        parts = resilience.bolt(
            size.d,
            root_area=resilience.circle(size.d3),
            shank=self.grip - thread,
            free_thread=thread,
            E=grade.E,
            anchor_E=self.E_wall,
        )
        return parts.total

    @cached_property
    def pad_resilience(self) -> Array:
        """mm/N of what one bolt clamps: the pad (and a washer, taken as part of it)."""
        head = catalogue.head(catalogue.thread(self.screw.thread).d).diameter
        layers = resilience.plates(
            column(self.grip),
            E=column(self.shape.E),
            outer=head,
            hole=column(self.pads.hole),
            limit=np.maximum(head, 2.0 * self.room_round_a_bolt),
            tangent=np.where(self.cone > 0.0, self.cone, 1.0),
            tapped=True,
        )
        return np.asarray(layers.sum(axis=-1))


def bars(design: Design, body: Body) -> Iterator[Bar]:
    """Every bar on pads of a layout."""
    c = design.caliper
    for i, (bridge, shape) in enumerate(zip(c.bridges, body.bridges, strict=True)):
        if bridge.pads is not None and shape.pads is not None:
            yield Bar(i, bridge, bridge.pads, shape, shape.pads, c.material, body.E)


@dataclass(frozen=True)
class Moment:
    """Preload of one bolt of a bar at one moment of life."""

    name: str
    warmth: Warmth
    preload: Preload


def life(bar: Bar, design: Design, *, kind: str, own: Warmth) -> tuple[Moment, ...]:
    """Tightened, settled, at the load case's own temperature, and for cases that recur cold, hot and soaked."""
    tight = tightening.preload_interval(nominal_preload(bar.screw), scatter=bar.screw.scatter)
    settled = _settled(bar, tight)
    found = [Moment(TIGHTENED, ROOM, tight), Moment(SETTLED, ROOM, settled)]
    if own != ROOM:
        found.append(Moment(f"at {own}", own, warmed(bar, settled, ROOM, own)))
    if kind in LIVED:
        found += _lived(bar, design, settled)
    return tuple(found)


def _lived(bar: Bar, design: Design, settled: Preload) -> Iterator[Moment]:
    known = design.life
    cold, hot = Warmth(known.cold_C, known.cold_C), Warmth(known.hot_body_C, known.hot_bolt_C)
    yield Moment(COLD, cold, warmed(bar, settled, ROOM, cold))
    if hot != ROOM:
        warm = warmed(bar, settled, ROOM, hot)
        yield Moment(HOT, hot, warm)
        left = _preload(_ends(warm) * (1.0 - known.soak_loss * LOSES))
        yield Moment(SOAKED, cold, warmed(bar, left, hot, cold))


def _settled(bar: Bar, tight: Preload) -> Preload:
    """After embedding and creep; the seat is sheared, so the larger amounts of embedding count."""
    amount = catalogue.embedding(RZ_UM[bar.screw.roughness], load="transverse")
    micrometres = settling.embedding_amount(
        thread_um=amount.thread_um,
        face_um=amount.face_um,
        interface_um=amount.interface_um,
        interfaces=1 if bar.screw.washer_diameter is None else 2,
    )
    lost = settling.embedding_loss(micrometres, bolt=bar.bolt_resilience, plates=bar.pad_resilience)
    bedded = np.maximum(_ends(tight) - column(lost) * LOSES, 0.0)
    return _preload(bedded - settling.creep_loss(bedded, share=column(bar.screw.creep_loss) * LOSES))


def warmed(bar: Bar, preload: Preload, start: Warmth, end: Warmth) -> Preload:
    """Preload after going from one even temperature to another; a bolt that would push is slack."""
    force = settling.preload_at_temperature(
        _ends(preload),
        bolt=column(bar.bolt_resilience) / _bolt_ratio(bar, start),
        plates=column(bar.pad_resilience) / heat.modulus_ratio(bar.bridge.material, start.body_C),
        lengthening=column(_outgrown(bar, end) - _outgrown(bar, start)),
        bolt_E_ratio=_bolt_ratio(bar, end) / _bolt_ratio(bar, start),
        plates_E_ratio=heat.modulus_ratio(bar.bridge.material, end.body_C)
        / heat.modulus_ratio(bar.bridge.material, start.body_C),
    )
    return _preload(force)


def _ends(preload: Preload) -> Array:
    return row((preload.min, preload.nominal, preload.max))


def _preload(ends: Array) -> Preload:
    return Preload(*(ends[..., k] for k in range(3)))


def _bolt_ratio(bar: Bar, warmth: Warmth) -> float:
    grade = catalogue.grade(bar.screw.grade)
    return grade.E_at(warmth.bolt_C)[0] / grade.E


def _outgrown(bar: Bar, warmth: Warmth) -> Array:
    """By how much washer and pad outgrow the bolt when warmed from 20 °C, mm."""
    bolt = catalogue.grade(bar.screw.grade).expansion_at(warmth.bolt_C)[0] * (warmth.bolt_C - ROOM_C)
    rise = warmth.body_C - ROOM_C
    strain = [
        catalogue.grade(WASHER).expansion_at(warmth.body_C)[0] * rise,
        bar.bridge.material.value_at("expansion_per_K", warmth.body_C)[0] * rise,
    ]
    grip = row((bar.grip - bar.height, bar.height))
    return warming.lengthening(grip=grip, grip_strain=np.array(strain), bolt_strain=np.array(bolt))
