"""`stiffcalc sensitivity`: what each dimension does to spread, tilt, mass and the worst margin."""

from __future__ import annotations

import argparse
from pathlib import Path

from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.commands.shared import FOLDER_MARK, add_outputs, as_json, columns, teller
from stiffcalc.exchange import files
from stiffcalc.explore.sensitivity import sensitivities
from stiffcalc.report import sensitivity_page, sensitivity_tables
from stiffcalc.study import load


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file (TOML, format 1)")
    one.add_argument("--variant", metavar="NAME", help="layout (default: the base)")
    add_outputs(one, "sensitivity")
    one.add_argument("--no-front-view", action="store_true", help="closed-form frame only, without tilt")


def run(arguments: argparse.Namespace) -> int:
    """Slopes into the report folder."""
    study = load(arguments.study)
    out = arguments.out or Path(f"sensitivity-{arguments.study.stem}")
    files.refuse_foreign_folder(out, FOLDER_MARK)
    found = sensitivities(
        study,
        variant=arguments.variant,
        front_view=not arguments.no_front_view,
        progress=teller(arguments.quiet),
    )
    files.prepare_folder(out, marker=FOLDER_MARK)
    files.write_text_atomic(out / "sensitivity.json", as_json(found))
    files.write_text_atomic(out / "sensitivity.csv", sensitivity_tables.csv_file(found))
    files.write_text_atomic(out / "sensitivity.html", sensitivity_page.render(found, accuracy=STATEMENT))
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(found))
    if not arguments.quiet:
        print(sensitivity_tables.terminal(found, width=columns()))
        print(f"\nreport: {out / 'sensitivity.html'}")
    return 0
