"""Checks of the bolts at the preloads of their life: tightening, service, fatigue, head, thread.

Axes: D designs, J bolts, V views (stages of life).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.batch import Mask, column, least, of, row
from stiffcalc.caliper.bolt_rows import Seen, Stages, seen
from stiffcalc.caliper.checked import Checked, Subject, Words, at_least, at_most, joined, margin_below
from stiffcalc.caliper.joint_checks import VDI, bearing_limit
from stiffcalc.caliper.requirement import Context
from stiffcalc.condensed import Array
from stiffcalc.mechanics import bearing, endurance, fasteners, thread_limits, threads

REPEATED = ("service", "fatigue")  # kinds that come often enough to tire a bolt
BENDING = "bending of the bolt is not in it"
ROLLED = {"before": endurance.ROLLED_BEFORE, "after": endurance.ROLLED_AFTER}  # slope of the finite-life line
INSERT_MPa = 1000.0  # tensile strength of a cold-drawn stainless wire insert; common practice, no source


def bolts(c: Context) -> Iterator[Checked]:
    """Of each bolt check, the bolt with the least margin."""
    if c.answer.tightened is None or not c.body.bolts:
        return
    own = c.design.caliper.bolts
    # tight: at 20 °C, the maximum as tightened
    b = seen(own, [f"bolt {j + 1}" for j in range(len(own))], c.high[0].preload)
    high, every = Stages.of(c.high), Stages.of((*c.low, *c.high))
    yield tightening(b)
    if high.views:
        yield service(c, b, high)
    if c.case.kind in REPEATED and every.views:
        yield fatigue(c, b, every)
    if high.views:
        yield head(c, b, high)
    yield engagement(c, b)


def tightening(b: Seen) -> Checked:
    """Tension and torsion of the wrench against yield."""
    stress = fasteners.service_stress(b.tight, shear=b.shear, thread=b.size, torsion_left=1.0)
    worst = least(margin_below(stress, b.yield_MPa))
    at = worst.flat

    def words(d: int) -> Words:
        j = at[d]
        return Words(
            f"sqrt(s^2 + 3 t^2), s = {b.tight[d, j]:.0f} N / {b.size.A_s[j]:.1f} mm2, t = {b.shear[d, j]:.0f} MPa",
            VDI,
            "maximum preload, tightened",
        )

    subject = Subject("bolt tightening", "MPa", _names("equivalent stress at tightening", b), words, at)
    return at_most(subject, worst.of(stress), b.yield_MPa[at])


def _names(what: str, b: Seen) -> tuple[str, ...]:
    return tuple(f"{what}, {name}" for name in b.names)


def service(c: Context, b: Seen, stages: Stages) -> Checked:
    """Tension under pressure and half the torsion against yield (burst: ultimate), at the stage that is worst."""
    burst = c.case.kind == "burst"
    room = b.ultimate_MPa if burst else b.yield_MPa
    factor = b.strength_factors([v.warmth.bolt_C for v in stages.views])  # (J, V)
    size = b.size.column
    stress = fasteners.service_stress(stages.force, shear=b.shear[..., None], thread=size)
    worst = stages.least(margin_below(stress, room[:, None] * factor))
    bolt, at = worst.index
    force = worst.of(stages.force)

    def words(d: int) -> Words:
        j, view = bolt[d], stages.views[at[d]]
        strength, flag = b.grade(j).strength_factor(view.warmth.bolt_C)
        return Words(
            f"sqrt(s^2 + 3 (0.5 t)^2), s = {force[d]:.0f} N / {b.size.A_s[j]:.1f} mm2, t = {b.shear[d, j]:.0f} MPa; "
            f"allowed {'ultimate' if burst else 'yield'} {room[j]:.0f} x {strength:.2f} at {view.warmth.bolt_C:g} °C",
            VDI,
            joined(view.note([j], d), BENDING, flag),
        )

    subject = Subject("bolt service", "MPa", _names("equivalent stress in service", b), words, bolt)
    allowed = worst.of(room[:, None] * factor)
    return at_most(subject, worst.of(stress), allowed, applies=stages.applies)


def fatigue(c: Context, b: Seen, stages: Stages) -> Checked:
    """Alternating stress between no pressure and this case's against the endurance of rolled threads."""
    cycles = c.case.cycles if c.case.cycles is not None else endurance.ENDLESS
    size = b.size.column
    moved = [v.answer.change.bolt[:, v.end, v.at] for v in stages.views]
    swing = np.abs(np.stack(moved, axis=-1))
    lasting = _endurance(b, stages.force - swing / 2)
    slope = np.array([ROLLED[s.rolled] for s in b.screws])
    borne = endurance.finite_life(lasting.value, cycles=cycles, slope=slope[:, None])
    amplitude = fasteners.stress_amplitude(swing, low=0.0, thread=size)
    worst = stages.least(margin_below(amplitude, borne.value))
    bolt, at = worst.index
    change, ratio, inside = (worst.of(v) for v in (swing, lasting.ratio, lasting.inside))

    def words(d: int) -> Words:
        j, rolled = bolt[d], b.screws[bolt[d]].rolled
        lowered = "" if rolled == "before" else f"(2 - {ratio[d]:.2f}) "
        return Words(
            f"dF / (2 A_s) = {change[d]:.0f} N / (2 x {b.size.A_s[j]:.1f} mm2); "
            f"allowed {lowered}0.85 (150/d + 45), at {cycles:.2g} cycles",
            f"{VDI}, threads rolled {rolled} heat treatment",
            joined(
                stages.views[at[d]].note([j], d),
                BENDING,
                "" if inside[d] else "mean force outside the range of the rule for threads rolled after",
                "" if borne.inside else "fewer cycles than the rule covers",
            ),
        )

    subject = Subject("bolt fatigue", "MPa", _names("stress amplitude", b), words, bolt)
    return at_most(subject, worst.of(amplitude), worst.of(borne.value), applies=stages.applies)


@dataclass(frozen=True)
class Lasting:
    """Endurance amplitude, MPa, the mean force over the yield force it rests on, and whether that is in range."""

    value: Array  # (D, J, V)
    ratio: Array
    inside: Mask


def _endurance(b: Seen, mean: Array) -> Lasting:
    """Endurance at mean forces (D, J, V)."""
    before = column(endurance.endurance(thread=b.size))
    limit = column(b.yield_MPa * b.size.A_s)
    after = np.array([[s.rolled == "after"] for s in b.screws])
    found = endurance.endurance_rolled_after(before, mean_force=mean, yield_force=limit)
    return Lasting(np.where(after, found.value, before), mean / limit, ~after | found.inside)


def head(c: Context, b: Seen, stages: Stages) -> Checked:
    """Pressure under the head or washer against what the body's material bears, at the stage that is worst."""
    limits = [bearing_limit(c.design.caliper.material, v.warmth.body_C) for v in stages.views]
    allowed = np.array([limit for limit, *_ in limits])
    outer = b.outer()
    hole = row(s.hole for s in b.screws)
    pressure = bearing.head_pressure(stages.force, outer=column(outer), hole=column(hole))
    worst = stages.least(margin_below(pressure, allowed))
    bolt, at = worst.index
    force, wide = worst.of(stages.force), worst.of(column(outer))

    def words(d: int) -> Words:
        screw = b.screws[bolt[d]]
        thin = screw.washer_diameter is not None and wide[d] < of(screw.washer_diameter, d)
        _, how, flag = limits[at[d]]
        return Words(
            f"F / (pi/4 (d_W^2 - d_h^2)), F = {force[d]:.0f} N, {wide[d]:g} over {of(screw.hole, d):g} mm; "
            f"allowed {how}",
            VDI,
            joined(
                stages.views[at[d]].note([bolt[d]], d),
                "the washer is too thin to press with its rim" if thin else "",
                flag,
            ),
        )

    subject = Subject("head pressure", "MPa", _names("pressure under the head", b), words, bolt)
    return at_most(subject, worst.of(pressure), allowed[at], applies=stages.applies)


def engagement(c: Context, b: Seen) -> Checked:
    """The bolt must break before the engaged threads strip, with the body as hot as it gets."""
    hottest = max(c.high, key=lambda v: v.warmth.body_C)
    metal, body_C = c.design.caliper.material, hottest.warmth.body_C
    ultimate, flag = metal.value_at("ultimate_MPa", body_C)
    found = _stripping(b, threads.ALUMINIUM_SHEAR_RATIO * ultimate)
    force, needed = np.broadcast_to(found.force, b.tight.shape), b.ultimate_MPa * b.size.A_s
    worst = least(margin_below(needed, force))
    at = worst.flat
    tapped, stripped, inside = (worst.of(v) for v in (found.tapped, found.bolt, found.inside))

    def words(d: int) -> Words:
        screw = b.screws[at[d]]
        sort = " and a wire insert" if screw.insert else ""
        return Words(
            f"lower of tapped {tapped[d]:.0f} N and bolt thread {stripped[d]:.0f} N over "
            f"{of(screw.engagement, d):g} mm{sort}, least overlap 6H/6g, body {ultimate:.0f} MPa at {body_C:g} °C; "
            "needed R_m A_s",
            f"{VDI} after Alexander, ISO 965-1; shear ratio of aluminium 0.7, for any body",
            joined(hottest.stage, "" if inside[d] else "outside the range of the factors", flag),
        )

    subject = Subject("engagement", "N", _names("stripping force of the engaged threads", b), words, at)
    return at_least(subject, worst.of(force), needed[at])


def _stripping(b: Seen, tapped_shear_MPa: float) -> threads.Stripping:
    """The weaker of the threads that each bolt hangs on, at their least overlap, (J,) or (D, J)."""
    mesh, length = thread_limits.least_overlap(b.size), row(s.engagement for s in b.screws)
    bolt_shear = np.array([threads.BOLT_SHEAR_RATIO[s.grade] for s in b.screws]) * b.ultimate_MPa
    plain = threads.stripping(length, mesh=mesh, tapped_shear_MPa=tapped_shear_MPa, bolt_shear_MPa=bolt_shear)
    inserted = np.array([s.insert for s in b.screws])
    if not inserted.any():
        return plain
    found = threads.insert_stripping(
        length,
        mesh=mesh,
        outer=thread_limits.least_insert_overlap(b.size),
        tapped_shear_MPa=tapped_shear_MPa,
        insert_shear_MPa=threads.BOLT_SHEAR_RATIO["12.9"] * INSERT_MPa,
        bolt_shear_MPa=bolt_shear,
    )
    weaker = _choose(found.inner.force <= found.outer.force, found.inner, found.outer)
    return _choose(inserted, weaker, plain)


def _choose(which: Mask, a: threads.Stripping, b: threads.Stripping) -> threads.Stripping:
    """Of each bolt the first where `which`, else the second."""
    return threads.Stripping(
        *(np.where(which, p, q) for p, q in zip(vars(a).values(), vars(b).values(), strict=True))
    )
