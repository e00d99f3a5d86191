"""Readings once they are read and checked: frozen data in the units of the results (mm, mrad, mm3, N, MPa, °C)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.readings.kinds import KINDS, Kind, title

UP, DOWN = "up", "down"


@dataclass(frozen=True)
class Reading:
    """One line of the file."""

    line: int
    case: str
    cycle: int
    direction: str  # "up" | "down"
    pressure: float
    temperature: float
    quantity: str
    point: str
    value: float
    uncertainty: float | None  # standard (one sigma); None: not stated


@dataclass(frozen=True)
class Series:
    """All readings of one quantity at one point in one case, in file order."""

    case: str
    quantity: str
    point: str
    pressure: Array  # (N,)
    value: Array  # (N,)
    uncertainty: Array | None  # (N,)
    cycle: NDArray[np.int64]  # (N,)
    up: NDArray[np.bool_]  # (N,)
    temperature: Array  # (N,)

    @property
    def kind(self) -> Kind:
        """What is read."""
        return KINDS[self.quantity]

    @property
    def title(self) -> str:
        """Quantity and point in words."""
        return title(self.quantity, self.point)


@dataclass(frozen=True)
class Readings:
    """One file of readings."""

    name: str  # of the file, without its folders
    sha256: str
    series: tuple[Series, ...]
