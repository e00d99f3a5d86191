"""What became of a sweep's designs: how many, why they were refused, which checks govern."""

from __future__ import annotations

from collections import Counter

import numpy as np

from stiffcalc.explore.sweep_chunk import EVALUATED, NO_EQUILIBRIUM, REFUSED, Columns, coded, decoded
from stiffcalc.explore.sweep_results import Tally


def tally_of(columns: Columns) -> Tally:
    """What became of the designs."""
    status = Counter(np.asarray(columns["status"]).tolist())
    return Tally(
        designs=len(columns["design"]),
        evaluated=status[EVALUATED],
        feasible=int(np.sum(columns["feasible"])),
        refused=status[REFUSED],
        no_equilibrium=status[NO_EQUILIBRIUM],
    )


def reasons(columns: Columns) -> tuple[tuple[str, int], ...]:
    """What of the file refused designs, the first of each design's faults."""
    codes = columns["reason"][columns["status"] == REFUSED]
    counts = np.bincount(np.asarray(codes, dtype=np.intp), minlength=len(columns["reason_texts"]))
    found: Counter[str] = Counter()
    for said, count in zip(map(decoded, columns["reason_texts"]), counts, strict=True):
        found[f"{said.split(': found ')[0]}: {_allowed(said)}"] += int(count)
    return tuple((what, count) for what, count in found.most_common() if count)


def _allowed(reason: str) -> str:
    """What was allowed, without the mend."""
    return reason.split("; allowed: ")[-1].split("; mend: ")[0]


def governing(columns: Columns) -> tuple[tuple[str, int, int], ...]:
    """Checks with the worst margin: how many designs, how many feasible ones."""
    solved = np.asarray(columns["status"] == EVALUATED)
    texts = [_kind(decoded(t)) for t in columns["governs_texts"]]
    codes, names = coded(texts)
    every = np.bincount(codes[columns["governs"][solved]], minlength=len(names))
    met = np.bincount(codes[columns["governs"][solved & columns["feasible"]]], minlength=len(names))
    order = sorted(range(len(names)), key=lambda i: (-every[i], bytes(names[i])))
    return tuple((decoded(names[i]), int(every[i]), int(met[i])) for i in order if every[i])


def _kind(check: str) -> str:
    """A check and its load case without the size that a bolt happens to have."""
    what, _, case = check.rpartition(" (")
    head = what.split(", bolt ")[0]
    return f"{head} ({case}" if what else check
