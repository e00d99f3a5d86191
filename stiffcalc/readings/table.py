"""A file of readings in long form, CSV: text in, readings out; every fault of the file at once, by line and column."""

from __future__ import annotations

import csv
import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from stiffcalc.catalogue.rows import nearest
from stiffcalc.errors import Fault, InputError
from stiffcalc.readings.kinds import KINDS, PRESSURE
from stiffcalc.readings.schema import DOWN, UP, Reading, Readings
from stiffcalc.readings.series import order_faults, series_of
from stiffcalc.study.fields import Bounds, shown
from stiffcalc.study.file import read_bytes

LARGEST = 20_000_000  # bytes; about 200 000 readings
WHAT, MEND = (
    "a file of readings",
    "check the name, or write one with: stiffcalc correlate STUDY --template FILE",
)
PRESSURES = {"pressure": 1.0, **{f"pressure_{unit}": factor for unit, factor in PRESSURE.items()}}
TEMPERATURES = ("temperature", "temperature_C")
PLAIN = ("case", "cycle", "direction", "point", "quantity", "value", "unit", "uncertainty")
HEADER = "case,cycle,direction,pressure_MPa,temperature_C,point,quantity,value,unit,uncertainty"
PRESSURE_BOUNDS = Bounds(0.0, 200.0, "MPa", low_open=False)
TEMPERATURE_BOUNDS = Bounds(-60.0, 400.0, "°C", low_open=False)
KNOWN = {*PLAIN, *PRESSURES, *TEMPERATURES}
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
MOST = 1e9  # of a value in any unit: more is a slip, and its square would overflow
LEAST = 1e-9  # of an uncertainty in any unit: less is a slip, and its weight would overflow
MARKS = ((b"\xff\xfe", "UTF-16"), (b"\xfe\xff", "UTF-16"))


@dataclass
class Sheet:
    """One pass over a file: what it is called, its points, and the faults found."""

    name: str
    points: Mapping[str, tuple[str, ...]]  # quantity -> points of the layout
    faults: dict[tuple[str, str, str, str], list[int]] = field(default_factory=dict)

    def wrong(self, line: int, column: str, found: str, allowed: str, mend: str) -> None:
        """Note one fault; equal ones in other lines share its line of text."""
        self.faults.setdefault((column, found, allowed, mend), []).append(line)

    def refuse(self) -> None:
        """Raise InputError where there are faults, in the order of the file."""
        if self.faults:
            by_line = sorted(self.faults.items(), key=lambda item: item[1][0])
            raise InputError(
                Fault(f"{self.name}, {_lines(lines)}, column {column}", found, allowed, mend)
                for (column, found, allowed, mend), lines in by_line
            )


def _lines(lines: list[int]) -> str:
    more = f" and {len(lines) - 1} more" if len(lines) > 1 else ""
    return f"line {lines[0]}{more}"


def load_readings(path: Path, *, points: Mapping[str, tuple[str, ...]]) -> Readings:
    """Read and check a file of readings of a layout that has those points.

    Raises InputError, which carries one Fault for each thing wrong.
    """
    content = read_bytes(path, what=WHAT, mend=MEND, largest=LARGEST)
    return parse_readings(content, name=path.name, points=points)


def parse_readings(content: bytes, *, name: str, points: Mapping[str, tuple[str, ...]]) -> Readings:
    """As `load_readings`, of a file's content."""
    sheet = Sheet(name, points)
    readings = list(_readings(sheet, _decoded(content, sheet)))
    order_faults(readings, sheet.wrong)
    sheet.refuse()
    return Readings(name, hashlib.sha256(content).hexdigest(), series_of(readings))


def _decoded(content: bytes, sheet: Sheet) -> str:
    """The content as text; a UTF-8 byte order mark is dropped."""
    allowed, mend = "text in UTF-8", "save it as CSV in UTF-8"
    for mark, code in MARKS:
        if content.startswith(mark):
            sheet.wrong(1, "1", f"text in {code}", allowed, mend)
            sheet.refuse()
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = content[: error.start]
        line, column = before.count(b"\n") + 1, str(error.start - before.rfind(b"\n"))
        sheet.wrong(line, column, f"byte 0x{content[error.start]:02x}", allowed, mend)
        sheet.refuse()
        raise
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        sheet.wrong(line, "1", "zero bytes", allowed, "is this a CSV file?")
        sheet.refuse()
    return text


def _readings(sheet: Sheet, text: str) -> Iterator[Reading]:
    """Every line that could be read."""
    rows = _rows(sheet, text)
    first, header = next(rows, (1, []))
    if not header:
        sheet.wrong(first, "1", "no line but comments", "a header and readings", "write one with --template")
        return
    columns = _columns(sheet, first, header)
    if columns is None:
        return
    before, some = len(sheet.faults), False
    for line, cells in rows:
        some = True
        if len(cells) != len(header):
            at = str(min(len(cells), len(header)) + 1)
            mend = "one cell for each column of the header; decimals take a point, not a comma"
            sheet.wrong(line, at, f"{len(cells)} cells", f"{len(header)}", mend)
            continue
        reading = _reading(sheet, line, dict(zip(columns, cells, strict=True)))
        if reading is not None:
            yield reading
    if not some and len(sheet.faults) == before:
        sheet.wrong(first, "1", "a header without readings", "at least one reading", "add a line for each")


def _rows(sheet: Sheet, text: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of each line that is neither blank nor a comment."""
    for line, raw in enumerate(text.splitlines(), start=1):
        if not raw.strip(" ,\t") or raw.lstrip().startswith("#"):
            continue
        try:
            (cells,) = csv.reader([raw], strict=True, skipinitialspace=True)
        except csv.Error:
            sheet.wrong(line, "1", "a quote that is not closed", "cells in plain text", "remove the quotes")
            continue
        yield line, [c.strip() for c in cells]


def _columns(sheet: Sheet, line: int, header: list[str]) -> list[str] | None:
    """The header's names, or None where readings cannot be told by it."""
    before = len(sheet.faults)
    if len(header) == 1 or not set(header) & KNOWN:
        sheet.wrong(line, "1", *_no_header(header))
        return None
    meant = set()
    for name in dict.fromkeys(header):
        if name not in KNOWN:
            close = nearest(name, KNOWN - set(header))
            meant.add(close)
            mend = f"write {close}" if close else "remove it"
            sheet.wrong(line, name or "without a name", "an unknown column", HEADER, mend)
        elif header.count(name) > 1:
            sheet.wrong(line, name, "this column twice", "each column once", "remove one")
    for names in (*((p,) for p in PLAIN), tuple(PRESSURES), TEMPERATURES):
        if not meant & set(names):
            _one_of(sheet, line, header, names)
    return header if len(sheet.faults) == before else None


def _no_header(header: list[str]) -> tuple[str, str, str]:
    """Found, allowed and mend of a first line that is no header."""
    between = next((name for sign, name in ((";", "semicolons"), ("\t", "tabs")) if sign in header[0]), "")
    if between and len(header) == 1:
        mend = "save it as CSV with commas between the cells and points in the numbers"
        return f"{between} between the cells", HEADER, mend
    return f"no header but {shown(header[0])}", HEADER, "put the header above the readings"


def _one_of(sheet: Sheet, line: int, header: list[str], names: tuple[str, ...]) -> None:
    """Of columns that say the same there must be one."""
    there = [n for n in names if n in header]
    if not there:
        sheet.wrong(line, names[0], "no such column", HEADER, f"add {' or '.join(names)}")
    elif len(there) > 1:
        sheet.wrong(line, there[1], f"{there[0]} as well", "one of them", "remove one")


def _reading(sheet: Sheet, line: int, cells: Mapping[str, str]) -> Reading | None:
    """One line, or None after a fault."""
    before = sum(map(len, sheet.faults.values()))
    pressure = next(c for c in PRESSURES if c in cells)
    temperature = next(c for c in TEMPERATURES if c in cells)
    kind, factor = _kind(sheet, line, cells)
    found = Reading(
        line=line,
        case=_text(sheet, line, cells, "case"),
        cycle=_cycle(sheet, line, cells),
        direction=_direction(sheet, line, cells),
        pressure=_bounded(sheet, line, cells, pressure, PRESSURE_BOUNDS, PRESSURES[pressure]),
        temperature=_bounded(sheet, line, cells, temperature, TEMPERATURE_BOUNDS, 1.0),
        quantity=kind,
        point=_point(sheet, line, cells, kind),
        value=_number(sheet, line, cells, "value") * factor,
        uncertainty=_uncertainty(sheet, line, cells, factor),
    )
    return found if sum(map(len, sheet.faults.values())) == before else None


def _text(sheet: Sheet, line: int, cells: Mapping[str, str], column: str) -> str:
    if not cells[column]:
        sheet.wrong(line, column, "nothing", "a name", "fill it in")
    return cells[column]


def _cycle(sheet: Sheet, line: int, cells: Mapping[str, str]) -> int:
    text = cells["cycle"]
    if re.fullmatch(r"[0-9]{1,6}", text) and int(text) > 0:
        return int(text)
    sheet.wrong(line, "cycle", shown(text), "1, 2, 3 and so on", "number the runs of each case from 1")
    return 0


def _direction(sheet: Sheet, line: int, cells: Mapping[str, str]) -> str:
    text = cells["direction"]
    if text not in (UP, DOWN):
        sheet.wrong(
            line,
            "direction",
            shown(text),
            f"{UP} or {DOWN}",
            "up while the pressure rises, down while it falls",
        )
    return text


def _number(sheet: Sheet, line: int, cells: Mapping[str, str], column: str) -> float:
    """A plain number no machine would overflow on; NaN after a fault."""
    text = cells[column]
    if NUMBER.fullmatch(text):
        if abs(float(text)) <= MOST:
            return float(text)
        sheet.wrong(line, column, text, f"at most {MOST:g}", "mind the exponent and the unit")
        return float("nan")
    sheet.wrong(line, column, shown(text) if text else "nothing", "a plain finite number", _mend(text))
    return float("nan")


def _mend(text: str) -> str:
    """How to mend what is no number."""
    if not text:
        return "fill it in, or remove the line"
    if re.fullmatch(r"[+-]?[\d ]*\d,\d+", text):
        return "write a decimal point"
    if re.match(r"[+-]?[\d.]+ *[^\d., _]", text):
        return "only the number; the unit has a column of its own"
    return (
        "write it with the digits 0 to 9 and a decimal point" if re.search(r"\d", text) else "give a number"
    )


def _bounded(
    sheet: Sheet, line: int, cells: Mapping[str, str], column: str, bounds: Bounds, factor: float
) -> float:
    """A number inside bounds, converted; NaN after a fault."""
    value = _number(sheet, line, cells, column) * factor
    if value == value and not bounds.holds(value):
        sheet.wrong(line, column, cells[column], str(bounds), "mind the unit of the column")
    return value


def _kind(sheet: Sheet, line: int, cells: Mapping[str, str]) -> tuple[str, float]:
    """Quantity, and the factor of its unit; "" and NaN after a fault."""
    name, unit = cells["quantity"], cells["unit"]
    if name not in KINDS:
        close = nearest(name, KINDS)
        sheet.wrong(
            line,
            "quantity",
            shown(name),
            ", ".join(KINDS),
            f"write {close}" if close else "take one of these",
        )
        return "", float("nan")
    units = KINDS[name].units
    if unit in units:
        return name, units[unit]
    close = nearest(unit, units)
    allowed = f"{KINDS[name].unit_names} for {name}"
    sheet.wrong(
        line,
        "unit",
        shown(unit) if unit else "nothing",
        allowed,
        f"write {close}" if close else "convert the value" if unit else "state the unit",
    )
    return name, float("nan")


def _point(sheet: Sheet, line: int, cells: Mapping[str, str], kind: str) -> str:
    text = cells["point"]
    points = sheet.points.get(kind)
    if points is not None and text not in points:
        close = nearest(text, points)
        allowed = ", ".join(points) if points else f"no {kind}: this layout has none"
        sheet.wrong(
            line,
            "point",
            shown(text) if text else "nothing",
            allowed,
            f"write {close}" if close else "take one of these",
        )
    return text


def _uncertainty(sheet: Sheet, line: int, cells: Mapping[str, str], factor: float) -> float | None:
    if not cells["uncertainty"]:
        return None
    value = _number(sheet, line, cells, "uncertainty")
    if value < LEAST:
        allowed = f"a standard uncertainty above 0 (from {LEAST:g}), in the unit of the value"
        sheet.wrong(
            line, "uncertainty", cells["uncertainty"], allowed, "leave it empty where it is not known"
        )
    return value * factor
