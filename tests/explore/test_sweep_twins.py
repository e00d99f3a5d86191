"""The best of a sweep stand apart: near twins of a better one are passed over, and nothing else is."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import sweep_sample as sample

from stiffcalc.explore import sampling, sweep, sweep_chunk
from stiffcalc.explore.sweep_results import SweepResult
from stiffcalc.explore.sweep_twins import near
from stiffcalc.study.schema import Level, SweepKey

THICKNESS = SweepKey("wall", ("caliper.wall.thickness_mm",), (), 26.0, 38.0, ())
FLOOR = SweepKey("floor", ("caliper.wall.floor_mm",), (), 7.0, 11.0, ())


def listed(*values: float) -> SweepKey:
    return SweepKey("l", ("x",), (), np.nan, np.nan, tuple(Level(f"{v:g}", v, {"x": v}) for v in values))


def columns(*keys: list[float]) -> Mapping[str, Any]:
    taken = {f"key_{i}": np.array(v) for i, v in enumerate(keys, start=1)}
    return {"design": np.arange(len(keys[0])), **taken}


@pytest.mark.parametrize(
    ("key", "taken", "twins"),
    [
        (THICKNESS, [30.0, 30.6, 30.61, 29.4, 29.39], [True, True, False, True, False]),
        (listed(*np.arange(26.0, 38.5, 0.5)), [8, 9, 10, 7, 6], [True, True, False, True, False]),
        (listed(26.0, 30.0, 34.0), [1, 0, 2, 1, 1], [True, False, False, True, True]),
        (listed(np.nan, np.nan, np.nan), [1, 0, 2, 1, 1], [True, False, False, True, True]),
        (listed(8.0), [0, 0], [True, True]),
    ],
    ids=["range", "fine steps", "coarse steps", "no numbers", "one place"],
)
def test_near_is_a_twentieth_of_a_keys_range(key: SweepKey, taken: list[float], twins: list[bool]) -> None:
    assert near(sample.plan(keys=(key,)), columns(taken), 0).tolist() == twins


def test_near_in_every_key() -> None:
    plan = sample.plan(keys=(THICKNESS, FLOOR))
    found = near(plan, columns([30.0, 30.1, 31.0, 30.1], [8.0, 8.1, 8.1, 9.0]), 0)
    assert found.tolist() == [True, True, False, False]


def swept(**changes: Any) -> SweepResult:
    job = sample.job(samples=128, best=5, **changes)
    parts = (sweep_chunk.evaluate(job, k) for k in range(sampling.chunks(job.plan)))
    return sweep.finish(sample.STUDY, job, parts, front_view=False)


def test_the_best_stand_apart_and_the_files_of_all_designs_are_as_ever() -> None:
    found = swept(keys=(THICKNESS,))
    ranks, wall = found.columns["rank"], found.columns["key_1"]
    ranked = np.argsort(ranks)[np.sort(ranks) > 0]
    assert sorted(ranks[ranked]) == list(range(1, len(ranked) + 1))
    chosen = [b.design - 1 for b in found.best]
    assert len(chosen) == 5 and chosen[0] == ranked[0]
    assert all(abs(a - b) > 0.6 for i, a in enumerate(wall[chosen]) for b in wall[chosen][:i])
    assert [b.rank_frame for b in found.best] == ranks[chosen].tolist()
    for before, after in pairwise(found.best):  # whatever lies between is a twin of one chosen before
        between = wall[(ranks > before.rank_frame) & (ranks < after.rank_frame)]
        earlier = wall[[b.design - 1 for b in found.best if b.rank_frame <= before.rank_frame]]
        assert all(np.abs(earlier - w).min() <= 0.6 for w in between)
    skipped = found.best[-1].rank_frame - 5
    (said,) = [n for n in found.notices if "near twins" in n]
    assert skipped > 5 and said.startswith(f"Among the best {skipped} designs were left out as near twins: ")
    assert "within 5\u00a0% of its range" in said


def test_designs_far_apart_are_all_taken() -> None:
    found = swept()
    assert [b.rank_frame for b in found.best] == [1, 2, 3, 4, 5]
    assert not any("near twins" in n for n in found.notices)


def test_the_twin_of_one_that_misses_a_check_by_the_front_view_is_asked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Designs that meet every check by the frame alone hide no twin that meets them by both."""

    def confirmed(job: Any, best: Any, progress: Any) -> Any:
        return replace(best, front_view=replace(best.frame, unmet=int(best.rank_frame < 3)))

    monkeypatch.setattr(sweep, "confirmed", confirmed)
    job = sample.job(samples=128, best=2, keys=(THICKNESS,))
    parts = [sweep_chunk.evaluate(job, 0)]
    found = sweep.finish(sample.STUDY, job, parts, front_view=True)
    first, second = found.best
    assert first.rank_frame == 3 and second.rank_frame > 4
