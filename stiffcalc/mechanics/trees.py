"""Many frozen dataclasses of one shape as one whose numbers are arrays over them, and back.

A number of such a batch is an array (D,), or a plain float where it is the same in all; a polygon held as an array is
(D, N, 2), or (N, 2) where it is the same in all. Everything else (words, counts, what is left out, how many parts
there are, polygons held as tuples, numbers of a mapping, fields whose metadata say `whole`) is the same in all: it is
what makes designs one batch.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array

T = TypeVar("T")
PLAIN = (float, str, int, type(None))  # most of what a tree holds


def stack(trees: Sequence[T], *, whole: tuple[type, ...] = ()) -> T:
    """One batch of several trees; parts of a type in `whole` must be equal and stay as they are.

    A number that is the same in all stays plain, but for the trees' own: those of one tree several times are arrays
    too. Raises ValueError where trees differ in more than numbers.
    """
    stacked: T = _parts(trees, lambda own: np.array(own) if isinstance(own[0], float) else _stack(own, whole))
    return stacked


def _parts(values: Sequence[Any], made: Callable[[Sequence[Any]], Any]) -> Any:
    first = values[0]
    return replace(first, **{f.name: made([getattr(v, f.name) for v in values]) for f in fields(first)})


def _stack(values: Sequence[Any], whole: tuple[type, ...]) -> Any:
    first = values[0]
    if any(type(value) is not type(first) for value in values):
        raise ValueError("trees of one batch differ in what they hold")
    if all(value is first for value in values):
        return first
    if isinstance(first, float):
        return first if all(value == first for value in values) else np.array(values)
    if isinstance(first, np.ndarray) and first.ndim == 2:
        return np.array(values, dtype=float)
    if is_dataclass(first) and not isinstance(first, type) and not isinstance(first, whole):
        return _parts(values, lambda own: _stack(own, whole))
    if isinstance(first, tuple) and not _polygon(first) and len({len(v) for v in values}) == 1:
        return tuple(_stack(items, whole) for items in zip(*values, strict=True))
    if _parts_by_name(first) and all(value.keys() == first.keys() for value in values):
        return {k: _stack([value[k] for value in values], whole) for k in first}
    if not all(value == first for value in values):
        raise ValueError(f"trees of one batch differ in more than numbers: {first!r:.60}")
    return first


def _polygon(value: tuple[Any, ...]) -> bool:
    """Whether a tuple is one of points, or of such tuples."""
    return bool(value) and isinstance(value[0], tuple)


def _parts_by_name(value: object) -> bool:
    """Whether a value is a mapping to parts, not to numbers."""
    return isinstance(value, Mapping) and all(is_dataclass(part) for part in value.values())


def shape(tree: object, *, whole: tuple[type, ...] = ()) -> Hashable:
    """What trees must have in common to be stacked: all but their numbers, parts of a type in `whole` with them."""
    return _shape(tree, whole, numbers=False)


def _shape(data: Any, whole: tuple[type, ...], *, numbers: bool) -> Hashable:
    if isinstance(data, PLAIN):
        return float if isinstance(data, float) and not numbers else data
    if isinstance(data, np.ndarray):
        return tuple(int(n) for n in data.shape)
    if is_dataclass(data):
        every = numbers or isinstance(data, whole)
        parts = [(getattr(data, f.name), every or f.metadata.get("whole", False)) for f in fields(data)]
        return type(data), tuple(_shape(part, whole, numbers=fixed) for part, fixed in parts)
    if isinstance(data, tuple):
        return tuple(_shape(v, whole, numbers=numbers or _polygon(data)) for v in data)
    if isinstance(data, Mapping):
        fixed = numbers or not _parts_by_name(data)
        return tuple((k, _shape(v, whole, numbers=fixed)) for k, v in data.items())
    return data  # type: ignore[no-any-return]  # a word, a count, or None


def column(value: float | Array, count: int) -> Array:
    """One number of a batch as (D,)."""
    return np.broadcast_to(np.asarray(value, dtype=float), (count,))


def table(values: Sequence[float | Array], count: int) -> Array:
    """Several numbers of a batch as (D, n), n = 0 included."""
    found = np.empty((count, len(values)))
    for i, value in enumerate(values):
        found[:, i] = value
    return found


def number(value: Array) -> float:
    """A plain float where there is no axis of designs; else the array, typed as any number of a tree."""
    return float(value) if np.ndim(value) == 0 else cast(float, value)


def single(batch: T, design: int) -> T:
    """One tree of a batch."""
    return _cut(batch, lambda a: float(a[design]) if a.ndim == 1 else a[design])


def taken(batch: T, designs: NDArray[np.intp]) -> T:
    """The batch of some of the trees of a batch."""
    return _cut(batch, lambda a: a[designs])


def _cut(batch: T, part: Callable[[Any], Any]) -> T:
    cut: T = _with_numbers(batch, lambda a: a if a.ndim == 2 else part(a))
    return cut


def _with_numbers(data: Any, made: Callable[[Any], Any]) -> Any:
    """A tree with each array replaced by what is made of it."""
    if isinstance(data, PLAIN):
        return data
    if isinstance(data, np.ndarray):
        return made(data)
    if is_dataclass(data) and not isinstance(data, type):
        parts = {f.name: getattr(data, f.name) for f in fields(data)}
        cut = {name: _with_numbers(part, made) for name, part in parts.items()}
        return data if all(cut[name] is part for name, part in parts.items()) else replace(data, **cut)
    if isinstance(data, tuple) and not _polygon(data):
        items = tuple(_with_numbers(value, made) for value in data)
        return data if all(a is b for a, b in zip(items, data, strict=True)) else items
    if isinstance(data, Mapping):
        named = {key: _with_numbers(value, made) for key, value in data.items()}
        return data if all(named[key] is value for key, value in data.items()) else named
    return data
