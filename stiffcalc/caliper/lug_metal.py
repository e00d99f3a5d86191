"""Metal of the mounting lugs: what they add to the inboard wall, exact."""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper.body import Body, LugShape
from stiffcalc.condensed import Array
from stiffcalc.mechanics import solids
from stiffcalc.study.lugs import INNER, PROUD
from stiffcalc.study.schema import Lug


def lug_shape(lug: Lug, half_gap: float, thickness: float) -> LugShape:
    """One lug at its place on a wall of a thickness."""
    start = {INNER: 0.0, PROUD: thickness}.get(lug.stands, thickness - lug.height)
    z0 = half_gap + start
    return LugShape(
        x=lug.x,
        y=lug.y,
        diameter=lug.diameter,
        hole=lug.hole,
        z0=z0,
        z1=z0 + lug.height,
        beside=lug.stands != PROUD,
        thread=lug.thread,
    )


def added_by_lugs(body: Body) -> Array:
    """Solid (..., 4) that the lugs add to the inboard wall, built as an outboard one.

    A lug beside the wall: its ring less what of the boss lies within the wall's outline (the hole does not).
    """
    total = np.zeros(4)
    for g in body.lugs:
        x, y, diameter, hole = np.broadcast_arrays(g.x, g.y, g.diameter, g.hole)
        section = solids.disc(x, y, diameter=diameter) - solids.disc(x, y, diameter=hole)
        if g.beside:
            section = section - solids.disc_in_polygon(x, y, diameter=diameter, outline=body.inboard.outline)
        total = total + solids.extrude(section, z0=np.asarray(g.z0), z1=np.asarray(g.z1))
    return total
