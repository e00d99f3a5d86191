"""A section's outline from a file: STEP (ISO 10303) through the CAD kernel, or corners in CSV.

CSV: a header x_mm, y_mm and, where wanted, radius_mm (rounding of that corner); a row a corner, once round; an empty
line starts a hole. Other units: x_cm, x_m, x_in and so on. Lines that start with # are notes.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.mesh import step_curves
from stiffcalc.plane.section.curves import Outline, outline_of
from stiffcalc.plane.section.outline import Loop, polygon, signed_area
from stiffcalc.study.file import decode, read_bytes

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
STEP = (".step", ".stp")
LARGEST = 20_000_000  # bytes
WHAT, MEND = "a section's outline", "give its path as seen from the study file"
PREFIXES = {"$": "m", ".MILLI.": "mm", ".CENTI.": "cm", ".MICRO.": "µm"}


def read_outline(path: Path) -> Outline:
    """The outline in a .step, .stp or .csv file, mm. Raises InputError with what is wrong with it."""
    if path.suffix.lower() in STEP:
        return _from_step(path)
    if path.suffix.lower() == ".csv":
        return _from_csv(path)
    allowed = f"{', '.join(STEP)} or .csv"
    raise InputError([Fault(str(path), f"the ending {path.suffix!r}", allowed, "export it as one of these")])


def _from_step(path: Path) -> Outline:
    text = read_bytes(path, what=WHAT, mend=MEND, largest=LARGEST).decode("latin-1")
    if not text.lstrip().startswith("ISO-10303-21"):
        told = "a file that does not start with ISO-10303-21"
        raise InputError([Fault(str(path), told, "a STEP file (ISO 10303)", "export it again")])
    drawn = outline_of(step_curves(str(path)), where=str(path))
    return Outline(drawn.outer, drawn.holes, (*_step_unit(text), *drawn.notes))


def _step_unit(text: str) -> tuple[str, ...]:
    """A note where the file is not in mm; the kernel has brought it to mm."""
    lengths = [e for e in re.sub(r"\s+", "", text).split(";") if "LENGTH_UNIT()" in e]
    other = next((m for e in lengths if (m := re.search(r"CONVERSION_BASED_UNIT\('([^']+)'", e))), None)
    if other:
        return (f"file in {other[1].lower()}: converted to mm",)
    metric = next((m for e in lengths if (m := re.search(r"SI_UNIT\(([^,()]+),\.METRE\.\)", e))), None)
    if metric is None:
        return ("the file states no unit of length: taken as mm",)
    unit = PREFIXES.get(metric[1], metric[1])
    return () if unit == "mm" else (f"file in {unit}: converted to mm",)


def _from_csv(path: Path) -> Outline:
    where = str(path)
    text = decode(read_bytes(path, what=WHAT, mend=MEND, largest=LARGEST), where=where)
    rows = [
        (i, r)
        for i, r in enumerate(csv.reader(text.splitlines()), start=1)
        if not (r and r[0].startswith("#"))
    ]
    rows = rows[next((k for k, (_, r) in enumerate(rows) if any(c.strip() for c in r)), len(rows)) :]
    if not rows:
        raise InputError([Fault(where, "nothing", "a header x_mm,y_mm and corners", "write them")])
    columns, scale, unit = _header(where, rows[0][1])
    loops = [_loop(where, block, columns, scale) for block in _blocks(rows[1:])]
    if not loops:
        raise InputError([Fault(where, "no corners", "a row a corner", "write them below the header")])
    order = sorted(loops, key=lambda loop: -abs(signed_area(loop)))
    notes = [] if unit == "mm" else [f"file in {unit}: converted to mm"]
    notes += ["given clockwise: turned round"] if signed_area(order[0]) < 0 else []
    return Outline(order[0], tuple(order[1:]), tuple(notes))


def _header(where: str, cells: Sequence[str]) -> tuple[dict[str, int], float, str]:
    """Columns by what they are, mm per unit, and the unit."""
    names = [c.strip() for c in cells]
    for unit, scale in UNITS.items():
        columns = {k: names.index(f"{k}_{unit}") for k in ("x", "y", "radius") if f"{k}_{unit}" in names}
        if {"x", "y"} <= set(columns) and len(columns) == len(names):
            return columns, scale, unit
    found, allowed = ",".join(names), "x_mm,y_mm or x_mm,y_mm,radius_mm (or _cm, _m, _in)"
    raise InputError([Fault(f"{where}, header", found, allowed, "name the columns with their unit")])


def _blocks(rows: Sequence[tuple[int, list[str]]]) -> list[list[tuple[int, list[str]]]]:
    """Runs of rows between empty lines."""
    blocks: list[list[tuple[int, list[str]]]] = [[]]
    for i, row in rows:
        if any(c.strip() for c in row):
            blocks[-1].append((i, row))
        elif blocks[-1]:
            blocks.append([])
    return [b for b in blocks if b]


def _loop(where: str, rows: Sequence[tuple[int, list[str]]], columns: dict[str, int], scale: float) -> Loop:
    faults: list[Fault] = []
    values = [[_number(where, i, row, k, faults) for k in columns.values()] for i, row in rows]
    if faults:
        raise InputError(faults)
    table = scale * np.array(values)
    if len(table) > 1 and math.dist(table[0, :2], table[-1, :2]) < 1e-9:
        table = table[:-1]  # closed by repeating the first corner
    points = [(float(x), float(y)) for x, y in table[:, :2]]
    radii = [float(r) for r in table[:, 2]] if "radius" in columns else []
    try:
        return polygon(points, radii=radii)
    except InputError as error:
        lines = f"{where}, lines {rows[0][0]} to {rows[-1][0]}"
        raise InputError(
            [Fault(f"{lines}: {f.where}", f.found, f.allowed, f.mend) for f in error.faults]
        ) from error


def _number(where: str, line: int, row: Sequence[str], column: int, faults: list[Fault]) -> float:
    cell = row[column].strip() if column < len(row) else ""
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        place = f"{where}, line {line}, column {column + 1}"
        faults.append(
            Fault(place, f"{cell!r}" if cell else "nothing", "a finite number", "with a point, not a comma")
        )
    return value
