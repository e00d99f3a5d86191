"""[bolts] of a study file: what `stiffcalc bolts` tries around the bolts as drawn."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

from stiffcalc import catalogue
from stiffcalc.catalogue import Grade, Thread
from stiffcalc.catalogue.rows import nearest
from stiffcalc.errors import Fault, InputError
from stiffcalc.study import defaults
from stiffcalc.study.defaults import Default
from stiffcalc.study.fields import Bounds, Table, checked, choice, number
from stiffcalc.study.schema import BoltSearch, Design

AIMS = ("least mass", "least spread", "highest onset", "best worst margin")
MOST = 5000  # combinations; beyond, a matrix is no longer read by anyone
MOST_BOLTS = 30
_SHIFT = Bounds(-100.0, 100.0, "mm", low_open=False)

T = TypeVar("T")
D = TypeVar("D")


def read_bolts(table: Table, *, stated: bool) -> BoltSearch:
    """[bolts]; `stated` where the file has it. The caller turns `table.log.used` into `defaults_used`."""
    before = len(table.log.faults)
    found = BoltSearch(
        counts=_entries(table, "counts", _count, defaults.SEARCH_COUNTS),
        threads=_entries(table, "threads", _thread, defaults.SEARCH_THREADS),
        grades=_entries(table, "grades", _grade, defaults.SEARCH_GRADES),
        row_shift=_entries(table, "row_shift_mm", _shift, defaults.SEARCH_SHIFTS_MM),
        aim=choice(table, "aim", AIMS, defaults.SEARCH_AIM),
        bridges=_entries(table, "bridges", _name, defaults.SEARCH_BRIDGES),
        head_gap=number(table, "head_gap_mm", Bounds(0.0, 50.0, "mm", low_open=False), defaults.HEAD_GAP_MM),
        edge_metal=number(
            table, "edge_metal_diameters", Bounds(0.0, 5.0, low_open=False), defaults.EDGE_METAL_DIAMETERS
        ),
        stated=stated,
        defaults_used=(),
    )
    table.finish()
    if len(table.log.faults) == before:
        _not_too_many(table, found)
    return found


def bridge_faults(search: BoltSearch, designs: Iterable[Design]) -> Iterator[Fault]:
    """A fault for each name of `bridges` that no layout of the study has."""
    known = list(dict.fromkeys(b.name for d in designs for b in d.caliper.bridges))
    for name in search.bridges or ():
        if name not in known:
            close = nearest(name, known)
            mend = f'write "{close}"' if close else "take one of these"
            yield Fault("bolts.bridges", f'unknown bridge "{name}"', ", ".join(known), mend)


def _entries(
    table: Table, key: str, read: Callable[[Table, str, object], T], default: Default[D]
) -> tuple[T, ...] | D:
    """A list that is not empty and names nothing twice; what is at fault is left out."""
    if not table.has(key):
        table.asked.add(key)
        table.default(key, default)
        return default.value
    raw, where = table.take(key), table.path(key)
    if not isinstance(raw, list) or not raw:
        table.log.wrong(where, raw, "a list with at least one entry", f"write {key} = [...]")
        return ()
    found: list[T] = []
    for i, entry in enumerate(raw, start=1):
        before = len(table.log.faults)
        value = read(table, f"{where}[{i}]", entry)
        if value in found:
            table.log.wrong(f"{where}[{i}]", entry, "each entry once", "remove it")
        if len(table.log.faults) == before:
            found.append(value)
    return tuple(found)


def _count(table: Table, where: str, raw: object) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int) or not 1 <= raw <= MOST_BOLTS:
        table.log.wrong(
            where, raw, f"a whole number of bolts, 1 to {MOST_BOLTS}", "count all bolts of the body"
        )
        return 0
    return raw


def _shift(table: Table, where: str, raw: object) -> float:
    return checked(table.log, where, raw, _SHIFT)


def _name(table: Table, where: str, raw: object) -> str:
    return _text(table, where, raw, '"leading end"')


def _text(table: Table, where: str, raw: object, example: str) -> str:
    if isinstance(raw, str) and raw.strip():
        return raw
    table.log.wrong(where, raw, f"a text in quotes such as {example}", "write it in quotes")
    return ""


def _thread(table: Table, where: str, raw: object) -> str:
    return _known(table, where, _text(table, where, raw, '"M10x1.5"'), catalogue.thread)


def _grade(table: Table, where: str, raw: object) -> str:
    return _known(table, where, _text(table, where, raw, '"12.9"'), catalogue.grade)


def _known(table: Table, where: str, name: str, look: Callable[..., Thread | Grade]) -> str:
    """The catalogue's own spelling of a name; "" after a fault."""
    try:
        return look(name, where=where).name if name else ""
    except InputError as error:
        table.log.faults.extend(error.faults)
        return ""


def _not_too_many(table: Table, search: BoltSearch) -> None:
    sizes = [len(v) for v in (search.counts or ("",), search.threads, search.grades, search.row_shift)]
    total = math.prod(sizes)
    if total > MOST:
        found = " x ".join(str(n) for n in sizes) + f" = {total} combinations"
        table.log.fault(
            table.where, found, f"at most {MOST}", "shorten counts, threads, grades or row_shift_mm"
        )
