"""Where a wall's pockets and outline lie outside what the models can follow."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from stiffcalc.caliper.body import Body
from stiffcalc.caliper.checked import Flag
from stiffcalc.caliper.metal import WallMetal
from stiffcalc.mechanics.walls import Walls
from stiffcalc.milling import first
from stiffcalc.quantities import percent

ROUNDING = 1e-9  # share of a floor's thickness


def pieces(side: str, walls: Walls) -> list[str]:
    """Outlines in which a wall stands in pieces one above another at one x."""
    if walls.slabs is None or not (share := first(walls.slabs).gaps()):
        return []
    return [
        f"{side} wall: over {percent(share)} of its length it stands in pieces one above another; the frame takes what "
        "is between them as a cut and bends all pieces alike: trust the front view."
    ]


def thinned_floors(side: str, metal: WallMetal) -> Iterator[Flag]:
    """Bores behind which a pocket lies; no body that was compared with solids has one."""
    thinned = metal.floor < (1.0 - ROUNDING) * metal.walls.floor[:, None]  # (D, B)
    for i in range(thinned.shape[1]):
        yield Flag(thinned[:, i], partial(_thinned, side, i + 1))


def _thinned(side: str, bore: int, design: int) -> str:
    return (
        f"{side} wall: a pocket lies over bore {bore}: the frame takes the floor as even, of its mean stiffness; the "
        "front view lets its edge turn as a full floor's does; neither was compared with solids."
    )


def lugs(body: Body) -> list[str]:
    """What the models do not know of mounting lugs."""
    if not body.lugs:
        return []
    return [
        "Lugs count in mass and centre of mass; no model knows their stiffness, nor the knuckle's, and nothing of them "
        "is checked."
    ]
