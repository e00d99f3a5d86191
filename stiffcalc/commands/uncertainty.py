"""`stiffcalc uncertainty`: what scatter of preload, friction, modulus and lengths does to one layout."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.commands.shared import FOLDER_MARK, add_outputs, as_json, columns, teller
from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files
from stiffcalc.explore.uncertainty import uncertainty
from stiffcalc.report import uncertainty_page, uncertainty_tables
from stiffcalc.study import load
from stiffcalc.study.uncertainty import LEAST_SAMPLES, MOST_SAMPLES, MOST_SEED

RANGES = {"samples": (LEAST_SAMPLES, MOST_SAMPLES), "seed": (0, MOST_SEED)}


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument(
        "study", type=Path, metavar="STUDY", help="study file; its [uncertainty] says what scatters"
    )
    one.add_argument("--variant", metavar="NAME", help="layout (default: the base)")
    one.add_argument("--samples", type=int, metavar="N", help="bodies drawn, in place of the study's")
    one.add_argument("--seed", type=int, metavar="N", help="in place of the study's")
    add_outputs(one, "uncertainty")
    one.add_argument("--no-front-view", action="store_true", help="closed-form frame only")


def run(arguments: argparse.Namespace) -> int:
    """Bands and probabilities into the report folder."""
    if faults := tuple(_faults(arguments)):
        raise InputError(faults)
    study = load(arguments.study)
    out = arguments.out or Path(f"uncertainty-{arguments.study.stem}")
    files.refuse_foreign_folder(out, FOLDER_MARK)
    found = uncertainty(
        study,
        variant=arguments.variant,
        samples=arguments.samples,
        seed=arguments.seed,
        front_view=not arguments.no_front_view,
        progress=teller(arguments.quiet),
    )
    files.prepare_folder(out, marker=FOLDER_MARK)
    written = {"uncertainty.json": as_json(found), **uncertainty_tables.csv_files(found)}
    written["uncertainty.html"] = uncertainty_page.render(found, accuracy=STATEMENT)
    for name, text in written.items():
        files.write_text_atomic(out / name, text)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(found))
    if not arguments.quiet:
        print(uncertainty_tables.terminal(found, width=columns()))
        print(f"\nreport: {out / 'uncertainty.html'}")
    return 0


def _faults(arguments: argparse.Namespace) -> Iterator[Fault]:
    """Numbers outside their range."""
    for name, (low, high) in RANGES.items():
        value = getattr(arguments, name)
        if value is not None and not low <= value <= high:
            yield Fault(f"--{name}", f"{value}", f"a whole number, {low} to {high}", "give one of these")
