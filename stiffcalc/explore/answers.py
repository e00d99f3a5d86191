"""What a search shows of many designs at once, as arrays; words are kept once and pointed at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper.cases import Screened
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.results import CaseResult
from stiffcalc.caliper.verdict import most_pressed
from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError

Index = NDArray[np.intp]
NO_CHECKS = "no checks"


@dataclass(frozen=True)
class Solved:
    """One design's answer."""

    mass: Masses
    load_cases: tuple[CaseResult, ...]  # with no figures but the spread
    onset_MPa: float  # least of all joint faces and load cases; inf: never within the linear range


Found = Solved | ConvergenceError


@dataclass(frozen=True)
class Row:
    """One check of one load case."""

    case: str
    id: str


@dataclass(frozen=True)
class Answers:
    """D designs' answers over R checks and V sentences. A design in `errors` has NaN, no checks and no sentences."""

    mass_kg: Array  # (D,)
    spread_mm: Array  # (D,) of the load case that governs; NaN where nothing holds the halves together
    onset_MPa: Array  # (D,) as in `Solved`
    rows: tuple[Row, ...]
    margin: Array  # (R, D) NaN where a design has no such check
    what: Index  # (R, D) places in `texts` of what was checked, such as the worst bolt's name; -1 where there is none
    texts: tuple[str, ...]
    sentences: tuple[str, ...]
    outside: NDArray[np.bool_]  # (V, D) which of them are said of a design
    errors: Mapping[int, ConvergenceError]  # by design

    @property
    def worst_margin(self) -> Array:
        """Least margin, (D,); infinite without checks, NaN in `errors`."""
        least = np.nan_to_num(self.margin, nan=np.inf, posinf=np.inf, neginf=-np.inf).min(
            axis=0, initial=np.inf
        )
        return np.where(self._answered, least, np.nan)

    @cached_property
    def governs(self) -> Index:
        """The row of the least margin, of equal ones the first whatever rounding, (D,); -1 without checks."""
        known = ~np.isnan(self.margin)
        if not len(self.rows):
            return np.full(len(self.mass_kg), -1)
        return np.where(known.any(axis=0), np.where(known, self.margin.round(9), np.inf).argmin(axis=0), -1)

    @property
    def checks(self) -> Index:
        """How many checks a design has, (D,)."""
        return np.asarray((~np.isnan(self.margin)).sum(axis=0))

    @property
    def unmet(self) -> Index:
        """How many of them are not met, (D,)."""
        return np.asarray((self.margin < 0.0).sum(axis=0))

    def governing(self, design: int) -> str:
        """The check of the least margin in words; "" in `errors`."""
        if design in self.errors:
            return ""
        row = int(self.governs[design])
        return NO_CHECKS if row < 0 else f"{self.texts[self.what[row, design]]} ({self.rows[row].case})"

    def validity(self, design: int) -> tuple[str, ...]:
        """What is said of a design."""
        return tuple(s for s, said in zip(self.sentences, self.outside[:, design], strict=True) if said)

    @property
    def _answered(self) -> NDArray[np.bool_]:
        found = np.ones(len(self.mass_kg), dtype=bool)
        found[list(self.errors)] = False
        return found


@dataclass(frozen=True)
class Piece:
    """Some designs of a batch, screened together."""

    designs: Index  # (k,) of the batch
    mass_kg: Array  # (k,)
    onset_MPa: Array  # (k,)
    cases: tuple[Screened, ...]


def gathered(pieces: Sequence[Piece], errors: Mapping[int, ConvergenceError], count: int) -> Answers:
    """The answers of `count` designs from those of parts of them."""
    mass, spread, onset = np.full((3, count), np.nan)
    rows, texts, sentences = _Table(), _Table(), _Table()
    for p in pieces:
        head = most_pressed([c.case for c in p.cases])
        mass[p.designs], onset[p.designs] = p.mass_kg, p.onset_MPa
        spread[p.designs] = next(c.spread for c in p.cases if c.case is head)
        for case in p.cases:
            _checks(case, p.designs, rows, texts, count)
            _sentences(case, p.designs, sentences, count)
    margin = [values[0] for values in rows.values.values()]
    what = [values[1] for values in rows.values.values()]
    return Answers(
        mass_kg=mass,
        spread_mm=spread,
        onset_MPa=onset,
        rows=tuple(Row(case, id_) for case, id_, _ in rows.values),
        margin=np.array(margin, dtype=float).reshape(-1, count),
        what=np.array(what, dtype=np.intp).reshape(-1, count),
        texts=tuple(texts.values),
        sentences=tuple(sentences.values),
        outside=np.array(list(sentences.values.values()), dtype=bool).reshape(-1, count),
        errors=errors,
    )


class _Table:
    """Keys in order of appearance, and what has been gathered under each."""

    def __init__(self) -> None:
        self.values: dict[Any, Any] = {}

    def place(self, key: Any) -> int:
        """Number of a key."""
        return int(self.values.setdefault(key, len(self.values)))


def _checks(case: Screened, designs: Index, rows: _Table, texts: _Table, count: int) -> None:
    """Write margins and names of one load case into their rows."""
    seen: dict[str, int] = {}
    for check in case.checks.rows:
        nth = seen[check.id] = seen.get(check.id, -1) + 1
        none = np.full(count, np.nan), np.full(count, -1)
        margin, what = rows.values.setdefault((case.case.name, check.id, nth), none)
        places = np.array([texts.place(name) for name in check.subject.names], dtype=np.intp)
        margin[designs] = check.counted
        what[designs] = np.where(check.applies, places[check.subject.which], -1)


def _sentences(case: Screened, designs: Index, sentences: _Table, count: int) -> None:
    """Mark the designs of which something is said in one load case."""
    for flag in case.validity.rows:
        if not flag.applies.any():
            continue
        applies = np.broadcast_to(flag.applies, len(designs))
        said: dict[str, Any] = {}
        if isinstance(flag.text, str):
            said = {flag.text: applies}
        else:
            for d in np.flatnonzero(applies):
                said.setdefault(flag.text(int(d)), []).append(d)
        for text, own in said.items():
            sentences.values.setdefault(text, np.zeros(count, dtype=bool))[designs[own]] = True
