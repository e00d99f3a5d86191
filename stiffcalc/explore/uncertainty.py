"""How far a layout's figures may be trusted in numbers: Monte Carlo over what scatters, by the batched frame.

Every body drawn is answered as an assessment answers it (stages of life, load cases, checks), its preload, friction,
modulus and lengths being its own. With the front view the frame is multiplied by rho (see `nearby`), and the model's
error that is drawn is the front view's.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper import verdict
from stiffcalc.caliper.assess import CAUTIONS, LEFT_OUT, Progress, catalogue_notes, silent
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.caliper.results import worst_first
from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError, InputError
from stiffcalc.explore.batches import together
from stiffcalc.explore.nearby import TILT, Key, Nearby, margin_at, read
from stiffcalc.explore.sensitivity import Here, at
from stiffcalc.explore.uncertainty_draw import CAUSES, Draws, draw
from stiffcalc.explore.uncertainty_results import Band, Cause, Chance, UncertaintyResult
from stiffcalc.explore.uncertainty_words import assumptions, in_words
from stiffcalc.mechanics.proportion import wilson
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.study.lookup import design_named
from stiffcalc.study.schema import Design, Study, Uncertainty
from stiffcalc.version import __version__

STEPS = 12  # of the pressure sweep
PERCENT = (5.0, 50.0, 95.0)
CHUNK = 512  # bodies between two words of progress
ONSET = "onset"  # begins the id of every check of an onset pressure
SPREAD = "spread"
STILL = 1e-9  # relative scatter below which nothing scatters


@dataclass(frozen=True)
class Question:
    """One layout of a study and what scatters; `missing`: why there is no front view, None where there is one."""

    study: Study
    design: Design
    what: Uncertainty
    missing: str | None


@dataclass(frozen=True)
class Drawn:
    """The bodies that hold, and which of all they are."""

    found: tuple[Nearby, ...]
    which: NDArray[np.intp]


def uncertainty(
    study: Study,
    *,
    variant: str | None = None,
    samples: int | None = None,
    seed: int | None = None,
    front_view: bool = True,
    progress: Progress = silent,
) -> UncertaintyResult:
    """What scatter does to one layout, `variant` or the base; `samples` and `seed` in place of the study's.

    Raises `InputError`, `LooseError`, `ConvergenceError`.
    """
    if faults := tuple(torque_faults(study)):
        raise InputError(faults)
    assert study.uncertainty is not None  # the reader always gives one
    design = study.designs[0] if variant is None else design_named(study, variant)
    what = _asked(study.uncertainty, samples, seed)
    asked = Question(study, design, what, unavailable() if front_view else LEFT_OUT)
    answer = together([design], read, steps=STEPS)[0]
    if isinstance(answer, ConvergenceError):
        raise answer
    here = at(design, answer, front_view=not asked.missing)
    drawn = draw(design, what, model="frame" if asked.missing else "front view")
    return gathered(asked, answer, here, drawn, answered(drawn, progress))


def gathered(asked: Question, answer: Nearby, here: Here, drawn: Draws, bodies: Drawn) -> UncertaintyResult:
    """The answer: `answer` by the layout's own frame, `here` as it is shown, `bodies` what was drawn round it."""
    study, design, what, missing = asked.study, asked.design, asked.what, asked.missing
    case, spread, met = verdict.governing(answer), spreads(here, drawn, bodies), _met(here, drawn, bodies)
    causes, rest = causes_of(drawn, bodies, spread)
    curves = here.rho.spread * np.array([b.curve for b in bodies.found]) * drawn.opening[bodies.which, None]
    every = ("", "every", "every check of every load case")
    result = UncertaintyResult(
        title=study.title,
        layout=design.name,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        cautions=CAUTIONS,
        defaults_used=(*what.defaults_used, *study.defaults_used),
        notices=(*((missing,) if missing else ()), *catalogue_notes(replace(study, designs=(design,)))),
        verdict="",
        assumptions=assumptions(design, what, front_view=not missing),
        model="frame" if missing else "frame times rho, rho = front view / frame at this layout",
        samples=what.samples,
        seed=what.seed,
        loose=what.samples - len(bodies.found),
        case=case.name,
        case_pressure=case.pressure,
        limit=design.limits.spread,
        pressure=answer.pressure,
        curve=here.rho.spread * answer.curve,
        curve_band=np.percentile(curves, PERCENT, axis=0),
        spread=band(here.shown.spread, spread),
        mass=band(answer.mass, np.array([b.mass for b in bodies.found])),
        every=_chance(every, _worst(here), np.asarray(met.all(axis=1)), what.samples),
        chances=_chances(here, met, what.samples),
        causes=causes,
        unexplained=rest,
        inputs=study.source,
    )
    return replace(result, verdict=in_words(result))


def _asked(what: Uncertainty, samples: int | None, seed: int | None) -> Uncertainty:
    return replace(
        what,
        samples=what.samples if samples is None else samples,
        seed=what.seed if seed is None else seed,
    )


def answered(drawn: Draws, progress: Progress) -> Drawn:
    """The figures of every body that holds."""
    found: list[Nearby] = []
    which: list[int] = []
    for first in range(0, len(drawn.designs), CHUNK):
        progress(f"frame: {first} of {len(drawn.designs)} bodies")
        for i, answer in enumerate(
            together(drawn.designs[first : first + CHUNK], read, steps=STEPS), start=first
        ):
            if not isinstance(answer, ConvergenceError) and math.isfinite(answer.spread):
                found.append(answer)
                which.append(i)
    if len(found) < 2:
        raise ConvergenceError("bodies that hold", residual=math.nan, iterations=len(drawn.designs))
    return Drawn(tuple(found), np.array(which, dtype=np.intp))


def spreads(here: Here, drawn: Draws, bodies: Drawn) -> Array:
    """Spread of each body that holds in the governing case, mm: rho, the frame, the model's error."""
    frame = np.array([b.spread for b in bodies.found])
    found: Array = here.rho.spread * frame * drawn.opening[bodies.which]
    return found


def band(here: float, values: Array) -> Band:
    """Where the bodies lie."""
    low, median, high = np.percentile(values, PERCENT)
    deviation = float(np.std(values, ddof=1))
    return Band(here, float(low), float(median), float(high), float(np.mean(values)), deviation)


def margins(here: Here, key: Key, drawn: Draws, bodies: Drawn) -> Array:
    """The margin of one check in each body that holds, its model's error in it."""
    plain = np.array(
        [margin_at(b, key, here=here.frame, shown=here.shown, rho=here.rho) for b in bodies.found]
    )
    if key[1] == SPREAD:
        return np.asarray((1.0 + plain) / drawn.opening[bodies.which] - 1.0)
    if key[1] == TILT:
        return np.asarray((1.0 + plain) / drawn.tilt[bodies.which] - 1.0)
    if key[1].startswith(ONSET):
        return np.asarray((1.0 + plain) * drawn.onset[bodies.which] - 1.0)
    return plain


def _keys(here: Here) -> list[Key]:
    return list(here.shown.checks)


def _worst(here: Here) -> float:
    return min((k.margin for k in here.shown.checks.values()), key=worst_first, default=math.inf)


def _met(here: Here, drawn: Draws, bodies: Drawn) -> NDArray[np.bool_]:
    """Which checks each body that holds meets, (bodies, checks). A check that a body does not have is not met."""
    columns = [margins(here, key, drawn, bodies) >= 0.0 for key in _keys(here)]
    return np.array(columns, dtype=bool).reshape(len(columns), -1).T


def _chances(here: Here, met: NDArray[np.bool_], bodies: int) -> tuple[Chance, ...]:
    """Every check, least likely first; one that is the same in several load cases stands once, with all their names."""
    found: dict[tuple[object, ...], Chance] = {}
    for i, key in enumerate(_keys(here)):
        one = _chance(key, here.shown.checks[key].margin, met[:, i], bodies)
        same = key[1], key[2], one.margin, met[:, i].tobytes()
        known = found.get(same)
        found[same] = one if known is None else replace(known, case=f"{known.case}, {one.case}")
    return tuple(sorted(found.values(), key=lambda c: (c.probability, worst_first(c.margin))))


def _chance(key: Key, margin: float, met: NDArray[np.bool_], bodies: int) -> Chance:
    count = int(met.sum())
    low, high = wilson(count, bodies)
    return Chance(key[0], key[1], key[2], margin, count, bodies, count / bodies, low, high)


def causes_of(drawn: Draws, bodies: Drawn, spread: Array) -> tuple[tuple[Cause, ...], float]:
    """Shares of the spread's variance by cause, from a linear fit to all draws; and what it does not explain.

    None and NaN where nothing scatters, or where there are too few bodies for a fit.
    """
    units: Mapping[tuple[str, str], Array] = drawn.unit
    used = [k for k in units if k[0] in CAUSES]
    X = np.array([units[k][bodies.which] for k in used]).T
    X = X - X.mean(axis=0)
    y = spread - spread.mean()
    if len(y) <= len(used) + 1 or np.abs(y).max() <= STILL * abs(spread.mean()):
        return (), math.nan
    slope, *_ = np.linalg.lstsq(X, y, rcond=None)
    rest = float(((y - X @ slope) ** 2).sum() / (y @ y))
    parts: dict[str, float] = dict.fromkeys((k[0] for k in used), 0.0)
    for key, b in zip(used, slope, strict=True):  # every draw has a standard deviation of 1
        parts[key[0]] += float(b * b / (slope @ slope)) * (1.0 - rest)
    ranked: Sequence[tuple[str, float]] = sorted(parts.items(), key=lambda p: -p[1])
    return tuple(Cause(name, share) for name, share in ranked), rest
