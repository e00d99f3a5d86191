"""`stiffcalc sweep`: many designs around one layout, the best of them written back as study files."""

from __future__ import annotations

import argparse
import functools
import sys
from collections.abc import Iterator, Mapping
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np

from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.commands.bar import bar
from stiffcalc.commands.shared import (
    FOLDER_MARK,
    add_outputs,
    add_resume,
    as_json,
    columns,
    refuse_resume,
    teller,
)
from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import chunks, files
from stiffcalc.exchange.toml import toml_text
from stiffcalc.explore import sampling, sweep_chunk
from stiffcalc.explore import workers as engines
from stiffcalc.explore.sweep import finish
from stiffcalc.explore.sweep_chunk import EVALUATED, Columns, Job
from stiffcalc.explore.sweep_results import Best, SweepResult
from stiffcalc.report import sweep_page, sweep_tables
from stiffcalc.study import load
from stiffcalc.study.lookup import design_named
from stiffcalc.study.reader import sweep_faults
from stiffcalc.study.schema import Study, SweepPlan
from stiffcalc.study.sweep import MOST, MOST_SEED
from stiffcalc.version import __version__

MOST_WORKERS = 64
STOPPED = 130


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file; its [sweep] says what to try")
    one.add_argument("--variant", metavar="NAME", help="layout (default: the study's)")
    add_outputs(one, "sweep")
    one.add_argument("--seed", type=int, metavar="N", help="in place of the study's")
    one.add_argument("--samples", type=int, metavar="N", help="in place of the study's")
    add_resume(one, "sweep")
    one.add_argument(
        "--workers", type=int, default=1, metavar="N", help="processes of this machine (default 1)"
    )
    one.add_argument("--scheduler", metavar="ADDRESS", help="do the work on a running distributed scheduler")
    one.add_argument("--no-front-view", action="store_true", help="leave the best designs to the frame")


def run(arguments: argparse.Namespace) -> int:
    """Evaluate what is not there yet, then put all in order."""
    study = load(arguments.study)
    if contradictions := tuple(torque_faults(study)):
        raise InputError(contradictions)
    job = sweep_chunk.job(study, plan_of(study, arguments))
    out = arguments.out or Path(f"sweep-{arguments.study.stem}")
    try:
        result = swept(study, job, out, arguments)
        write(result, study, out)
    except KeyboardInterrupt:
        kept = (
            f"{len(chunks.done(out))} of {sampling.chunks(job.plan)} chunks are kept in {out / chunks.FOLDER}"
        )
        print(f"\nstopped: {kept}; go on with --resume", file=sys.stderr)
        return STOPPED
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(result))
    if not arguments.quiet:
        print(sweep_tables.terminal(result, width=columns()))
        print(
            f"\nreport: {out / 'sweep.html'}\nbest: {', '.join(sweep_tables.best_names(result.best)) or 'none'}"
        )
    return 0


def swept(study: Study, job: Job, out: Path, arguments: argparse.Namespace) -> SweepResult:
    """Every chunk that is not kept yet evaluated and kept, then all of them put in order."""
    count = sampling.chunks(job.plan)
    if arguments.resume and not chunks.begun(out):
        refuse_resume(out, "sweep")
    with engine(arguments) as (executor, workers):
        files.prepare_folder(out, marker=FOLDER_MARK)
        if not arguments.resume and (earlier := chunks.finished(out)) is not None:
            teller(arguments.quiet)(f"{out}: its earlier sweep of {earlier['samples']} designs is replaced")
        there = chunks.opened(out, identity(study, job.plan), count=count, resume=arguments.resume)
        evaluate(job, out, there, executor, workers, quiet=arguments.quiet)
    parts, progress = (chunks.read(out, number) for number in range(count)), teller(arguments.quiet)
    return finish(study, job, parts, front_view=not arguments.no_front_view, progress=progress)


def plan_of(study: Study, arguments: argparse.Namespace) -> SweepPlan:
    """The study's plan with what the command line puts in its place. Raises InputError with every fault."""
    plan = study.sweep
    if plan is None:
        mend = "add it; stiffcalc new FILE shows how"
        raise InputError([Fault("sweep", "nothing", "a table [sweep] with [[sweep.key]] tables", mend)])
    found = list(_option_faults(arguments, plan))
    if found:
        raise InputError(found)
    if arguments.seed is not None:
        plan = replace(plan, seed=arguments.seed)
    if arguments.samples is not None:
        plan = replace(plan, samples=arguments.samples)
    if arguments.variant is not None:
        plan = replace(plan, layout=design_named(study, arguments.variant).name)
        if found := sweep_faults(plan, study.source):
            raise InputError(found)
    return plan


def _option_faults(arguments: argparse.Namespace, plan: SweepPlan) -> Iterator[Fault]:
    """Numbers outside their range, options that exclude each other."""
    ranges = {"seed": (0, MOST_SEED), "samples": (1, MOST), "workers": (1, MOST_WORKERS)}
    for name, (low, high) in ranges.items():
        value = getattr(arguments, name)
        if value is not None and not low <= value <= high:
            yield Fault(f"--{name}", f"{value}", f"a whole number, {low} to {high}", "give one of these")
    if arguments.samples is not None and plan.sampling == "grid":
        yield Fault("--samples", f"{arguments.samples}", "nothing in a grid", 'write sampling = "sobol"')
    if arguments.workers > 1 and arguments.scheduler:
        yield Fault("--workers", f"{arguments.workers}", "nothing beside --scheduler", "leave one of them")


@contextmanager
def engine(arguments: argparse.Namespace) -> Iterator[tuple[Executor | None, int]]:
    """Who does the work, and how many of them there are."""
    if arguments.scheduler:
        yield engines.scheduler(arguments.scheduler)
    elif arguments.workers > 1:
        with ProcessPoolExecutor(arguments.workers, initializer=engines.deaf_to_interrupts) as pool:
            yield pool, arguments.workers
    else:
        yield None, 1


def identity(study: Study, plan: SweepPlan) -> dict[str, object]:
    """What two runs must share for one to go on with the other's chunks."""
    drawn = {k: getattr(plan, k) for k in ("layout", "sampling", "samples", "seed")}
    return {"study": study.sha256, **drawn, "version": __version__, "chunk": sampling.size(plan)}


def evaluate(
    job: Job, out: Path, there: set[int], executor: Executor | None, workers: int, *, quiet: bool
) -> None:
    """Evaluate and keep every chunk that is not there; what is kept stays kept when it is stopped."""
    wanted = [n for n in range(sampling.chunks(job.plan)) if n not in there]
    tell = bar(job.plan.samples, "designs", quiet=quiet)
    known = [counted(chunks.read(out, n)) for n in sorted(there)]
    done, feasible = sum(n for n, _ in known), sum(n for _, n in known)
    work = functools.partial(sweep_chunk.evaluate, job)
    tell(done, f"{feasible} meet every check")
    for number, part in engines.run(work, wanted, executor=executor, workers=workers):
        chunks.keep(out, number, part)
        done, feasible = (a + b for a, b in zip((done, feasible), counted(part), strict=True))
        tell(done, f"{feasible} meet every check")


def counted(part: Columns) -> tuple[int, int]:
    """Designs of a chunk, and those that meet every check."""
    met = (part["status"] == EVALUATED) & (part["unmet"] == 0)
    return len(part["design"]), int(np.sum(met))


def write(result: SweepResult, study: Study, out: Path) -> None:
    """The report folder: page, contract, designs as CSV and as columns, the best as study files."""
    files.write_text_atomic(out / "sweep.json", as_json(result))
    files.write_parts_atomic(out / "sweep.csv", sweep_tables.csv_parts(result))
    files.write_bytes_atomic(out / "sweep.npz", chunks.packed(sweep_tables.columns(result)))
    for old in out.glob("best_*.toml"):  # of an earlier run
        old.unlink()
    for best, name in zip(result.best, sweep_tables.best_names(result.best), strict=True):
        files.write_text_atomic(out / name, toml_text(best_study(study.source, best)))
    files.write_text_atomic(out / "sweep.html", sweep_page.render(result, accuracy=STATEMENT))


def best_study(source: Mapping[str, object], best: Best) -> dict[str, object]:
    """The study with one design of the sweep as its only variant, beside the base."""
    kept = {k: v for k, v in source.items() if k not in ("variant", "sweep")}
    if not best.changes:
        return kept
    return {**kept, "variant": [{"name": f"sweep, design {best.design}", "set": dict(best.changes)}]}
