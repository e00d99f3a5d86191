"""How many designs a second a sweep answers on one core, and which part of the work takes how much of it.

    python studies/benchmarks/sweep_rate.py [--study studies/sweep_two_piece.toml] [--designs 4096] [--repeats 3]

The study's own [sweep], its first chunks. Times are of the processor, the best of the repeats, by design asked for:
those that the reader refuses count too. Reading one by one stands beside it as what a batch saves.
"""

from __future__ import annotations

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")  # one core; must stand before numpy is loaded

import argparse
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.explore import batches, sampling, sweep_chunk, sweep_read
from stiffcalc.explore.sweep_read import Job
from stiffcalc.study import load

STUDY = Path(__file__).parents[1] / "sweep_two_piece.toml"
ALONE = 64  # designs read one by one
CLOCKED = (
    ("read", sweep_chunk, "read"),
    ("solve", batches, "layout"),
    ("check", batches, "screenings"),
    ("answer", batches, "answer"),
)


@dataclass(frozen=True)
class Timing:
    """Microseconds of the processor, a design."""

    what: str
    each: float

    def __str__(self) -> str:
        return f"{self.what:<34}{self.each:>12.1f}{1e6 / self.each:>14.0f}"


def chosen(job: Job) -> Array:
    """What the designs of a plan take of its keys."""
    return np.concatenate([sampling.drawn(job.plan, k) for k in range(sampling.chunks(job.plan))])


@contextmanager
def clocks() -> Iterator[Counter[str]]:
    """Processor seconds spent in the parts of an evaluation while it lasts."""
    spent: Counter[str] = Counter()

    def clocked(part: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def timed(*given: Any, **named: Any) -> Any:
            start = time.process_time()
            try:
                return work(*given, **named)
            finally:
                spent[part] += time.process_time() - start

        return timed

    sound: list[tuple[ModuleType, str, Any]] = [(m, name, getattr(m, name)) for _, m, name in CLOCKED]
    for (part, module, name), (_, _, work) in zip(CLOCKED, sound, strict=True):
        setattr(module, name, clocked(part, work))
    try:
        yield spent
    finally:
        for module, name, work in sound:
            setattr(module, name, work)


def best(repeats: int, run: Callable[[], Counter[str]]) -> Counter[str]:
    """The quickest of the repeats."""
    return min((run() for _ in range(repeats)), key=lambda spent: spent["all"])


def whole(job: Job) -> Counter[str]:
    """Processor seconds of a whole evaluation, by part."""
    with clocks() as spent:
        start = time.process_time()
        choices = chosen(job)
        spent["draw"] = time.process_time() - start
        for part in np.split(choices, range(sampling.LARGEST, len(choices), sampling.LARGEST)):
            sweep_chunk.evaluated(job, part)
        spent["all"] = time.process_time() - start
    return spent


def alone(job: Job) -> Counter[str]:
    """Processor seconds of designs read one by one."""
    choices = chosen(job)[:ALONE]
    start = time.process_time()
    for k in range(len(choices)):
        sweep_read.read(job, choices[k : k + 1])
    return Counter(all=(time.process_time() - start) / len(choices))


def timings(job: Job, *, repeats: int) -> Iterator[Timing]:
    """Every part of a sweep's work."""
    spent, count = best(repeats, lambda: whole(job)), job.plan.samples
    named = {
        "drawing": spent["draw"],
        "reading": spent["read"],
        "physics": spent["solve"],
        "checks": spent["check"],
        "onset, words": spent["answer"] - spent["solve"] - spent["check"],
        "columns": spent["all"] - spent["draw"] - spent["read"] - spent["answer"],
        "all": spent["all"],
    }
    yield from (Timing(what, 1e6 * seconds / count) for what, seconds in named.items())
    yield Timing("reading one by one", 1e6 * best(repeats, lambda: alone(job))["all"])


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the rates."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--study", type=Path, default=STUDY)
    parser.add_argument("--designs", type=int, default=4096)
    parser.add_argument("--repeats", type=int, default=3)
    given = parser.parse_args(arguments)
    study = load(given.study)
    if study.sweep is None:
        parser.error(f"{given.study} has no [sweep]")
    job = sweep_read.job(study, replace(study.sweep, samples=given.designs))
    print(f"{'part':<34}{'µs a design':>12}{'designs a s':>14}")
    for timing in timings(job, repeats=given.repeats):
        print(timing)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
