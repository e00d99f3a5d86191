"""What the models say at the pressures and temperatures of readings: one layout, the same path as an assessment."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.caliper import assess, cases
from stiffcalc.caliper.cases import Layout
from stiffcalc.caliper.response import Answer
from stiffcalc.condensed import Array
from stiffcalc.mechanics.opening import onset
from stiffcalc.readings.kinds import CALIPER, MIDDLE
from stiffcalc.study.schema import Design, LoadCase

STEPS = 48  # of the pressures that are solved; between them lines
Key = tuple[str, str]  # quantity, point


@dataclass(frozen=True)
class Curves:
    """One temperature. Preload states S = (minimum, nominal, maximum) settled, or one where nothing is tightened.

    NaN where nothing holds the halves together. A quantity that the model does not publish is not there.
    """

    pressure: Array  # (P,) from 0
    values: Mapping[Key, Array]  # (S, P)
    onset: Array  # (S,) pressure at which the first joint face loses contact, MPa; inf for one piece

    def at(self, key: Key, pressure: Array) -> Array | None:
        """Values (S, N) at those pressures, or None where the model does not publish them."""
        found = self.values.get(key)
        return None if found is None else np.stack([np.interp(pressure, self.pressure, row) for row in found])


def predict(
    design: Design, *, temperatures: Sequence[float], top: float, front_view: bool
) -> tuple[str, tuple[Curves, ...]]:
    """Model ("front view" or "frame") and its curves up to pressure `top` at each temperature of body and bolts.

    Raises as `stiffcalc.caliper.assess.assess`.
    """
    asked = replace(design, load_cases=tuple(_load_cases(design, temperatures, top)))
    layout, _ = assess.solved(asked, with_front_view=front_view)
    by_temperature = {c.body_temperature_C: c for c in asked.load_cases}
    return layout.headline, tuple(_curves(layout, by_temperature[t]) for t in temperatures)


def _load_cases(design: Design, temperatures: Sequence[float], top: float) -> Iterator[LoadCase]:
    """Pressures from 0 to the top at each temperature. How much joints settle depends on whether any case has drag."""
    drag = any(c.drag for c in design.load_cases)
    for t in temperatures:
        for p in np.linspace(0.0, top, STEPS + 1):
            yield LoadCase(f"{p:g} MPa, {t:g} °C", "assembly", float(p), t, t, drag, None)


def _curves(layout: Layout, case: LoadCase) -> Curves:
    solved = layout.stages.of(case)
    answer = solved.answers[layout.headline]
    states = range(answer.openings.spread.shape[1])
    points = [
        [
            _figures(layout, replace(case, pressure=float(p)), answer, at, state)
            for at, p in enumerate(solved.pressure)
        ]
        for state in states
    ]
    values = {key: np.array([[point[key] for point in row] for row in points]) for key in points[0][0]}
    return Curves(solved.pressure, values, _onset(answer, len(states)))


def _onset(answer: Answer, states: int) -> Array:
    if answer.tightened is None:
        return np.full(states, np.inf)
    first: Array = onset(answer.pair, answer.tightened).pressure[0].min(axis=-1)
    return first


def _figures(layout: Layout, case: LoadCase, answer: Answer, at: int, state: int) -> dict[Key, float]:
    """Everything that can be read, of one preload state at one pressure."""
    opened = cases.opening_figures(answer, at, state=state)
    found = {
        ("spread", CALIPER): opened["spread"],
        ("opening", MIDDLE): opened["middle"],
        ("yaw", CALIPER): opened["yaw"],
        ("bow", MIDDLE): opened["bow"],
        ("fluid volume", CALIPER): cases.fluid_volume(layout, case, answer, at, state=state).total,
    }
    found |= _numbered("opening", "bore", opened["by_bore"])
    found |= _numbered("bolt force", "bolt", answer.change.bolt[0, state, at])
    if layout.headline == "front view":
        tilted = cases.tilt_figures(answer, at, state=state)
        found |= {
            ("tilt", MIDDLE): tilted["tilt_middle"],
            **_numbered("tilt", "bore", tilted["tilt_by_bore"]),
        }
    return found


def _numbered(quantity: str, place: str, values: Sequence[float] | Array) -> dict[Key, float]:
    return {(quantity, f"{place} {i + 1}"): float(v) for i, v in enumerate(values)}
