"""How spread, tilt, mass and the worst margin change with each dimension, by finite steps of the batched frame.

Central differences, every design in one batch; each slope again at half the step, so that the step's own error is seen.
With the front view the frame's answer is multiplied by rho (see `nearby`), and the largest slopes are compared with
steps of the front view itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from stiffcalc.caliper import verdict
from stiffcalc.caliper.assess import CAUTIONS, LEFT_OUT, Progress, catalogue_notes, silent
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.errors import ConvergenceError, InputError
from stiffcalc.explore.batches import together
from stiffcalc.explore.dimensions import PER, Dimension, changed, dimensions
from stiffcalc.explore.nearby import (
    NO_ANCHOR,
    Anchor,
    Key,
    LooseError,
    Nearby,
    anchor,
    by_front_view,
    governing,
    margin_at,
    read,
)
from stiffcalc.explore.sensitivity_formula import formula
from stiffcalc.explore.sensitivity_front import confirm
from stiffcalc.explore.sensitivity_results import Sensitivities, Slope
from stiffcalc.explore.sensitivity_words import in_words
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.study.lookup import design_named
from stiffcalc.study.schema import Design, Study
from stiffcalc.version import __version__

# Relative to the dimension. Far above what the joint's iteration leaves (1e-8), and so small that halving it moves the
# slopes of the spread by well below 2 %; both are seen at every run.
STEP = 2e-3
LEAST_MM = 10.0  # places near the middle are stepped as if they were this far from it
SEED = 20
FREE_MM = 1e-7  # of spread per unit: below, a dimension is taken to leave the spread alone


@dataclass(frozen=True)
class Here:
    """The layout itself: by the frame, as published, and what leads from one to the other."""

    frame: Nearby
    shown: Nearby  # the front view's where it ran
    rho: Anchor
    key: Key | None  # the check with the worst margin

    def margin(self, found: Nearby) -> float:
        """The worst margin's check at a design near."""
        if self.key is None:
            return math.nan
        return margin_at(found, self.key, here=self.frame, shown=self.shown, rho=self.rho)


def sensitivities(
    study: Study,
    *,
    variant: str | None = None,
    front_view: bool = True,
    seed: int = SEED,
    progress: Progress = silent,
) -> Sensitivities:
    """Slopes of one layout, `variant` or the base. Raises `InputError`, `LooseError`, `ConvergenceError`."""
    if faults := tuple(torque_faults(study)):
        raise InputError(faults)
    design = study.designs[0] if variant is None else design_named(study, variant)
    missing = unavailable() if front_view else LEFT_OUT
    every = dimensions(design)
    progress(f"frame: {1 + 4 * len(every)} designs, {len(every)} dimensions")
    frame, around = evaluate(design, every)
    here = at(design, frame, front_view=not missing)
    slopes = [slope(d, here, found) for d, found in zip(every, around, strict=True)]
    ranked = sorted(zip(every, slopes, strict=True), key=lambda pair: -abs(pair[1].spread))
    confirmed, noise = ((), None) if missing else confirm(design, ranked, here.rho.spread, seed, progress)
    case, (closed, why) = verdict.governing(frame), formula(design)
    found = Sensitivities(
        title=study.title,
        layout=design.name,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        cautions=CAUTIONS,
        defaults_used=study.defaults_used,
        notices=(*((missing,) if missing else ()), *catalogue_notes(replace(study, designs=(design,)))),
        verdict="",
        model="frame" if missing else "frame times rho, rho = front view / frame at this layout",
        case=case.name,
        pressure=case.pressure,
        spread=here.shown.spread,
        tilt=None if missing else here.shown.tilt,
        mass=frame.mass,
        worst_margin=None if here.key is None else here.shown.checks[here.key].margin,
        governs="no checks" if here.key is None else f"{here.key[2]} ({here.key[0]})",
        slopes=tuple(s for _, s in ranked),
        confirmed=confirmed,
        remeshing=noise,
        seed=seed,
        formula=closed,
        no_formula=why,
        inputs=study.source,
    )
    return replace(found, verdict=in_words(found))


def at(design: Design, frame: Nearby, *, front_view: bool) -> Here:
    """The layout's own figures. Raises `LooseError` where its joint does not hold."""
    if not math.isfinite(frame.spread):
        raise LooseError(
            f"'{design.name}' does not hold at minimum preload: nothing near it can be compared with it"
        )
    if not front_view:
        return Here(frame, frame, NO_ANCHOR, governing(frame))
    front = by_front_view(design)
    return Here(frame, front, anchor(frame, front), governing(front))


def step_of(d: Dimension) -> float:
    """The step of a dimension, in its unit."""
    return STEP * (max(abs(d.value), LEAST_MM) if d.kind == "length" else abs(d.value))


def evaluate(design: Design, every: Sequence[Dimension]) -> tuple[Nearby, list[list[Nearby]]]:
    """The layout, and four designs for each dimension: a step up and down, half a step up and down."""
    near = [changed(design, {d: share * step_of(d)}) for d in every for share in (1.0, -1.0, 0.5, -0.5)]
    found = []
    for answer in together([design, *near], read):
        if isinstance(answer, ConvergenceError):
            raise answer
        found.append(answer)
    return found[0], [found[i : i + 4] for i in range(1, len(found), 4)]


def slope(d: Dimension, here: Here, found: Sequence[Nearby]) -> Slope:
    """The slopes of one dimension from its four designs."""
    (per, unit, words), step = PER[d.kind], step_of(d)
    up, down, half_up, half_down = found
    whole, half = (
        (a.spread - b.spread) / (2.0 * h) for a, b, h in ((up, down, step), (half_up, half_down, step / 2))
    )
    margins = [here.margin(n) for n in (here.frame, *found)]
    spread, mass = here.rho.spread * whole * per, (up.mass - down.mass) / (2.0 * step) * per
    return Slope(
        path=d.path,
        words=d.words,
        carries=d.carries,
        value=d.value,
        unit=unit,
        per=words,
        spread=spread,
        tilt=None if here.rho.tilt is None else here.rho.tilt * _steeper(here, up, down) / (2.0 * step) * per,
        mass=mass,
        worst_margin=_finite((margins[1] - margins[2]) / (2.0 * step) * per),
        margin_up=_finite((margins[1] - margins[0]) / step * per),
        margin_down=_finite((margins[0] - margins[2]) / step * per),
        margin_half_step=_finite((margins[3] - margins[4]) / step * per),
        grams_per_um=None if abs(spread) < FREE_MM else 0.0 - mass / spread,
        step=step,
        step_change=abs(whole - half) / max(abs(half), FREE_MM / per),
    )


def _steeper(here: Here, up: Nearby, down: Nearby) -> float:
    """Growth of the largest tilt's size."""
    return math.copysign(1.0, here.frame.tilt) * (up.tilt - down.tilt)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
