"""What a layout is, as a hash: two studies that say the same body in other words have the same."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict

from stiffcalc.study.schema import Design


def layout_sha256(design: Design) -> str:
    """Hash of rotor, pad and caliper with every material's data, defaults filled in; not of name, loads or limits."""
    parts = {"rotor": asdict(design.rotor), "pad": asdict(design.pad), "caliper": asdict(design.caliper)}
    return hashlib.sha256(json.dumps(parts, sort_keys=True, default=_plain).encode("utf-8")).hexdigest()


def _plain(value: object) -> object:
    """Arrays digit by digit; anything else in its own words."""
    return value.tolist() if hasattr(value, "tolist") else repr(value)
