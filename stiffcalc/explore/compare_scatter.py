"""How far the spread of one design may be off, and the difference of two: preload, friction, modulus, model.

Bodies are drawn as `stiffcalc uncertainty` draws them, lengths as drawn, and answered by the frame. What the moduli do
is taken out by a linear fit: two layouts of one metal share it, so that it falls out of their difference.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stiffcalc.caliper import verdict
from stiffcalc.caliper.accuracy import SCATTER
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.answers import Found
from stiffcalc.explore.batches import solve
from stiffcalc.explore.compare_results import Scatter
from stiffcalc.explore.uncertainty_draw import draw
from stiffcalc.study.schema import Design, Uncertainty
from stiffcalc.study.uncertainty import NONE

BODIES = 32  # drawn about each design; standard deviations are then known within an eighth


def scatter(design: Design, what: Uncertainty, *, spread: float, model: str, seed: int) -> Scatter:
    """Standard uncertainties of `spread`, mm; `model`: whose it is, "front view" or "frame"."""
    asked = replace(what, samples=BODIES, seed=seed, tolerances=NONE)
    drawn = draw(design, asked, model=model)
    found = [_spread(answer) for answer in solve(drawn.designs)]
    there = np.isfinite(found)
    unit = {name: u[there] for (cause, name), u in drawn.unit.items() if cause == "modulus"}
    relative = np.array(found)[there] / np.mean(np.array(found)[there]) - 1.0
    X = np.array(list(unit.values())).T.reshape(len(relative), -1)
    slopes, *_ = np.linalg.lstsq(np.column_stack([np.ones(len(relative)), X]), relative, rcond=None)
    rest = relative - slopes[0] - X @ slopes[1:]
    own = what.opening_model
    return Scatter(
        model=spread * (SCATTER[model, "opening", bool(design.caliper.bolts)] if own is None else own),
        preload=spread * float(np.sqrt(np.mean(rest**2))),
        modulus=spread * float(np.sqrt(np.sum(slopes[1:] ** 2))),
        shares={name: spread * float(b) for name, b in zip(unit, slopes[1:], strict=True)},
    )


def of_difference(one: Scatter, other: Scatter) -> float:
    """Standard uncertainty of the difference of two spreads, mm: moduli of one metal move both alike.

    The models' errors are taken to be independent, which is the careful side: both layouts share much of the metal.
    """
    names = {*one.shares, *other.shares}
    shared = sum((one.shares.get(n, 0.0) - other.shares.get(n, 0.0)) ** 2 for n in names)
    alone = one.model**2 + other.model**2 + one.preload**2 + other.preload**2
    return float(np.sqrt(alone + shared))


def _spread(answer: Found) -> float:
    if isinstance(answer, ConvergenceError):
        return float("nan")
    found = verdict.governing(answer).spread
    return float("nan") if found is None else found
