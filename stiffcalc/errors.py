"""Faults that say where, what was found, what is allowed and how to mend it; and the project's own exceptions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One fault of an input: `where: found; allowed; mend`."""

    where: str
    found: str
    allowed: str
    mend: str

    def __str__(self) -> str:
        return f"{self.where}: found {self.found}; allowed: {self.allowed}; mend: {self.mend}"


class StiffcalcError(Exception):
    """Base of every error this package raises on purpose; the command line prints it as one line per fault."""


class InputError(StiffcalcError, ValueError):
    """Bad input. Carries every fault found, not just the first."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


class ConvergenceError(StiffcalcError, ValueError):
    """An iteration did not reach its tolerance; carries the residual and the count it stopped at."""

    def __init__(self, what: str, *, residual: float, iterations: int) -> None:
        self.residual, self.iterations = residual, iterations
        super().__init__(f"{what} did not converge: residual {residual:.3g} after {iterations} iterations")


class MissingToolError(StiffcalcError, ValueError):
    """A library or system package that a feature needs is not there; the text says what to install."""
