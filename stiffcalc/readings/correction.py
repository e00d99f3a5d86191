"""A correction: the ratios of one layout as a file, TOML, format 1.

It names the layout (by a hash of rotor, pad and caliper with every material), the model and the readings, and for each
quantity and point the ratio measured / predicted with its standard error, degrees of freedom, pressures and
temperatures.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from stiffcalc.errors import InputError
from stiffcalc.readings.compare import Ratio
from stiffcalc.readings.kinds import KINDS
from stiffcalc.readings.results import Correlation
from stiffcalc.study.fields import Bounds, Log, Table, choice, number, pair, subtable, subtables, text
from stiffcalc.study.file import decode, parse_toml, read_bytes

FORMAT, KIND = 1, "correction by readings"
WHAT, MEND = "a correction", "write one with: stiffcalc correlate STUDY READINGS.csv"
MODELS = ("front view", "frame")
RATIO = Bounds(0.0, 100.0)
DEGREES = Bounds(1.0, 1e9, low_open=False)
PRESSURE = Bounds(0.0, 200.0, "MPa", low_open=False)
TEMPERATURE = Bounds(-100.0, 500.0, "°C", low_open=False)


@dataclass(frozen=True)
class Entry:
    """One ratio of a correction."""

    quantity: str
    point: str
    ratio: Ratio


@dataclass(frozen=True)
class Correction:
    """What a correction file says."""

    layout: str
    layout_sha256: str
    model: str
    version: str  # of stiffcalc that wrote it
    readings: str
    readings_sha256: str
    entries: tuple[Entry, ...]


def correction(c: Correlation) -> Correction:
    """The usable ratios of a correlation."""
    usable = tuple(Entry(q.quantity, q.point, q.ratio) for q in c.comparisons if q.ratio is not None)
    return Correction(c.layout, c.layout_sha256, c.model, c.version, c.readings, c.readings_sha256, usable)


def to_toml(c: Correction, *, cautions: tuple[str, ...]) -> str:
    """The correction as a file."""
    return "\n".join(_toml_lines(c, cautions)) + "\n"


def _toml_lines(c: Correction, cautions: tuple[str, ...]) -> Iterator[str]:
    yield "# Readings of one layout over its prediction. stiffcalc assess STUDY --correction FILE shows it beside the"
    yield "# raw figures, inside these pressures and temperatures only, and for this layout only."
    yield from (f"# {line}" for line in cautions)
    yield f"format = {FORMAT}"
    yield f"kind = {_quoted(KIND)}"
    yield f"model = {_quoted(c.model)}"
    yield f"version = {_quoted(c.version)}"
    for table, name, sha in (
        ("layout", c.layout, c.layout_sha256),
        ("readings", c.readings, c.readings_sha256),
    ):
        yield f"\n[{table}]\nname = {_quoted(name)}\nsha256 = {_quoted(sha)}"
    for e in c.entries:
        r = e.ratio
        yield f"\n[[ratio]]\nquantity = {_quoted(e.quantity)}\npoint = {_quoted(e.point)}"
        yield f"ratio = {r.value:.6g}\nstandard_error = {r.error:.3g}\ndegrees_of_freedom = {r.degrees}"
        yield f"pressure_MPa = [{r.pressure[0]:.4g}, {r.pressure[1]:.4g}]"
        yield f"temperature_C = [{r.temperature[0]:.4g}, {r.temperature[1]:.4g}]"
        yield f"cases = [{', '.join(_quoted(case) for case in r.cases)}]"


def _quoted(value: str) -> str:
    """A basic string; what JSON escapes TOML escapes alike, but for the delete character."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")


def load_correction(path: Path) -> Correction:
    """Read and check a correction file. Raises InputError, with one Fault for each thing wrong."""
    content = decode(read_bytes(path, what=WHAT, mend=MEND), where=str(path))
    log = Log()
    root = Table(parse_toml(content, where=str(path)), "", log)
    found = _correction(root)
    if log.faults:
        raise InputError(type(f)(f"{path}, {f.where}", f.found, f.allowed, f.mend) for f in log.faults)
    return found


def _correction(root: Table) -> Correction:
    stated = root.take("format")
    if stated != FORMAT or isinstance(stated, bool):
        root.log.fault("format", "another format or none", f"{FORMAT}", MEND)
    choice(root, "kind", (KIND,))
    model, version = choice(root, "model", MODELS), text(root, "version")
    layout, layout_sha = _named(subtable(root, "layout", required=True))
    readings, readings_sha = _named(subtable(root, "readings", required=True))
    entries = tuple(_entry(t) for t in subtables(root, "ratio", required="at least one [[ratio]]"))
    root.finish()
    return Correction(layout, layout_sha, model, version, readings, readings_sha, entries)


def _named(table: Table) -> tuple[str, str]:
    name, sha = text(table, "name"), text(table, "sha256")
    table.finish()
    return name, sha


def _entry(table: Table) -> Entry:
    quantity = choice(table, "quantity", tuple(KINDS))
    point = text(table, "point")
    ratio = Ratio(
        value=number(table, "ratio", RATIO),
        error=number(table, "standard_error", RATIO),
        degrees=_whole(number(table, "degrees_of_freedom", DEGREES)),
        pressure=pair(table, "pressure_MPa", PRESSURE),
        temperature=pair(table, "temperature_C", TEMPERATURE),
        cases=_cases(table),
    )
    table.finish()
    return Entry(quantity, point, ratio)


def _whole(value: float) -> int:
    """A fault has been noted where this is no number."""
    return int(value) if value == value else 1


def _cases(table: Table) -> tuple[str, ...]:
    found = table.take("cases")
    if isinstance(found, list) and found and all(isinstance(c, str) for c in found):
        return tuple(found)
    table.log.wrong(table.path("cases"), found, "a list of names", MEND)
    return ()
