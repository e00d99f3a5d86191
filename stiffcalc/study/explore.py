"""[explore] of a study file: what `stiffcalc compare` may change, and at which masses it compares layouts."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from stiffcalc.errors import Fault
from stiffcalc.study import defaults
from stiffcalc.study.fields import Bounds, Table, checked, choice, shown, subtable, subtables, whole
from stiffcalc.study.schema import ExploreKey, ExplorePlan
from stiffcalc.study.sweep import MOST_KEYS, MOST_SEED, doubles, read_key

EFFORTS = ("quick", "usual", "thorough")
LEAST_POINTS, MOST_POINTS = 2, 20
_MASS = Bounds(0.0, 1000.0, "kg")
_EXTRA = Bounds(0.0, 1e5, "g", low_open=False)


def read_explore(table: Table, *, layouts: Sequence[str]) -> ExplorePlan:
    """[explore]; `layouts`: names there are. The caller turns `table.log.used` into `defaults_used`."""
    masses = _masses(table)
    found = ExplorePlan(
        layouts=_named(table, "layouts", layouts),
        masses=masses,
        points=len(masses) or _points(table),
        seed=whole(table, "seed", 0, MOST_SEED, defaults.EXPLORE_SEED),
        effort=choice(table, "effort", EFFORTS, defaults.EXPLORE_EFFORT),
        extra=_extra(subtable(table, "extra_g")),
        keys=tuple(_read_key(t, layouts) for t in subtables(table, "key")),
        defaults_used=(),
    )
    table.asked.add("points")
    table.finish()
    table.log.faults.extend(_key_faults(found, layouts))
    return found


def _points(table: Table) -> int:
    return whole(table, "points", LEAST_POINTS, MOST_POINTS, defaults.EXPLORE_POINTS)


def _masses(table: Table) -> tuple[float, ...]:
    """`masses_kg`, rising; none where it is absent."""
    if not table.has("masses_kg"):
        table.asked.add("masses_kg")
        return ()
    raw, where = table.take("masses_kg"), table.path("masses_kg")
    if table.has("points"):
        table.log.wrong(
            table.path("points"), table.take("points"), "nothing beside masses_kg", "remove points"
        )
    if not isinstance(raw, list) or not LEAST_POINTS <= len(raw) <= MOST_POINTS:
        allowed = f"a list of {LEAST_POINTS} to {MOST_POINTS} masses"
        table.log.wrong(where, raw, allowed, "write masses_kg = [...]")
        return ()
    found = [checked(table.log, f"{where}[{i}]", m, _MASS) for i, m in enumerate(raw, start=1)]
    if any(a >= b for a, b in pairwise(found)):
        table.log.wrong(where, raw, "masses that rise", "put the lightest first, each once")
    return tuple(found)


def _named(table: Table, key: str, layouts: Sequence[str]) -> tuple[str, ...]:
    """A list of layouts by name; none where it is absent."""
    if not table.has(key):
        table.asked.add(key)
        return ()
    raw, where = table.take(key), table.path(key)
    if not isinstance(raw, list) or not raw or not all(isinstance(n, str) for n in raw):
        table.log.wrong(where, raw, "a list of layouts by name", f'write {key} = ["{layouts[0]}", ...]')
        return ()
    for i, name in enumerate(raw, start=1):
        if name not in layouts:
            allowed = ", ".join(shown(n) for n in layouts)
            table.log.wrong(f"{where}[{i}]", name, allowed, "name the base or a variant")
        elif name in raw[: i - 1]:
            table.log.wrong(f"{where}[{i}]", name, "each layout once", "remove it")
    return tuple(raw)


def _extra(table: Table) -> Mapping[str, float]:
    """[explore.extra_g]: mass of what the file does not know, by layout; in kg."""
    found = {name: checked(table.log, table.path(name), table.take(name), _EXTRA) for name in table.raw}
    return {name: grams / 1e3 for name, grams in found.items() if math.isfinite(grams)}


def _read_key(table: Table, layouts: Sequence[str]) -> ExploreKey:
    own = _named(table, "layouts", layouts)
    return ExploreKey(read_key(table), own)


def _key_faults(plan: ExplorePlan, layouts: Sequence[str]) -> list[Fault]:
    """What the keys say against each other, those of each layout apart."""
    found: dict[Fault, None] = {}
    if len(plan.keys) > MOST_KEYS:
        fault = Fault("explore.key", f"{len(plan.keys)} entries", f"at most {MOST_KEYS}", "free fewer")
        found[fault] = None
    for layout in layouts:
        own = [(i, k.key) for i, k in enumerate(plan.keys, 1) if not k.layouts or layout in k.layouts]
        found |= dict.fromkeys(doubles(own, where="explore.key"))
    return list(found)
