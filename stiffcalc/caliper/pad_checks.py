"""Checks of a bar bolted down on the walls: friction, lift-off and pressure of its seats.

Loads are the worst over the stages of life, the clamp the least (slip, lift-off) or the greatest (pressure, bolts) of
its own life: a pair that need not meet, so on the safe side. The bar is taken to be bolted down once the halves are
tightened, so what it carries is the change from there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.bars import Bar, Moment, bars, life
from stiffcalc.caliper.heat import Warmth
from stiffcalc.caliper.joint_checks import HOLDING, VDI, bearing_limit
from stiffcalc.caliper.requirement import Context, Subject, at_least, at_most
from stiffcalc.caliper.results import Check
from stiffcalc.condensed import Array
from stiffcalc.mechanics import pads

NOT_COUNTED = "bolts in clearance holes are not counted"
SEAT_MODEL = "derived in mechanics/pads.py"
COMPARED_WIDTH, COMPARED_TALL = (24.0, 60.0), (0.5, 2.4)  # mm; pad height over its length


@dataclass(frozen=True)
class Loaded:
    """One bar in one load case: loads on one pad at the governing stages (V, 3) N, Mx, My, and the bolts' life."""

    bar: Bar
    tension: Array  # (V, 3) at the bar's reference point
    moments: tuple[Moment, ...]

    @property
    def lever(self) -> float:
        """Of the reference point above the seat, mm."""
        shape, seat = self.bar.shape, self.bar.pads.seat
        x = 0.5 * (shape.x0 + shape.x1)
        low = shape.y0 if shape.arch is None else max(shape.y0, max(shape.arch**2 - x**2, 0.0) ** 0.5)
        return 0.5 * (low + shape.y1) - seat

    @property
    def seat_moment(self) -> Array:
        """M on the seat (V,), N mm."""
        return pads.seat_moment(self.tension[:, 0], self.tension[:, 1], lever=self.lever)

    @property
    def least(self) -> Moment:
        """When a bolt has least preload."""
        return min(self.moments, key=lambda m: float(m.preload.min))

    @property
    def most(self) -> Moment:
        """When a bolt has most."""
        return max(self.moments, key=lambda m: float(m.preload.max))

    def grip(self, *, friction: float) -> pads.Grip:
        """Friction of one pad at the least preload."""
        p = self.bar.pads
        clamp = np.full(self.bar.count, float(self.least.preload.min))
        return pads.grip(clamp, x=self.bar.places, hole=p.hole, bearing=p.bearing, friction=friction)

    @property
    def needed(self) -> Array:
        """Friction force that N and My need together (V,), N."""
        low = self.grip(friction=self.bar.held_by.friction[0])
        if float(low.force) <= 0.0:
            return np.abs(self.tension[:, 0])
        return pads.pull_needed(self.tension[:, 0], torque=self.tension[:, 2], grip=low)

    @property
    def kept_closed(self) -> tuple[float, float]:
        """Moments on the seat between which it stays wholly pressed at the least preload, N mm."""
        clamp = self.bar.count * float(self.least.preload.min)
        low, high = pads.closed_moments(clamp, seat=self.bar.seat)
        return float(low), float(high)


def loaded_bars(c: Context) -> list[Loaded]:
    """Every bar of the layout under this load case."""
    views = [v for v in (*c.low, *c.high) if v.held]
    if not c.held or not views:
        return []
    own = Warmth(c.case.body_temperature_C, c.case.bolt_temperature_C)
    return [
        Loaded(
            bar,
            np.array([v.answer.change.tension[0, v.end, v.at, bar.index] for v in views]),
            life(bar, c.design, kind=c.case.kind, own=own),
        )
        for bar in bars(c.design, c.body)
    ]


def seats(c: Context) -> Iterator[Check]:
    """Friction, lift-off and pressure of the seats of every bar."""
    for one in loaded_bars(c):
        if c.case.kind in HOLDING:
            yield friction(one)
            yield closed(one)
        yield pressure(c, one)


def friction(one: Loaded) -> Check:
    """Pull and plan moment of the bar against the friction of one pad, lowest friction and least preload."""
    low, high = one.bar.held_by.friction
    grip, k = one.grip(friction=low), int(np.argmax(one.needed))
    pull, _, turn = one.tension[k]
    clamp = float(one.least.preload.min)
    subject = Subject(
        id=f"seat friction {one.bar.index + 1}",
        what=f"friction of a seat against the bar's pull, {one.bar.name}",
        unit="N",
        formula=(
            f"mu sum F = {low:g} x {one.bar.count} x {clamp:.0f} N; needed |N| + |My| F_0/M_0, N = {pull:.0f} N, "
            f"My = {turn:.0f} N mm, F_0/M_0 = 1/{float(grip.torque / grip.force) if clamp > 0 else 0:.1f} mm"
        ),
        source=f"Coulomb; straight line between both capacities, {SEAT_MODEL}",
        note=f"minimum preload, {one.least.name}; {NOT_COUNTED}; at friction {high:g} it holds "
        f"{float(one.grip(friction=high).force):.0f} N",
    )
    return at_least(subject, float(grip.force), float(one.needed[k]))


def closed(one: Loaded) -> Check:
    """The moment on the seat must leave its lighter edge pressed at the least preload."""
    low, high = one.kept_closed
    moment = one.seat_moment
    # an allowed moment on either side; the share of it that is used is what compares them
    share = np.where(moment >= 0.0, moment / max(high, 1e-9), moment / min(low, -1e-9))
    k = int(np.argmax(share))
    pull, tip, _ = one.tension[k]
    subject = Subject(
        id=f"seat closed {one.bar.index + 1}",
        what=f"moment that lifts an edge of a seat, {one.bar.name}",
        unit="N·mm",
        formula=(
            f"sum F (s - L/3) or (2L/3 - s), F = {float(one.least.preload.min):.0f} N, s = {one.bar.pads.setback:g}, "
            f"L = {one.bar.pads.length:g} mm; M = Mx + N e = {tip:.0f} + {pull:.0f} x {one.lever:.1f} N mm"
        ),
        source=f"kern of a rectangle, beam theory, {SEAT_MODEL}",
        note=f"minimum preload, {one.least.name}",
    )
    return at_least(subject, high if moment[k] >= 0.0 else -low, abs(float(moment[k])))


def pressure(c: Context, one: Loaded) -> Check:
    """Greatest pressure of the seat over life against what the softer of bar and wall bears."""
    metals = (c.design.caliper.material, one.bar.bridge.material)
    edges = np.max(
        pads.edge_pressures(one.bar.count * float(one.most.preload.max), one.seat_moment, seat=one.bar.seat)
    )
    limit, how, flag = min((bearing_limit(m, one.most.warmth.body_C) for m in metals), key=lambda a: a[0])
    subject = Subject(
        id=f"seat pressure {one.bar.index + 1}",
        what=f"pressure at the edge of a seat, {one.bar.name}",
        unit="MPa",
        formula=(
            f"F/A + M/W over {one.bar.width:g} x {one.bar.pads.length:g} mm less holes, sum F = "
            f"{one.bar.count * float(one.most.preload.max):.0f} N; allowed {how}"
        ),
        source=VDI,
        note="; ".join(filter(None, (f"maximum preload, {one.most.name}", flag))),
    )
    return at_most(subject, float(edges), limit)


def sentences(c: Context) -> Iterator[str]:
    """Where a bar leaves the model, which takes its pads as bonded."""
    for one in loaded_bars(c):
        yield from _left(one)
        yield from _shape(one.bar)
        yield from _flags(one)
        if c.case.drag:
            yield f"{one.bar.name}: what of the drag goes through it is not in the friction of its seats."


def _left(one: Loaded) -> Iterator[str]:
    held, play = (
        float(one.grip(friction=one.bar.held_by.friction[0]).force),
        one.bar.pads.hole - _diameter(one),
    )
    if float(one.needed.max()) > held:
        yield (
            f"{one.bar.name}: it may slip at minimum preload and lowest friction, which the model does not know; up "
            f"to {play:.1f} mm more opening there until its bolts bear."
        )
    low, high = one.kept_closed
    if not np.all((one.seat_moment >= low) & (one.seat_moment <= high)):
        yield f"{one.bar.name}: a seat's edge lifts at minimum preload; the model keeps it closed, so it gives more."
    head = catalogue.head(_diameter(one)).diameter
    reach = 0.5 * head + one.bar.grip * one.bar.cone
    p = one.bar.pads
    if not pads.covered(
        width=one.bar.width, length=p.length, setback=p.setback, x=one.bar.places, reach=reach
    ):
        yield f"{one.bar.name}: corners of its pads lie outside the pressure cones of their bolts and may gape."


def _flags(one: Loaded) -> Iterator[str]:
    """Moduli and expansions of the bar's bolts outside their data, over its life."""
    grade = catalogue.grade(one.bar.screw.grade)
    for moment in one.moments:
        at = moment.warmth.bolt_C
        yield from filter(None, (grade.E_at(at)[1], grade.expansion_at(at)[1]))


def _diameter(one: Loaded) -> float:
    return catalogue.thread(one.bar.screw.thread).d


def _shape(bar: Bar) -> Iterator[str]:
    """Pads beyond the solids of studies/solid_check/pad_solid.py."""
    shapes = (
        ("width", bar.width, COMPARED_WIDTH),
        ("height / length", bar.height / bar.pads.length, COMPARED_TALL),
    )
    for what, value, (low, high) in shapes:
        if not low <= value <= high:
            yield (
                f"{bar.name}: pad {what} {value:.3g} is outside the compared range {low:g} to {high:g}; its give may "
                "be off by more than stated."
            )
