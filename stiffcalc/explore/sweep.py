"""A sweep's designs put in order: the feasible ones, the front of mass, spread and worst margin, the best confirmed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper.assess import CAUTIONS, Progress, catalogue_notes, silent
from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore import sampling
from stiffcalc.explore.batches import solve
from stiffcalc.explore.bolt_matrix import LEFT_OUT, SAME_MASS
from stiffcalc.explore.bolt_results import Figures
from stiffcalc.explore.bolt_solve import figures, solve_one
from stiffcalc.explore.pareto import front
from stiffcalc.explore.sweep_chunk import (
    EVALUATED,
    TEXTS,
    Columns,
    Job,
    decoded,
    encoded,
)
from stiffcalc.explore.sweep_results import Best, Own, SweepResult
from stiffcalc.explore.sweep_tally import governing, reasons, tally_of
from stiffcalc.explore.sweep_twins import NEAR, near
from stiffcalc.explore.sweep_verdict import verdict
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.quantities import percent
from stiffcalc.study.lookup import design_named
from stiffcalc.study.schema import Study
from stiffcalc.version import __version__

SEEN = 6  # decimals of kg, mm and margin in which designs of the front differ: rounding makes no front
CONFIRMED = "The best designs are confirmed by the front view, whose joint faces give way."
ASKED = 4  # times as many designs as are wanted, at most, that the front view is asked about
FRAME = "Figures of all designs are the frame's, joint faces moving as planes: exact while closed and without reliefs."

AIMS: dict[str, Callable[[Columns], Array]] = {  # less is better
    "least mass": lambda c: np.round(np.asarray(c["mass_kg"], dtype=float), SAME_MASS),
    "least spread": lambda c: np.nan_to_num(np.asarray(c["spread_mm"], dtype=float), nan=np.inf),
    "highest onset": lambda c: -np.asarray(c["onset_MPa"], dtype=float),
    "best worst margin": lambda c: -np.asarray(c["worst_margin"], dtype=float),
}


def merged(parts: Iterable[Columns]) -> dict[str, NDArray[np.generic]]:
    """The columns of all chunks, in the order given, one chunk in hand at a time; texts in one list a column."""
    gathered: dict[str, list[NDArray[np.generic]]] = {}
    places: dict[str, dict[str, int]] = {name: {} for name in TEXTS}
    for part in parts:
        for name in (n for n in part if not n.endswith("_texts")):
            own = _recoded(part, name, places[name]) if name in TEXTS else part[name]
            gathered.setdefault(name, []).append(own)
    found = {name: np.concatenate(arrays) for name, arrays in gathered.items()}
    return found | {f"{name}_texts": encoded(places[name]) for name in TEXTS}


def _recoded(part: Columns, name: str, places: dict[str, int]) -> NDArray[np.int32]:
    own = [places.setdefault(decoded(text), len(places)) for text in part[f"{name}_texts"]]
    found: NDArray[np.int32] = np.array(own, dtype=np.int32)[part[name].astype(np.intp)]
    return found


def ranked(columns: Columns, aim: str) -> dict[str, NDArray[np.generic]]:
    """The columns with `feasible`, `pareto` and `rank`.

    Designs that meet every check come first, by the aim; then the others, largest worst margin first. Equals are told
    apart by the worst margin, then by their number.
    """
    solved = columns["status"] == EVALUATED
    met = solved & (columns["unmet"] == 0)
    margin = -np.asarray(columns["worst_margin"], dtype=float)
    first = np.where(met, AIMS[aim](columns), margin)
    order = np.lexsort((columns["design"], margin, first, ~met))
    rank = np.zeros(len(met), dtype=np.int64)
    rank[order[solved[order]]] = np.arange(1, solved.sum() + 1)
    costs = np.stack([np.round(c, SEEN) for c in (columns["mass_kg"], columns["spread_mm"], margin)], axis=-1)
    costs[~met] = np.nan
    return {**columns, "feasible": met, "pareto": front(costs), "rank": rank}


def finish(
    study: Study, job: Job, parts: Iterable[Columns], *, front_view: bool = True, progress: Progress = silent
) -> SweepResult:
    """The answer from all chunks of a sweep. The best are asked of the front view unless it is left out or missing."""
    plan = job.plan
    missing = unavailable() if front_view else LEFT_OUT
    columns = ranked(merged(parts), plan.aim)
    own, base = as_drawn(study, plan.layout), design_named(study, plan.layout)
    best, skipped = taken_out(job, columns, front_view=not missing, progress=progress)
    tally = tally_of(columns)
    notes = catalogue_notes(replace(study, designs=(base, *(job.design(b.changes) for b in best))))
    return SweepResult(
        title=study.title,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        cautions=CAUTIONS,
        defaults_used=(*plan.defaults_used, *study.defaults_used),
        notices=(FRAME, missing or CONFIRMED, *twins_said(skipped), *notes),
        plan=plan,
        verdict=verdict(plan, tally, best, own, int(np.sum(columns["pareto"]))),
        tally=tally,
        reasons=reasons(columns),
        governs=governing(columns),
        own=own,
        best=best,
        inputs=study.source,
        columns=columns,
    )


def twins_said(skipped: int) -> Iterator[str]:
    """That designs were passed over among the best."""
    if skipped:
        many = "1 design was" if skipped == 1 else f"{skipped} designs were"
        yield (
            f"Among the best {many} left out as near twins: every key within {percent(NEAR)} of its range of a better "
            "design's. The files of all designs have them."
        )


def as_drawn(study: Study, layout: str) -> Own | None:
    """The layout with nothing varied."""
    found = solve([design_named(study, layout)])[0]
    return None if isinstance(found, ConvergenceError) else Own(found.mass.total, figures(found))


def taken_out(
    job: Job, columns: Columns, *, front_view: bool, progress: Progress
) -> tuple[tuple[Best, ...], int]:
    """The best designs by the frame; with the front view the best by it of those it was asked about.

    It is asked in the frame's order until as many as are wanted meet every check there too, or `ASKED` times as many
    were asked. Designs all but the same as one before are passed over, unless that one alone misses a check; how many
    comes second.
    """
    rank, most = np.asarray(columns["rank"], dtype=np.int64), job.plan.best
    places, passed = np.argsort(rank, kind="stable"), np.zeros(len(rank), dtype=bool)
    missed = np.logical_not(columns["feasible"])
    found: list[Best] = []
    for row in places[rank[places] > 0]:
        if passed[row]:
            continue
        if len(found) >= (ASKED * most if front_view else most) or _met(found) >= most:
            break
        choice = tuple(float(columns[f"key_{k + 1}"][row]) for k in range(len(job.plan.keys)))
        best = _best(job, choice, design=int(columns["design"][row]), rank=int(rank[row]))
        found.append(confirmed(job, best, progress) if front_view else best)
        twins = near(job.plan, columns, row)
        passed |= twins & missed if found[-1].figures.unmet else twins
    listed = in_order(found, job.plan.aim)[:most] if front_view else found
    skipped = (
        found[-1].rank_frame - len(found) if found else 0
    )  # whatever stands before was taken or passed over
    return tuple(replace(b, rank=i) for i, b in enumerate(listed, start=1)), skipped


def _met(found: Iterable[Best]) -> int:
    return sum(not b.figures.unmet for b in found)


def _best(job: Job, choice: sampling.Choice, *, design: int, rank: int) -> Best:
    changes = job.changes(choice)
    found = solve([job.design(changes)])[0]
    assert not isinstance(
        found, ConvergenceError
    )  # it was solved in its chunk, and an answer has no neighbours
    return Best(
        rank=rank,
        rank_frame=rank,
        design=design,
        keys=tuple(sampling.label(k, t) for k, t in zip(job.plan.keys, choice, strict=True)),
        changes=changes,
        mass_kg=found.mass.total,
        frame=figures(found),
        front_view=None,
        note="",
    )


def confirmed(job: Job, best: Best, progress: Progress) -> Best:
    """The design with the front view's figures too."""
    progress(f"front view: design {best.design}")
    answer = solve_one(job.design(best.changes))
    if isinstance(answer, ConvergenceError):
        return replace(best, note=f"front view: {answer}")
    return replace(best, front_view=figures(answer))


def in_order(found: Iterable[Best], aim: str) -> list[Best]:
    """Best first by the figures that count, in the same sense as `ranked`."""

    def key(b: Best) -> tuple[bool, float, float]:
        f = b.figures
        return f.unmet > 0, aimed(b.mass_kg, f, aim) if not f.unmet else -f.worst_margin, -f.worst_margin

    return sorted(found, key=key)


def aimed(mass_kg: float, found: Figures, aim: str) -> float:
    """The aim's figure of one design; less is better."""
    one = {
        "mass_kg": mass_kg,
        "spread_mm": np.nan if found.spread is None else found.spread,
        "onset_MPa": found.onset_MPa,
        "worst_margin": found.worst_margin,
    }
    return float(AIMS[aim]({k: np.array([v]) for k, v in one.items()})[0])
