"""`stiffcalc correlate`: readings of one layout beside its prediction, and a correction out of them."""

from __future__ import annotations

import argparse
import math
from pathlib import Path

from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.commands.shared import FOLDER_MARK, add_outputs, as_json, columns, teller
from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files
from stiffcalc.readings.correction import correction, to_toml
from stiffcalc.readings.correlate import correlate
from stiffcalc.readings.kinds import points_of
from stiffcalc.readings.results import Correlation
from stiffcalc.readings.table import load_readings
from stiffcalc.readings.template import template
from stiffcalc.report import readings_page, readings_tables
from stiffcalc.study import load
from stiffcalc.study.lookup import design_named
from stiffcalc.study.schema import Design, Study

CORRECTION = "correction.toml"


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file (TOML, format 1)")
    one.add_argument("readings", type=Path, nargs="?", metavar="READINGS", help="readings in long form (CSV)")
    one.add_argument("--variant", metavar="NAME", help="the layout that was read (default: the base)")
    one.add_argument(
        "--template", type=Path, metavar="FILE", help="write a starting file of readings instead"
    )
    one.add_argument("--take-up", type=float, metavar="MPA", help="drop readings below this (default: found)")
    add_outputs(one, "readings")
    one.add_argument("--no-front-view", action="store_true", help="closed-form frame only")


def run(arguments: argparse.Namespace) -> int:
    """Compare, or write a template."""
    study = load(arguments.study)
    design = design_named(study, arguments.variant) if arguments.variant else study.designs[0]
    if arguments.template:
        return write_template(study, design, arguments.template)
    if arguments.readings is None:
        allowed = "a file of readings, or --template FILE to write one"
        raise InputError([Fault("READINGS", "nothing", allowed, "give one of them")])
    take_up = arguments.take_up
    if take_up is not None and not 0 <= take_up < math.inf:
        raise InputError([Fault("--take-up", f"{take_up:g}", "a pressure from 0, MPa", "give 0 for none")])
    readings = load_readings(arguments.readings, points=points_of(design.caliper))
    out = arguments.out or Path(f"readings-{arguments.study.stem}")
    files.refuse_foreign_folder(out, FOLDER_MARK)
    answer = correlate(
        study,
        design,
        readings,
        take_up=take_up,
        front_view=not arguments.no_front_view,
        progress=teller(arguments.quiet),
    )
    files.prepare_folder(out, marker=FOLDER_MARK)
    (out / CORRECTION).unlink(missing_ok=True)  # of an earlier run
    for name, text in written(answer).items():
        files.write_text_atomic(out / name, text)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(answer))
    if not arguments.quiet:
        print(readings_tables.terminal(answer, width=columns()))
        print(f"\nreport: {out / 'readings.html'}\ncorrection: {saved(answer, out)}")
    return 0


def written(answer: Correlation) -> dict[str, str]:
    """Files of the report folder; a correction only where there is a ratio to correct by."""
    found = {"readings.json": as_json(answer), **readings_tables.csv_files(answer)}
    found["readings.html"] = readings_page.render(answer, accuracy=STATEMENT)
    ratios = correction(answer)
    if ratios.entries:
        found[CORRECTION] = to_toml(ratios, cautions=answer.cautions)
    return found


def saved(answer: Correlation, out: Path) -> str:
    """Where the correction is, or that there is none."""
    return str(out / CORRECTION) if correction(answer).entries else "none, no ratio can be used"


def write_template(study: Study, design: Design, target: Path) -> int:
    """A starting file of readings; never overwrites."""
    if target.exists():
        raise InputError([Fault(str(target), "an existing file", "a new file", "give another name")])
    files.write_text_atomic(target, template(study, design))
    print(f"{target}: written; fill in the values, then: stiffcalc correlate STUDY {target}")
    return 0
