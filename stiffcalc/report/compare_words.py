"""Layouts at equal mass in words that page, pictures, terminal and CSV share: what is not met, dimensions rounded."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from stiffcalc.explore.compare_limits import beyond, kinds, missed
from stiffcalc.explore.compare_results import CompareResult, Curve, Free, Point, kg
from stiffcalc.quantities import quantity
from stiffcalc.report import words

LENGTH = re.compile(r"_mm(\[\d+\])?$")  # end of a path to a length
OWN = {"spread": "spread limit", "mass": "mass limit"}  # checks that are the study's own limits


def limited(p: Point) -> str:
    """Names of what limits a point; checks not met first, called so."""
    bad = missed(p.limits)
    named = [f"{OWN.get(k, k)} not met" for k in kinds(bad)]
    return ", ".join([*named, *kinds([x for x in p.limits if x not in bad])]) or "nothing found"


def onset(c: Curve, p: Point) -> str:
    """Onset pressure, MPa; a dash where the layout has no clamp plane to open."""
    pressure = p.figures.onset_MPa
    return quantity("onset_MPa").text(pressure if c.two_piece or math.isfinite(pressure) else None)


def column(result: CompareResult, c: Curve, i: int) -> str:
    """A mass as head of a column of one layout; where the layout begins there it says so."""
    lightest = " (lightest)" if c.begin is not None and c.points[i] is c.begin else ""
    return f"{kg(result.masses[i])}\u00a0kg{lightest}"


def not_met(result: CompareResult, p: Point) -> tuple[str, ...]:
    """Names of the checks that a point misses, the worst first; the study's limits count with the mass it adds."""
    return tuple(dict.fromkeys((*kinds(missed(p.limits)), *_beyond(result, p))))


def _beyond(result: CompareResult, p: Point) -> tuple[str, ...]:
    return beyond(
        spread=p.spread, mass=p.mass, spread_limit=result.spread_limit, mass_limit=result.mass_limit
    )


def notes(result: CompareResult, c: Curve) -> tuple[str, ...]:
    """Sentences about the points of one layout that are beyond a limit of the study or miss a check."""
    there = [p for i in result.shown(c) if (p := c.points[i]) is not None]
    own: dict[tuple[str, ...], list[float]] = {}
    for p in there:
        if p.meets and (past := _beyond(result, p)):
            own.setdefault(past, []).append(p.budget)
    parts = "; ".join(f"{_limits(result, past)} within {_masses(at)}" for past, at in own.items())
    said = [
        f"Not met are the study's own limits alone: {parts}. The curve explores them; every other check is met there."
    ] * bool(own)
    said += [_nearest(p) for p in there if not p.meets]
    return tuple(said)


def _limits(result: CompareResult, past: Sequence[str]) -> str:
    values = {
        "spread": quantity("spread").with_unit(result.spread_limit),
        "mass": quantity("mass.total").with_unit(result.mass_limit),
    }
    return " and ".join(f"{name} ({values[name]})" for name in past)


def _nearest(p: Point) -> str:
    bad = kinds(missed(p.limits))
    checks = f"; not met: {', '.join(OWN.get(k, k) for k in bad)}" if bad else ""
    return f"Within {kg(p.budget)}\u00a0kg no design meets every check; shown is the {p.note}{checks}."


def _masses(at: Sequence[float]) -> str:
    said = [kg(m) for m in at]
    return " and ".join(s for s in (", ".join(said[:-1]), said[-1]) if s) + "\u00a0kg"


def dimension(free: Free, key: str) -> str:
    """What a design has of a free dimension: lengths to 0.01 mm, other numbers to four digits, choices as named."""
    if free.choices:
        return key
    value = float(key)
    if any(LENGTH.search(path) for path in free.paths):
        return f"{value:.2f}".replace("-", "−")
    return words.number(float(f"{value:.4g}"))
