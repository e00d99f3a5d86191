"""A starting file for readings of a layout: what may be read where, in which units, and lines to fill in."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.readings.kinds import KINDS, PRESSURE
from stiffcalc.readings.schema import DOWN, UP
from stiffcalc.readings.series import ONE_TEMPERATURE
from stiffcalc.readings.table import HEADER
from stiffcalc.study.schema import Design, Study

STEPS = 8
STARTED = ("spread", "opening")  # quantities that the lines to fill in begin with

COLUMNS = f"""\
case         name of one test set-up or run of a solid model; one temperature, within {ONE_TEMPERATURE:g} K
cycle        1, 2, 3 ...: runs of the load within the case
direction    {UP} while the pressure rises, {DOWN} while it falls; pressures in that order
pressure     line pressure; name the column {" or ".join(f"pressure_{u}" for u in PRESSURE)}
temperature  of body and bolts, °C
quantity, point, unit: as listed below
value        signs as in the results; a constant offset does no harm, slopes are compared
uncertainty  standard uncertainty (one sigma) of the reading in the same unit; all or none of a series; may be empty
Decimals take a point, cells are parted by commas, the file is UTF-8. Lines that begin with # are skipped."""


def template(study: Study, design: Design) -> str:
    """The file's text for one layout of a study."""
    return "\n".join((*_head(study, design), HEADER, *_lines(design))) + "\n"


def _head(study: Study, design: Design) -> Iterator[str]:
    yield f"# Readings of layout {design.name}, study: {' '.join(study.title.split())}"
    yield from (f"# {line}" for line in COLUMNS.splitlines())
    for name, kind in KINDS.items():
        points = kind.points(design.caliper)
        if points:
            yield f"#   {name}: {kind.meaning}"
            yield f"#     point {', '.join(points)}; unit {kind.unit_names}"
    for other in study.designs:
        bores, bolts = len(other.caliper.bores), len(other.caliper.bolts)
        if other is not design:
            yield f"# Other layout: {' '.join(other.name.split())}, {bores} bores, {bolts} bolts (--variant)"


def _lines(design: Design) -> Iterator[str]:
    """One cycle up and down, values left empty."""
    top = max(c.pressure for c in design.load_cases)
    rising = [float(p) for p in np.linspace(0.0, top, STEPS + 1)]
    for name in STARTED:
        for point in KINDS[name].points(design.caliper):
            for direction, pressures in ((UP, rising), (DOWN, rising[-2::-1])):
                for p in pressures:
                    yield f"bench,1,{direction},{p:g},20,{point},{name},,um,"
