"""`stiffcalc compare`: layouts at equal mass, the designs written back as study files."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.commands.bar import bar
from stiffcalc.commands.shared import FOLDER_MARK, add_outputs, as_json, columns
from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files
from stiffcalc.exchange.toml import toml_text
from stiffcalc.explore.compare import Tell, compare
from stiffcalc.explore.compare_results import CompareResult, kg
from stiffcalc.report import compare_page, compare_tables
from stiffcalc.study import load
from stiffcalc.study.explore import EFFORTS
from stiffcalc.study.sweep import MOST_SEED


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file; its [explore] says what is free")
    add_outputs(one, "compare")
    one.add_argument("--seed", type=int, metavar="N", help="in place of the study's")
    one.add_argument("--effort", choices=EFFORTS, help="in place of the study's")
    one.add_argument("--no-front-view", action="store_true", help="leave the designs to the frame")


def run(arguments: argparse.Namespace) -> int:
    """Compute everything, then write the folder."""
    study = load(arguments.study)
    if arguments.seed is not None and not 0 <= arguments.seed <= MOST_SEED:
        allowed = f"a whole number, 0 to {MOST_SEED}"
        raise InputError([Fault("--seed", str(arguments.seed), allowed, "give another seed")])
    out = arguments.out or Path(f"compare-{arguments.study.stem}")
    files.refuse_foreign_folder(out, FOLDER_MARK)
    result = compare(
        study,
        seed=arguments.seed,
        effort=arguments.effort,
        front_view=not arguments.no_front_view,
        tell=_teller(quiet=arguments.quiet),
    )
    files.prepare_folder(out, marker=FOLDER_MARK)
    written = write(result, out)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(result))
    if not arguments.quiet:
        print(compare_tables.terminal(result, width=columns()))
        print(f"\nreport: {out / 'compare.html'}\ndesigns: {', '.join(written) or 'none'}")
    return 0


def _teller(*, quiet: bool) -> Tell:
    """A bar of the search's steps."""
    shown: dict[int, Any] = {}

    def tell(done: int, total: int, word: str) -> None:
        known = shown or {0: (bar(total, "steps", quiet=quiet), total)}
        shown.update(known)
        show, whole = known[0]
        show(whole if done == total else done, word)

    return tell


def write(result: CompareResult, out: Path) -> list[str]:
    """The report folder: page, contract, points as CSV, a study file for each mass; returns their names."""
    texts = {
        "compare.json": as_json(result),
        "compare.csv": compare_tables.csv_file(result),
        "compare.html": compare_page.render(result, accuracy=STATEMENT),
    }
    studies = {name: toml_text(study_at(result, mass)) for mass, name in compare_tables.study_names(result)}
    for old in out.glob("at_*_kg.toml"):  # of an earlier run
        old.unlink()
    for name, content in (texts | studies).items():
        files.write_text_atomic(out / name, content)
    return list(studies)


def study_at(result: CompareResult, mass: float) -> Mapping[str, object]:
    """The study with every layout's design at one mass as a variant beside the base."""
    i = result.masses.index(mass)
    there = [(c.name, p) for c in result.curves if (p := c.points[i]) is not None and p.meets]
    kept = {k: v for k, v in result.inputs.items() if k not in ("variant", "sweep", "explore")}
    variants = [{"name": f"{name}, {kg(mass)} kg", "set": dict(p.changes)} for name, p in there]
    return {**kept, "variant": variants}
