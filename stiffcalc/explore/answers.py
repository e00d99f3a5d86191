"""What a search shows of many designs at once, as arrays; words are kept once and pointed at."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper import verdict
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.results import CaseResult
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
        least = np.nan_to_num(self.margin, nan=np.inf, posinf=np.inf).min(axis=0, initial=np.inf)
        return np.where(self._answered, least, np.nan)

    @property
    def governs(self) -> Index:
        """The row of the least margin, (D,); -1 without checks."""
        known = ~np.isnan(self.margin)
        if not len(self.rows):
            return np.full(len(self.mass_kg), -1)
        return np.where(known.any(axis=0), np.where(known, self.margin, np.inf).argmin(axis=0), -1)

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


def gathered(found: Sequence[Found]) -> Answers:
    """The answers of designs one by one as arrays."""
    D = len(found)
    rows: dict[tuple[str, str, int], int] = {}
    texts: dict[str, int] = {}
    entries: list[tuple[int, int, float, int]] = []
    for d, answer in enumerate(found):
        for case in () if isinstance(answer, ConvergenceError) else answer.load_cases:
            seen: dict[str, int] = {}
            for check in case.checks:
                nth = seen[check.id] = seen.get(check.id, -1) + 1
                row = rows.setdefault((case.name, check.id, nth), len(rows))
                entries.append((row, d, check.margin, texts.setdefault(check.what, len(texts))))
    margin, what = np.full((len(rows), D), np.nan), np.full((len(rows), D), -1)
    for row, d, value, text in entries:
        margin[row, d], what[row, d] = value, text
    said = [_said(answer) for answer in found]
    sentences = tuple(dict.fromkeys(s for own in said for s in own))
    mass, spread, onset = np.array([_figures(answer) for answer in found]).reshape(D, 3).T
    return Answers(
        mass_kg=mass,
        spread_mm=spread,
        onset_MPa=onset,
        rows=tuple(Row(case, id_) for case, id_, _ in rows),
        margin=margin,
        what=what,
        texts=tuple(texts),
        sentences=sentences,
        outside=np.array([[s in own for own in said] for s in sentences], dtype=bool).reshape(-1, D),
        errors={d: a for d, a in enumerate(found) if isinstance(a, ConvergenceError)},
    )


def _said(answer: Found) -> tuple[str, ...]:
    cases: Iterable[CaseResult] = () if isinstance(answer, ConvergenceError) else answer.load_cases
    return tuple(dict.fromkeys(s for c in cases for s in c.validity))


def _figures(answer: Found) -> tuple[float, float, float]:
    if isinstance(answer, ConvergenceError):
        return math.nan, math.nan, math.nan
    spread = verdict.governing(answer).spread
    return answer.mass.total, math.nan if spread is None else spread, answer.onset_MPa
