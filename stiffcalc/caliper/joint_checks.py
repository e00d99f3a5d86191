"""Checks of the clamp plane: that it holds at all, onset, face pressure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np

from stiffcalc.caliper import clamp_plane, heat
from stiffcalc.caliper.batch import Index, Mask, least, most
from stiffcalc.caliper.checked import Checked, Subject, Words, at_least, at_most, joined
from stiffcalc.caliper.requirement import LOW, Context, View
from stiffcalc.catalogue import Material
from stiffcalc.condensed import Array

HOLDING = ("service", "proof", "fatigue")  # kinds in which the clamp plane must stay closed
VDI = "VDI 2230 Part 1 (seen in transcription)"
ONSET_ERROR = "against solids within 10 % for two joints in three, late where a far corner is hardly pressed"
ONSET_ERROR_SOLID = (
    "by the 3-D solid: whole faces against finer solids within 5 % for 50 joints of 52, worst 8 %"
)


def held_views(views: Sequence[View]) -> tuple[list[View], Mask]:
    """The stages at which something holds the halves of some design, and of which (D, V)."""
    found = [v for v in views if v.held.any()]
    return found, np.stack([v.held for v in found], axis=-1) if found else np.zeros((0, 0), dtype=bool)


def holds(c: Context) -> Iterator[Checked]:
    """What is left of all preloads must outweigh pistons and fluid in ports, and something must hold the halves."""
    if c.answer.tightened is None or c.design.caliper.layout != "two-piece" or c.case.kind == "assembly":
        return
    counted = np.stack([_holding(c, v) for v in c.low], axis=-1)
    worst, pistons, fluid = least(counted), np.broadcast_to(c.clamp_force, c.count), port_push(c)

    def words(d: int) -> Words:
        view = c.low[worst.flat[d]]
        total, why = float(view.preload[d].sum()), why_not(c, view, d)
        formula = f"sum of the preloads left {total:.0f} N; pistons of one side push with {pistons[d]:.0f} N"
        formula += f", fluid in ports with {fluid[d]:.0f} N" if c.body.ports else ""
        return Words(
            f"{formula}; {why}, so none of it counts" if why else formula,
            "statics: faces cannot pull",
            view.note(range(len(c.body.bolts)), d),
        )

    subject = Subject("clamp plane holds", "N", ("preload left against the pistons' force",), words)
    yield at_least(subject, worst.of(counted), pistons + fluid)


def port_push(c: Context) -> Array:
    """What the fluid of all ports pushes the halves apart with, (D,) N."""
    prying = c.answer.pair.prying
    return np.zeros(c.count) if prying is None else c.case.pressure * prying[..., 0].sum(axis=1)


def _holding(c: Context, view: View) -> Array:
    """Preload that counts (D,), N: none where `why_not` has a reason."""
    lost = (view.preload <= 0.0).any(axis=1) | ~view.held | _opened(c, view).any(axis=1)
    return np.where(lost, 0.0, view.preload.sum(axis=1))


def _opened(c: Context, view: View) -> Mask:
    """Bolted faces that are wholly open, (D, N)."""
    bolted = np.array([b.jointed and bool(c.bolts_of(i)) for i, b in enumerate(c.body.bridges)])
    return np.asarray(bolted & (clamp_plane.clamp_left(view.contact) <= 0.0))


def why_not(c: Context, view: View, design: int) -> str:
    """The reason why a stage's clamp plane does not hold at all, or ''."""
    slack = [str(j + 1) for j in np.flatnonzero(view.preload[design] <= 0.0)]
    if slack:
        return f"bolt {', '.join(slack)} has no preload left"
    if not view.held[design]:
        return f"nothing holds the halves together at {c.case.pressure:g} MPa"
    gone = [c.body.bridges[i].name for i in np.flatnonzero(_opened(c, view)[design])]
    return f"the face of {', '.join(gone)} is wholly open" if gone else ""


def onset(c: Context) -> Iterator[Checked]:
    """Every clamped face must stay closed at the least preload of its life in service and proof."""
    if c.answer.tightened is None or c.case.kind not in HOLDING:
        return
    views = [v for v in c.low if v.answer.onset is not None]
    pressure, x, y = (
        np.stack([getattr(v.answer.onset, name)[:, LOW] for v in views], axis=-1)  # (D, N, V)
        for name in ("pressure", "x", "y")
    )
    pressure = np.nan_to_num(pressure, nan=0.0, posinf=np.inf)
    for i in c.answer.pair.jointed:
        worst = least(pressure[:, i])
        yield at_least(
            Subject(
                f"onset {i + 1}",
                "MPa",
                (f"onset pressure, {c.body.bridges[i].name}",),
                _onset_words(views, c.bolts_of(i), worst.flat, (worst.of(x[:, i]), worst.of(y[:, i]))),
            ),
            worst.of(pressure[:, i]),
            c.case.pressure,
        )


def _onset_words(
    views: Sequence[View], bolts: tuple[int, ...], at: Index, where: tuple[Array, Array]
) -> Callable[[int], Words]:
    def words(d: int) -> Words:
        x, y = (v[d] for v in where)
        place = f"x = {x:.0f}, y = {y:.0f} mm" if np.isfinite(x) else "nowhere"
        view = views[at[d]]
        closed = view.answer.pair.closed
        by_solid = closed is not None and closed.by_solid
        return Words(
            f"pressure at which the first point of the face loses contact: {place}",
            "closed joint face by 3-D elasticity, derived in stiffcalc/grid_solid"
            if by_solid
            else "closed joint face pressed unevenly by its bolts, derived in mechanics/elastic_faces.py",
            f"{view.note(bolts, d)}; {ONSET_ERROR_SOLID if by_solid else ONSET_ERROR}",
        )

    return words


def face_pressure(c: Context) -> Iterator[Checked]:
    """Largest pressure of each joint face over the greatest preloads against what its material bears."""
    views, held = held_views(c.high)
    if c.answer.tightened is None or not views:
        return
    high = np.stack([clamp_plane.greatest_pressure(v.answer.pair, v.state) for v in views], axis=-1)
    for i in c.answer.pair.jointed:
        metals = (c.design.caliper.material, c.design.caliper.bridges[i].material)
        limits = [softer(metals, v.warmth.body_C) for v in views]
        worst = most(high[:, i] / np.array([limit for limit, *_ in limits]), held)
        subject = Subject(
            f"face pressure {i + 1}",
            "MPa",
            (f"pressure of the joint face, {c.body.bridges[i].name}",),
            _pressure_words(c, views, limits, i, worst.flat),
        )
        allowed = np.array([limit for limit, *_ in limits])[worst.flat]
        yield at_most(subject, worst.of(high[:, i]), allowed, applies=held.any(axis=1))


def _pressure_words(
    c: Context, views: Sequence[View], limits: Sequence[tuple[float, str, str]], bridge: int, at: Index
) -> Callable[[int], Words]:
    def words(d: int) -> Words:
        _, how, flag = limits[at[d]]
        return Words(
            f"largest contact pressure at {c.case.pressure:g} MPa; allowed {how}",
            VDI,
            joined(views[at[d]].note(c.bolts_of(bridge), d), flag),
        )

    return words


def softer(metals: Iterable[Material], temperature_C: float) -> tuple[float, str, str]:
    """`bearing_limit` of the metal that bears least."""
    return min((bearing_limit(m, temperature_C) for m in metals), key=lambda found: found[0])


def bearing_limit(metal: Material, temperature_C: float) -> tuple[float, str, str]:
    """Limiting pressure of a material at temperature, MPa, how it was got, and the flag of its data.

    The known value (else the yield strength) falls as the yield strength does.
    """
    ratio, flag = heat.strength_ratio(metal, temperature_C)
    known = metal.head_pressure_MPa
    name = "limiting pressure" if known is not None else "yield, no limiting pressure known,"
    room = metal.yield_MPa if known is None else known
    return room * ratio, f"{name} of {metal.name} {room:.0f} x {ratio:.2f} at {temperature_C:g} °C", flag
