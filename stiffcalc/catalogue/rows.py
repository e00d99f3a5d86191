"""Reading the catalogue's data files: plain CSV, a source and a status on every row."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

from stiffcalc.errors import Fault

MEMORY = "from memory"
CLOSE = 0.61  # of two words' letters; "lightest" has 0.57 of "highest onset", "pocket" 0.60 of "port"


@cache
def rows(file: str) -> tuple[Mapping[str, str], ...]:
    """All rows of `data/<file>`, each a mapping from column to text."""
    text = files("stiffcalc.catalogue").joinpath("data", file).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@dataclass(frozen=True)
class Fact:
    """One value with what it stands for (typical, minimum, ...), where it comes from and how sure that is."""

    value: float
    basis: str
    source: str
    status: str  # "looked up" | "from memory" | "given in the study"


def facts(file: str) -> dict[str, dict[str, Fact]]:
    """Rows of a long file (name, property, value, basis, source, status) as name -> property -> fact."""
    found: dict[str, dict[str, Fact]] = {}
    for row in rows(file):
        fact = Fact(float(row["value"]), row["basis"], row["source"], row["status"])
        found.setdefault(row["name"], {})[row["property"]] = fact
    return found


def joined(sources: Iterable[str]) -> str:
    """The texts without repeats, in order, joined by '; '."""
    return "; ".join(dict.fromkeys(sources))


def status_of(statuses: Iterable[str]) -> str:
    """One status for a set of facts: theirs where they agree, else which part is from memory."""
    kinds = set(statuses)
    if len(kinds) == 1:
        return kinds.pop()
    return "partly from memory" if MEMORY in kinds else "mixed"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name that looks most like `word`, or None where none looks like it."""
    plain = {name.lower(): name for name in known}
    # A key without its unit is the commonest slip, and too short to look like the whole key.
    with_unit = [name for low, name in plain.items() if low.startswith(f"{word.lower()}_")]
    if with_unit:
        return with_unit[0]
    close = get_close_matches(word.lower(), plain, n=1, cutoff=CLOSE)
    if close:
        return plain[close[0]]
    parts = set(_parts(word.lower()))
    holding = [name for low, name in plain.items() if parts and parts.issubset(_parts(low))]
    return holding[0] if len(holding) == 1 else None


def _parts(name: str) -> list[str]:
    return re.findall(r"[^\W_]+", name)


def unknown_name(name: str, known: Iterable[str], *, where: str, what: str) -> Fault:
    """The fault of a name that is not in the catalogue, with the nearest known name."""
    names = list(known)
    close = nearest(name, names)
    mend = f'write "{close}"' if close else f"take one of the known {what}s"
    return Fault(where, f'unknown {what} "{name}"', ", ".join(names), mend)
