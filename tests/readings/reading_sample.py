"""Synthetic readings with a known truth, and CSV text of them."""

from __future__ import annotations

import numpy as np

from stiffcalc.readings.lines import Points
from stiffcalc.readings.table import HEADER

SLOPE = 0.025  # mm/MPa
TOP = 12.0  # MPa
POINTS = {
    "spread": ("caliper",),
    "opening": ("bore 1", "bore 2", "middle"),
    "tilt": ("bore 1", "bore 2", "middle"),
    "yaw": ("caliper",),
    "bow": ("middle",),
    "fluid volume": ("caliper",),
    "bolt force": ("bolt 1",),
}


def noisy(
    seed: int,
    *,
    count: int = 16,
    cycles: int = 2,
    noise: float = 0.01,
    knee: float | None = None,
    beyond: float = 1.6,
    toe: float | None = None,
    toe_slope: float = 2.0,
    stated: bool = False,
) -> Points:
    """Ways up of several cycles, each with a zero of its own; noise as a share of the largest value, Gaussian."""
    random = np.random.default_rng(seed)
    x = np.concatenate([np.linspace(0.5, TOP, count) + random.normal(0, 0.02, count) for _ in range(cycles)])
    branch = np.repeat(np.arange(cycles), count)
    y = SLOPE * x
    if knee is not None:
        y = y + SLOPE * (beyond - 1) * np.maximum(0.0, x - knee)
    if toe is not None:
        y = y - SLOPE * (toe_slope - 1) * np.maximum(0.0, toe - x)
    sigma = noise * float(y.max())
    y = y + 0.01 * branch + random.normal(0, sigma, len(x)) if noise else y + 0.01 * branch
    return Points(x, y, np.full(len(x), sigma) if stated else None, branch)


GOOD = (
    "bench,1,up,1,20,caliper,spread,10,um,1",
    "bench,1,up,2,20,caliper,spread,20,um,1",
    "bench,1,up,3,20,caliper,spread,30,um,1",
    "bench,1,up,4,20,caliper,spread,40,um,1",
    "bench,1,down,3,21,caliper,spread,31,um,1",
    "bench,1,down,1,21,caliper,spread,11,um,1",
)


def csv(*lines: str, header: str = HEADER) -> bytes:
    """A file of readings."""
    return "\n".join((header, *lines, "")).encode()
