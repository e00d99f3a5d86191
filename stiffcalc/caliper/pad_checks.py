"""Checks of a bar bolted down on the walls: friction, lift-off and pressure of its seats.

Loads are the worst over the stages of life, the clamp the least (slip, lift-off) or the greatest (pressure, bolts) of
its own life: a pair that need not meet, so on the safe side. The bar is taken to be bolted down once the halves are
tightened, so what it carries is the change from there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.bars import Bar, Moment, bars, life
from stiffcalc.caliper.batch import Mask, Pick, column, least, most, of, row
from stiffcalc.caliper.checked import Checked, Flag, Subject, Words, always, at_least, at_most, joined
from stiffcalc.caliper.heat import Warmth
from stiffcalc.caliper.joint_checks import HOLDING, VDI, held_views, softer
from stiffcalc.caliper.requirement import Context, View
from stiffcalc.condensed import Array
from stiffcalc.mechanics import pads

NOT_COUNTED = "bolts in clearance holes are not counted"
SEAT_MODEL = "derived in mechanics/pads.py"
COMPARED_WIDTH, COMPARED_TALL = (24.0, 60.0), (0.5, 2.4)  # mm; pad height over its length


@dataclass(frozen=True)
class Loaded:
    """One bar in one load case of D designs: loads on one pad at V stages, and its bolts through M moments of life."""

    bar: Bar
    tension: Array  # (D, V, 3) N, Mx, My at the bar's reference point, those of unlike growth in them
    swing: Array  # (D, V, 3) the part that comes and goes with pressure
    held: Mask  # (D, V)
    moments: tuple[Moment, ...]

    @property
    def applies(self) -> Mask:
        """Designs that hold at some stage, (D,)."""
        return np.asarray(self.held.any(axis=1))

    @property
    def lever(self) -> Array:
        """Of the reference point above the seat, mm."""
        shape, seat = self.bar.shape, self.bar.pads.seat
        x = 0.5 * (shape.x0 + shape.x1)
        low: Array | float = shape.y0
        if shape.arch is not None:
            low = np.maximum(low, np.sqrt(np.maximum(shape.arch**2 - x**2, 0.0)))
        return np.asarray(0.5 * (low + shape.y1) - seat)

    @property
    def seat_moment(self) -> Array:
        """M on the seat (D, V), N mm."""
        return pads.seat_moment(self.tension[..., 0], self.tension[..., 1], lever=column(self.lever))

    @property
    def seat(self) -> pads.Seat:
        """One pad's seat, to meet stages of life: (D, 1) or (1,)."""
        return pads.Seat(*(column(v) for v in vars(self.bar.seat).values()))

    def preload(self, end: str) -> Array:
        """Preload of one bolt at the `end` of its interval, (D, M) N."""
        found = row(getattr(m.preload, end) for m in self.moments)
        return np.broadcast_to(found, (len(self.tension), len(self.moments)))

    @property
    def least(self) -> Pick:
        """When a bolt has least preload."""
        return least(self.preload("min"))

    @property
    def most(self) -> Pick:
        """When a bolt has most."""
        return most(self.preload("max"))

    @property
    def least_force(self) -> Array:
        """Least preload of a bolt, (D,) N."""
        return self.least.of(self.preload("min"))

    @property
    def most_force(self) -> Array:
        """Greatest preload of a bolt, (D,) N."""
        return self.most.of(self.preload("max"))

    def grip(self, *, friction: float) -> pads.Grip:
        """Friction of one pad at the least preload."""
        p = self.bar.pads
        clamp = np.repeat(self.least_force[:, None], self.bar.count, axis=1)
        return pads.grip(clamp, x=self.bar.places, hole=p.hole, bearing=p.bearing, friction=friction)

    @property
    def needed(self) -> Array:
        """Friction force that N and My need together (D, V), N."""
        low = self.grip(friction=self.bar.held_by.friction[0])
        gripped = column(low.force) > 0.0
        grip = pads.Grip(column(low.force), np.where(gripped, column(low.torque), 1.0))
        together = pads.pull_needed(self.tension[..., 0], torque=self.tension[..., 2], grip=grip)
        return np.where(gripped, together, np.abs(self.tension[..., 0]))

    @property
    def kept_closed(self) -> tuple[Array, Array]:
        """Moments on the seat between which it stays wholly pressed at the least preload, (D,) N mm."""
        return pads.closed_moments(self.bar.count * self.least_force, seat=self.bar.seat)


def loaded_bars(c: Context) -> list[Loaded]:
    """Every bar of the layouts under this load case."""
    standing = list(bars(c.design, c.body))
    views, held = held_views((*c.low, *c.high)) if standing and c.held.any() else ([], c.held)
    if not views:
        return []
    own = Warmth(c.case.body_temperature_C, c.case.bolt_temperature_C)
    swing = np.stack([v.answer.change.tension[:, v.end, v.at] for v in views], axis=1)
    tension = swing + np.stack([_grown(v) for v in views], axis=1)
    return [
        Loaded(
            bar,
            tension[:, :, bar.index],
            swing[:, :, bar.index],
            held & c.held[:, None],
            life(bar, c.design, kind=c.case.kind, own=own),
        )
        for bar in standing
    ]


def _grown(view: View) -> Array:
    """What growth against the body adds to the bridges' forces, (D, N, 3)."""
    warm = view.answer.warm
    return np.zeros_like(view.tension) if warm is None else np.asarray(warm.tension[:, view.end])


def seats(c: Context) -> Iterator[Checked]:
    """Friction, lift-off and pressure of the seats of every bar."""
    for one in loaded_bars(c):
        if c.case.kind in HOLDING:
            yield friction(one)
            yield closed(one)
        yield pressure(c, one)


def friction(one: Loaded) -> Checked:
    """Pull and plan moment of the bar against the friction of one pad, lowest friction and least preload."""
    low, high = one.bar.held_by.friction
    grip, needed, least = one.grip(friction=low), one.needed, one.least
    worst, clamp = most(needed, one.held), one.least_force
    holds = one.grip(friction=high).force

    def words(d: int) -> Words:
        pull, _, turn = one.tension[d, worst.flat[d]]
        arm = grip.torque[d] / grip.force[d] if clamp[d] > 0 else 0
        return Words(
            f"mu sum F = {of(low, d):g} x {one.bar.count} x {clamp[d]:.0f} N; needed |N| + |My| F_0/M_0, "
            f"N = {pull:.0f} N, My = {turn:.0f} N mm, F_0/M_0 = 1/{arm:.1f} mm",
            f"Coulomb; straight line between both capacities, {SEAT_MODEL}",
            f"minimum preload, {one.moments[least.flat[d]].name}; {NOT_COUNTED}; at friction {of(high, d):g} it holds "
            f"{holds[d]:.0f} N",
        )

    subject = _subject(one, "friction", "N", "friction of a seat against the bar's pull", words)
    return at_least(subject, grip.force, worst.of(needed), applies=one.applies)


def _subject(one: Loaded, what: str, unit: str, name: str, words: Callable[[int], Words]) -> Subject:
    return Subject(f"seat {what} {one.bar.index + 1}", unit, (f"{name}, {one.bar.name}",), words)


def closed(one: Loaded) -> Checked:
    """The moment on the seat must leave its lighter edge pressed at the least preload."""
    low, high = (column(v) for v in one.kept_closed)
    moment, least, clamp = one.seat_moment, one.least, one.least_force
    # an allowed moment on either side; the share of it that is used is what compares them
    share = np.where(moment >= 0.0, moment / np.maximum(high, 1e-9), moment / np.minimum(low, -1e-9))
    worst = most(share, one.held)

    def words(d: int) -> Words:
        (pull, tip, _), p = one.tension[d, worst.flat[d]], one.bar.pads
        return Words(
            f"sum F (s - L/3) or (2L/3 - s), F = {clamp[d]:.0f} N, s = {of(p.setback, d):g}, "
            f"L = {of(p.length, d):g} mm; M = Mx + N e = {tip:.0f} + {pull:.0f} x {of(one.lever, d):.1f} N mm",
            f"kern of a rectangle, beam theory, {SEAT_MODEL}",
            f"minimum preload, {one.moments[least.flat[d]].name}",
        )

    subject = _subject(one, "closed", "N·mm", "moment that lifts an edge of a seat", words)
    kept, used = np.where(moment >= 0.0, high, -low), np.abs(moment)
    return at_least(subject, worst.of(kept), worst.of(used), applies=one.applies)


def pressure(c: Context, one: Loaded) -> Checked:
    """Greatest pressure of the seat over life against what the softer of bar and wall bears."""
    metals = (c.design.caliper.material, one.bar.bridge.material)
    clamp, at = one.bar.count * one.most_force, one.most.flat
    edges = np.maximum(*pads.edge_pressures(column(clamp), one.seat_moment, seat=one.seat))
    limits = [softer(metals, m.warmth.body_C) for m in one.moments]

    def words(d: int) -> Words:
        _, how, flag = limits[at[d]]
        return Words(
            f"F/A + M/W over {of(one.bar.width, d):g} x {of(one.bar.pads.length, d):g} mm less holes, "
            f"sum F = {clamp[d]:.0f} N; allowed {how}",
            VDI,
            joined(f"maximum preload, {one.moments[at[d]].name}", flag),
        )

    subject = _subject(one, "pressure", "MPa", "pressure at the edge of a seat", words)
    allowed = np.array([limit for limit, *_ in limits])[at]
    return at_most(subject, most(edges, one.held).of(edges), allowed, applies=one.applies)


def sentences(c: Context) -> Iterator[Flag]:
    """Where a bar leaves the model, which takes its pads as bonded."""
    for one in loaded_bars(c):
        found = [*_left(one), *_shape(one.bar), *always(_flags(one))]
        if c.case.drag:
            found += always(
                [f"{one.bar.name}: what of the drag goes through it is not in the friction of its seats."]
            )
        yield from (Flag(flag.applies & one.applies, flag.text) for flag in found)


def _left(one: Loaded) -> Iterator[Flag]:
    bar, p = one.bar, one.bar.pads
    held = one.grip(friction=bar.held_by.friction[0]).force
    size = catalogue.thread(bar.screw.thread).d
    yield Flag(
        most(one.needed, one.held).of(one.needed) > held,
        lambda d: (
            f"{bar.name}: it may slip at minimum preload and lowest friction, which the model does not know; up "
            f"to {of(p.hole, d) - size:.1f} mm more opening there until its bolts bear."
        ),
    )
    low, high = (column(v) for v in one.kept_closed)
    lifted = ~((one.seat_moment >= low) & (one.seat_moment <= high)) & one.held
    yield Flag(
        np.asarray(lifted.any(axis=1)),
        f"{bar.name}: a seat's edge lifts at minimum preload; the model keeps it closed, so it gives more.",
    )
    reach = 0.5 * catalogue.head(size).diameter + bar.grip * bar.cone
    covered = pads.covered(width=bar.width, length=p.length, setback=p.setback, x=bar.places, reach=reach)
    yield Flag(
        np.asarray(~covered),
        f"{bar.name}: corners of its pads lie outside the pressure cones of their bolts and may gape.",
    )


def _flags(one: Loaded) -> Iterator[str]:
    """Moduli and expansions of the bar's bolts outside their data, over its life."""
    grade = catalogue.grade(one.bar.screw.grade)
    for moment in one.moments:
        at = moment.warmth.bolt_C
        yield from filter(None, (grade.E_at(at)[1], grade.expansion_at(at)[1]))


def _shape(bar: Bar) -> Iterator[Flag]:
    """Pads beyond the solids of studies/solid_check/pad_solid.py."""
    shapes = (
        ("width", bar.width, COMPARED_WIDTH),
        ("height / length", bar.height / bar.pads.length, COMPARED_TALL),
    )
    for what, value, (low, high) in shapes:
        text = partial(_uncompared, bar.name, what, value, low, high)
        given = np.asarray(value)
        yield Flag(np.asarray((given < low) | (given > high)), text)


def _uncompared(bar: str, what: str, value: float, low: float, high: float, design: int) -> str:
    return (
        f"{bar}: pad {what} {of(value, design):.3g} is outside the compared range {low:g} to {high:g}; its give may "
        "be off by more than stated."
    )
