"""Which design is best and why, in a sentence or two; it compares what was computed and claims no more."""

from __future__ import annotations

import math
from collections.abc import Sequence

from stiffcalc.explore.bolt_results import Figures
from stiffcalc.explore.sweep_results import Best, Own, Tally
from stiffcalc.quantities import percent
from stiffcalc.study.schema import SweepPlan


def verdict(plan: SweepPlan, tally: Tally, best: Sequence[Best], own: Own | None, front: int) -> str:
    """The best design against the layout as drawn, and how wide the choice is."""
    if not tally.evaluated:
        return f"None of {tally.designs} designs could be evaluated. {drawn(own)}"
    return " ".join(s for s in (lead(plan, tally, best), choice(front), drawn(own)) if s)


def lead(plan: SweepPlan, tally: Tally, best: Sequence[Best]) -> str:
    """The best design and its figures."""
    if not best:
        return f"{tally.feasible} of {tally.evaluated} evaluated designs meet every check."
    first, found = best[0], best[0].figures
    what = f"design {first.design}: {words(first.mass_kg, found)}"
    if not tally.feasible:
        return (
            f"None of {tally.evaluated} evaluated designs meets every check; nearest is {what}; "
            f"{found.unmet} of {found.checks} checks are not met."
        )
    lost = " By the front view it does not meet every check." if found.unmet else ""
    doubt = (
        "" if first.rank_frame == 1 else f" (By the front view; the frame alone ranks it {first.rank_frame}.)"
    )
    return (
        f"Best by {plan.aim} among the {tally.feasible} of {tally.evaluated} evaluated designs that meet every check "
        f"is {what}.{lost}{doubt}"
    )


def choice(front: int) -> str:
    """How many designs are worth a look."""
    if not front:
        return ""
    many = "One design beats all others" if front == 1 else f"{front} designs are not beaten by another"
    return f"{many} in mass, spread and worst margin together."


def drawn(own: Own | None) -> str:
    """The layout as drawn."""
    if own is None:
        return "The layout as drawn finds no equilibrium."
    f = own.frame
    state = f"{f.unmet} of {f.checks} checks not met" if f.unmet else "every check met"
    return f"The layout as drawn: {words(own.mass_kg, f)}; {state}."


def words(mass_kg: float, found: Figures) -> str:
    """Mass, spread, onset and worst margin."""
    opens = "not held" if found.spread is None else f"spread {found.spread * 1e3:.0f} µm"
    onset = "" if math.isinf(found.onset_MPa) else f", onset {found.onset_MPa:.1f} MPa"
    margin = percent(found.worst_margin, 1, signed=True)
    return f"{mass_kg:.3f} kg, {opens}{onset}, worst margin {margin} by {found.governs}"
