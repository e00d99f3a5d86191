"""Check of the abutments: how hard a pad's backing plate presses on them when it drags."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper.abutments import bearing_areas, of_half
from stiffcalc.caliper.batch import of
from stiffcalc.caliper.checked import Checked, Subject, Words, at_most
from stiffcalc.caliper.requirement import PRACTICE, Context
from stiffcalc.mechanics import hydraulics
from stiffcalc.study.abutments import HALVES


def abutments(c: Context) -> Iterator[Checked]:
    """Bearing pressure of the trailing abutments of each half, at the highest pad friction."""
    if c.case.drag and c.body.abutments:
        yield from (_half(c, half) for half in HALVES)


def _half(c: Context, half: str) -> Checked:
    mu, force = c.design.pad.friction_range[1], c.clamp_force
    new, worn = bearing_areas(c.design, c.body, half)
    area = np.minimum(new, worn)
    allowed, how = c.allowed_stress

    def words(d: int) -> Words:
        pushed = [a for a in of_half(c.body, half) if of(a.x, d) > 0]
        short = min(of(a.x, d) for a in pushed) - of(c.design.pad.length, d) / 2
        which = "worn" if of(worn, d) < of(new, d) else "new"
        notes = [
            f"on {', '.join(a.name for a in pushed)}: what the backing plate of a {which} pad bears on, evenly",
            "forward rotation; highest pad friction",
        ]
        if short > 0:
            notes.append(f"the pad ends {short:.3g} mm before the flank: its backing plate must reach it")
        return Words(
            f"mu F / A = {of(mu, d):g} x {of(force, d):.0f} N / {of(area, d):.1f} mm2; allowed {how}",
            f"mean pressure on flat faces against yield; {PRACTICE}",
            "; ".join(notes),
        )

    what = (f"bearing pressure of the {half} pad's backing plate on its trailing abutments",)
    subject = Subject(f"abutment {half}", "MPa", what, words)
    return at_most(subject, hydraulics.pad_drag(force, friction=mu) / area, allowed)
