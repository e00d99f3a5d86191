"""Where the closed-form wall has been compared with solids; outside, results carry a sentence. Axis D = designs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics import shaped
from stiffcalc.mechanics.places import Feet
from stiffcalc.mechanics.walls import Walls

# Ranges of the bodies in studies/solid_check (bodies.csv): name, least, most.
RANGES = {
    "wall height / thickness": (1.5, 4.0),
    "wall length / height": (1.9, 3.6),
    "floor / wall thickness": (0.12, 0.55),
    "bore diameter / wall height": (0.33, 0.58),
    "bridge width / wall thickness": (0.3, 2.1),
    "pocket depth / wall thickness": (0.0, 0.55),
    "overlap of bores along x / diameter": (0.0, 0.0),
}


@dataclass(frozen=True)
class Span:
    """A ratio's least and most over one design's bores, bridges or pockets, and the range that was compared."""

    name: str
    least: Array  # (D,)
    most: Array
    low: float
    high: float

    @property
    def inside(self) -> NDArray[np.bool_]:
        """Whether all of it lies in the range, (D,)."""
        return (self.low <= self.least) & (self.most <= self.high)

    def sentence(self, design: int) -> str:
        """What to say of a design outside the range."""
        least, most = self.least[design], self.most[design]
        value = f"{most:.2f}" if most > self.high else f"{least:.2f}"
        return (
            f"{self.name} is {value}: wall models were compared with solids from {self.low:g} to "
            f"{self.high:g} only"
        )


def spans(walls: Walls, feet: Feet) -> tuple[Span, ...]:
    """Every ratio of `RANGES`, for walls with bridges at `feet`."""
    return tuple(
        Span(name, value.min(axis=1), value.max(axis=1), *RANGES[name])
        for name, value in _ratios(walls, feet)
    )


def _ratios(walls: Walls, feet: Feet) -> Iterator[tuple[str, Array]]:
    height, t = np.diff(walls.y, axis=1), walls.thickness[:, None]
    yield "wall height / thickness", height / t
    yield "wall length / height", np.diff(walls.x, axis=1) / height
    yield "floor / wall thickness", walls.floor[:, None] / t
    yield "bore diameter / wall height", walls.bore_d / height
    yield "bridge width / wall thickness", feet.width / t
    none = np.zeros_like(t)
    milled = np.array([shaped.depths(walls)]) / t
    yield "pocket depth / wall thickness", np.concatenate([none, walls.pocket_depth / t, milled], axis=1)
    yield "overlap of bores along x / diameter", _overlap(walls)


def _overlap(walls: Walls) -> Array:
    """How far each bore reaches along x into the next, by the smaller diameter; 0 for none, (D, B)."""
    order = np.argsort(walls.bore_x, axis=1)
    x, d = (np.take_along_axis(v, order, axis=1) for v in (walls.bore_x, walls.bore_d))
    reach = 0.5 * (d[:, 1:] + d[:, :-1]) - np.diff(x, axis=1)
    overlap = np.maximum(reach, 0.0) / np.minimum(d[:, 1:], d[:, :-1])
    return np.concatenate([np.zeros_like(x[:, :1]), overlap], axis=1)
