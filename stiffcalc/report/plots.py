"""Every picture of a report: pure functions from results to inline SVG text."""

from __future__ import annotations

from dataclasses import dataclass

from stiffcalc.caliper.results import Results
from stiffcalc.report.bars import contributions, margins, mass, mass_against_spread
from stiffcalc.report.canvas import Picture
from stiffcalc.report.clamp import clamp_plane
from stiffcalc.report.clamp_steps import clamp_steps
from stiffcalc.report.curves import bolt_force, opening
from stiffcalc.report.deformed import deformed
from stiffcalc.report.front import front
from stiffcalc.report.signs import axes_and_signs
from stiffcalc.report.waterfall import waterfall

__all__ = [
    "Picture",
    "Pictures",
    "axes_and_signs",
    "bolt_force",
    "clamp_plane",
    "clamp_steps",
    "contributions",
    "deformed",
    "draw",
    "front",
    "margins",
    "mass",
    "mass_against_spread",
    "opening",
    "waterfall",
]


@dataclass(frozen=True)
class Pictures:
    """All pictures of one report: `shared` compare the variants; each row of `rows` is one kind, a picture a variant.

    A picture that a variant cannot have (a clamp plane of one piece) is None. `steps`: the clamp plane of a variant or
    two from tightened to every load case.
    """

    shared: tuple[Picture, ...]
    rows: tuple[tuple[Picture | None, ...], ...]
    steps: tuple[Picture, ...]
    axes: Picture


def draw(results: Results) -> Pictures:
    """Draw every picture."""
    each = range(len(results.variants))
    kinds = (margins, waterfall, clamp_plane, bolt_force, front, deformed)
    return Pictures(
        shared=(opening(results), mass(results), contributions(results), mass_against_spread(results)),
        rows=tuple(tuple(kind(results, i) for i in each) for kind in kinds),
        steps=clamp_steps(results),
        axes=axes_and_signs(),
    )
