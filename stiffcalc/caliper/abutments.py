"""Where the drag of the pads is taken: patches of the body, and what of them a backing plate bears on."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper.batch import row
from stiffcalc.caliper.body import AbutmentShape, Body
from stiffcalc.condensed import Array
from stiffcalc.study.abutments import flank, halves_of, plates
from stiffcalc.study.numbers import overlap
from stiffcalc.study.schema import Caliper, Design


def abutment_shapes(c: Caliper) -> tuple[AbutmentShape, ...]:
    """One patch for each half that has it, named by its number in the study file."""
    return tuple(_shapes(c))


def _shapes(c: Caliper) -> Iterator[AbutmentShape]:
    names = [b.name for b in c.bridges]
    for k, a in enumerate(c.abutments, start=1):
        at = names.index(a.bridge)
        for half in halves_of(a):
            place = at, half, flank(c.bridges[at]), *a.y, *a.z
            yield AbutmentShape(f"abutment_{k}_{half}", *place)


def of_half(body: Body, half: str) -> tuple[AbutmentShape, ...]:
    """The patches of one half."""
    return tuple(a for a in body.abutments if a.half == half)


def trailing_area(body: Body, half: str) -> Array:
    """Area of all patches that forward drag pushes at, of one half, mm2, (D,) or ()."""
    return _at_trailing_end(body, half, [(a.y1 - a.y0) * (a.z1 - a.z0) for a in of_half(body, half)])


def bearing_areas(design: Design, body: Body, half: str) -> tuple[Array, Array]:
    """What of it the backing plate of a new and of a worn pad bears on, mm2, (D,) or () each.

    The plate is pressed on the disc: it stands a pad's thickness off it.
    """
    new, worn = (
        _at_trailing_end(
            body, half, [(a.y1 - a.y0) * overlap((a.z0, a.z1), plate) for a in of_half(body, half)]
        )
        for plate in plates(design.rotor, design.pad)
    )
    return new, worn


def _at_trailing_end(body: Body, half: str, areas: list[float]) -> Array:
    x = row(a.x for a in of_half(body, half))
    return np.asarray(np.where(x > 0, row(areas), 0.0).sum(axis=-1))
