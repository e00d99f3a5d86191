"""Where a result lies outside what its model was checked for: sentences that travel with the figures."""

from __future__ import annotations

from stiffcalc.caliper.body import Body
from stiffcalc.study.schema import Design, LoadCase

SLENDER = 3.3  # wall height over thickness up to which frame and solids were compared
THICK = 1.5
FRONT_SLENDER = 4.0


def sentences(design: Design, body: Body, case: LoadCase, *, tilted: bool) -> tuple[str, ...]:
    """What the reader of this load case must know."""
    return (*geometry(body, tilted=tilted), *temperature(design, case))


def geometry(body: Body, *, tilted: bool) -> list[str]:
    """Shapes outside the range that was compared with solids."""
    found = []
    if not tilted:
        found.append("Tilt is not given: the frame's is about 20 % low; run the front view.")
    for name, half in (("inboard", body.inboard), ("outboard", body.outboard)):
        height = float(half.outline[:, 1].max() - half.outline[:, 1].min())
        ratio = height / half.thickness
        if ratio > SLENDER:
            found.append(
                f"{name} wall: height/thickness {ratio:.1f} is beyond {SLENDER:g}, where the frame was compared with "
                "solids; its opening may be off by more than its stated error."
            )
        if not THICK <= ratio <= FRONT_SLENDER:
            found.append(
                f"{name} wall: height/thickness {ratio:.1f} is outside {THICK:g} to {FRONT_SLENDER:g}, where the "
                "front view was compared with solids."
            )
    return found


def temperature(design: Design, case: LoadCase) -> list[str]:
    """Strengths used outside their data, and what temperature does not do here."""
    found = list(design.caliper.material.at(case.body_temperature_C).flags)
    if case.body_temperature_C != 20.0 or case.bolt_temperature_C != 20.0:
        found.append(
            "Temperature changes strengths only: stiffness and preload are those of 20 °C in this release."
        )
    return found
