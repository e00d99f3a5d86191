"""`stiffcalc bolts`: counts, sizes, grades and row positions tried on one layout."""

from __future__ import annotations

import argparse
from pathlib import Path

from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.commands.shared import FOLDER_MARK, add_outputs, as_json, columns, teller
from stiffcalc.exchange import files
from stiffcalc.explore.bolt_matrix import bolt_matrix
from stiffcalc.report import bolt_page, bolt_tables
from stiffcalc.study import load
from stiffcalc.study.bolts import AIMS


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file; its [bolts] says what to try")
    one.add_argument("--variant", metavar="NAME", help="layout (default: the first that has bolts)")
    one.add_argument("--aim", choices=[a.replace(" ", "-") for a in AIMS], help="in place of the study's")
    add_outputs(one, "bolts")
    one.add_argument("--no-front-view", action="store_true", help="leave the best ten to the frame")


def run(arguments: argparse.Namespace) -> int:
    """Try, then write the folder."""
    study = load(arguments.study)
    out = arguments.out or Path(f"bolts-{arguments.study.stem}")
    files.refuse_foreign_folder(out, FOLDER_MARK)
    matrix = bolt_matrix(
        study,
        variant=arguments.variant,
        aim=arguments.aim and arguments.aim.replace("-", " "),
        front_view=not arguments.no_front_view,
        progress=teller(arguments.quiet),
    )
    files.prepare_folder(out, marker=FOLDER_MARK)
    written = {
        "bolt_matrix.json": as_json(matrix),
        "bolt_matrix.csv": bolt_tables.csv_file(matrix),
        "bolt_matrix.html": bolt_page.render(matrix, accuracy=STATEMENT),
    }
    for name, text in written.items():
        files.write_text_atomic(out / name, text)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(matrix))
    if not arguments.quiet:
        print(bolt_tables.terminal(matrix, width=columns()))
        print(f"\nreport: {out / 'bolt_matrix.html'}")
    return 0
