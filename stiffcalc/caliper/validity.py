"""Where a result lies outside what its model was checked for: sentences that travel with the figures."""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.response import Answer
from stiffcalc.mechanics import faces
from stiffcalc.mechanics.wall import footprints
from stiffcalc.mechanics.wall_validity import spans
from stiffcalc.study.schema import Design, LoadCase

MOSTLY_OPEN = 0.8  # share of a face beyond which solids and models were hardly compared


def sentences(
    design: Design, body: Body, case: LoadCase, answer: Answer, at: int, *, tilted: bool
) -> tuple[str, ...]:
    """What the reader of this load case must know; `at` is the index of its pressure."""
    shape = (*geometry(body, tilted=tilted), *corners(design))
    return (*shape, *joint(body, answer, at), *temperature(design, case))


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
    opened = faces.open_fraction(answer.pair.faces, answer.loaded.separation[:, :, at])[0].max(axis=0)
    full = answer.pair.layer_share[0] >= faces.LAYER_MOST
    for i in answer.pair.jointed:
        name = body.bridges[i].name
        if full[i] and opened[i] > 0:
            found.append(f"{name}: short for its joint face; opening beyond onset reads up to 8 % low.")
        if opened[i] > MOSTLY_OPEN:
            found.append(
                f"{name}: {opened[i]:.0%} of the joint face is open, beyond what was compared with solids."
            )
        elif opened[i] > 0:
            found.append(
                f"{name}: the open share of the joint face reads low once it opens, for it stays plane here."
            )
        if all(b.bridge != i for b in body.bolts):
            found.append(
                f"{name}: no bolt clamps this joint face; what it carries depends on flatness, unknown here."
            )
    slack = np.flatnonzero((answer.loaded.bolt[0, :, at] < 0).any(axis=0))
    found += [f"bolt {j + 1} goes slack, which the model does not know." for j in slack]
    return found


def geometry(body: Body, *, tilted: bool) -> list[str]:
    """Shapes outside the range that was compared with solids."""
    found = []
    if not tilted:
        found.append(
            "Tilt is not given: the frame's reads 8 % low on average, up to 18 %; run the front view."
        )
    feet = footprints(idealise.bridges([body])).feet
    for side in ("inboard",) if body.symmetric else ("inboard", "outboard"):
        outside = [span for span in spans(idealise.walls([body], side), feet) if not span.inside[0]]
        found += [
            f"{side} wall: {span.sentence(0)}; figures may be off by more than stated." for span in outside
        ]
    return found


def temperature(design: Design, case: LoadCase) -> list[str]:
    """Strengths used outside their data, and what temperature does not do here."""
    found = list(design.caliper.material.at(case.body_temperature_C).flags)
    if case.body_temperature_C != 20.0 or case.bolt_temperature_C != 20.0:
        found.append(
            "Temperature changes strengths only: stiffness and preload are those of 20 °C in this release."
        )
    return found
