"""From a file to a plain dictionary: everything that can be wrong before the first key is looked at."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from stiffcalc.errors import Fault, InputError

_LARGEST = 1_000_000  # bytes; a study of a hundred variants stays far below
_MEND = "correct this line: each key once, decimal points, no units, texts in quotes"
_QUOTED = re.compile(r"'([^']*)'")
_TABLES = (".csv", ".tsv")  # most often the other file of the command, given in a study's place


def read_bytes(
    path: Path,
    *,
    what: str = "a study file",
    mend: str = "check the name, or write one with: stiffcalc new",
    largest: int = _LARGEST,
) -> bytes:
    """The file's content; InputError for what is missing, no plain file, unreadable or far too large.

    what: the kind of file, in words; mend: what to do where there is none; largest: in bytes.
    """
    where = str(path)
    try:
        trouble = _trouble(path, what, mend, largest)
        if not trouble:
            return path.read_bytes()
    except OSError as error:
        reason = error.strerror or str(error)
        raise _refusal(where, reason, "a readable file", "check the name and the permissions") from error
    raise _refusal(where, *trouble)


def _trouble(path: Path, what: str, mend: str, largest: int) -> tuple[str, str, str] | None:
    """Found, allowed and mend where `path` is nothing that can be such a file."""
    if path.is_dir():
        return "a folder", what, "give the file inside it"
    if not path.exists():
        return "no such file", what, mend
    if not path.is_file():
        return "no plain file", what, "give a file on disk"
    if path.stat().st_size > largest:
        return f"{path.stat().st_size} bytes", f"at most {largest}", f"is this {what}?"
    return None


def decode(content: bytes, *, where: str) -> str:
    """The content as text; a byte order mark is dropped."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        found = f"byte 0x{content[error.start]:02x} in line {line}"
        raise _refusal(where, found, "text in UTF-8", "save it as UTF-8; is this a study file?") from error
    if "\0" in text:
        raise _refusal(where, "zero bytes", "text in UTF-8", "save it as UTF-8; is this a study file?")
    return text


def parse_toml(text: str, *, where: str) -> dict[str, Any]:
    """The text as a dictionary; InputError with line and column where it is no TOML."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        reason, line, column = _position(str(error), text)
        place = f"{where}, line {line}, column {column}"
        mend = "give a TOML file, not a table" if where.lower().endswith(_TABLES) else _MEND
        raise _refusal(place, _plain(reason), "TOML 1.0", mend) from error
    except (ValueError, RecursionError) as error:
        raise _refusal(
            where, "a value too long or too deeply nested", "TOML 1.0", "is this a study file?"
        ) from error


def _plain(reason: str) -> str:
    """The parser's reason, to stand after "found"."""
    if reason == "Cannot overwrite a value":
        return "a second value of one key"
    if twice := re.fullmatch(r"Cannot declare \((.*)\) twice", reason):
        return f"a second [{'.'.join(re.findall(_QUOTED, twice[1]))}]"
    return reason[:1].lower() + reason[1:]


def _position(message: str, text: str) -> tuple[str, int, int]:
    """Reason, line and column out of the parser's message, which ends in '(at line L, column C)'."""
    found = re.fullmatch(r"(.*) \(at line (\d+), column (\d+)\)", message, flags=re.DOTALL)
    if found:
        return found[1], int(found[2]), int(found[3])
    lines = text.split("\n")
    return message.removesuffix(" (at end of document)"), len(lines), len(lines[-1]) + 1


def _refusal(where: str, found: str, allowed: str, mend: str) -> InputError:
    return InputError([Fault(where, found, allowed, mend)])
