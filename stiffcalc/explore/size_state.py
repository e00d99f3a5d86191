"""What a sizing has done so far, as plain data: enough to go on as if it had never stopped."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from stiffcalc.caliper.section_uses import Limit
from stiffcalc.condensed import Array
from stiffcalc.explore.size_round import Round
from stiffcalc.explore.size_search import Sample, Slopes

FORMAT = 2  # of the state; since 2 checks are among the limits


@dataclass
class Entry:
    """One design asked about in a round."""

    x: list[float]
    cost: float | None  # kg; None: it cannot be
    uses: list[float]
    cost_slope: list[float] | None = None
    use_slopes: list[list[float]] | None = None
    notes: list[str] = field(default_factory=list)  # meshes made there


@dataclass
class Turn:
    """One round: its point with the full response and adaptive meshes, what was asked, where it ended."""

    x: list[float]
    mass: float
    uses: list[float]
    entries: list[Entry] = field(default_factory=list)
    end: list[float] | None = None
    iterations: int = 0
    ended: str = ""


@dataclass
class State:
    """All rounds so far."""

    limits: list[Limit] = field(default_factory=list)
    turns: list[Turn] = field(default_factory=list)

    def to_dict(self) -> dict[str, Any]:
        """Numbers, strings and lists; numbers come back from JSON to the last bit."""
        return asdict(self)


def state_of(data: Mapping[str, Any]) -> State:
    """What `State.to_dict` gave. Raises KeyError or TypeError for anything else."""
    turns = [Turn(**{**t, "entries": [Entry(**e) for e in t["entries"]]}) for t in data["turns"]]
    return State([Limit(**one) for one in data["limits"]], turns)


@dataclass
class Kept:
    """A round that remembers: what was asked before is answered from the entries, everything new is saved.

    `opened` makes the round when something new is asked; meshes that the entries made are then made again.
    """

    turn: Turn
    opened: Callable[[], Round]
    save: Callable[[], None]
    round: Round | None = None

    def sample(self, x: Array) -> Sample | None:
        """As `Round.sample`."""
        entry = self._entry(x)
        return None if entry.cost is None else Sample(entry.cost, np.array(entry.uses))

    def slopes(self, x: Array) -> Slopes:
        """As `Round.slopes`."""
        entry = self._entry(x)
        if entry.cost_slope is None or entry.use_slopes is None:
            found = self._open().slopes(x)
            entry.cost_slope, entry.use_slopes = found.cost.tolist(), found.uses.tolist()
            self.save()
        return Slopes(np.array(entry.cost_slope), np.array(entry.use_slopes))

    def _entry(self, x: Array) -> Entry:
        for known in reversed(self.turn.entries):
            if known.x == x.tolist():
                return known
        round_ = self._open()
        found = round_.sample(x)
        entry = (
            Entry(x.tolist(), None, [])
            if found is None
            else Entry(x.tolist(), found.cost, found.uses.tolist())
        )
        entry.notes, round_.meshes.notes[:] = list(round_.meshes.notes), []
        self.turn.entries.append(entry)
        self.save()
        return entry

    def _open(self) -> Round:
        if self.round is None:
            self.round = self.opened()
            for entry in self.turn.entries:
                if entry.notes:
                    self.round.remade(np.array(entry.x))
        return self.round
