"""What the slopes of a layout say, in a few sentences."""

from __future__ import annotations

from collections.abc import Iterable

from stiffcalc.explore.sensitivity_results import Sensitivities, Slope
from stiffcalc.quantities import percent

BODY = ("caliper.wall", "caliper.inboard", "caliper.outboard", "caliper.bridge")
METAL_KG = 1e-4  # of mass per unit: below, a dimension moves no metal worth naming


def in_words(found: Sensitivities) -> str:
    """The largest slope, the cheapest metal, what lifts the worst margin."""
    parts = [_largest(found), _cheapest(found.slopes), _margin(found), _front(found)]
    return " ".join(p for p in parts if p)


def um(value: float) -> str:
    """A slope of the spread, signed, µm."""
    return f"{value * 1e3:+.2f} µm".replace("-", "−")


def _largest(found: Sensitivities) -> str:
    lengths = [s for s in found.slopes if s.unit == "mm"]
    if not lengths:
        return ""
    named = ", ".join(f"{s.words} {um(s.spread)}" for s in lengths[:3])
    return (
        f"'{found.layout}' opens {found.spread * 1e3:.0f} µm at {found.pressure:g} MPa ({found.case}); "
        f"per mm that changes most with {named}."
    )


def _cheapest(slopes: Iterable[Slope]) -> str:
    """Where a gram of metal takes most away, and where metal could be had back."""
    paid = [
        s
        for s in slopes
        if s.path.startswith(BODY) and (s.grams_per_um or 0.0) > 0 and abs(s.mass) > METAL_KG
    ]
    if not paid:
        return ""
    best, worst = (pick(paid, key=lambda s: s.grams_per_um or 0.0) for pick in (min, max))
    return (
        f"Of walls and bridges, stiffness costs least metal at {best.words} ({best.grams_per_um:.1f} g/µm) and most "
        f"at {worst.words} ({worst.grams_per_um:.0f} g/µm)."
    )


def _margin(found: Sensitivities) -> str:
    moved = [s for s in found.slopes if s.worst_margin is not None and s.unit == "mm" and not s.kinked]
    if not moved or found.worst_margin is None:
        return ""
    best = max(moved, key=lambda s: abs(s.worst_margin or 0.0))
    text = (
        f"The worst margin, {percent(found.worst_margin, 1, signed=True)} of {found.governs}, changes most with "
        f"{best.words}: {100 * (best.worst_margin or 0.0):+.1f} points per mm."
    )
    return text.replace("-", "−")


def _front(found: Sensitivities) -> str:
    if not found.confirmed:
        return ""
    apart = max(abs(c.frame / c.front_view - 1.0) for c in found.confirmed)
    several = f"the {len(found.confirmed)} largest slopes"
    return f"The front view's own steps differ from {several} by at most {percent(apart)}."
