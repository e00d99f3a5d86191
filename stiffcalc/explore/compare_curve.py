"""One layout's curve out of its search: every point with what limits it and how far its spread may be off."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stiffcalc.explore import sampling
from stiffcalc.explore.compare_chosen import Chosen, changes_of, design_of
from stiffcalc.explore.compare_layouts import Candidate, middle_bridges
from stiffcalc.explore.compare_lightest import Begun
from stiffcalc.explore.compare_limits import beyond, limits
from stiffcalc.explore.compare_masses import lightest
from stiffcalc.explore.compare_results import Curve, Free, Point
from stiffcalc.explore.compare_scatter import scatter
from stiffcalc.explore.compare_search import AXES, Searched, barred, choice
from stiffcalc.explore.search import SAME_MASS
from stiffcalc.study.schema import Limits, SweepKey, Uncertainty

REACH = 0.01  # of a range: how near a rule of the study file must be to limit a design


def curve(
    begun: Begun,
    asked: Sequence[float],
    masses: Sequence[float],
    *,
    model: str,
    what: Uncertainty,
    seed: int,
) -> Curve:
    """One layout's points with all that is said of them; of masses that were not asked for, those it can have."""
    whole, s = begun.whole, begun.whole.searched
    candidate, known = s.candidate, s.known
    kept = [whole.chosen(m) if m in asked or whole.has(m) else None for m in masses]
    return Curve(
        name=candidate.name,
        pieces=pieces(candidate),
        two_piece=candidate.design.caliper.layout == "two-piece",
        extra=candidate.extra,
        free=tuple(_free(k) for k in candidate.keys),
        evaluated=len(known),
        refused=int(np.sum(~np.isfinite(known.cost))),
        asked=len(whole.known),
        lightest=begun.lightest,
        lightest_frame=lightest(s),
        points=tuple(
            None if c is None else point(s, c, mass, model=model, what=what, seed=seed)
            for c, mass in zip(kept, masses, strict=True)
        ),
    )


def pieces(candidate: Candidate) -> str:
    """The layout in words."""
    c = candidate.design.caliper
    along = len(c.bolts)
    bolts = f", {along} bolt{'s' if along > 1 else ''}" if along else ""
    middle = middle_bridges(c)
    centre = f"{middle[0].kind} centre bridge" if middle else "no centre bridge"
    return f"{'two-piece' if c.layout == 'two-piece' else 'one piece'}{bolts}, {centre}"


def _free(key: SweepKey) -> Free:
    low, high = (
        (key.levels[0].label, key.levels[-1].label) if key.levels else (f"{key.low:g}", f"{key.high:g}")
    )
    paths = (*key.paths, *(f"minus {p}" for p in key.minus))
    own = paths or tuple(dict.fromkeys(p for v in key.levels for p in v.changes))
    return Free(key.name, own, low, high, choices=bool(key.levels))


def point(s: Searched, chosen: Chosen, budget: float, *, model: str, what: Uncertainty, seed: int) -> Point:
    """One design with its limits and its scatter."""
    row, asked = chosen.row, chosen.asked
    x, mass, figures = s.known.x[row], float(s.known.mass[row]), asked.figures
    assert figures.spread is not None  # chosen so
    taken = choice(s.candidate, x)
    design, light = design_of(s, row), mass <= (1.0 + SAME_MASS) * budget
    meets = light and asked.missed(AXES) == 0.0
    room = barred(s, x, REACH)
    return Point(
        budget=budget,
        mass=mass,
        keys=tuple(sampling.label(k, t) for k, t in zip(s.candidate.keys, taken, strict=True)),
        changes=changes_of(s, row),
        figures=figures,
        spread=figures.spread,
        spread_frame=asked.frame_spread,
        spread_searched=float(s.known.cost[row]),
        stiffness_kN_per_mm=asked.case.stiffness_kN_per_mm,
        stiffness_per_mass=None
        if asked.case.stiffness_kN_per_mm is None
        else asked.case.stiffness_kN_per_mm / mass,
        limits=limits(asked, s.candidate.keys, choice=taken, mass=mass, budget=budget, room=room),
        meets=meets,
        within=meets and within(design.limits, figures.spread, mass),
        scatter=scatter(design, what, spread=figures.spread, model=model, seed=seed) if meets else None,
        note="" if meets else "nearest: misses a check" if light else f"nearest: weighs {mass:.2f} kg",
    )


def within(limit: Limits, spread: float, mass: float) -> bool:
    """The study's limits of spread and mass, what it adds counted."""
    return not beyond(spread=spread, mass=mass, spread_limit=limit.spread, mass_limit=limit.mass_kg)
