"""A batch of walls as arrays: what the closed-form wall model needs to know of a half. Leading axis D = designs."""

from __future__ import annotations

from dataclasses import dataclass

from stiffcalc.condensed import Array
from stiffcalc.milling import Slabs


@dataclass(frozen=True)
class Walls:
    """D walls of one topology. mm, MPa. A missing pocket has depth 0, a missing hole diameter 0."""

    x: Array  # (D, 2) ends of the wall
    y: Array  # (D, 2) bottom and top
    thickness: Array  # (D,)
    floor: Array  # (D,)
    bore_x: Array  # (D, B)
    bore_y: Array  # (D, B)
    bore_d: Array  # (D, B)
    pocket_x: Array  # (D, P, 2)
    pocket_y: Array  # (D, P, 2)
    pocket_depth: Array  # (D, P) from the outer face
    hole_x: Array  # (D, H) bolt holes, through the whole thickness
    hole_y: Array  # (D, H)
    hole_d: Array  # (D, H)
    bearing_d: Array  # (D, H) outer diameter of the head's bearing ring
    cut_x: Array  # (D, K) stations of the `cut` outputs
    E: Array  # (D,)
    nu: Array  # (D,)
    slabs: Slabs | None = (
        None  # of walls that are no boxes with boxes cut out: the same in all, see `milling.shared`
    )
