"""How far the spread of one design may be off, and the difference of two: preload, friction, modulus, model.

Preload and friction are drawn as `stiffcalc uncertainty` draws them, lengths and moduli as they are; each metal's
modulus is moved by one standard deviation either way (first order, JCGM 100:2008, 5.1.3), so that what two layouts of
one metal share falls out of their difference. All by the frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from stiffcalc.caliper import verdict
from stiffcalc.caliper.accuracy import SCATTER
from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.answers import Found
from stiffcalc.explore.batches import solve
from stiffcalc.explore.compare_results import Scatter
from stiffcalc.explore.dimensions import changed, dimensions
from stiffcalc.explore.uncertainty_draw import draw
from stiffcalc.study.schema import Design, Uncertainty
from stiffcalc.study.uncertainty import NONE

BODIES = 32  # drawn about each design; standard deviations are then known within an eighth


def scatter(design: Design, what: Uncertainty, *, spread: float, model: str, seed: int) -> Scatter:
    """Standard uncertainties of `spread`, mm; `model`: whose it is, "front view" or "frame"."""
    asked = replace(what, samples=BODIES, seed=seed, tolerances=NONE, modulus=0.0)
    drawn = _spreads(draw(design, asked, model=model).designs)
    shares = {name: spread * by for name, by in _moduli(design, what.modulus).items()}
    own = what.opening_model
    return Scatter(
        model=spread * (SCATTER[model, "opening", bool(design.caliper.bolts)] if own is None else own),
        preload=spread * float(np.nanstd(drawn) / np.nanmean(drawn)),
        modulus=float(np.sqrt(sum(b**2 for b in shares.values()))),
        shares=shares,
    )


def _moduli(design: Design, deviation: float) -> dict[str, float]:
    """Relative change of the spread for one standard deviation of each metal's modulus, by the modulus's path."""
    metals = [d for d in dimensions(design) if d.kind == "modulus"]
    ends = [changed(design, {d: by * deviation * d.value}) for d in metals for by in (1.0, -1.0)]
    found = _spreads(ends).reshape(-1, 2)
    shares = (found[:, 0] - found[:, 1]) / found.sum(axis=1)
    return {d.path: float(np.nan_to_num(b)) for d, b in zip(metals, shares, strict=True)}


def of_difference(one: Scatter, other: Scatter) -> float:
    """Standard uncertainty of the difference of two spreads, mm: moduli of one metal move both alike.

    The models' errors are taken to be independent, which is the careful side: both layouts share much of the metal.
    """
    names = {*one.shares, *other.shares}
    shared = sum((one.shares.get(n, 0.0) - other.shares.get(n, 0.0)) ** 2 for n in names)
    alone = one.model**2 + other.model**2 + one.preload**2 + other.preload**2
    return float(np.sqrt(alone + shared))


def _spreads(designs: Sequence[Design]) -> Array:
    """Spread of each design in its governing case, mm; NaN where nothing holds it together."""
    return np.array([_spread(answer) for answer in solve(designs)])


def _spread(answer: Found) -> float:
    if isinstance(answer, ConvergenceError):
        return float("nan")
    found = verdict.governing(answer).spread
    return float("nan") if found is None else found
