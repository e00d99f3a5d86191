"""What searches near one layout read of each design, and how the front view's answer at that layout corrects them.

Best for small changes: frame times rho, with rho = front view / frame at the layout itself. Changes of 10 % of a
dimension then stay within a few percent of the front view, without its remeshing noise.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from stiffcalc.caliper import response, verdict
from stiffcalc.caliper.batch import of
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import MRAD, Layout
from stiffcalc.caliper.life import life
from stiffcalc.caliper.measures import weigh
from stiffcalc.caliper.metal import metals
from stiffcalc.caliper.requirement import LOW
from stiffcalc.caliper.results import CaseResult, Check, counted
from stiffcalc.caliper.stages import solve
from stiffcalc.condensed import Array
from stiffcalc.errors import StiffcalcError
from stiffcalc.explore.batches import screenings
from stiffcalc.study.schema import Design

TILT = "tilt"  # id of the check that the frame does not have
Key = tuple[str, str, str]  # load case, id and words of a check


class LooseError(StiffcalcError, ValueError):
    """The layout itself does not hold, so that nothing near it can be compared with it."""


@dataclass(frozen=True)
class Nearby:
    """One design's figures: those of the service case of highest pressure, and every check."""

    spread: float  # mm; NaN where the joint does not hold
    tilt: float  # mrad, the largest of the bores by size; of the frame only to be used times rho
    mass: float  # kg
    checks: Mapping[Key, Check]
    load_cases: tuple[CaseResult, ...]
    pressure: Array  # (P,) of the sweep at 20 °C
    curve: Array  # (P,) spread there at the least settled preload


def read(layout: Layout) -> list[Nearby]:
    """The figures of every design of a solved batch, by its headline model."""
    found, tilts = screenings(layout), _tilts(layout)
    room = layout.stages.room
    curves = room.answers[layout.headline].openings.spread[:, LOW]
    return [
        _one(tuple(case.one(d) for case in found), of(layout.mass.total, d), tilt, room.pressure, curve)
        for d, (tilt, curve) in enumerate(zip(tilts, curves, strict=True))
    ]


def _one(cases: tuple[CaseResult, ...], mass: float, tilt: float, pressure: Array, curve: Array) -> Nearby:
    spread = verdict.most_pressed(cases).spread
    return Nearby(
        spread=math.nan if spread is None else spread,
        tilt=math.nan if spread is None else tilt,
        mass=mass,
        checks={(c.name, k.id, k.what): k for c in cases for k in c.checks},
        load_cases=cases,
        pressure=pressure,
        curve=curve,
    )


def _tilts(layout: Layout) -> list[float]:
    """The largest tilt of a bore in the governing load case, with its sign, of every design."""
    case = verdict.most_pressed(layout.design.load_cases)
    solved = layout.stages.of(case)
    tilt = solved.answers[layout.headline].openings.tilt[:, LOW, solved.at(case.pressure)] * MRAD
    return [float(max(own, key=abs)) for own in tilt]


def by_front_view(design: Design, *, steps: int = 0) -> Nearby:
    """The same of the front view, its joint faces moving as planes as they do in batches. Raises `JointError`."""
    body = build(design)
    pair, _ = response.front_view_pair(body, give=False)
    known = life(design, body, pair)
    stages = solve(design, body, {"front view": pair}, known, steps=steps)
    return read(Layout(design, body, metals(body), weigh(design, body), known, stages))[0]


@dataclass(frozen=True)
class Anchor:
    """rho of spread, tilt and every check's margin: front view over frame at one layout; 1 without the front view."""

    spread: float
    tilt: float | None  # None: no front view, so no tilt
    checks: Mapping[Key, float]  # of 1 + margin

    def margin(self, key: Key, margin: float) -> float:
        """A check's margin by the frame, corrected."""
        return self.checks.get(key, 1.0) * (1.0 + margin) - 1.0


NO_ANCHOR = Anchor(1.0, None, {})


def anchor(frame: Nearby, front: Nearby) -> Anchor:
    """rho at one layout. Margins whose loads vanish or are unbounded in a model stay as they are.

    One that is no number in the front view is none near by either: never met, whatever the frame says.
    """
    checks = {key: _rho(check, front.checks.get(key)) for key, check in frame.checks.items()}
    return Anchor(front.spread / frame.spread, front.tilt / frame.tilt, checks)


def _rho(frame: Check, front: Check | None) -> float:
    if front is None:
        return 1.0
    if math.isnan(front.margin):
        return math.nan
    ratio = (1.0 + front.margin) / (1.0 + frame.margin) if frame.margin > -1.0 else math.nan
    return ratio if math.isfinite(ratio) and ratio > 0.0 else 1.0


def governing(found: Nearby) -> Key | None:
    """The check with the least margin."""
    return min(found.checks, key=lambda k: found.checks[k].order, default=None)


def margin_at(found: Nearby, key: Key, *, here: Nearby, shown: Nearby, rho: Anchor) -> float:
    """The margin of one check at a design near `here`; `shown`: the figures published there.

    A check that names another place there (the worst of its kind moved) is the worst of that kind.
    """
    if key[1] == TILT:
        return float((1.0 + shown.checks[key].margin) * abs(here.tilt / found.tilt) - 1.0)
    if key in found.checks:
        return rho.margin(key, found.checks[key].margin)
    alike = [k for k in found.checks if k[:2] == key[:2]]
    return min((rho.margin(key, found.checks[k].margin) for k in alike), key=counted, default=math.nan)
