"""A correction beside an assessment: corrected figures inside its range, the reason wherever there is none.

Raw figures are read, never changed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from stiffcalc.caliper.results import CaseResult, Results, VariantResult
from stiffcalc.errors import Fault, InputError
from stiffcalc.readings.correction import MEND, Correction, Entry
from stiffcalc.readings.kinds import CALIPER, KINDS, MIDDLE
from stiffcalc.study.identity import layout_sha256
from stiffcalc.study.schema import LoadCase, Study


@dataclass(frozen=True)
class Row:
    """One figure of one load case: raw, corrected with its interval at 95 %, or why not."""

    variant: str
    case: str
    quantity: str
    point: str
    raw: float | None
    corrected: float | None
    low: float | None
    high: float | None
    why_not: str


@dataclass(frozen=True)
class Beside:
    """A correction and what it says of an assessment."""

    correction: Correction
    rows: tuple[Row, ...]
    notices: tuple[str, ...]
    tightened: bool  # raw figures are those at minimum preload; False: no joint is tightened


def refuse_other_layouts(correction: Correction, study: Study, *, name: str) -> None:
    """Raise InputError where no layout of the study is the one that was read; `name` of the correction's file."""
    if any(layout_sha256(d) == correction.layout_sha256 for d in study.designs):
        return
    same = any(d.name == correction.layout for d in study.designs)
    found = f'a correction of layout "{correction.layout}" ({correction.layout_sha256[:12]})'
    if same:
        found += ", which this study has changed since"
    allowed = ", ".join(f'"{d.name}" ({layout_sha256(d)[:12]})' for d in study.designs)
    mend = f"leave it out, or {MEND}"
    raise InputError([Fault(name, found, f"one of a layout of this study: {allowed}", mend)])


def beside(correction: Correction, study: Study, results: Results) -> Beside:
    """The correction beside the results of that study."""
    own = [i for i, d in enumerate(study.designs) if layout_sha256(d) == correction.layout_sha256]
    rows = tuple(
        row
        for i in own
        for given, case in zip(study.designs[i].load_cases, results.variants[i].load_cases, strict=True)
        for row in _rows(correction, results.variants[i], given, case)
    )
    tightened = any(case.joints for i in own for case in results.variants[i].load_cases)
    return Beside(correction, rows, tuple(_notices(correction, results, own)), tightened)


def _notices(correction: Correction, results: Results, own: list[int]) -> Iterator[str]:
    others = [v.name for i, v in enumerate(results.variants) if i not in own]
    if others:
        yield f"Not for other layouts: {', '.join(others)}."
    if correction.version != results.version:
        yield (
            f"Written by stiffcalc {correction.version}, this is {results.version}: its models may differ; correlate "
            "again."
        )


def _rows(correction: Correction, variant: VariantResult, given: LoadCase, case: CaseResult) -> Iterator[Row]:
    for e in correction.entries:
        raw = raw_figure(case, e.quantity, e.point)
        why = _why_not(correction, e, given, case, raw)
        r = e.ratio
        if raw is None or why:
            yield Row(variant.name, case.name, e.quantity, e.point, raw, None, None, None, why)
        else:
            low, high = sorted((raw * r.low, raw * r.high))
            yield Row(variant.name, case.name, e.quantity, e.point, raw, raw * r.value, low, high, "")


def _why_not(
    correction: Correction, entry: Entry, given: LoadCase, case: CaseResult, raw: float | None
) -> str:
    """Why the ratio does not apply to that load case; "" where it does."""
    r = entry.ratio
    if raw is None:
        return "no raw figure"
    if case.model != correction.model:
        return f"made for the {correction.model}, this is the {case.model}"
    if not r.pressure[0] <= case.pressure <= r.pressure[1]:
        return f"{case.pressure:g} MPa is outside {r.pressure[0]:.2f} to {r.pressure[1]:.2f} MPa"
    for part, value in (("body", given.body_temperature_C), ("bolts", given.bolt_temperature_C)):
        if not r.temperature[0] <= value <= r.temperature[1]:
            return f"{part} at {value:g} °C is outside {r.temperature[0]:.0f} to {r.temperature[1]:.0f} °C"
    return ""


def raw_figure(case: CaseResult, quantity: str, point: str) -> float | None:
    """The published figure of a load case, at minimum preload; None where there is none."""
    whole = {
        ("spread", CALIPER): case.spread,
        ("opening", MIDDLE): case.middle,
        ("tilt", MIDDLE): case.tilt_middle,
        ("yaw", CALIPER): case.yaw,
        ("bow", MIDDLE): case.bow,
        ("fluid volume", CALIPER): case.fluid.total if case.fluid else None,
    }
    if (quantity, point) in whole:
        return whole[quantity, point]
    numbered: dict[str, Mapping[int, float]] = {
        "opening": dict(enumerate(case.by_bore, start=1)),
        "tilt": dict(enumerate(case.tilt_by_bore or (), start=1)),
        "bolt force": {b.index: b.force - b.preload_min for joint in case.joints for b in joint.bolts},
    }
    place, _, index = point.rpartition(" ")
    known = quantity in numbered and place in KINDS[quantity].places and index.isdecimal()
    return numbered[quantity].get(int(index)) if known else None
