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

Designs = Sequence[int]  # places in a batch


@dataclass(frozen=True)
class Said:
    """Words about numbers: `form` makes them from one design's."""

    form: Callable[..., str]
    numbers: tuple[Any, ...]  # each the same in all designs, or an array (D,)

    def each(self, designs: Designs) -> list[str]:
        """The words about each of some designs."""
        if not any(map(_differs, self.numbers)):
            return [self.form(*self.numbers)] * len(designs)
        own = [n[designs].tolist() if _differs(n) else [n] * len(designs) for n in self.numbers]
        return [self.form(*numbers) for numbers in zip(*own, strict=True)]


def _differs(number: Any) -> bool:
    """Whether it is an array over the designs."""
    return isinstance(number, np.ndarray) and number.ndim > 0


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

    def each(self, designs: Designs) -> list[Fault]:
        """The fault of each of some designs that break it."""
        every = (self.found, self.allowed, self.mend)
        texts = ([t] * len(designs) if isinstance(t, str) else t.each(designs) for t in every)
        return [Fault(self.where, *own) for own in zip(*texts, strict=True)]

    @property
    def shared(self) -> bool:
        """Whether what is asked has no number that differs among the designs."""
        return not _differs(self.bad)


def always(fault: Fault) -> Breach:
    """A fault of every design."""
    return Breach(True, fault.where, fault.found, fault.allowed, fault.mend)


def faults_of(breaches: Iterable[Breach]) -> list[Fault]:
    """Faults of one design alone."""
    return [fault for b in breaches if b.bad for fault in b.each([0])]


def apart(breaches: Sequence[Breach], count: int) -> dict[int, tuple[Fault, ...]]:
    """The faults of each of `count` designs that has any, each once, in the order of the rules."""
    found: dict[int, list[Fault]] = {}
    for breach in breaches:
        designs = np.flatnonzero(np.full(count, breach.bad) if breach.shared else breach.bad).tolist()
        for d, fault in zip(designs, breach.each(designs) if designs else (), strict=True):
            own = found.setdefault(d, [])
            if fault not in own:
                own.append(fault)
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
