"""Columns of a long run kept on disk chunk by chunk, so that what is done stays done whatever happens.

`chunks/run.json` says which run it is; each chunk is a file of its own, written whole, and then a line in
`chunks/index.jsonl` with its hash. A chunk that is not in the index, or is not what its line says, is not there.
"""

from __future__ import annotations

import hashlib
import io
import json
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files

FOLDER, RUN, INDEX = "chunks", "run.json", "index.jsonl"

Columns = Mapping[str, NDArray[np.generic]]


def opened(out: Path, run: Mapping[str, object], *, count: int, resume: bool) -> set[int]:
    """The chunks of `run` that are kept in the folder `out`, of `count`; makes the store where there is none.

    A finished run's chunks are thrown away unless it is resumed. Raises InputError where another run is to be resumed,
    or an unfinished one to be written over.
    """
    folder = out / FOLDER
    kept = _run(folder)
    if kept is not None and resume:
        _refuse_another(folder, kept, run)
        return done(out)
    if kept is not None and _unfinished(out, kept):
        raise InputError(
            [
                Fault(
                    str(folder), "a sweep that is not finished", "--resume, or another folder", "add --resume"
                )
            ]
        )
    if folder.exists():
        shutil.rmtree(folder)
    folder.mkdir()
    files.write_text_atomic(folder / RUN, json.dumps({**run, "chunks": count}, indent=1) + "\n")
    return set()


def begun(out: Path) -> bool:
    """Whether a run is kept in the folder `out`, however far it came."""
    return _run(out / FOLDER) is not None


def finished(out: Path) -> Mapping[str, object] | None:
    """The run of which every chunk is kept in the folder `out`; None where there is none."""
    kept = _run(out / FOLDER)
    return kept if kept is not None and len(done(out)) == kept.get("chunks") else None


def _run(folder: Path) -> dict[str, object] | None:
    try:
        found = json.loads((folder / RUN).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return found if isinstance(found, dict) else None


def _unfinished(out: Path, kept: Mapping[str, object]) -> bool:
    found = done(out)
    return bool(found) and len(found) != kept.get("chunks")


def _refuse_another(folder: Path, kept: Mapping[str, object], run: Mapping[str, object]) -> None:
    """One fault for everything in which two runs differ."""
    other = {k for k in run if kept.get(k) != run[k]}
    if other:
        found = ", ".join(f"{k} {_short(kept.get(k))}" for k in run if k in other)
        allowed = ", ".join(f"{k} {_short(run[k])}" for k in run if k in other)
        raise InputError(
            [
                Fault(
                    str(folder), f"another sweep: {found}", allowed, "resume that one, or take another folder"
                )
            ]
        )


def _short(value: object) -> str:
    text = str(value)
    return text if len(text) <= 24 else f"{text[:12]}..."


def keep(out: Path, number: int, columns: Columns) -> None:
    """Write one chunk, then its line."""
    content = packed(columns)
    files.write_bytes_atomic(_path(out, number), content)
    line = json.dumps({"chunk": number, "sha256": hashlib.sha256(content).hexdigest()})
    with (out / FOLDER / INDEX).open("a", encoding="utf-8") as index:
        index.write(line + "\n")


def done(out: Path) -> set[int]:
    """Chunks that are there and are what the index says."""
    return {n for n, sha256 in _lines(out) if _sha256(_path(out, n)) == sha256}


def read(out: Path, number: int) -> dict[str, NDArray[np.generic]]:
    """One chunk."""
    with np.load(_path(out, number), allow_pickle=False) as stored:
        return {name: stored[name] for name in stored.files}


def packed(columns: Columns) -> bytes:
    """Columns as a file of named arrays (.npz), readable without pickles; same columns, same bytes."""
    buffer = io.BytesIO()
    np.savez_compressed(buffer, allow_pickle=False, **columns)
    return buffer.getvalue()


def _lines(out: Path) -> Iterator[tuple[int, str]]:
    """The index; a line cut short by a crash says nothing."""
    try:
        text = (out / FOLDER / INDEX).read_text(encoding="utf-8", errors="replace")
    except FileNotFoundError:
        return
    for line in text.splitlines():
        try:
            entry = json.loads(line)
            yield int(entry["chunk"]), str(entry["sha256"])
        except (ValueError, KeyError, TypeError):
            continue


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def _path(out: Path, number: int) -> Path:
    return out / FOLDER / f"{number:06d}.npz"
