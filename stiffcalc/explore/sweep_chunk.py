"""One chunk of a sweep: its designs read by the study reader's rules, solved in batches, put into columns."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper.preloads import contradictions
from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError, Fault
from stiffcalc.explore import sampling
from stiffcalc.explore.batches import BATCH, Found, Solved, solve
from stiffcalc.explore.bolt_solve import figures
from stiffcalc.explore.sampling import Choice
from stiffcalc.study.breach import faults_of
from stiffcalc.study.reader import layout_changes, read_design
from stiffcalc.study.schema import Design, Study, SweepPlan

REFUSED, NO_EQUILIBRIUM, EVALUATED = 0, 1, 2  # status of a design
FIGURES = ("mass_kg", "spread_mm", "onset_MPa", "worst_margin")
COUNTS = ("unmet", "checks")
MARGIN = "margin_"  # and the id of a check: a column of its worst margin
BETWEEN = " · "  # sentences of one text
TEXTS = ("governs", "reason", "validity")  # as places in a list of texts of their own

Columns = Mapping[str, NDArray[np.generic]]


@dataclass(frozen=True)
class Job:
    """All that a sweep's chunks need; plain data, so that another process can have it."""

    source: Mapping[str, object]  # the study as read
    own: Mapping[str, object]  # paths that the layout's variant sets
    plan: SweepPlan

    def changes(self, choice: Choice) -> dict[str, object]:
        """All paths that a design sets in the base."""
        return {**self.own, **sampling.changes(self.plan, choice)}

    def design(self, changes: Mapping[str, object]) -> Design:
        """The design that sets those paths, known to have no faults."""
        return read_design(self.source, self.plan.layout, changes)[0]


@dataclass(frozen=True)
class Line:
    """One design's entry in every column beside its keys."""

    status: int
    figures: tuple[float, ...]
    counts: tuple[int, ...]
    texts: tuple[str, ...]
    margins: Mapping[str, float]  # id of a check -> its worst margin over all load cases


def job(study: Study, plan: SweepPlan) -> Job:
    """The sweep `plan` of a study."""
    return Job(study.source, layout_changes(study.source, plan.layout), plan)


def evaluate(what: Job, chunk: int, *, batch: int = BATCH) -> Columns:
    """The columns of a chunk: `design`, `key_1` on (as `sampling.Choice`), status, figures, counts, texts.

    A text column holds places in `NAME_texts`, UTF-8. NaN: no such figure.
    """
    choices = np.array(list(sampling.drawn(what.plan, chunk)), dtype=float)
    found = evaluated(what, choices, batch=batch)
    kept = {name: column for name, column in found.items() if not name.startswith(MARGIN)}
    return {"design": sampling.designs_of(what.plan, chunk), **kept}


def evaluated(what: Job, choices: Array, *, batch: int = BATCH) -> Columns:
    """The columns of `evaluate` but `design`, for designs of any origin, and `margin_ID` for each id of a check.

    choices: (D, keys), a row as `sampling.Choice`. A margin is the worst over all load cases; NaN where a design has
    no such check, is refused or finds no equilibrium.
    """
    found = [read(what, tuple(c)) for c in choices.tolist()]
    sound = [d for d, faults in found if not faults]
    answers = iter(solve(sound, batch=batch))
    lines = [_refused(faults) if faults else line_of(next(answers)) for _, faults in found]
    ids = sorted({name for line in lines for name in line.margins})
    return {
        **{f"key_{k + 1}": choices[:, k] for k in range(choices.shape[1])},
        "status": np.array([line.status for line in lines], dtype=np.int8),
        **{n: np.array([line.figures[i] for line in lines], dtype=float) for i, n in enumerate(FIGURES)},
        **{n: np.array([line.counts[i] for line in lines], dtype=np.int32) for i, n in enumerate(COUNTS)},
        **_coded(lines),
        **{f"{MARGIN}{n}": np.array([line.margins.get(n, math.nan) for line in lines]) for n in ids},
    }


def read(what: Job, choice: Choice) -> tuple[Design, tuple[Fault, ...]]:
    """One design by the rules of a study file; not to be used where there are faults."""
    design, faults = read_design(what.source, what.plan.layout, what.changes(choice))
    return design, faults or tuple(faults_of(contradictions(design)))


def _refused(faults: Sequence[Fault]) -> Line:
    more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
    return Line(REFUSED, (math.nan,) * 4, (0, 0), ("", f"{faults[0]}{more}", ""), {})


def line_of(answer: Found) -> Line:
    """An answer's entries."""
    if isinstance(answer, ConvergenceError):
        return Line(NO_EQUILIBRIUM, (math.nan,) * 4, (0, 0), ("", f"no equilibrium: {answer}", ""), {})
    found = figures(answer)
    spread = math.nan if found.spread is None else found.spread
    numbers = (answer.mass.total, spread, found.onset_MPa, found.worst_margin)
    texts = (found.governs, "", BETWEEN.join(found.validity))
    return Line(EVALUATED, numbers, (found.unmet, found.checks), texts, _margins(answer))


def _margins(answer: Solved) -> dict[str, float]:
    """Worst margin of each check over all load cases, by its id."""
    found: dict[str, float] = {}
    for check in (k for case in answer.load_cases for k in case.checks):
        found[check.id] = min(check.margin, found.get(check.id, math.inf))
    return found


def _coded(lines: Sequence[Line]) -> dict[str, NDArray[np.generic]]:
    """Text columns: each text once, and which of them a design has."""
    found: dict[str, NDArray[np.generic]] = {}
    for i, name in enumerate(TEXTS):
        codes, texts = coded(line.texts[i] for line in lines)
        found |= {name: codes, f"{name}_texts": texts}
    return found


def coded(texts: Iterable[str]) -> tuple[NDArray[np.int32], NDArray[np.bytes_]]:
    """Places and the list they point into, in order of appearance."""
    places: dict[str, int] = {}
    codes = [places.setdefault(text, len(places)) for text in texts]
    return np.array(codes, dtype=np.int32), encoded(places)


def encoded(texts: Iterable[str]) -> NDArray[np.bytes_]:
    """Texts in UTF-8: a quarter of the memory of numpy's own text arrays."""
    return np.array([text.encode("utf-8") for text in texts], dtype=np.bytes_)


def decoded(text: np.generic) -> str:
    """A text as it was."""
    return str(text.item(), "utf-8")
