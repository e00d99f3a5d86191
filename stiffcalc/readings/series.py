"""Readings together: what is there twice or out of order, and the series they make."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np

from stiffcalc.readings.schema import UP, Reading, Series

ONE_TEMPERATURE = (
    20.0  # K: a case is predicted at one temperature; aluminium's modulus moves by about 1 % over this
)
Note = Callable[[int, str, str, str, str], None]  # line, column, found, allowed, mend


def order_faults(readings: Sequence[Reading], note: Note) -> None:
    """Note duplicates, pressures out of order, uncertainties here and not there, cases of many temperatures."""
    for run in _grouped(readings, "case", "cycle", "direction", "quantity", "point"):
        _run_faults(run, note)
    for series in _grouped(readings, "case", "quantity", "point"):
        _uncertainty_faults(series, note)
    for case in _grouped(readings, "case"):
        _temperature_faults(case, note)


def series_of(readings: Sequence[Reading]) -> tuple[Series, ...]:
    """Series in the order of their first line."""
    return tuple(_series(group) for group in _grouped(readings, "case", "quantity", "point"))


def _grouped(readings: Iterable[Reading], *keys: str) -> list[list[Reading]]:
    groups: dict[tuple[object, ...], list[Reading]] = {}
    for r in readings:
        groups.setdefault(tuple(getattr(r, k) for k in keys), []).append(r)
    return list(groups.values())


def _run_faults(run: list[Reading], note: Note) -> None:
    """One run of the load up or down: every pressure once, in order."""
    sense, way = (1.0, "rising") if run[0].direction == UP else (-1.0, "falling")
    seen, last = {run[0].pressure}, run[0]
    for r in run[1:]:
        what = f"{r.quantity} at {r.point}, {r.direction}"
        if r.pressure in seen:
            found = f"a second reading of {what}, at {r.pressure:g} MPa"
            note(
                r.line,
                "pressure",
                found,
                "each once in a case and cycle",
                "remove it, or number another cycle",
            )
        elif (r.pressure - last.pressure) * sense < 0:
            found = f"{r.pressure:g} MPa after {last.pressure:g} MPa in line {last.line} ({what})"
            note(r.line, "pressure", found, f"{way} pressure", "sort the lines, or number another cycle")
        seen.add(r.pressure)
        last = r


def _uncertainty_faults(series: list[Reading], note: Note) -> None:
    without = [r for r in series if r.uncertainty is None]
    if without and len(without) < len(series):
        first = without[0]
        found = f"nothing, where other readings of {first.quantity} at {first.point} state one"
        note(
            first.line,
            "uncertainty",
            found,
            "all or none of a series",
            "state it, or leave all of them empty",
        )


def _temperature_faults(case: list[Reading], note: Note) -> None:
    low = min(case, key=lambda r: r.temperature)
    high = max(case, key=lambda r: r.temperature)
    if high.temperature - low.temperature > ONE_TEMPERATURE:
        found = f"{high.temperature:g} °C, and {low.temperature:g} °C in line {low.line} of the same case"
        allowed = f"at most {ONE_TEMPERATURE:g} K within a case"
        note(high.line, "temperature", found, allowed, "split the case by temperature")


def _series(group: list[Reading]) -> Series:
    first = group[0]
    known = [r.uncertainty for r in group if r.uncertainty is not None]
    return Series(
        case=first.case,
        quantity=first.quantity,
        point=first.point,
        pressure=np.array([r.pressure for r in group]),
        value=np.array([r.value for r in group]),
        uncertainty=np.array(known) if known else None,
        cycle=np.array([r.cycle for r in group]),
        up=np.array([r.direction == UP for r in group]),
        temperature=np.array([r.temperature for r in group]),
    )
