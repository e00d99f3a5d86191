"""The command line: arguments -> calls -> exit status. The only place that prints or catches.

Exit status: 0 done, 1 a calculation failed, 2 bad input or an output that cannot be written.
"""

from __future__ import annotations

import argparse
import io
import json
import shutil
import sys
from collections.abc import Sequence
from importlib import resources
from pathlib import Path

from stiffcalc import __version__, catalogue
from stiffcalc.caliper import assess, results
from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.errors import Fault, InputError, StiffcalcError
from stiffcalc.exchange import files
from stiffcalc.explore.bolt_matrix import bolt_matrix
from stiffcalc.explore.bolt_results import BoltMatrix
from stiffcalc.report import bolt_page, bolt_tables, page, tables
from stiffcalc.report.listing import listing
from stiffcalc.study import load
from stiffcalc.study.bolts import AIMS

DESCRIPTION = (
    "Structural pre-design of fixed (opposed-piston) disc-brake calipers: how far the body opens under pressure, "
    "whether the joint holds, what it weighs, and which layout is better."
)
CAUTION = (
    "Screening estimate only: validated FEA, proof, burst and fatigue tests, local codes and licensed practice "
    "decide."
)
FOLDER_MARK = ".stiffcalc-report"


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal that lacks a sign shows a question mark instead
            stream.reconfigure(errors="replace")
    arguments = parser().parse_args(argv)
    try:
        return int(arguments.run(arguments))
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    except StiffcalcError as error:
        print(f"calculation failed: {error}", file=sys.stderr)
        return 1
    except OSError as error:
        print(f"{error.filename}: {error.strerror}; choose another place", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("stopped; nothing was written", file=sys.stderr)
        return 130


def parser() -> argparse.ArgumentParser:
    """All commands and options."""
    top = argparse.ArgumentParser(prog="stiffcalc", description=DESCRIPTION, epilog=CAUTION)
    top.add_argument("--version", action="version", version=f"stiffcalc {__version__}")
    commands = top.add_subparsers(required=True, metavar="COMMAND")

    one = commands.add_parser(
        "assess", help="answer a study: opening, joint, mass, checks, layouts compared", epilog=CAUTION
    )
    one.add_argument("study", type=Path, metavar="STUDY", help="study file (TOML, format 1)")
    one.add_argument(
        "--out", type=Path, metavar="DIR", help="report folder (default: report-STUDY in this folder)"
    )
    one.add_argument("--json", type=Path, metavar="FILE", help="write the results contract here as well")
    one.add_argument("--quiet", action="store_true", help="print neither progress nor table")
    one.add_argument("--no-front-view", action="store_true", help="closed-form frame only")
    one.add_argument("--no-page", action="store_true", help="leave the HTML page out of the report folder")
    one.set_defaults(run=run_assess)

    bolts = commands.add_parser(
        "bolts", help="try bolt counts, sizes, grades and row positions on one layout", epilog=CAUTION
    )
    bolts.add_argument("study", type=Path, metavar="STUDY", help="study file; its [bolts] says what to try")
    bolts.add_argument("--variant", metavar="NAME", help="layout (default: the first that has bolts)")
    bolts.add_argument("--aim", choices=[a.replace(" ", "-") for a in AIMS], help="in place of the study's")
    bolts.add_argument("--out", type=Path, metavar="DIR", help="report folder (default: bolts-STUDY here)")
    bolts.add_argument("--json", type=Path, metavar="FILE", help="write the matrix here as well")
    bolts.add_argument("--quiet", action="store_true", help="print neither progress nor table")
    bolts.add_argument("--no-front-view", action="store_true", help="leave the best ten to the frame")
    bolts.set_defaults(run=run_bolts)

    check = commands.add_parser("check", help="validate a study file and list what was left to defaults")
    check.add_argument("study", type=Path, metavar="STUDY")
    check.set_defaults(run=run_check)

    new = commands.add_parser("new", help="write a commented starting study")
    new.add_argument("file", type=Path, metavar="FILE", help="file to write; never overwritten")
    new.set_defaults(run=run_new)

    known = commands.add_parser("catalogue", help="print what is known, with sources")
    known.add_argument("kind", choices=("materials", "threads", "grades"))
    known.set_defaults(run=run_catalogue)
    return top


def columns() -> int:
    """Width to print in: the terminal's, at least 80."""
    return max(80, shutil.get_terminal_size((100, 24)).columns)


def run_assess(arguments: argparse.Namespace) -> int:
    """`stiffcalc assess`."""
    study = load(arguments.study)
    out = arguments.out or Path(f"report-{arguments.study.stem}")
    files.prepare_folder(out, marker=FOLDER_MARK)
    answer = assess.assess(study, front_view=not arguments.no_front_view, progress=teller(arguments.quiet))
    write_report(answer, out, with_page=not arguments.no_page)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(answer))
    if not arguments.quiet:
        print(tables.terminal(answer, width=columns()))
        print(f"\nreport: {out / ('openings.csv' if arguments.no_page else 'report.html')}")
    return 0


def write_report(answer: results.Results, out: Path, *, with_page: bool) -> None:
    """The report folder: results.json, CSV tables, report.html."""
    files.write_text_atomic(out / "results.json", as_json(answer))
    for name, text in tables.csv_files(answer).items():
        files.write_text_atomic(out / name, text)
    if with_page:
        files.write_text_atomic(out / "report.html", page.render(answer, accuracy=STATEMENT))


def run_bolts(arguments: argparse.Namespace) -> int:
    """`stiffcalc bolts`."""
    study = load(arguments.study)
    out = arguments.out or Path(f"bolts-{arguments.study.stem}")
    files.prepare_folder(out, marker=FOLDER_MARK)
    matrix = bolt_matrix(
        study,
        variant=arguments.variant,
        aim=arguments.aim and arguments.aim.replace("-", " "),
        front_view=not arguments.no_front_view,
        progress=teller(arguments.quiet),
    )
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


def as_json(answer: results.Results | BoltMatrix) -> str:
    """The results contract as text; same inputs, same bytes."""
    return json.dumps(answer.to_dict(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def teller(quiet: bool) -> assess.Progress:
    """What reports progress on standard error."""

    def tell(text: str) -> None:
        print(text, file=sys.stderr, flush=True)

    return (lambda text: None) if quiet else tell


def run_check(arguments: argparse.Namespace) -> int:
    """`stiffcalc check`."""
    study = load(arguments.study)
    if contradictions := tuple(torque_faults(study)):
        raise InputError(contradictions)
    print(
        f"{arguments.study}: valid; {len(study.designs)} layouts: {', '.join(d.name for d in study.designs)}"
    )
    defaults = (*study.defaults_used, *(study.bolts.defaults_used if study.bolts.stated else ()))
    print("\n".join(("left to defaults:", *(f"  {line}" for line in defaults))))
    return 0


def run_new(arguments: argparse.Namespace) -> int:
    """`stiffcalc new`."""
    target: Path = arguments.file
    if target.exists():
        raise InputError([Fault(str(target), "an existing file", "a new file", "give another name")])
    template = resources.files("stiffcalc.study").joinpath("template.toml").read_text(encoding="utf-8")
    files.write_text_atomic(target, template)
    print(f"{target}: written; edit it, then: stiffcalc assess {target}")
    return 0


def run_catalogue(arguments: argparse.Namespace) -> int:
    """`stiffcalc catalogue`."""
    header, rows = catalogue.tables(arguments.kind)
    print(listing(header, rows, width=columns()))
    return 0
