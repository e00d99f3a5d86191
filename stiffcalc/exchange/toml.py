"""Plain data as TOML 1.0."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping, Sequence

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(data: Mapping[str, object]) -> str:
    """The text of a file that reads back as `data`: tables and lists of tables of the first two levels in headers."""
    return "\n".join(_table(data, ())).lstrip("\n") + "\n"


def _table(data: Mapping[str, object], path: tuple[str, ...]) -> Iterator[str]:
    """Plain entries first: what follows a header belongs to it."""
    deep = len(path) < 2
    for key, value in data.items():
        if not (deep and _is_table(value)):
            yield f"{_key(key)} = {_value(value)}"
    for key, value in data.items():
        if not (deep and _is_table(value)):
            continue
        own = (*path, key)
        name = ".".join(_key(k) for k in own)
        for entry in [value] if isinstance(value, Mapping) else _entries(value):
            yield f"\n[{name}]" if isinstance(value, Mapping) else f"\n[[{name}]]"
            yield from _table(entry, own)


def _is_table(value: object) -> bool:
    """A table, or a list of nothing but tables."""
    return isinstance(value, Mapping) or bool(_entries(value))


def _entries(value: object) -> Sequence[Mapping[str, object]]:
    if isinstance(value, list) and all(isinstance(v, Mapping) for v in value):
        return value
    return ()


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    """A basic string; JSON escapes what TOML does, but for the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, Mapping):
        return (
            "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }" if value else "{}"
        )
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, float):
        return _number(value)
    return str(value)  # whole numbers, dates and times write themselves as TOML does


def _number(value: float) -> str:
    if not math.isfinite(value):
        return str(value)
    text = repr(value)
    return text if any(c in text for c in ".e") else f"{text}.0"
