"""What a solid model of the package should find, with bands: the models' stated worst difference from solids."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper.accuracy import (
    ONSET_BY_CELLS,
    ONSET_BY_POINTS,
    WORST,
    WORST_BOLT_N,
    WORST_ONSET,
    WORST_ONSET_SOLID,
)
from stiffcalc.caliper.idealise import face_voids
from stiffcalc.caliper.results import CaseResult
from stiffcalc.handover import ports
from stiffcalc.handover.job import Cell, Job, Rows
from stiffcalc.handover.steps import STATICS, after_pressure, before_pressure
from stiffcalc.mechanics import hydraulics
from stiffcalc.solid.model import HELD
from stiffcalc.study.schema import LoadCase

HEAD = ("load_case", "step", "quantity", "point", "sets", "unit", "expected", "low", "high", "basis")
FACETS = 2e-3  # of an area of curved faces
# Fillets are in the solids but not in the screening; they stiffen by at most this times radius over half gap.
# Measured by studies/handover_check/fillets.py: 0.09 to 0.22 of the opening, 0.15 to 0.23 of the tilt.
FILLET = 0.25
MOSTLY_SHUT = 0.5  # share of a face that may be open before bolt forces have no band
NOT_COMPARED = "the face is mostly open: no band"
OUTSIDE = "; a shape outside the compared range: the band may be too narrow"
Row = tuple[Cell, ...]


def expected(job: Job) -> Rows:
    """Every expected figure as rows of `expected.csv`."""
    found: list[Row] = [HEAD]
    for case, answer in job.cases:
        found += [*before_pressure(job, case, answer), *_openings(job, case, answer), *_reactions(job, case)]
        found += [*_joints(job, case, answer), *after_pressure(job, case)]
    return found


def _openings(job: Job, case: LoadCase, answer: CaseResult) -> Iterator[Row]:
    """Spread, openings, tilts and fluid of one load case: changes over the step of pressure."""
    if answer.spread is None or case.pressure == 0.0:
        return
    basis = f"{answer.model}, minimum preload" if job.bolted else answer.model
    basis += ", low end less for fillets" if fillet_share(job) else ""
    opening, outside = _worst(job, answer, "opening"), OUTSIDE * _outside(answer)
    ends = [f"floor_outboard_{k} floor_inboard_{k}" for k in range(1, len(answer.by_bore) + 1)]
    head, stiffer = (case.name, "pressure"), fillet_share(job)
    yield (
        *head,
        "opening, area mean over all floors",
        "",
        " ".join(ends),
        "mm",
        *_band(answer.spread, opening, stiffer),
        basis + outside,
    )
    for k, value in enumerate(answer.by_bore, start=1):
        words = "opening, mean over the two floors"
        yield *head, words, f"bore {k}", ends[k - 1], "mm", *_band(value, opening, stiffer), basis + outside
    tilt = _worst(job, answer, "tilt")
    for k, value in enumerate(answer.tilt_by_bore or (), start=1):
        words = "tilt, slope of the opening over y along the mouth's ring"
        sets = f"mouth_outboard_{k} mouth_inboard_{k}"
        yield *head, words, f"bore {k}", sets, "mrad", *_band(value, tilt, stiffer), basis + outside
    if answer.fluid is not None:
        words = "volume swept by the floors"
        yield (
            *head,
            words,
            "",
            " ".join(ends),
            "mm3",
            *_band(answer.fluid.floors, opening, stiffer),
            basis + outside,
        )


def _worst(job: Job, answer: CaseResult, quantity: str) -> float | None:
    return WORST.get((answer.model, quantity, job.bolted))


def _outside(answer: CaseResult) -> bool:
    return any("figures may be off" in s or "beyond what was compared" in s for s in answer.validity)


def _band(
    value: float, share: float | None, stiffer: float = 0.0
) -> tuple[float, float | None, float | None]:
    """Value and its band: `share` either way, and `stiffer` more toward zero."""
    if share is None:
        return value, None, None
    ends = sorted((value * (1 + share), value * (1 - share - stiffer)))
    return value, ends[0], ends[1]


def fillet_share(job: Job) -> float:
    """By how much fillets may stiffen what the screening took as sharp corners."""
    built = [b.fillet for _, b in job.model.a.own()] if not job.model.mesh.without_fillets else []
    return FILLET * max(built, default=0.0) / job.answer.body.half_gap


def _reactions(job: Job, case: LoadCase) -> Iterator[Row]:
    """What statics alone gives."""
    bores = job.answer.body.inboard.bores
    total = float(hydraulics.clamp_force(case.pressure, diameters=np.array([b.diameter for b in bores])))
    head, unit = (case.name, "pressure"), "N"
    for side, sign in (("inboard", -1.0), ("outboard", 1.0)):
        for k, b in enumerate(bores, start=1):
            force = sign * case.pressure * float(hydraulics.piston_area(b.diameter))
            words = "force of the pressure along z"
            basis = "statics: pressure times area"
            yield *head, words, f"bore {k}", f"floor_{side}_{k}", unit, *_band(force, FACETS), basis
    for point, name, force in ports.resultants(job, case):
        words, basis = "force of the pressure along z", "statics: pressure times area"
        yield *head, words, point, name, unit, *_band(force, FACETS), basis
    slack = STATICS * total
    for name in (n for n in HELD if f"support_{n}" in job.model.nodes):
        for axis in HELD[name].split(", "):
            words, basis = f"reaction along {axis}", "statics: pressure holds itself in balance"
            yield *head, words, f"support {name}", f"support_{name}", unit, 0.0, -slack, slack, basis


def _joints(job: Job, case: LoadCase, answer: CaseResult) -> Iterator[Row]:
    """Onset pressures and bolt forces."""
    for name, joint in zip(_faces(job), answer.joints, strict=True):
        if np.isfinite(joint.onset_MPa):
            words = "line pressure at which the face first parts"
            share, basis = onset_share(job, answer)
            band = _band(joint.onset_MPa, share)
            at = f"{joint.bridge}, x {joint.onset_x:.0f}, y {joint.onset_y:.0f}"
            yield case.name, "pressure", words, at, name, "MPa", *band, basis
        for bolt in joint.bolts:
            for preload, force in (("minimum", bolt.force), ("maximum", bolt.force_max)):
                words, cut = f"bolt force under pressure, {preload} preload", f"bolt_{bolt.index}_cut"
                known = joint.open_fraction < MOSTLY_SHUT
                ends = (force - WORST_BOLT_N, force + WORST_BOLT_N) if known else (None, None)
                basis = f"{answer.model}, preload as entered" if known else NOT_COMPARED
                yield case.name, "pressure", words, "", cut, "N", force, *ends, basis


def onset_share(job: Job, answer: CaseResult) -> tuple[float, str]:
    """Half width of the band of onset pressures, and where they come from."""
    body = job.answer.body
    if job.answer.solid and all(b.E == body.E for b in body.bridges):
        return WORST_ONSET_SOLID, "minimum preload; 3-D solid on a grid, whole faces within 10 %"
    points = answer.model == "front view" and not face_voids(body)
    known = ONSET_BY_POINTS if points else ONSET_BY_CELLS
    return WORST_ONSET, f"minimum preload; {known}, late in corners hardly pressed"


def _faces(job: Job) -> list[str]:
    """Clamp faces in the order of the joints."""
    names = {s.name for s in job.model.faces}
    found = []
    for name, bridge in zip(job.model.a.names, job.answer.body.bridges, strict=True):
        if bridge.jointed:
            both = (f"clamp_inboard_{name}", f"clamp_outboard_{name}")
            found.append(" ".join(n for n in both if n in names))
    return found
