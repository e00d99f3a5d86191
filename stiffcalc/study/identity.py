"""What a layout is, as a hash: two studies that say the same body in other words have the same."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import MISSING, Field, fields, is_dataclass

from stiffcalc.study.schema import Design


def layout_sha256(design: Design) -> str:
    """Hash of rotor, pad and caliper with every material's data; not of name, loads or limits.

    What a field holds where nothing is said (None, nothing in a list, its own default) is left out, so that a field
    which a later version adds with a default changes no hash.
    """
    parts = {k: _said(getattr(design, k)) for k in ("rotor", "pad", "caliper")}
    return hashlib.sha256(json.dumps(parts, sort_keys=True, default=repr).encode("utf-8")).hexdigest()


def _said(value: object) -> object:
    """Dataclasses as dictionaries of what they say, lists and arrays item by item, numbers and texts as they are."""
    if is_dataclass(value) and not isinstance(value, type):
        return dict(_fields(value))
    if hasattr(value, "tolist"):
        return value.tolist()
    if isinstance(value, dict):
        return {str(k): _said(v) for k, v in value.items()}
    return [_said(v) for v in value] if isinstance(value, list | tuple) else value


def _fields(value: object) -> Iterator[tuple[str, object]]:
    for field in fields(value):  # type: ignore[arg-type]
        own = getattr(value, field.name)
        if not _unsaid(own, field):
            yield field.name, _said(own)


def _unsaid(own: object, field: Field[object]) -> bool:
    if own is None or (isinstance(own, list | tuple | dict) and not own):
        return True
    plain = isinstance(own, bool | int | float | str)
    return plain and field.default is not MISSING and bool(own == field.default)
