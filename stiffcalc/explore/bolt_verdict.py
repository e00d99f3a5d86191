"""Which combination is best and why, in a sentence or two; it compares what was computed and claims no more."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from stiffcalc.explore.bolt_results import Figures, Row
from stiffcalc.explore.bolt_rules import RULES
from stiffcalc.quantities import percent


def verdict(ranked: Sequence[Row], *, refused: Sequence[Row], own: Row, aim: str) -> str:
    """The best of the ranked rows, against the study's own bolts."""
    best = ranked[0] if ranked else None
    if best is None or best.figures is None:
        return f"No combination can be had: {reasons(refused)}. {own_words(own)}"
    return " ".join((lead(best, best.figures, ranked, aim), doubt(best), against(best, own))).replace(
        "  ", " "
    )


def lead(best: Row, found: Figures, ranked: Sequence[Row], aim: str) -> str:
    """The best combination and its figures."""
    meeting = sum(r.figures is not None and r.figures.unmet == 0 for r in ranked)
    if found.unmet:
        return (
            f"None of {len(ranked)} combinations meets every check; nearest is {name(best)}: "
            f"{figures_words(best, found)}; {found.unmet} of {found.checks} checks are not met."
        )
    return (
        f"Best by {aim} among the {meeting} of {len(ranked)} combinations that meet every check: {name(best)}: "
        f"{figures_words(best, found)}."
    )


def doubt(best: Row) -> str:
    """Where frame and front view do not agree on the order."""
    if best.front_view is None or best.rank_frame in (None, 1):
        return ""
    return f"(By the front view; the frame alone ranks it {best.rank_frame}.)"


def against(best: Row, own: Row) -> str:
    """The study's own bolts beside the best."""
    if best.own:
        return "These are the study's own bolts."
    return f"{difference(best, own)} {own_words(own)}"


def difference(best: Row, own: Row) -> str:
    """What the best weighs beside the study's own."""
    if best.mass is None or own.mass is None:
        return ""
    grams = round(1e3 * (best.mass.total - own.mass.total))
    if grams == 0:
        return "It weighs the same as the study's own."
    return f"It is {abs(grams)} g {'lighter' if grams < 0 else 'heavier'} than the study's own."


def own_words(own: Row) -> str:
    """What the study's own bolts score."""
    if own.figures is None:
        return f"The study's own bolts ({name(own)}) find no equilibrium."
    found, place = own.figures, f", rank {own.rank}" if own.rank else ""
    state = f"{found.unmet} of {found.checks} checks not met" if found.unmet else "every check met"
    return f"The study's own bolts ({name(own)}{place}): {figures_words(own, found)}; {state}."


def figures_words(row: Row, found: Figures) -> str:
    """Mass, spread, onset and worst margin."""
    opens = "not held" if found.spread is None else f"spread {found.spread * 1e3:.0f} µm"
    mass = "no mass" if row.mass is None else f"{row.mass.total:.3f} kg"
    onset = "no onset in range" if math.isinf(found.onset_MPa) else f"onset {found.onset_MPa:.1f} MPa"
    return f"{mass}, {opens}, {onset}, worst margin {percent(found.worst_margin, 1, signed=True)} by {found.governs}"


def name(row: Row) -> str:
    """Count, size, grade and row position in words."""
    how = "as drawn" if row.drawn else "placed"
    shift = row.row_shift
    moved = f", {abs(shift):g} mm {'outward' if shift > 0 else 'inward'}" if shift else ""
    bolts = "bolt" if row.count == 1 else "bolts"
    return f"{row.count} {bolts} ({'+'.join(map(str, row.pattern))}) {row.thread} {row.grade} {how}{moved}"


def reasons(refused: Sequence[Row]) -> str:
    """Why rows were refused, the most frequent reason first."""
    found = Counter(r.refused.rule for r in refused if r.refused)
    return ", ".join(f"{RULES[rule].broken} ({n})" for rule, n in found.most_common()) or "nothing was tried"
