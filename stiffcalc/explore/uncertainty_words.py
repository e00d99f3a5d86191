"""What drawn bodies say, and what was taken for granted while drawing them."""

from __future__ import annotations

from collections.abc import Iterator

from stiffcalc.explore.uncertainty_results import Chance, UncertaintyResult
from stiffcalc.quantities import percent
from stiffcalc.study.schema import Design, Uncertainty
from stiffcalc.study.uncertainty import NONE


def in_words(found: UncertaintyResult) -> str:
    """The band of the spread, the chance of every check, the least likely one, what the scatter comes from."""
    s = found.spread
    parts = [
        f"'{found.layout}' opens {um(s.median)} at {found.case_pressure:g} MPa ({found.case}); nine bodies in ten lie "
        f"between {um(s.low)} and {um(s.high)}.",
        _every(found),
        _causes(found),
    ]
    return " ".join(p for p in parts if p)


def um(value: float) -> str:
    """A spread, µm."""
    return f"{value * 1e3:.0f} µm"


def chance_words(c: Chance) -> str:
    """A probability with its interval."""
    return f"{probability(c.probability)} ({probability(c.low)} to {probability(c.high)})"


def probability(share: float) -> str:
    """A share, to a tenth of a percent near 0 and 1."""
    return percent(share, 1 if 0.0 < share < 0.05 or 0.95 < share < 1.0 else 0)


def _every(found: UncertaintyResult) -> str:
    if not found.chances:
        return ""
    text = f"Every check is met with a probability of {chance_words(found.every)}."
    worst = found.chances[0]
    if worst.probability >= 1.0:
        return text
    more = sum(c.probability < 1.0 for c in found.chances) - 1
    others = f", and {more} more below 1" if more else ""
    return f"{text} Least likely: {worst.what} ({worst.case}), {chance_words(worst)}{others}."


def _causes(found: UncertaintyResult) -> str:
    if not found.causes:
        return ""
    named = ", ".join(f"{c.cause} {percent(c.variance_share)}" for c in found.causes[:3])
    return f"The spread's variance comes from {named}."


def assumptions(design: Design, what: Uncertainty, *, front_view: bool) -> tuple[str, ...]:
    """Each thing that was drawn, and how."""
    return tuple(_assumptions(design, what, front_view=front_view))


def _assumptions(design: Design, what: Uncertainty, *, front_view: bool) -> Iterator[str]:
    yield (
        "Intervals: every value inside is as likely (JCGM 100:2008, 4.3.7). All draws are independent; lengths of both "
        "halves that the study gives as one number move together."
    )
    if design.caliper.bolts:
        yield (
            "Preload: each bolt anywhere in its tightening interval, then settling, creep and heat as in an "
            "assessment. The tightening factor holds wrench and friction; friction is drawn again for the bolt's twist."
        )
        yield (
            f"Friction of threads and heads within {percent(what.bolt_friction)} of the study's, one draw each for all "
            f"bolts; of the clamp plane in the study's range, or within {percent(what.joint_friction)} of its one "
            "number; of the pads in the study's range."
        )
    yield f"Moduli: normal, standard deviation {percent(what.modulus, 1)}; bolts keep theirs."
    if what.tolerances == NONE:
        yield "Lengths: as drawn."
    else:
        yield (
            f"Lengths: general tolerances of ISO 2768-1, class {what.tolerances} (from memory), of each number in the "
            "study file; bores and fillets as drawn. What is flush with a wall's edge moves with it."
        )
    model = "front view" if front_view else "frame"
    opening = (
        percent(what.opening_model, 1) if what.opening_model is not None else "as stated for its accuracy"
    )
    yield (
        f"Model: the {model}'s opening and tilt off by chance ({opening}, 1 s), onset pressures by "
        f"{percent(what.onset_model)} (1 s); its bias is left out. Stresses, forces and fluid carry no error of the "
        "model."
    )
    yield (
        "Probabilities are of what was drawn and of nothing else: not of loads, strengths, wear, or faults of making. "
        "The interval beside each is that of the number of bodies (Wilson, 95 %)."
    )
