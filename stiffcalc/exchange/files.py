"""Writing files so that nothing half-written and nothing of somebody else's is ever left behind."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from stiffcalc.errors import Fault, InputError


def write_text_atomic(path: Path, text: str) -> None:
    """Write `text` as UTF-8 with plain line ends; see `write_bytes_atomic`."""
    write_bytes_atomic(path, text.encode("utf-8"))


def write_bytes_atomic(path: Path, content: bytes) -> None:
    """Write under a temporary name in the same folder, then rename: `path` is the old file or the new one.

    Raises InputError where `path` is a folder or its folder does not exist, OSError where the disk refuses.
    """
    write_parts_atomic(path, [content])


def write_parts_atomic(path: Path, parts: Iterable[bytes]) -> None:
    """As `write_bytes_atomic`, part by part: the whole need never be in memory."""
    refuse_no_file(path)
    descriptor, temporary = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.writelines(parts)
            stream.flush()
            os.fsync(stream.fileno())
        # A temporary file is private to its owner; the finished one gets what a plain open() would give.
        os.chmod(temporary, 0o666 & ~_umask())
        os.replace(temporary, path)
    except BaseException as error:
        Path(temporary).unlink(missing_ok=True)
        if isinstance(error, OSError):  # which names the temporary file, or none
            raise OSError(error.errno, error.strerror, str(path)) from error
        raise


def refuse_no_file(path: Path) -> None:
    """Refuse a place that no file can be written to; leaves nothing. Asked before what takes long."""
    if path.is_dir():
        raise InputError([Fault(str(path), "a folder", "a file to write", "give a file name")])
    if not path.parent.is_dir():
        raise InputError(
            [Fault(str(path), f"no folder {path.parent}", "a folder that exists", "make it first")]
        )
    refuse_unwritable(path)


def refuse_unwritable(path: Path) -> None:
    """Refuse a file or folder whose place takes nothing new; leaves nothing. Asked before what takes long."""
    try:
        above = path if path.is_dir() else next(p for p in path.absolute().parents if p.exists())
        # Tried, for rights do not tell all: a disk may be read-only, or a folder take nothing from anybody.
        with tempfile.TemporaryFile(dir=above):
            pass
    except OSError as error:
        found = f"a place that cannot be written to ({error.strerror})"
        allowed = "a place that can be written to"
        raise InputError([Fault(str(path), found, allowed, "choose another place")]) from error


def _umask() -> int:
    """The process's mask, which can only be read by setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def prepare_folder(path: Path, marker: str) -> None:
    """Make `path` a folder of ours, with the empty file `marker` inside as the sign of it.

    A folder that already carries the marker is used again and an empty one is taken; anything else is refused
    with InputError, so that no folder of something else is written into.
    """
    refuse_foreign_folder(path, marker)
    path.mkdir(parents=True, exist_ok=True)
    (path / marker).touch()


def refuse_foreign_folder(path: Path, marker: str) -> None:
    """Refuse a place that `prepare_folder` would not take; leaves nothing."""
    if path.exists() and not path.is_dir():
        raise InputError([Fault(str(path), "a file", "a folder to write into", "give another name")])
    refuse_unwritable(path)
    if path.is_dir() and not (path / marker).is_file() and any(path.iterdir()):
        found = "a folder with something else in it"
        raise InputError(
            [Fault(str(path), found, "a new or empty folder, or an earlier report", "give another name")]
        )
