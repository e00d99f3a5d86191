"""Where a result lies outside what its model was checked for: sentences that travel with the figures."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from stiffcalc.caliper import heat
from stiffcalc.caliper.batch import of
from stiffcalc.caliper.checked import Flag, Flags, always
from stiffcalc.caliper.clamp_plane import open_share
from stiffcalc.caliper.heat import Warmth
from stiffcalc.caliper.pad_checks import sentences as bars
from stiffcalc.caliper.requirement import Context
from stiffcalc.caliper.shape_validity import lugs, pieces, thin_webs, thinned_floors
from stiffcalc.condensed import Array
from stiffcalc.mechanics.stacked import greatest
from stiffcalc.mechanics.wall_validity import Span
from stiffcalc.quantities import percent
from stiffcalc.study.schema import Bridge

NOT_HELD = (
    "not held: no closed face, bolt or solid bridge holds the halves together at this pressure; no figures."
)
UNTILTED = "Tilt is not given: the frame's reads 8 % low on average, up to 18 %; run the front view."
UNTIRED = "Fatigue of the body is not judged here, only that of bolts: stiffcalc section judges fillets and bolt holes."
# Stored two-piece solids, by bore at seven pressures: 18 bodies with such a face; the other 107 +0.5 % +- 1.4 %.
UNCLAMPED = (
    "openings of layouts with such a face were 1.3 % ± 1.3 % above solids, at worst 4.2 %, at low pressure"
)
MOSTLY_OPEN = 0.8  # share of a face beyond which solids and models were hardly compared


def sentences(c: Context, *, tilted: bool) -> Flags:
    """What the reader of this load case must know."""
    loose = Flag(~c.held, NOT_HELD)
    found = [Flag(f.applies & c.held, f.text) for f in joint(c, tilted=tilted)] if c.held.any() else []
    body = (*geometry(c, tilted=tilted), *corners(c), *tiring(c))
    return Flags((loose, *found, *bars(c), *body, *temperature(c)))


def corners(c: Context) -> Iterator[Flag]:
    """Bridges whose corner with the wall is sharp."""
    for b in c.design.caliper.bridges:
        if b.kind == "integral":
            text = f"{b.name}: sharp corner with the wall, where no peak stress exists; give a fillet."
            yield Flag(np.asarray(b.fillet) == 0, text)


def tiring(c: Context) -> Iterator[Flag]:
    """A load case of fatigue asks what no check of an assessment answers for the body."""
    if c.case.kind == "fatigue":
        yield from always([UNTIRED])


def joint(c: Context, *, tilted: bool) -> Iterator[Flag]:
    """Joints outside the range of rigid flat faces and tight bolts, at any preload of the range."""
    if c.answer.tightened is None:
        return
    opened = greatest(open_share(c.answer, c.at, beyond=MOSTLY_OPEN), axis=1)  # (D, N)
    for i in c.answer.pair.jointed:
        name = c.body.bridges[i].name
        yield Flag(opened[:, i] > MOSTLY_OPEN, partial(_mostly_open, name, opened[:, i]))
        if all(b.bridge != i for b in c.body.bolts):
            yield from always([_unclamped(name, front_view=tilted)])
    slack = np.asarray((c.answer.loaded.bolt[:, :, c.at] < 0).any(axis=1))  # (D, J)
    for j in range(slack.shape[1]):
        yield Flag(slack[:, j], f"bolt {j + 1} goes slack, which the model does not know.")


def _unclamped(bridge: str, *, front_view: bool) -> str:
    told = f"{bridge}: no bolt clamps this joint face; what it carries depends on flatness, unknown here"
    return f"{told}; {UNCLAMPED}." if front_view else f"{told}."


def _mostly_open(bridge: str, share: Array, design: int) -> str:
    return (
        f"{bridge}: {percent(share[design])} of the joint face is open, beyond what was compared with solids."
    )


def geometry(c: Context, *, tilted: bool) -> Iterator[Flag]:
    """Shapes outside the range that was compared with solids."""
    if not tilted:
        yield from always([UNTILTED])
    yield from always(lugs(c.body))
    yield from thin_webs(c.body)
    unequal = c.unequal
    for side in ("inboard", "outboard") if unequal.any() else ("inboard",):
        metal = c.metal.sides[side]
        yield from always(pieces(side, metal.walls))
        for flag in thinned_floors(side, metal):
            yield flag if side == "inboard" else Flag(flag.applies & unequal, flag.text)
        for span in metal.spans:
            outside = ~span.inside if side == "inboard" else ~span.inside & unequal
            yield Flag(outside, partial(_uncompared, side, span))


def _uncompared(side: str, span: Span, design: int) -> str:
    return f"{side} wall: {span.sentence(design)}; figures may be off by more than stated."


def temperature(c: Context) -> Iterator[Flag]:
    """Moduli, expansions and strengths used outside their data, at the case's and at the governing temperatures."""
    caliper = c.design.caliper
    for metal in {m.name: m for m in (caliper.material, *(b.material for b in caliper.bridges))}.values():
        yield from always(metal.at(c.case.body_temperature_C).flags)
    own = Warmth(c.case.body_temperature_C, c.case.bolt_temperature_C)
    for warmth in dict.fromkeys((own, *(v.warmth for v in (*c.low, *c.high)))):
        yield from always(heat.flags(c.design, warmth))
        yield from unlike_bridges(c, warmth)


def unlike_bridges(c: Context, warmth: Warmth) -> Iterator[Flag]:
    """Bridges of another material push or pull at the others when warm: along z that is in the joint, else not."""
    body = c.design.caliper.material
    for bridge in (b for b in c.design.caliper.bridges if b.material is not body):
        apart = heat.free_mismatch(c.design, bridge, warmth)
        text = partial(_unlike, bridge, warmth, apart)
        yield Flag(np.abs(apart) > heat.UNLIKE_UM, text)


def _unlike(bridge: Bridge, warmth: Warmth, apart: Array, design: int) -> str:
    return (
        f"{bridge.name}: of {bridge.material.name}, it grows {of(apart, design):+.0f} µm against the body at {warmth}; "
        "what that does along z is in the figures, its unlike growth across is not."
    )
