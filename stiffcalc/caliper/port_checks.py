"""Checks of the ports across the clamp plane: is the face pressed round the seal, and above the line pressure.

Pressed above the line pressure is what passes: a mean over cells some 4 mm wide cannot be trusted to tell zero from a
little, and a face so pressed holds back the fluid whatever the ring is worth. That contact is kept at all is the softer
check beside it: where it is met alone, the ring seals alone; where it is not, the ring has a gap to be pushed into.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper.batch import of
from stiffcalc.caliper.body import PortShape
from stiffcalc.caliper.checked import Checked, Subject, Words, at_least, at_most
from stiffcalc.caliper.ports import BESIDE, POINTS, Around, governing
from stiffcalc.caliper.requirement import PRACTICE, Context

HOLDING = ("service", "proof", "fatigue")  # kinds in which fluid must be held back
SIDES = ("trailing", "outer", "leading", "inner")  # from +x counter-clockwise


def ports(c: Context) -> Iterator[Checked]:
    """Both checks of every port."""
    if c.answer.tightened is None or c.case.kind not in HOLDING or c.case.pressure <= 0.0:
        return
    for k, port in enumerate(c.body.ports, start=1):
        yield from _port(c, k, port)


def _port(c: Context, k: int, port: PortShape) -> Iterator[Checked]:
    found, name = governing(c, port), c.body.bridges[port.bridge].name
    bolts, line = c.bolts_of(port.bridge), c.case.pressure

    def where(d: int) -> str:
        return f"{POINTS} points {BESIDE:g} mm outside the groove of {of(port.seal, d):g} mm"

    def sealed(d: int) -> Words:
        return Words(
            f"lowest of {where(d)}: {_place(port, found, d)}; line pressure {line:g} MPa",
            f"a bare joint must be pressed above the pressure that it holds back; {PRACTICE}",
            f"{found.view(d).note(bolts, d)}; {_seals(found, line, d)}; {_push(port, line, d)}",
        )

    def touching(d: int) -> Words:
        return Words(
            f"{int(np.sum(found.pressure[d] <= 0.0))} of {where(d)}",
            f"the ring must find no gap to be pushed into; {PRACTICE}",
            found.view(d).note(bolts, d),
        )

    what = (f"contact pressure round the seal of port {k}, {name}",)
    yield at_least(Subject(f"port seal {k}", "MPa", what, sealed), found.pressure.min(axis=-1), line)
    what = (f"share of the circle round the seal of port {k} without contact, {name}",)
    yield at_most(Subject(f"port contact {k}", "", what, touching), found.open_share, 0.0)


def _place(port: PortShape, found: Around, design: int) -> str:
    x, y = found.place(design)
    angle = float(np.arctan2(y - of(port.y, design), x - of(port.x, design)))
    side = SIDES[round(2.0 * angle / np.pi) % 4]
    return f"x = {x:.0f}, y = {y:.0f} mm, on its {side} side"


def _seals(found: Around, pressure: float, design: int) -> str:
    if found.open_share[design] > 0.0:
        return "the faces part beside the seal"
    alone = found.pressure[design].min() >= pressure
    return "the face seals by itself" if alone else "the ring alone seals"


def _push(port: PortShape, pressure: float, design: int) -> str:
    push = pressure * np.pi * of(port.seal, design) ** 2 / 4
    return f"the fluid's own push on the seal's disc, {push:.0f} N, is in the joint"
