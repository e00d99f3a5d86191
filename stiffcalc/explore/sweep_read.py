"""Designs of a sweep read many at once: those that differ in numbers only as one batch of the study reader."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper.preloads import contradictions
from stiffcalc.condensed import Array
from stiffcalc.errors import Fault
from stiffcalc.explore import batches, sampling
from stiffcalc.explore.sampling import Choice
from stiffcalc.mechanics import trees
from stiffcalc.study.breach import SplitError, apart
from stiffcalc.study.parts import has_shaped_walls
from stiffcalc.study.reader import layout_changes, read_batch, read_design
from stiffcalc.study.schema import Design, Level, Study, SweepKey, SweepPlan
from stiffcalc.study.sweep import changes_to
from stiffcalc.study.variants import steps_of, with_set

FREE = ("rotor", "pad", "caliper")  # tables whose numbers may differ within a batch
FIXED = frozenset(  # but not these, which say what there is
    {"bolts_per_side", "relief", "land", "port", "outline_mm", "centre_mm", "ribs"}
)
PLAIN = 1e6  # whole numbers below are shown as the same number with a point would be

Rows = NDArray[np.intp]


@dataclass(frozen=True)
class Job:
    """All that a sweep's chunks need; plain data, so that another process can have it."""

    source: Mapping[str, object]  # the study as read
    own: Mapping[str, object]  # paths that the layout's variant sets
    plan: SweepPlan

    def changes(self, choice: Choice) -> dict[str, object]:
        """All paths that a design sets in the base."""
        return {**self.own, **sampling.changes(self.plan, choice)}

    def design(self, changes: Mapping[str, object]) -> Design:
        """The design that sets those paths, known to have no faults."""
        return read_design(self.source, self.plan.layout, changes)[0]


def job(study: Study, plan: SweepPlan) -> Job:
    """The sweep `plan` of a study, which then says whether its designs are read one by one."""
    own = layout_changes(study.source, plan.layout)
    return Job(study.source, own, replace(plan, alone=_alone(plan.keys, study.source, own)))


def _alone(keys: Sequence[SweepKey], source: Mapping[str, object], own: Mapping[str, object]) -> bool:
    """Whether even the largest chunk holds hardly two designs that may be one batch, or walls may be shaped."""
    kinds = [{_level_shape(v): v.changes for v in key.levels} for key in keys if key.levels]
    if math.prod(map(len, kinds)) > sampling.LARGEST // 2:
        return True
    if any(not key.levels and not _number_free(key) for key in keys):
        return True
    set_ = ({**own, **changes} for changes in ({}, *(c for kind in kinds for c in kind.values())))
    return any(has_shaped_walls(with_set(source, paths)[0]) for paths in set_)


def _number_free(key: SweepKey) -> bool:
    return all(map(_free, (*key.paths, *key.minus)))


@dataclass(frozen=True)
class Batch:
    """Designs of one topology without faults, their numbers arrays (D,) where they differ."""

    rows: Rows  # places among the designs that were asked for
    design: Design


def read(what: Job, choices: Array) -> tuple[list[Batch], dict[int, tuple[Fault, ...]]]:
    """Designs (D, keys) by the rules of a study file: the sound ones in batches, the faults of the others by place."""
    batches_, faults = list[Batch](), dict[int, tuple[Fault, ...]]()
    for rows in alike(what.plan.keys, choices):
        for some, design, found in _read(what, choices, rows):
            faults |= {int(some[d]): own for d, own in found.items()}
            sound = np.array([d for d in range(len(some)) if d not in found], dtype=np.intp)
            if len(sound):
                batches_ += _by_bridge(Batch(some[sound], trees.taken(design, sound)))
    return _joined(batches_), faults


def _read(
    what: Job, choices: Array, rows: Rows
) -> Iterator[tuple[Rows, Design, dict[int, tuple[Fault, ...]]]]:
    """Rows that may be one batch: rows, design and faults of each that it takes."""
    changes = {**what.own, **changes_of(what.plan.keys, choices[rows])}
    try:
        design, faults = read_batch(what.source, what.plan.layout, changes, len(rows))
    except SplitError as split:
        for label in np.unique(split.labels):
            yield from _read(what, choices, rows[split.labels == label])
        return
    if len(faults) < len(rows):  # else it may hold names that no catalogue knows
        torque = apart(list(contradictions(design)), len(rows))
        faults = {**torque, **faults}
    yield rows, design, faults


def alike(keys: Sequence[SweepKey], choices: Array) -> Iterator[Rows]:
    """Places of the designs (D, keys) that differ in numbers only, which a batch may hold as arrays."""
    group = np.zeros(len(choices), dtype=np.intp)
    for key, taken in zip(keys, choices.T, strict=True):
        kinds, own = np.unique(_codes(key, taken), return_inverse=True)
        if len(kinds) > 1:
            group = np.unique(group * len(kinds) + own, return_inverse=True)[1]
    order = np.argsort(group, kind="stable")
    yield from np.split(order, np.flatnonzero(np.diff(group[order])) + 1)


def _codes(key: SweepKey, taken: Array) -> Array:
    """Equal for what a batch may hold: shapes of a list's entries, or of a range nothing but numbers."""
    if not key.levels:
        return np.zeros(len(taken)) if _number_free(key) else taken
    shapes: dict[Hashable, int] = {}
    codes = [shapes.setdefault(_level_shape(level), len(shapes)) for level in key.levels]
    return np.array(codes, dtype=float)[taken.astype(np.intp)]


def _free(path: str) -> bool:
    steps = steps_of(path) or [""]
    return steps[0] in FREE and FIXED.isdisjoint(steps)


def _level_shape(level: Level) -> Hashable:
    return tuple((path, _shape(value, free=_free(path))) for path, value in level.changes.items())


def _shape(value: Any, *, free: bool) -> Hashable:
    """What a value has in common with others that a batch may hold beside it."""
    if isinstance(value, list):
        return list, tuple(_shape(v, free=free) for v in value)
    if isinstance(value, Mapping):
        return dict, tuple((k, _shape(v, free=free and k not in FIXED)) for k, v in value.items())
    number = isinstance(value, float) or (_is_number(value) and abs(value) < PLAIN)
    return float if free and number else (type(value), str(value))


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def changes_of(keys: Sequence[SweepKey], choices: Array) -> dict[str, object]:
    """Paths that designs (D, keys) of one batch set; numbers are arrays (D,) where they differ."""
    found: dict[str, object] = {}
    for key, taken in zip(keys, choices.T, strict=True):
        if key.levels:
            used, places = np.unique(taken.astype(np.intp), return_inverse=True)
            levels = [key.levels[i].changes for i in used]
            found |= {path: _held([level[path] for level in levels], places) for path in levels[0]}
        else:
            found |= changes_to(key, _held(taken.tolist(), np.arange(len(taken))))
    return found


def _held(values: Sequence[Any], places: Rows) -> Any:
    """Values of one shape as one: what each design takes is at its place."""
    first = values[0]
    if len(values) == 1 or all(v == first for v in values):
        return first
    if isinstance(first, list):
        return [_held(items, places) for items in zip(*values, strict=True)]
    if isinstance(first, Mapping):
        return {k: _held([v[k] for v in values], places) for k in first}
    return np.array(values, dtype=float)[places]


def _by_bridge(batch: Batch) -> Iterator[Batch]:
    """The batch split by which bridge each bolt stands in."""
    bridges, count = batch.design.caliper.bridges, len(batch.rows)
    homes = np.zeros((count, len(batch.design.caliper.bolts)), dtype=int)
    for b, bolt in enumerate(batch.design.caliper.bolts):
        within = [(bridge.x[0] <= bolt.x) & (bolt.x <= bridge.x[1]) for bridge in bridges]
        homes[:, b] = np.argmax(np.stack(np.broadcast_arrays(*within)), axis=0)
    if (homes == homes[0]).all():
        yield batch
        return
    kinds, places = np.unique(homes, axis=0, return_inverse=True)
    for kind in range(len(kinds)):
        own = np.flatnonzero(places.reshape(-1) == kind)
        yield Batch(batch.rows[own], trees.taken(batch.design, own))


def _joined(found: Sequence[Batch]) -> list[Batch]:
    """Designs that had to be read alone put together again."""
    kept, alone = [b for b in found if len(b.rows) > 1], [b for b in found if len(b.rows) == 1]
    groups: dict[Hashable, list[Batch]] = {}
    for batch in alone:
        groups.setdefault(batches.key(batch.design), []).append(batch)
    for group in groups.values():
        together = (
            trees.stack([b.design for b in group], whole=batches.WHOLE) if len(group) > 1 else group[0].design
        )
        kept += _by_bridge(Batch(np.concatenate([b.rows for b in group]), together))
    return kept
