"""Requirements of many designs at once: figures as arrays, words made when one design is asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stiffcalc.caliper.batch import Index, Mask, of
from stiffcalc.caliper.results import Check
from stiffcalc.condensed import Array


@dataclass(frozen=True)
class Words:
    """What one design's check says beside its figures, see `results.Check`."""

    formula: str
    source: str
    note: str = ""


@dataclass(frozen=True)
class Subject:
    """What a check is about in D designs."""

    id: str
    unit: str
    names: tuple[str, ...]  # what it may be about, such as each bolt
    words: Callable[[int], Words]  # of one design
    which: Index | int = 0  # (D,) which of `names` governs; a number: in all designs


@dataclass(frozen=True)
class Checked:
    """One requirement of D designs, as `results.Check`. Arrays (D,), or () where they are the same in all."""

    subject: Subject
    actual: Array
    allowed: Array
    margin: Array
    applies: Mask  # whether a design has this requirement; its figures mean nothing where not

    @property
    def id(self) -> str:
        """Of the check."""
        return self.subject.id

    @property
    def counted(self) -> Array:
        """Margin where a design has this requirement, NaN elsewhere; -inf, so never met, where it is no number.

        (D,), or () where it is the same in all.
        """
        known = np.where(np.isnan(self.margin), -np.inf, self.margin)
        return np.asarray(np.where(self.applies, known, np.nan))

    def what(self, design: int) -> str:
        """What was checked in one design."""
        return self.subject.names[int(of(self.subject.which, design))]

    def one(self, design: int) -> Check:
        """One design's check in words."""
        words, margin = self.subject.words(design), of(self.margin, design)
        return Check(
            id=self.id,
            what=self.what(design),
            actual=of(self.actual, design),
            allowed=of(self.allowed, design),
            unit=self.subject.unit,
            margin=margin,
            met=margin >= 0,
            source=words.source,
            formula=words.formula,
            note=words.note,
        )


@dataclass(frozen=True)
class Checks:
    """Every requirement of D designs in one load case."""

    rows: tuple[Checked, ...]

    def one(self, design: int) -> tuple[Check, ...]:
        """One design's checks, worst margin first."""
        found = [row.one(design) for row in self.rows if of(row.applies, design)]
        return tuple(sorted(found, key=lambda check: check.order))


def at_most(subject: Subject, actual: ArrayLike, allowed: ArrayLike, *, applies: ArrayLike = True) -> Checked:
    """A check that wants actual <= allowed; margin = allowed / actual - 1, infinite at no load."""
    return _checked(subject, actual, allowed, margin_below(actual, allowed), applies)


def at_least(subject: Subject, actual: ArrayLike, needed: ArrayLike, *, applies: ArrayLike = True) -> Checked:
    """A check that wants actual >= needed; margin = actual / needed - 1, infinite where nothing is needed."""
    return _checked(subject, actual, needed, margin_below(needed, actual), applies)


def margin_below(load: ArrayLike, limit: ArrayLike) -> Array:
    """Margin of a load to its limit: limit / load - 1, infinite at no load, NaN (not met) where a load is unknown."""
    idle = np.asarray(load) <= 0
    return np.asarray(np.where(idle, np.inf, limit / np.where(idle, 1.0, load) - 1))


def _checked(s: Subject, actual: ArrayLike, allowed: ArrayLike, margin: Array, applies: ArrayLike) -> Checked:
    return Checked(
        subject=s,
        actual=np.asarray(actual, dtype=float),
        allowed=np.asarray(allowed, dtype=float),
        margin=margin,
        applies=np.asarray(applies, dtype=bool),
    )


@dataclass(frozen=True)
class Flag:
    """A sentence of the designs where a result lies outside what its model was checked for."""

    applies: Mask  # (D,), or () where it is the same in all
    text: str | Callable[[int], str]  # of one design

    def of(self, design: int) -> str:
        """The sentence for one design."""
        return self.text if isinstance(self.text, str) else self.text(design)


@dataclass(frozen=True)
class Flags:
    """Sentences of D designs in one load case."""

    rows: tuple[Flag, ...]

    def one(self, design: int) -> tuple[str, ...]:
        """One design's, each once."""
        return tuple(dict.fromkeys(f.of(design) for f in self.rows if bool(of(f.applies, design))))


def joined(*parts: str) -> str:
    """What there is to say, as one note."""
    return "; ".join(filter(None, parts))


def always(texts: Iterable[str]) -> list[Flag]:
    """Sentences that hold for all designs alike."""
    return [Flag(np.asarray(True), text) for text in texts]
