"""The state of one long run in one file, written whole after every step, so that it can go on whatever stops it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files


def opened(path: Path, run: Mapping[str, object], *, resume: bool) -> dict[str, Any] | None:
    """The state kept in `path` of the same run; None where there is none, or a finished one is to be run anew.

    Raises InputError for a file that is no such state, for the state of another run, and for an unfinished one that
    would be written over.
    """
    if not path.exists():
        return None
    kept = _read(path)
    if not resume:
        if kept["done"]:
            return None
        raise InputError(
            [Fault(str(path), "a run that is not finished", "--resume, or another folder", "add --resume")]
        )
    other = [k for k in run if kept["run"].get(k) != run[k]]
    if other:
        found = ", ".join(f"{k} {_short(kept['run'].get(k))}" for k in other)
        allowed = ", ".join(f"{k} {_short(run[k])}" for k in other)
        mend = "resume that one, or take another folder"
        raise InputError([Fault(str(path), f"another run: {found}", allowed, mend)])
    return dict(kept["state"])


def keep(path: Path, run: Mapping[str, object], state: Mapping[str, object], *, done: bool) -> None:
    """Write the state under another name, then rename."""
    text = json.dumps({"run": dict(run), "done": done, "state": dict(state)}, allow_nan=False)
    files.write_text_atomic(path, text + "\n")


def _read(path: Path) -> dict[str, Any]:
    refused = Fault(str(path), "no state of a run", "what an earlier run wrote", "take another folder")
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except ValueError as error:
        raise InputError([refused]) from error
    shape = {"run": dict, "done": bool, "state": dict}
    if not isinstance(found, dict) or any(not isinstance(found.get(k), t) for k, t in shape.items()):
        raise InputError([refused])
    return found


def _short(value: object) -> str:
    text = str(value)
    return text if len(text) <= 24 else f"{text[:12]}..."
