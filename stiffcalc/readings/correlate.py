"""The job: readings of one layout, fitted and set beside what the models say at the same pressures."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from stiffcalc.caliper import assess
from stiffcalc.caliper.assess import Progress, silent
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.readings.compare import Comparison, Ratio, SeriesFit, compare, fit_all
from stiffcalc.readings.kinds import title
from stiffcalc.readings.predict import predict
from stiffcalc.readings.results import Correlation
from stiffcalc.readings.schema import Readings
from stiffcalc.study.identity import layout_sha256
from stiffcalc.study.schema import Design, Study
from stiffcalc.version import __version__

CAUTIONS = (
    assess.CAUTIONS[0],
    "A ratio of readings to a prediction belongs to that layout, those pressures and temperatures, and the specimens "
    "that were read: one specimen says nothing of the next one's castings, bolts or seals.",
)


def correlate(
    study: Study,
    design: Design,
    readings: Readings,
    *,
    take_up: float | None = None,
    front_view: bool = True,
    progress: Progress = silent,
) -> Correlation:
    """Compare readings with the prediction for `design`, one of the study's.

    take_up: pressure up to which readings are dropped; None: found. The front view predicts unless `front_view` is
    False or gmsh is missing. Raises InputError where no series can be fitted, else as `assess`.
    """
    missing = unavailable() if front_view else assess.LEFT_OUT
    at = _temperatures(readings)
    top = max(float(s.pressure.max()) for s in readings.series)
    if not top > 0:
        raise InputError([Fault(readings.name, "no pressure above 0", "readings under pressure", "add some")])
    progress(f"predicting {design.name}")
    unique = sorted(set(at.values()))
    model, found = predict(design, temperatures=unique, top=top, front_view=not missing)
    curves = {case: found[unique.index(t)] for case, t in at.items()}
    progress(f"fitting {len(readings.series)} series")
    fits = fit_all(readings.series, curves, take_up=take_up)
    _refuse_unfitted(readings, fits)
    comparisons = compare(fits)
    return Correlation(
        title=study.title,
        sha256=study.sha256,
        version=__version__,
        cautions=CAUTIONS,
        layout=design.name,
        layout_sha256=layout_sha256(design),
        model=model,
        readings=readings.name,
        readings_sha256=readings.sha256,
        fits=fits,
        comparisons=comparisons,
        curves=curves,
        temperature=at,
        verdict=verdict(fits, comparisons),
        notices=(missing,) if missing else (),
    )


def _temperatures(readings: Readings) -> Mapping[str, float]:
    """Mean temperature of each case, whole degrees: body and bolts are predicted at it."""
    cases = dict.fromkeys(s.case for s in readings.series)
    return {
        c: float(np.round(np.mean(np.concatenate([s.temperature for s in readings.series if s.case == c]))))
        for c in cases
    }


def _refuse_unfitted(readings: Readings, fits: tuple[SeriesFit, ...]) -> None:
    if all(f.found is None for f in fits):
        allowed = "four readings at three pressures beyond the take-up, in at least one series"
        raise InputError([Fault(readings.name, "no series that can be fitted", allowed, "add readings")])


def verdict(fits: tuple[SeriesFit, ...], comparisons: tuple[Comparison, ...]) -> str:
    """The first ratio, the first knee, and how many ratios there are, in sentences."""
    ratios = [(c, c.ratio) for c in comparisons if c.ratio is not None]
    if not ratios:
        return "No quantity has a ratio that can be used; each says why."
    return " ".join(
        (
            _first(*ratios[0]),
            *_knees(fits),
            f"{len(ratios)} of {len(comparisons)} quantities have a ratio that can be used.",
        )
    )


def _first(c: Comparison, r: Ratio) -> str:
    return (
        f"Measured {title(c.quantity, c.point)} is {r.value:.3f} times the predicted (95 %: {r.low:.3f} to "
        f"{r.high:.3f}) from {r.pressure[0]:.1f} to {r.pressure[1]:.1f} MPa."
    )


def _knees(fits: tuple[SeriesFit, ...]) -> tuple[str, ...]:
    tested = [f.found for f in fits if f.found is not None and f.found.bounds is not None]
    bends = [f.line.bend for f in tested if f.line.bend is not None]
    if not tested:
        return ()
    if not bends:
        return (f"None of {len(tested)} series bends at a knee.",)
    first = min(bends, key=lambda b: b.at)
    where = f"the first at {first.at:.1f} MPa (95 %: {first.low:.1f} to {first.high:.1f})"
    return (f"{len(bends)} of {len(tested)} series bend at a knee, {where}.",)
