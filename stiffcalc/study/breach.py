"""Rules over a batch of designs: where each is broken, and the words of one design's fault, made when asked for.

One design is a batch without an axis: the same rule, its condition a plain truth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stiffcalc.errors import Fault
from stiffcalc.study.numbers import at


@dataclass(frozen=True)
class Said:
    """Words about numbers: `form` makes them from one design's."""

    form: Callable[..., str]
    numbers: tuple[Any, ...]  # each the same in all designs, or an array (D,)

    def of(self, design: int) -> str:
        """The words about one design."""
        return self.form(*(at(n, design) for n in self.numbers))


Words = str | Said


def said(form: str | Callable[..., str], *numbers: Any) -> Said:
    """Words by a format string or a function."""
    return Said(form.format if isinstance(form, str) else form, numbers)


@dataclass(frozen=True)
class Breach:
    """A rule and where it is broken; NaN breaks none, so a placeholder is not reported again in other words."""

    bad: bool | NDArray[np.bool_]  # of every design, or (D,)
    where: str
    found: Words
    allowed: Words
    mend: Words

    def of(self, design: int) -> Fault:
        """The fault of one design that breaks it."""
        texts = (t if isinstance(t, str) else t.of(design) for t in (self.found, self.allowed, self.mend))
        return Fault(self.where, *texts)

    @property
    def shared(self) -> bool:
        """Whether what is asked has no number that differs among the designs."""
        return not (isinstance(self.bad, np.ndarray) and self.bad.ndim)


def always(fault: Fault) -> Breach:
    """A fault of every design."""
    return Breach(True, fault.where, fault.found, fault.allowed, fault.mend)


def faults_of(breaches: Iterable[Breach]) -> list[Fault]:
    """Faults of one design alone."""
    return [b.of(0) for b in breaches if b.bad]


def apart(breaches: Sequence[Breach], count: int) -> dict[int, tuple[Fault, ...]]:
    """The faults of each of `count` designs that has any, each once, in the order of the rules."""
    found: dict[int, dict[Fault, None]] = {}
    for breach in breaches:
        for d in np.flatnonzero(np.broadcast_to(breach.bad, count)).tolist():
            found.setdefault(d, {})[breach.of(d)] = None
    return {d: tuple(faults) for d, faults in found.items()}


class SplitError(Exception):
    """Designs of a batch differ in more than numbers; `labels` (D,) tells which belong together."""

    def __init__(self, labels: NDArray[Any]) -> None:
        super().__init__("designs that differ in what they hold")
        self.labels = labels


def uniform(mask: bool | NDArray[np.bool_]) -> bool:
    """What holds in all designs or in none. Raises SplitError where they differ."""
    first = bool(np.ravel(mask)[0])
    if np.any(np.asarray(mask) != first):
        raise SplitError(np.asarray(mask))
    return first
