"""Typed access to the tables of a study file: every fault is noted and reading goes on.

A value that could not be read is returned as a placeholder (NaN, "" or nothing) so that one pass finds all
faults. Whoever compares values read here asks for the BAD condition (`if a > b: fault`), which is false for
NaN: what has been reported once is not reported again in other words. No placeholder leaves the reader: any
fault raises.

A number may be an array (D,) over a batch of designs: what is wrong with some of them only is noted as a `Breach`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from stiffcalc.catalogue.rows import nearest
from stiffcalc.errors import Fault
from stiffcalc.study.breach import Breach, Words, always, said
from stiffcalc.study.defaults import Default
from stiffcalc.study.numbers import NAN, blank, isnt

_ABSENT = object()


@dataclass(frozen=True)
class Used:
    """A default that was used: where, the value and why it is the default."""

    where: str
    value: object
    why: str


@dataclass
class Log:
    """What one pass over a study gathers."""

    faults: list[Fault] = field(default_factory=list)  # of every design
    used: list[Used] = field(default_factory=list)
    partial: list[tuple[int, Breach]] = field(
        default_factory=list
    )  # of some: faults noted before, and the rule

    def fault(self, where: str, found: str, allowed: str, mend: str) -> None:
        """Note one fault, `found` in words."""
        self.faults.append(Fault(where, found, allowed, mend))

    def wrong(self, where: str, value: object, allowed: str, mend: str) -> None:
        """Note a value that may not be; it is shown as it would stand in the file."""
        self.fault(where, shown(value), allowed, mend)

    def note(self, breach: Breach) -> None:
        """Note a rule where it is broken."""
        if not breach.shared:
            self.partial.append((len(self.faults), breach))
        elif breach.bad:
            self.faults += breach.each([0])

    def wrong_if(self, bad: bool, where: str, value: object, allowed: Words, mend: Words) -> None:
        """`wrong` where `bad` holds."""
        self.note(Breach(bad, where, said(shown, value), allowed, mend))

    def extend(self, breaches: Iterable[Breach]) -> None:
        """Note rules where they are broken."""
        for breach in breaches:
            self.note(breach)

    def breaches(self) -> list[Breach]:
        """All that was noted, in order."""
        every = [(i, 1, always(f)) for i, f in enumerate(self.faults)]
        return [b for *_, b in sorted([*every, *((i, 0, b) for i, b in self.partial)], key=lambda e: e[:2])]


@dataclass(frozen=True)
class Bounds:
    """What a number may be: `low` to `high`, an end left out where it is open."""

    low: float
    high: float
    unit: str = ""
    low_open: bool = True
    high_open: bool = False

    def holds(self, value: float) -> bool:
        """True inside the bounds; false for NaN."""
        above = self.low < value if self.low_open else self.low <= value
        below = value < self.high if self.high_open else value <= self.high
        return above & below

    def __str__(self) -> str:
        low = f"above {self.low:g}" if self.low_open else f"from {self.low:g}"
        high = f"below {self.high:g}" if self.high_open else f"up to {self.high:g}"
        return f"a number {low} and {high} {self.unit}".rstrip()


@dataclass(frozen=True)
class Table:
    """One table of the file: its content, where it stands, and the keys that have been asked for."""

    raw: Mapping[str, object]
    where: str
    log: Log
    whole: bool = True  # False: a placeholder for a table that is missing or is no table
    homes: Mapping[str, str] = field(default_factory=dict)  # keys that stand in another table -> that table
    asked: set[str] = field(default_factory=set)

    def path(self, key: str) -> str:
        """Where `key` of this table stands in the file."""
        home = self.homes.get(key, self.where)
        return f"{home}.{key}" if home else key

    def take(self, key: str) -> object:
        """The raw value, or _ABSENT; remembers that `key` is known."""
        self.asked.add(key)
        return self.raw.get(key, _ABSENT)

    def has(self, key: str) -> bool:
        """True where the file states `key`."""
        return key in self.raw

    def missing(self, key: str, allowed: str) -> None:
        """Note that a key without a default is not there."""
        if self.whole:
            self.log.wrong(self.path(key), _ABSENT, allowed, f"add {key}")

    def default(self, key: str, default: Default[object]) -> None:
        """Note that a default was used."""
        self.log.used.append(Used(self.path(key), default.value, default.why))

    def finish(self) -> None:
        """Note every key that nobody asked for."""
        for key in self.raw:
            if key not in self.asked:
                close = nearest(key, self.asked)
                mend = f"write {close}" if close else "remove it"
                where = self.path(key)
                self.log.fault(where, f'unknown key "{key}"', ", ".join(sorted(self.asked)), mend)


def shown(value: object) -> str:
    """A value as it would stand in the file, cut short."""
    if value is _ABSENT:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:g}" if math.isfinite(value) else str(value)
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "an empty list" if not value else f"a list of {len(value)}"
    text = f'"{value}"' if isinstance(value, str) else str_of(value)
    return text if len(text) <= 60 else text[:57] + "..."


def str_of(value: object) -> str:
    """`str`, also for integers too long for it."""
    try:
        return str(value)
    except ValueError:
        return "a number of thousands of digits"


def checked(log: Log, where: str, raw: object, bounds: Bounds) -> float:
    """`raw` as a float inside `bounds`, else a fault and NaN. True and false are no numbers."""
    if isinstance(raw, np.ndarray):
        value: Any = raw  # of each design
    elif isinstance(raw, bool) or not isinstance(raw, int | float):
        log.wrong(where, raw, str(bounds), "give a plain number without quotes")
        return NAN
    else:
        try:
            value = float(raw)
        except OverflowError:
            value = math.inf
    bad = isnt(bounds.holds(value))
    log.wrong_if(bad, where, raw, said(str, bounds), said(_mended, value))
    return blank(bad, value)


def _mended(value: float) -> str:
    return "mind the unit in the key's name" if math.isfinite(value) else "give a finite number"


def number(table: Table, key: str, bounds: Bounds, default: Default[float] | None = None) -> float:
    """A number; the default where the key is absent, a fault where it has none."""
    raw = table.take(key)
    if raw is not _ABSENT:
        return checked(table.log, table.path(key), raw, bounds)
    if default is None:
        table.missing(key, str(bounds))
        return NAN
    table.default(key, default)
    return default.value


def optional(table: Table, key: str, bounds: Bounds) -> float | None:
    """A number, or None where the key is absent."""
    raw = table.take(key)
    return None if raw is _ABSENT else checked(table.log, table.path(key), raw, bounds)


def whole(table: Table, key: str, low: int, high: int, default: Default[float]) -> int:
    """A whole number from low to high; the default where the key is absent."""
    if not table.has(key):
        table.asked.add(key)
        table.default(key, default)
        return int(default.value)
    raw = table.take(key)
    allowed = f"a whole number, {low} to {high}"
    if isinstance(raw, bool) or not isinstance(raw, int):
        table.log.wrong(table.path(key), raw, allowed, "give it without a point")
        return low
    if not low <= raw <= high:
        table.log.wrong(table.path(key), raw, allowed, "give one within")
        return low
    return raw


def text(table: Table, key: str, default: Default[str] | None = None) -> str:
    """A text that is not empty."""
    raw = table.take(key)
    if raw is _ABSENT and default is not None:
        table.default(key, default)
        return default.value
    if raw is _ABSENT:
        table.missing(key, "a text in quotes")
        return ""
    if not isinstance(raw, str) or not raw.strip():
        table.log.wrong(table.path(key), raw, "a text in quotes, not empty", f'write {key} = "..."')
        return ""
    return raw


def choice(table: Table, key: str, options: tuple[str, ...], default: Default[str] | None = None) -> str:
    """One of `options`; "" after a fault."""
    before = len(table.log.faults)
    found = text(table, key, default)
    if len(table.log.faults) > before or not table.whole or found in options:
        return found
    close = nearest(found, options)
    mend = f'write "{close}"' if close else "take one of these"
    table.log.wrong(table.path(key), found, ", ".join(f'"{option}"' for option in options), mend)
    return ""


def flag(table: Table, key: str, default: Default[bool]) -> bool:
    """true or false."""
    raw = table.take(key)
    if raw is _ABSENT:
        table.default(key, default)
        return default.value
    if not isinstance(raw, bool):
        table.log.wrong(table.path(key), raw, "true or false", "write it without quotes")
        return default.value
    return raw


def pair(
    table: Table, key: str, bounds: Bounds, default: Default[tuple[float, float]] | None = None
) -> tuple[float, float]:
    """A rising pair [low, high]; NaN, NaN after a fault."""
    raw = table.take(key)
    allowed = f"[low, high], each {bounds}, low below high"
    if raw is _ABSENT and default is not None:
        table.default(key, default)
        return default.value
    if raw is _ABSENT:
        table.missing(key, allowed)
        return NAN, NAN
    if not isinstance(raw, list) or len(raw) != 2:
        table.log.wrong(table.path(key), raw, allowed, "give two numbers in brackets")
        return NAN, NAN
    low, high = (
        checked(table.log, f"{table.path(key)}[{i}]", end, bounds) for i, end in enumerate(raw, start=1)
    )
    crossed = low >= high
    found = said("[{:g}, {:g}]", low, high)
    table.log.note(Breach(crossed, table.path(key), found, allowed, "put the lower end first"))
    return blank(crossed, low), blank(crossed, high)


def subtable(table: Table, key: str, *, required: bool = False) -> Table:
    """A table inside a table; a placeholder where it is absent (a fault if it is required) or is no table."""
    raw = table.take(key)
    if isinstance(raw, Mapping):
        return Table(raw, table.path(key), table.log)
    if raw is _ABSENT and not required:
        return Table({}, table.path(key), table.log)
    if raw is not _ABSENT or table.whole:
        table.log.wrong(table.path(key), raw, "a table", f"write [{table.path(key)}] with its keys below it")
    return Table({}, table.path(key), table.log, whole=False)


def subtables(table: Table, key: str, *, required: str = "") -> list[Table]:
    """A list of tables; `required` says in words what is missing where the list is absent or empty."""
    raw = table.take(key)
    where = table.path(key)
    if raw is _ABSENT or raw == []:
        if required and table.whole:
            table.log.wrong(where, raw, required, f"add [[{where}]]")
        return []
    if not isinstance(raw, list):
        table.log.wrong(where, raw, "a list of tables", f"write [[{where}]], with two brackets, for each")
        return []
    return [_item(table.log, f"{where}[{i}]", item) for i, item in enumerate(raw, start=1)]


def _item(log: Log, where: str, raw: object) -> Table:
    if isinstance(raw, Mapping):
        return Table(raw, where, log)
    log.wrong(where, raw, "a table", "write { key = value, ... }")
    return Table({}, where, log, whole=False)
