"""A folder that is there whole or not at all: filled under another name, then renamed."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange.files import refuse_unwritable

MANIFEST = "manifest.json"


@contextmanager
def whole_folder(path: Path, *, kind: str) -> Iterator[Path]:
    """An empty folder to fill, which becomes `path` at the end and vanishes on any error.

    An earlier folder there is replaced only if its manifest says that it is of this `kind` and lists every file in it,
    so nothing of somebody else's is lost. Raises InputError for any other folder or file.
    """
    refuse_foreign(path, kind=kind)
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = Path(tempfile.mkdtemp(prefix=f".{path.name}.", suffix=".tmp", dir=path.parent))
    try:
        yield draft
        # mkdtemp's folder is private to its owner; the finished one gets what a plain mkdir would give.
        mask = os.umask(0o022)
        os.umask(mask)
        draft.chmod(0o777 & ~mask)
        _swap(draft, path)
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        raise


def refuse_foreign(path: Path, *, kind: str) -> None:
    """Refuse a place that `whole_folder` would not write to; leaves nothing."""
    if path.exists() and not path.is_dir():
        raise InputError([Fault(str(path), "a file", "a folder to write into", "give another name")])
    for place in (path, path.absolute().parent):
        refuse_unwritable(place)
    allowed = "a new or empty folder, or an earlier one of this command with nothing added"
    there = {p.name for p in path.iterdir()} if path.is_dir() else set()
    if extra := sorted(there - _listed(path, kind)):
        found = f"a folder with {extra[0]} in it"
        raise InputError([Fault(str(path), found, allowed, "give another name")])


def _listed(path: Path, kind: str) -> set[str]:
    """Names that an earlier folder of this kind may hold."""
    try:
        manifest = json.loads((path / MANIFEST).read_text(encoding="utf-8"))
        return {*manifest["files"], MANIFEST} if manifest["package"] == kind else set()
    except (OSError, ValueError, TypeError, KeyError):
        return set()


def _swap(draft: Path, path: Path) -> None:
    """The finished folder takes the place of the earlier one."""
    if not path.exists():
        draft.rename(path)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{path.name}.", suffix=".old", dir=path.parent))
    path.rename(old / "old")
    try:
        draft.rename(path)
    except OSError:
        (old / "old").rename(path)
        raise
    finally:
        shutil.rmtree(old, ignore_errors=True)
