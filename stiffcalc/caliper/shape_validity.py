"""Where a wall's pockets, outline and holes lie outside what the models can follow or a machinist can make."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from stiffcalc.caliper.batch import of, row
from stiffcalc.caliper.body import Body, BoltShape, BridgeShape
from stiffcalc.caliper.checked import Flag
from stiffcalc.caliper.metal import WallMetal
from stiffcalc.condensed import Array
from stiffcalc.mechanics.walls import Walls
from stiffcalc.milling import first
from stiffcalc.quantities import percent

ROUNDING = 1e-9  # share of a floor's thickness
WEB = 0.5  # mm between a hole and an edge: less hardly survives drilling (common practice, no source)
STEP = 0.1  # mm


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


def thin_webs(body: Body) -> Iterator[Flag]:
    """Bolt holes that all but touch their bridge's edge or a bore."""
    for k, bolt in enumerate(body.bolts, start=1):
        radius = 0.5 * np.asarray(bolt.hole)
        edge = _room(bolt, body.bridges[bolt.bridge]) - radius
        yield Flag(edge < WEB, partial(_thin, k, "the edge of its bridge", edge))
        for i, bore in enumerate(body.inboard.bores, start=1):
            apart = np.hypot(np.subtract(bolt.x, bore.x), np.subtract(bolt.y, bore.y))
            web = apart - 0.5 * np.asarray(bore.diameter) - radius
            yield Flag(web < WEB, partial(_thin, k, f"bore {i}", web))


def _room(bolt: BoltShape, bridge: BridgeShape) -> Array:
    """Distance of a bolt's axis from the front outline of the bridge that it stands in."""
    sides = [bolt.x - bridge.x0, bridge.x1 - bolt.x, bolt.y - bridge.y0, bridge.y1 - bolt.y]
    if bridge.arch is not None:
        sides.append(np.hypot(bolt.x, bolt.y) - bridge.arch)
    return np.asarray(row(sides).min(axis=-1))


def _thin(bolt: int, place: str, web: Array, design: int) -> str:
    # In steps: thousands of designs then share a few sentences.
    below = STEP * (np.floor(of(web, design) / STEP) + 1.0)
    return (
        f"bolt {bolt}: its hole leaves less than {below:.1f} mm of metal to {place}; drilling hardly leaves a web "
        f"below {WEB:g} mm whole: move the bolt."
    )
