"""Where a result lies outside what its model was checked for: sentences that travel with the figures."""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper import heat
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.clamp_plane import open_share
from stiffcalc.caliper.heat import Warmth
from stiffcalc.caliper.metal import Metal
from stiffcalc.caliper.pad_checks import sentences as bars
from stiffcalc.caliper.requirement import Context
from stiffcalc.caliper.response import Answer
from stiffcalc.study.schema import Design

NOT_HELD = (
    "not held: no closed face, bolt or solid bridge holds the halves together at this pressure; no figures."
)
MOSTLY_OPEN = 0.8  # share of a face beyond which solids and models were hardly compared


def sentences(c: Context, *, tilted: bool) -> tuple[str, ...]:
    """What the reader of this load case must know."""
    shape = (*geometry(c.body, c.metal, tilted=tilted), *corners(c.design))
    found = joint(c.body, c.answer, c.at) if c.held else [NOT_HELD]
    return tuple(dict.fromkeys((*found, *bars(c), *shape, *temperature(c))))


def corners(design: Design) -> list[str]:
    """Bridges whose corner with the wall is sharp."""
    return [
        f"{b.name}: sharp corner with the wall, where no peak stress exists; give a fillet."
        for b in design.caliper.bridges
        if b.kind == "integral" and b.fillet == 0
    ]


def joint(body: Body, answer: Answer, at: int) -> list[str]:
    """Joints outside the range of rigid flat faces and tight bolts, at any preload of the range."""
    if answer.tightened is None:
        return []
    found = []
    opened = open_share(answer)[:, at].max(axis=0)
    for i in answer.pair.jointed:
        name = body.bridges[i].name
        if opened[i] > MOSTLY_OPEN:
            found.append(
                f"{name}: {opened[i]:.0%} of the joint face is open, beyond what was compared with solids."
            )
        if all(b.bridge != i for b in body.bolts):
            found.append(
                f"{name}: no bolt clamps this joint face; what it carries depends on flatness, unknown here."
            )
    slack = np.flatnonzero((answer.loaded.bolt[0, :, at] < 0).any(axis=0))
    found += [f"bolt {j + 1} goes slack, which the model does not know." for j in slack]
    return found


def geometry(body: Body, metal: Metal, *, tilted: bool) -> list[str]:
    """Shapes outside the range that was compared with solids."""
    found = []
    if not tilted:
        found.append(
            "Tilt is not given: the frame's reads 8 % low on average, up to 18 %; run the front view."
        )
    for side in ("inboard",) if body.symmetric else ("inboard", "outboard"):
        outside = [span for span in metal.sides[side].spans if not span.inside[0]]
        found += [
            f"{side} wall: {span.sentence(0)}; figures may be off by more than stated." for span in outside
        ]
    return found


def temperature(c: Context) -> list[str]:
    """Moduli, expansions and strengths used outside their data, at the case's and at the governing temperatures."""
    found = list(c.design.caliper.material.at(c.case.body_temperature_C).flags)
    own = Warmth(c.case.body_temperature_C, c.case.bolt_temperature_C)
    for warmth in dict.fromkeys((own, *(v.warmth for v in (*c.low, *c.high)))):
        found += heat.flags(c.design, warmth)
    return found
