"""`stiffcalc size`: dimensions of sections sized for least mass, written as a study that can be assessed."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from pathlib import Path

from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.commands.shared import (
    FOLDER_MARK,
    accuracy,
    add_accuracy,
    add_outputs,
    add_resume,
    as_json,
    columns,
    refuse_resume,
    teller,
)
from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files, run_state
from stiffcalc.exchange.toml import toml_text
from stiffcalc.explore.size import size
from stiffcalc.explore.size_job import Job, job_of
from stiffcalc.explore.size_results import SizeResult
from stiffcalc.explore.size_state import FORMAT, State, state_of
from stiffcalc.report import size_page, size_tables
from stiffcalc.study import load
from stiffcalc.study.schema import Study
from stiffcalc.version import __version__

STATE, SIZED = "size_state.json", "sized.toml"
STOPPED = 130


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file; its [size] says what to size")
    one.add_argument("--bridge", metavar="NAME", help="one bridge (default: the study's, or all)")
    one.add_argument("--variant", metavar="NAME", help="layout (default: the study's base)")
    add_outputs(one, "size")
    add_resume(one, "sizing")
    one.add_argument("--no-front-view", action="store_true", help="forces from the closed-form frame")
    add_accuracy(one)


def run(arguments: argparse.Namespace) -> int:
    """Size and write; what is done stays done when it is stopped."""
    asked = accuracy(arguments)
    study = load(arguments.study)
    if contradictions := tuple(torque_faults(study)):
        raise InputError(contradictions)
    job = job_of(
        study,
        bridge=arguments.bridge,
        variant=arguments.variant,
        front_view=not arguments.no_front_view,
        accuracy=asked,
    )
    out = arguments.out or Path(f"size-{arguments.study.stem}")
    path, about = out / STATE, identity(study, job)
    if arguments.resume and not path.exists():
        refuse_resume(out, "sizing")
    files.prepare_folder(out, marker=FOLDER_MARK)
    state = begun(path, about, resume=arguments.resume)

    def save() -> None:
        run_state.keep(path, about, state.to_dict(), done=False)

    try:
        found = size(study, job, state=state, save=save, progress=teller(arguments.quiet))
        write(found, study, out)
    except KeyboardInterrupt:
        print(f"\nstopped: {told(state, path)}", file=sys.stderr)
        return STOPPED
    run_state.keep(path, about, state.to_dict(), done=True)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(found))
    if not arguments.quiet:
        print(size_tables.terminal(found, width=columns()))
        print(f"\nreport: {out / 'size.html'}\nto assess: {out / SIZED}")
    return 0


def identity(study: Study, job: Job) -> dict[str, object]:
    """What two runs must have in common to be one."""
    return {
        "study": study.sha256,
        "layout": job.layout,
        "bridges": sorted({bridge for bridge, _ in job.cuts}),
        "front_view": job.front_view,
        "accuracy": job.accuracy,
        "state_format": FORMAT,
        "version": __version__,
    }


def begun(path: Path, about: Mapping[str, object], *, resume: bool) -> State:
    """The state to go on from, or a new one."""
    kept = run_state.opened(path, about, resume=resume)
    if kept is None:
        return State()
    try:
        return state_of(kept)
    except (KeyError, TypeError) as error:
        fault = Fault(str(path), "no state of a sizing", "what an earlier run wrote", "take another folder")
        raise InputError([fault]) from error


def told(state: State, path: Path) -> str:
    """What is kept."""
    if not state.turns or not path.exists():
        return "nothing is kept yet; start again"
    known = f"{len(state.turns[-1].entries)} designs of round {len(state.turns)} are kept"
    return f"{known} in {path}; go on with --resume"


def write(found: SizeResult, study: Study, out: Path) -> None:
    """The report folder: page, contract, history, and the study with the sized layout as its variant."""
    texts = {
        "size.json": as_json(found),
        "size_history.csv": size_tables.csv_file(found),
        SIZED: toml_text(sized_study(study.source, found)),
        "size.html": size_page.render(found, accuracy=STATEMENT),
    }
    for name, text in texts.items():
        files.write_text_atomic(out / name, text)


def sized_study(source: Mapping[str, object], found: SizeResult) -> dict[str, object]:
    """The study with the sized layout as its only variant, beside the base."""
    kept = {k: v for k, v in source.items() if k not in ("variant", "size", "sweep", "explore")}
    return {**kept, "variant": [{"name": f"{found.layout}, sized", "set": dict(found.changes)}]}
