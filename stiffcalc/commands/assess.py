"""`stiffcalc assess`: a study answered, with figures corrected by readings where a correction is given."""

from __future__ import annotations

import argparse
from pathlib import Path

from stiffcalc.caliper import assess, results
from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.commands.shared import FOLDER_MARK, add_outputs, as_json, columns, teller
from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files
from stiffcalc.readings.beside import Beside, beside, refuse_other_layouts
from stiffcalc.readings.correction import load_correction
from stiffcalc.report import corrected, page, tables
from stiffcalc.study import load

CORRECTED = "corrected.csv"


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file (TOML, format 1)")
    add_outputs(one, "report")
    one.add_argument("--no-front-view", action="store_true", help="closed-form frame only")
    one.add_argument(
        "--solid",
        action="store_true",
        help="solve bolted layouts as 3-D solids too: onset, bolt forces (slow)",
    )
    one.add_argument("--no-page", action="store_true", help="leave the HTML page out of the report folder")
    one.add_argument("--correction", type=Path, metavar="FILE", help="show it beside the raw figures")


def run(arguments: argparse.Namespace) -> int:
    """Answer, then write the folder."""
    if arguments.solid and arguments.no_front_view:
        raise InputError(
            [
                Fault(
                    "--solid", "with --no-front-view", "one of them", "the solid stands beside the front view"
                )
            ]
        )
    study = load(arguments.study)
    found = load_correction(arguments.correction) if arguments.correction else None
    if found is not None:
        refuse_other_layouts(found, study, name=str(arguments.correction))
    out = arguments.out or Path(f"report-{arguments.study.stem}")
    files.refuse_foreign_folder(out, FOLDER_MARK)
    answer = assess.assess(
        study,
        front_view=not arguments.no_front_view,
        solid=arguments.solid,
        progress=teller(arguments.quiet),
    )
    files.prepare_folder(out, marker=FOLDER_MARK)
    shown = None if found is None else beside(found, study, answer)
    write(answer, out, with_page=not arguments.no_page, shown=shown)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(answer))
    if not arguments.quiet:
        print(tables.terminal(answer, width=columns()))
        if shown is not None:
            print(f"\n{corrected.terminal(shown, width=columns())}")
        print(f"\nreport: {out / ('openings.csv' if arguments.no_page else 'report.html')}")
    return 0


def write(answer: results.Results, out: Path, *, with_page: bool, shown: Beside | None) -> None:
    """The report folder: results.json, CSV tables, report.html; figures corrected by readings apart from them."""
    files.write_text_atomic(out / "results.json", as_json(answer))
    for name, text in tables.csv_files(answer).items():
        files.write_text_atomic(out / name, text)
    (out / CORRECTED).unlink(missing_ok=True)  # of an earlier run
    if shown is not None:
        files.write_text_atomic(out / CORRECTED, corrected.csv_file(shown))
    if with_page:
        section = corrected.section(shown) if shown is not None else ""
        files.write_text_atomic(
            out / "report.html", page.render(answer, accuracy=STATEMENT, corrected=section)
        )
