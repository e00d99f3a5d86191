"""One sentence: which layout wins and why. It compares what was computed and never claims more than that."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

from stiffcalc.caliper.results import CaseResult, Check, VariantResult
from stiffcalc.quantities import percent
from stiffcalc.study.schema import LoadCase

Case = TypeVar("Case", CaseResult, LoadCase)
SAME = 0.01  # masses or spreads closer than this are called equal


class Answered(Protocol):
    """A layout with its load cases answered."""

    @property
    def load_cases(self) -> tuple[CaseResult, ...]:
        """In the order of the study."""


def governing(variant: Answered) -> CaseResult:
    """The service case of highest pressure, or the highest of all where there is none."""
    return most_pressed(variant.load_cases)


def most_pressed(cases: Sequence[Case]) -> Case:
    """The service case of highest pressure, or the highest of all where there is none."""
    service = [c for c in cases if c.kind == "service"]
    return max(service or cases, key=lambda c: c.pressure)


def worst(variant: Answered) -> tuple[CaseResult, Check] | None:
    """The check with the smallest margin over all load cases."""
    every = [(c, k) for c in variant.load_cases for k in c.checks]
    return min(every, key=lambda pair: pair[1].order, default=None)


def verdict(variants: tuple[VariantResult, ...]) -> str:
    """Which layout leads, against the base or the next best, with the reason and the reservation."""
    if len(variants) == 1:
        return alone(variants[0])
    ranked = sorted(variants, key=rank)
    best = ranked[0]
    other = variants[0] if best is not variants[0] else ranked[1]
    return " ".join((lead(best), against(best, other), reservation(variants)))


def rank(variant: VariantResult) -> tuple[int, float]:
    """Fewer unmet checks first, then more stiffness per mass; equal ones in the study's order, whatever rounding."""
    return unmet(variant), -float(f"{governing(variant).stiffness_per_mass or 0.0:.9g}")


def unmet(variant: Answered) -> int:
    """How many checks are not met, over all load cases."""
    return sum(not k.met for c in variant.load_cases for k in c.checks)


def alone(variant: VariantResult) -> str:
    """The verdict on a study of one layout."""
    case, found = governing(variant), worst(variant)
    text = f"'{variant.name}' {_opens(case)} and weighs {variant.mass.total:.2f} kg"
    state = f"{unmet(variant)} checks are not met" if unmet(variant) else "every check is met"
    return f"{text}; {state}, {tightest(found)}." if found else f"{text}."


def _opens(case: CaseResult) -> str:
    if case.spread is None:
        return f"does not hold at {case.pressure:g} MPa"
    return f"opens {case.spread * 1e3:.0f} µm at {case.pressure:g} MPa"


def tightest(found: tuple[CaseResult, Check]) -> str:
    """Names the check with the least margin."""
    case, check = found
    return f"the tightest is {check.what} ({case.name}, margin {percent(check.margin, 1, signed=True)})"


def lead(best: VariantResult) -> str:
    """What the leading layout has."""
    case, found = governing(best), worst(best)
    state = "meets every check" if not unmet(best) else f"leaves the fewest checks unmet ({unmet(best)})"
    stiff = "" if case.stiffness_per_mass is None else f"gives {case.stiffness_per_mass:.0f} kN/mm per kg, "
    text = f"'{best.name}' leads: it {state}, {stiff}{_opens(case)} and weighs {best.mass.total:.2f} kg"
    return f"{text}; {tightest(found)}." if found else f"{text}."


def against(best: VariantResult, other: VariantResult) -> str:
    """The leading layout beside another, with the contribution that makes the difference."""
    a, b = governing(best), governing(other)
    if a.spread is None or b.spread is None:
        return f"'{other.name}' {_opens(b)}; {unmet(other)} of its checks are not met."
    change, mass = a.spread / b.spread - 1, best.mass.total - other.mass.total
    terms = a.contributions.keys() | b.contributions.keys()
    gain = {k: a.contributions.get(k, 0.0) - b.contributions.get(k, 0.0) for k in sorted(terms)}
    name = (min if change < 0 else max)(gain, key=lambda k: gain[k])
    more = (
        "about as much as"
        if abs(change) < SAME
        else f"{percent(abs(change))} {'less' if change < 0 else 'more'} than"
    )
    heavy = (
        "at the same mass"
        if abs(mass) < 0.005
        else f"for {abs(mass):.2f} kg {'more' if mass > 0 else 'less'}"
    )
    failing = f"; '{other.name}' leaves {unmet(other)} checks unmet" if unmet(other) else ""
    return f"It opens {more} '{other.name}' {heavy}, mostly by {name} ({gain[name] * 1e3:+.0f} µm){failing}."


def reservation(variants: tuple[VariantResult, ...]) -> str:
    """Why this is not yet the last word on the layouts."""
    masses = [v.mass.total for v in variants]
    apart = max(masses) / min(masses) - 1
    if apart < SAME:
        return "Masses are equal within 1 %; neither layout is stiffer by nature, so this holds for these sizes only."
    told = f"Masses differ by {percent(apart)}, so this is no comparison at equal mass"
    return f"{told}; neither layout is stiffer by nature."
