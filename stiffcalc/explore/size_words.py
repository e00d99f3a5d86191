"""What a sizing says in words."""

from __future__ import annotations

from collections.abc import Sequence

from stiffcalc.caliper.section_uses import Limit
from stiffcalc.explore.size_results import Held, Sized, Unmet

SURFACES = {
    "fillet": "fillet",
    "hole": "edge of a bolt hole",
    "metal": "metal",
    "rotation": "wall's rotation",
}
SHOWN = 4  # limits and checks named; the tables have all


def limit_words(limit: Limit) -> str:
    """Such as "fillet of leading end, fatigue, 'hard stop'"; a check by what it looks at."""
    if limit.check:
        return f"{limit.what}, '{limit.case}'"
    side = "" if limit.side == "inboard" else f", {limit.side}"
    against = "" if limit.against == limit.what else f", {limit.against}"
    return f"{SURFACES[limit.what]} of {limit.bridge}{side}{against}, '{limit.case}'"


def verdict(
    dimensions: Sequence[Sized],
    limits: Sequence[Held],
    masses: tuple[float, float],
    *,
    settled: bool,
    met: bool,
    unmet: Sequence[Unmet],
    model: str,
) -> str:
    """What came out, what holds it, and what else is not met."""
    return " ".join(
        (
            _outcome(limits, masses, settled=settled, met=met),
            _holding(dimensions, limits),
            _else(unmet, model),
        )
    )


def _outcome(limits: Sequence[Held], masses: tuple[float, float], *, settled: bool, met: bool) -> str:
    start, end = masses
    change = f"{end:.3f} kg, {'−' if end < start else '+'}{abs(1000 * (end - start)):.0f} g from the start"
    if met and settled:
        return f"Least mass within the bounds and limits: {change}."
    if met:
        return f"Rounds ran out while dimensions still moved; the lightest that meets every limit: {change}."
    worst = limits[0]
    missed = f"{limit_words(worst.limit)} is used to {100 * worst.end_use:.0f} %"
    return f"No design within the bounds was found that meets every limit: at best {missed}, {change}."


def _holding(dimensions: Sequence[Sized], limits: Sequence[Held]) -> str:
    """Active limits, one for each surface and case, and bounds."""
    active = list(
        dict.fromkeys(f"{limit_words(h.limit)} ({100 * h.end_use:.0f} %)" for h in limits if h.active)
    )
    at = [f"{d.paths[0]} at its {d.bound}, {d.end:g} mm" for d in dimensions if d.bound]
    held = [*active[:SHOWN], *([f"{len(active) - SHOWN} limits more"] if len(active) > SHOWN else []), *at]
    return f"Held by: {'; '.join(held)}." if held else "Nothing holds it."


def _else(unmet: Sequence[Unmet], model: str) -> str:
    if not unmet:
        return f"An assessment by the {model} meets every check."
    names = list(dict.fromkeys(u.what for u in unmet))
    new = sum(u.start_margin is not None and u.start_margin >= 0 for u in unmet)
    more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
    count = "1 check" if len(unmet) == 1 else f"{len(unmet)} checks"
    said = f"Not met by the {model}: {count} of an assessment ({', '.join(names[:SHOWN])}{more})"
    return f"{said}; met at the start: {new}." if new else f"{said}, missed at the start too."
