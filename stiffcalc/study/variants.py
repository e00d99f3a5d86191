"""Variants: the base file with paths set, such as `caliper.bolt[2].x_mm` or `material."my alloy".E_MPa`."""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping
from typing import Any

from stiffcalc.catalogue.rows import nearest
from stiffcalc.errors import Fault
from stiffcalc.study.fields import shown

SETTABLE = ("rotor", "pad", "caliper", "load_case", "material", "limits", "life")
_STEP = re.compile(r'(?:"([^"]*)"|([A-Za-z0-9_-]+))((?:\[\d+\])*)(\.|$)')

Step = str | int


def with_set(base: Mapping[str, object], changes: Mapping[str, object]) -> tuple[dict[str, Any], list[Fault]]:
    """A copy of `base` with each path of `changes` set, and the faults of the paths themselves.

    [1] is the first entry of a list; an index one beyond the end adds an entry. A key that is absent is made;
    whether the format knows it is for the reader to say.
    """
    raw: dict[str, Any] = copy.deepcopy(dict(base))
    faults = []
    for path, value in changes.items():
        fault = _set(raw, path, copy.deepcopy(value))
        if fault:
            faults.append(fault)
    return raw, faults


def steps_of(path: str) -> list[Step] | None:
    """Keys and zero-based indexes of a path, or None where it is not a path."""
    steps: list[Step] = []
    position = 0
    while position < len(path):
        found = _STEP.match(path, position)
        if not found:
            return None
        quoted, bare, indexes, end = found.groups()
        steps.append(bare if quoted is None else quoted)
        steps += [int(index) - 1 for index in re.findall(r"\d+", indexes)]
        position = found.end()
        if end == "." and position == len(path):
            return None
    return steps or None


def touches(changes: Mapping[str, object], *keys: str) -> bool:
    """True where a change sets the part named by `keys`, something above it or something inside it."""
    for path in changes:
        named = [step for step in steps_of(path) or [] if isinstance(step, str)]
        if named and all(a == b for a, b in zip(named, keys, strict=False)):
            return True
    return False


def _set(raw: dict[str, Any], path: str, value: object) -> Fault | None:
    steps = steps_of(path)
    where = f'set."{path}"'
    if steps is None:
        return Fault(
            where,
            "no path",
            "keys joined by dots, [1] for the first of a list",
            'such as "caliper.bolt[1].x_mm"',
        )
    if steps[0] not in SETTABLE:
        close = nearest(str(steps[0]), SETTABLE)
        mend = f"begin with {close}" if close else "begin with one of these"
        return Fault(where, f'unknown path: "{steps[0]}" cannot be set', ", ".join(SETTABLE), mend)
    place: Any = raw
    for step, following in zip(steps, [*steps[1:], None], strict=True):
        trouble = _trouble(place, step)
        if trouble:
            return Fault(where, *trouble)
        if following is None:
            _put(place, step, value)
        else:
            place = _enter(place, step, [] if isinstance(following, int) else {})
    return None


def _trouble(place: Any, step: Step) -> tuple[str, str, str] | None:
    """Found, allowed and mend where `step` cannot be taken from `place`."""
    if isinstance(step, int):
        if not isinstance(place, list):
            return (
                f"unknown path: an index into {shown(place)}",
                "a path that the file's tables have",
                "remove the index",
            )
        if not 0 <= step <= len(place):
            allowed = f"[1] to [{len(place)}], or [{len(place) + 1}] to add one"
            return f"unknown path: index [{step + 1}]", allowed, "count from 1"
    elif not isinstance(place, dict):
        found = f'unknown path: "{step}" inside {shown(place)}'
        return found, "a path that the file's tables have", "give an index in brackets for a list"
    return None


def _put(place: Any, step: Step, value: object) -> None:
    if isinstance(step, int) and step == len(place):
        place.append(value)
    else:
        place[step] = value


def _enter(place: Any, step: Step, fresh: object) -> Any:
    if isinstance(step, int):
        if step == len(place):
            place.append(fresh)
        return place[step]
    return place.setdefault(step, fresh)
