"""Where a wall of real shape lies outside what the closed-form wall can follow."""

from __future__ import annotations

from stiffcalc.caliper.body import Body
from stiffcalc.mechanics.walls import Walls
from stiffcalc.milling import first


def pieces(side: str, walls: Walls) -> list[str]:
    """Outlines in which a wall stands in pieces one above another at one x."""
    if walls.slabs is None or not (share := first(walls.slabs).gaps()):
        return []
    return [
        f"{side} wall: over {share:.0%} of its length it stands in pieces one above another; the frame takes what is "
        "between them as a cut and bends all pieces alike: trust the front view."
    ]


def lugs(body: Body) -> list[str]:
    """What the models do not know of mounting lugs."""
    if not body.lugs:
        return []
    return [
        "Lugs count in mass and centre of mass; no model knows their stiffness, nor the knuckle's, and nothing of them "
        "is checked."
    ]
