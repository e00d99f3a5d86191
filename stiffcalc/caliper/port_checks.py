"""Checks of the ports across the clamp plane: is the face pressed round the seal, and above the line pressure.

Pressed above the line pressure is what passes: a mean over cells some 4 mm wide cannot be trusted to tell zero from a
little, and a face so pressed holds back the fluid whatever the ring is worth. That contact is kept at all is the softer
check beside it: where it is met alone, the ring seals alone; where it is not, the ring has a gap to be pushed into.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper.body import PortShape
from stiffcalc.caliper.ports import BESIDE, POINTS, Around, governing
from stiffcalc.caliper.requirement import PRACTICE, Context, Subject, at_least, at_most
from stiffcalc.caliper.results import Check

HOLDING = ("service", "proof", "fatigue")  # kinds in which fluid must be held back
SIDES = ("trailing", "outer", "leading", "inner")  # from +x counter-clockwise


def ports(c: Context) -> Iterator[Check]:
    """Both checks of every port."""
    if c.answer.tightened is None or c.case.kind not in HOLDING or c.case.pressure <= 0.0:
        return
    for k, port in enumerate(c.body.ports, start=1):
        yield from _port(c, k, port)


def _port(c: Context, k: int, port: PortShape) -> Iterator[Check]:
    found, name = governing(c, port), c.body.bridges[port.bridge].name
    least, where = (
        float(found.pressure.min()),
        f"{POINTS} points {BESIDE:g} mm outside the groove of {port.seal:g} mm",
    )
    note = found.view.note(c.bolts_of(port.bridge))
    subject = Subject(
        id=f"port seal {k}",
        what=f"contact pressure round the seal of port {k}, {name}",
        unit="MPa",
        formula=f"lowest of {where}: {_place(port, found)}; line pressure {c.case.pressure:g} MPa",
        source=f"a bare joint must be pressed above the pressure that it holds back; {PRACTICE}",
        note=f"{note}; {_seals(found, c.case.pressure)}; {_left_out(port, c.case.pressure)}",
    )
    yield at_least(subject, least, c.case.pressure)
    subject = Subject(
        id=f"port contact {k}",
        what=f"share of the circle round the seal of port {k} without contact, {name}",
        unit="",
        formula=f"{int(np.sum(found.pressure <= 0.0))} of {where}",
        source=f"the ring must find no gap to be pushed into; {PRACTICE}",
        note=note,
    )
    yield at_most(subject, found.open_share, 0.0)


def _place(port: PortShape, found: Around) -> str:
    k = found.least
    x, y = float(found.x[k]), float(found.y[k])
    side = SIDES[round(2.0 * float(np.arctan2(y - port.y, x - port.x)) / np.pi) % 4]
    return f"x = {x:.0f}, y = {y:.0f} mm, on its {side} side"


def _seals(found: Around, pressure: float) -> str:
    if found.open_share > 0.0:
        return "the faces part beside the seal"
    return "the face seals by itself" if found.pressure.min() >= pressure else "the ring alone seals"


def _left_out(port: PortShape, pressure: float) -> str:
    push = pressure * np.pi * port.seal**2 / 4
    return f"the fluid's own push on the seal's disc, {push:.0f} N, is not in the joint"
