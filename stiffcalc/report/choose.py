"""Which of the results a reader sees first. Picks and sorts; computes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stiffcalc.caliper.joint_results import BoltLife, JointState
from stiffcalc.caliper.results import CaseResult, Check, Results, VariantResult
from stiffcalc.caliper.verdict import governing
from stiffcalc.report import words


@dataclass(frozen=True)
class Finding:
    """A check with the variant (index) and the load case it belongs to."""

    variant: int
    case: CaseResult
    check: Check


def headline(variant: VariantResult) -> CaseResult:
    """The load case of the summary: the service case of highest pressure, or the highest where there is none."""
    return governing(variant)


def highest(variant: VariantResult) -> CaseResult:
    """The load case of highest pressure: the one that contact maps and deformed shapes show."""
    return max(variant.load_cases, key=lambda c: c.pressure)


def findings(results: Results, *, variant: int | None = None) -> list[Finding]:
    """Every check of every load case, worst margin first, of one variant or of all."""
    found = [
        Finding(i, case, check)
        for i, v in enumerate(results.variants)
        if variant is None or i == variant
        for case in v.load_cases
        for check in case.checks
    ]
    return sorted(found, key=lambda f: f.check.order)


def worst_of_each(results: Results, *, variant: int | None = None) -> list[Finding]:
    """Per variant and check the load case with the worst margin, worst first."""
    seen: dict[tuple[int, str], Finding] = {}
    for f in findings(results, variant=variant):
        seen.setdefault((f.variant, f.check.id), f)
    return list(seen.values())


def first_to_open(case: CaseResult) -> JointState | None:
    """The joint face that loses contact first; None for one piece."""
    return min(case.joints, key=lambda j: j.onset_MPa, default=None)


def onset(case: CaseResult) -> str:
    """Onset pressure of the joint face that loses contact first, in words."""
    joint = first_to_open(case)
    return "no clamp plane" if joint is None else words.onset(joint.onset_MPa)


def missed(results: Results, variant: int) -> str:
    """How many checks of one variant are not met, of how many."""
    found = findings(results, variant=variant)
    return f"{sum(not f.check.met for f in found)} of {len(found)}"


def weakest_bolt(variant: VariantResult) -> BoltLife | None:
    """The bolt whose least preload is the smallest share of what it needs, or of its proof load; None without bolts."""
    return min(
        variant.preload_life,
        key=lambda b: min(s.min for s in b.stages) / (b.needed or b.proof_load),
        default=None,
    )


def pressed(results: Results) -> list[int]:
    """The variants whose clamp plane is shown step by step: the base, and of the others the one that opens first."""
    found = [(i, first_to_open(highest(v))) for i, v in enumerate(results.variants) if i > 0]
    others = [(joint.onset_MPa, i) for i, joint in found if joint is not None]
    return [0, *(i for _, i in sorted(others)[:1])]


def case_letters(variants: Sequence[VariantResult]) -> dict[str, str]:
    """Load case name -> letter A, B, ..., in the order they first appear."""
    names = list(dict.fromkeys(c.name for v in variants for c in v.load_cases))
    return {name: chr(ord("A") + i) if i < 26 else str(i + 1) for i, name in enumerate(names)}


def jointed(variant: VariantResult) -> bool:
    """True where the variant has a clamp plane or a bolted-in bridge."""
    return any(b.jointed for b in variant.body.bridges)
