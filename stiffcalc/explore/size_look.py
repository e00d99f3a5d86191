"""One point of a sizing looked at with the full response and sections on adaptive meshes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stiffcalc.caliper.assess import solved
from stiffcalc.caliper.cases import Layout
from stiffcalc.caliper.section_read import Reading
from stiffcalc.caliper.section_study import reading
from stiffcalc.caliper.section_uses import Limit, largest, uses
from stiffcalc.condensed import Array
from stiffcalc.errors import InputError
from stiffcalc.explore.size_checks import check_uses, met_at
from stiffcalc.explore.size_job import SIDES, Job
from stiffcalc.explore.size_round import Meshes, Round


@dataclass(frozen=True)
class Looked:
    """A point, its sections, and uses of the sections' limits and then of the checks that are held."""

    layout: Layout
    readings: tuple[Reading, ...]
    uses: Mapping[Limit, float]


def look(job: Job, x: Array, known: Sequence[Limit]) -> Looked:
    """The full response and adaptive meshes at x (n,). `known`: the sizing's limits, none where it starts."""
    design, faults = job.read(x)
    if faults:
        raise InputError(faults)
    layout, _ = solved(design, with_front_view=job.front_view)
    found = tuple(reading(layout, i, side=side, accuracy=job.accuracy) for i, side in job.cuts)
    own = {k: v for r in found for k, v in largest(uses(r, job.plan)).items()}
    checks = [limit for limit in known if limit.check] if known else _checks(job, x, layout)
    return Looked(layout, found, own | dict(zip(checks, check_uses(layout, checks)[0].tolist(), strict=True)))


def _checks(job: Job, x: Array, full: Layout) -> list[Limit]:
    """Checks to hold, of a start."""
    if not job.plan.hold_checks:
        return []
    (frame,) = Round(job, {}, Meshes()).layouts([x])
    sides = any(path.split(".")[1] in SIDES for d in job.plan.dimensions for path in d.paths)
    return met_at(full, frame, sides=sides)
