"""A batch of bridges as arrays. Leading axis D = designs, second axis N = bridges."""

from __future__ import annotations

from dataclasses import dataclass

from stiffcalc.condensed import Array


@dataclass(frozen=True)
class Bridges:
    """Bridges of D designs, each a prism along z. mm, MPa. A missing hole has diameter 0."""

    x: Array  # (D, N, 2) ends along x
    y: Array  # (D, N, 2) lowest allowed underside, and top
    arch: Array  # (D, N) radius of the underside's circle about the origin; 0 = flat underside at y[..., 0]
    length: Array  # (D, N) from inner face to inner face
    hole_x: Array  # (D, N, H) bolt holes through this bridge
    hole_y: Array  # (D, N, H)
    hole_d: Array  # (D, N, H)
    E: Array  # (D, N)
