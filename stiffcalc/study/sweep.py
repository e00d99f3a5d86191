"""[sweep] of a study file: which keys `stiffcalc sweep` varies, over what, and how the designs are drawn."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from stiffcalc.errors import Fault
from stiffcalc.study import defaults
from stiffcalc.study.bolts import AIMS
from stiffcalc.study.defaults import Default
from stiffcalc.study.fields import Bounds, Table, checked, choice, pair, shown, subtables, text, whole
from stiffcalc.study.schema import Level, SweepKey, SweepPlan
from stiffcalc.study.variants import steps_of

SAMPLINGS = ("grid", "random", "sobol", "halton")
MOST = 1_000_000  # designs; beyond, no file of them is read by anyone
MOST_KEYS = 40
MOST_LEVELS = 1000  # of one list or stepped range
MOST_BEST = 20
MOST_SEED = 2**31 - 1
_ANY = Bounds(-1e9, 1e9, low_open=False)
_STEP = Bounds(0.0, 1e9)
_SUM = 1e-9  # of a step: the end of a range counts in spite of rounding

Read = Callable[[Mapping[str, object]], Sequence[Fault]]


def read_sweep(table: Table, *, layouts: Sequence[str]) -> SweepPlan:
    """[sweep]; `layouts`: names there are, the base's first. The caller turns `table.log.used` into `defaults_used`."""
    before = len(table.log.faults)
    sampling = choice(table, "sampling", SAMPLINGS, defaults.SWEEP_SAMPLING)
    keys = [read_key(t) for t in subtables(table, "key", required="at least one table of what to vary")]
    found = SweepPlan(
        sampling=sampling,
        samples=_samples(table, sampling, keys),
        seed=whole(table, "seed", 0, MOST_SEED, defaults.SWEEP_SEED),
        aim=choice(table, "aim", AIMS, defaults.SWEEP_AIM),
        best=whole(table, "best", 0, MOST_BEST, defaults.SWEEP_BEST),
        layout=choice(table, "layout", tuple(layouts), Default(layouts[0], "the base")),
        keys=tuple(keys),
        defaults_used=(),
    )
    table.finish()
    if len(table.log.faults) == before:
        table.log.faults.extend(plan_faults(found))
    return found


def plan_faults(plan: SweepPlan) -> Iterator[Fault]:
    """What a plan's parts say against each other: too many, or a path or a name that stands twice."""
    if len(plan.keys) > MOST_KEYS:
        yield Fault("sweep.key", f"{len(plan.keys)} entries", f"at most {MOST_KEYS}", "vary fewer keys")
    if plan.sampling == "grid":
        for i, key in enumerate(plan.keys, start=1):
            if not key.levels:
                yield Fault(
                    f"sweep.key[{i}]", "a range without step", "a step or a list in a grid", "add step"
                )
        sizes = " x ".join(str(len(k.levels)) for k in plan.keys)
        if plan.samples > MOST:
            yield Fault(
                "sweep", f"{sizes} = {plan.samples} designs", f"at most {MOST}", "sample, or vary less"
            )
    yield from doubles(enumerate(plan.keys, start=1), where="sweep.key")


def doubles(keys: Iterable[tuple[int, SweepKey]], *, where: str) -> Iterator[Fault]:
    """Paths that two entries of the list `where` set, one perhaps inside the other's; names of two entries."""
    for (i, a), (k, b) in combinations(keys, 2):
        if a.name == b.name:
            yield Fault(
                f"{where}[{k}].name", shown(b.name), "a name of its own", f"key[{i}] has it; rename one"
            )
        for path in sorted(p for p in _paths(b) if any(_overlap(p, q) for q in _paths(a))):
            yield Fault(
                f"{where}[{k}]",
                f'path "{path}", which key[{i}] sets too',
                "each path in one entry",
                "take it out of one, or set both from one list of tables",
            )


def _paths(key: SweepKey) -> set[str]:
    return {*key.paths, *key.minus, *(p for level in key.levels for p in level.changes)}


def _overlap(a: str, b: str) -> bool:
    one, other = steps_of(a) or [a], steps_of(b) or [b]
    return all(x == y for x, y in zip(one, other, strict=False))


def unknown_faults(keys: Sequence[tuple[int, SweepKey]], read: Read, *, where: str) -> list[Fault]:
    """Paths and names of the list `where` that the format or a catalogue does not know, each entry tried once.

    `read` gives the faults of a design with those paths set. Other faults are a design's own: it is refused alone.
    """
    first = {p: v for _, key in keys for p, v in _first(key).items()}
    found: dict[Fault, None] = {}
    for i, key in keys:
        for changes in (_first(key), *(level.changes for level in key.levels[1:] if math.isnan(level.value))):
            for fault in read({**first, **changes}):
                mine = any(_named(fault, path) for path in changes)
                if mine and fault.found.startswith(("unknown", "no path")):
                    found[replace(fault, where=f"{where}[{i}]: {fault.where}")] = None
    return list(found)


def _first(key: SweepKey) -> Mapping[str, object]:
    return key.levels[0].changes if key.levels else changes_to(key, key.low)


def changes_to(key: SweepKey, value: float) -> dict[str, object]:
    """Paths of a range's key set to a number."""
    return {**dict.fromkeys(key.paths, value), **dict.fromkeys(key.minus, -value)}


def _named(fault: Fault, path: str) -> bool:
    """Whether a fault is about a path, something above it or something inside it."""
    where = fault.where.removeprefix('set."').removesuffix('"')
    return _overlap(where, path)


def _samples(table: Table, sampling: str, keys: Sequence[SweepKey]) -> int:
    """Designs: as stated, or the places of a grid."""
    if sampling != "grid":
        return whole(table, "samples", 1, MOST, defaults.SWEEP_SAMPLES)
    if table.has("samples"):
        table.log.wrong(table.path("samples"), table.take("samples"), "nothing in a grid", "remove samples")
    table.asked.add("samples")
    return math.prod(max(1, len(k.levels)) for k in keys)


def read_key(table: Table) -> SweepKey:
    """[[sweep.key]]: a range, values or sets."""
    table.asked.update(("name", "path", "minus", "range", "step", "values", "sets"))
    ways = [k for k in ("range", "values", "sets") if table.has(k)]
    if len(ways) != 1 and table.whole:
        found = " and ".join(ways) or "neither range, values nor sets"
        table.log.fault(table.where, found, "one of range, values and sets", "leave one of them")
    table.finish()
    way = ways[0] if ways else ""
    paths, minus = _path_lists(table, way)
    name = text(table, "name") if table.has("name") else (paths or minus or (table.where,))[0]
    if table.has("step") and way != "range":
        table.log.wrong(table.path("step"), table.take("step"), "a step only beside a range", "remove step")
    low, high, levels = math.nan, math.nan, tuple[Level, ...]()
    if way == "range":
        low, high = pair(table, "range", _ANY)
        levels = tuple(_stepped(table, paths, minus, low, high)) if table.has("step") else ()
    elif way == "values":
        levels = tuple(_values(table, paths, minus))
    elif way == "sets":
        levels = tuple(_sets(table))
    return SweepKey(name, paths, minus, low, high, levels)


def _path_lists(table: Table, way: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """`path` and `minus`, each one path or a list of them; a list of sets has its paths inside."""
    if way == "sets":
        for key in ("path", "minus"):
            if table.has(key):
                table.log.wrong(table.path(key), table.take(key), "no path beside sets", f"remove {key}")
        return (), ()
    found = [_paths_of(table, key) for key in ("path", "minus")]
    if not any(found) and not any(table.has(k) for k in ("path", "minus")):
        table.missing("path", 'a dotted path such as "caliper.wall.thickness_mm", or a list of paths')
    stated = [p for each in found for p in each]
    for path in sorted({p for p in stated if stated.count(p) > 1}):
        table.log.fault(table.where, f'path "{path}" twice', "each path once", "remove one")
    return found[0], found[1]


def _paths_of(table: Table, key: str) -> tuple[str, ...]:
    if not table.has(key):
        return ()
    raw = table.take(key)
    listed = raw if isinstance(raw, list) else [raw]
    if not listed or not all(isinstance(p, str) and p.strip() for p in listed):
        table.log.wrong(
            table.path(key), raw, "a dotted path in quotes, or a list of them", "write it in quotes"
        )
        return ()
    return tuple(str(p) for p in listed)


def _stepped(
    table: Table, paths: tuple[str, ...], minus: tuple[str, ...], low: float, high: float
) -> Iterator[Level]:
    """Places of a range from low on; whole numbers stay whole."""
    step = checked(table.log, table.path("step"), table.take("step"), _STEP)
    if not math.isfinite(step) or not math.isfinite(low):
        return
    count = math.floor((high - low) / step + _SUM) + 1
    if not 2 <= count <= MOST_LEVELS:
        table.log.fault(
            table.path("step"), f"{count} steps", f"2 to {MOST_LEVELS} steps in the range", "mind the step"
        )
        return
    raw = table.raw["range"]
    whole = isinstance(raw, list) and isinstance(raw[0], int) and isinstance(table.raw["step"], int)
    for i in range(count):
        value = low + i * step
        yield _numbered(int(value) if whole else float(f"{value:.10g}"), paths, minus)


def _numbered(value: float, paths: Iterable[str], minus: Iterable[str]) -> Level:
    return Level(
        f"{value:.10g}", float(value), {**dict.fromkeys(paths, value), **dict.fromkeys(minus, -value)}
    )


def _values(table: Table, paths: tuple[str, ...], minus: tuple[str, ...]) -> Iterator[Level]:
    raw = _listed(table, "values")
    names = [_label(v) for v in raw]
    for i, value in enumerate(raw, start=1):
        where = f"{table.path('values')}[{i}]"
        if isinstance(value, int | float) and not isinstance(value, bool):
            checked(table.log, where, value, _ANY)
            yield _numbered(value, paths, minus)
        elif minus:
            table.log.wrong(where, value, "a number, as minus needs", "take minus out")
        else:
            label = names[i - 1] if names[i - 1] and names.count(names[i - 1]) == 1 else f"#{i}"
            yield Level(label, math.nan, dict.fromkeys(paths, value))


def _label(value: object) -> str:
    """A text, or a table's own name."""
    name = value.get("name") if isinstance(value, Mapping) else value
    return name if isinstance(name, str) else ""


def _sets(table: Table) -> Iterator[Level]:
    """Tables of paths, as a variant's `set`; `name` says what to call one."""
    names: list[str] = []
    for i, entry in enumerate(_listed(table, "sets"), start=1):
        where = f"{table.path('sets')}[{i}]"
        if not isinstance(entry, Mapping):
            table.log.wrong(where, entry, "a table of paths", 'such as { "caliper.layout" = "monoblock" }')
            continue
        name = _label(entry) or f"#{i}"
        if name in names:
            table.log.fault(f"{where}.name", shown(name), "each name once", "rename it")
        names.append(name)
        yield Level(name, math.nan, {k: v for k, v in entry.items() if k != "name"})


def _listed(table: Table, key: str) -> list[object]:
    """A list with at least two different entries."""
    raw, where = table.take(key), table.path(key)
    if not isinstance(raw, list) or not raw:
        table.log.wrong(where, raw, "a list with at least one entry", f"write {key} = [...]")
        return []
    if len(raw) > MOST_LEVELS:
        table.log.fault(where, f"{len(raw)} entries", f"at most {MOST_LEVELS}", "shorten it")
        return []
    for i, entry in enumerate(raw):
        if entry in raw[:i]:
            table.log.wrong(f"{where}[{i + 1}]", entry, "each entry once", "remove it")
    return raw
