"""The command line: arguments -> calls -> exit status. The only place that prints or catches.

Exit status: 0 done, 1 a calculation failed, 2 bad input or an output that cannot be written.
"""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence
from importlib import resources
from pathlib import Path

from stiffcalc import __version__, catalogue
from stiffcalc.caliper import assess, results
from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.commands import (
    compare,
    correlate,
    diff,
    handover,
    pockets,
    section,
    sensitivity,
    size,
    sweep,
    uncertainty,
)
from stiffcalc.commands.shared import CAUTION, FOLDER_MARK, as_json, columns, teller
from stiffcalc.errors import Fault, InputError, StiffcalcError
from stiffcalc.exchange import files
from stiffcalc.explore.bolt_matrix import bolt_matrix
from stiffcalc.readings.beside import Beside, beside, refuse_other_layouts
from stiffcalc.readings.correction import load_correction
from stiffcalc.report import bolt_page, bolt_tables, corrected, page, tables
from stiffcalc.report.listing import listing
from stiffcalc.study import load
from stiffcalc.study.bolts import AIMS

DESCRIPTION = (
    "Structural pre-design of fixed (opposed-piston) disc-brake calipers: how far the body opens under pressure, "
    "whether the joint holds, what it weighs, and which layout is better."
)


CORRECTED = "corrected.csv"


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal that lacks a sign shows a question mark instead
            stream.reconfigure(errors="replace")
    arguments = parser().parse_args(argv)
    try:
        status = int(arguments.run(arguments))
        sys.stdout.flush()
        return status
    except BrokenPipeError:  # whoever read the output has seen enough, such as `head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nor may closing at exit complain
        return 1
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
    one.add_argument("--correction", type=Path, metavar="FILE", help="show it beside the raw figures")
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

    compare.add(commands)
    correlate.add(commands)
    diff.add(commands)
    pockets.add(commands)
    sensitivity.add(commands)
    uncertainty.add(commands)
    handover.add(commands)
    section.add(commands)
    size.add(commands)
    sweep.add(commands)

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


def run_assess(arguments: argparse.Namespace) -> int:
    """`stiffcalc assess`."""
    study = load(arguments.study)
    found = load_correction(arguments.correction) if arguments.correction else None
    if found is not None:
        refuse_other_layouts(found, study, name=str(arguments.correction))
    out = arguments.out or Path(f"report-{arguments.study.stem}")
    files.refuse_foreign_folder(out, FOLDER_MARK)
    answer = assess.assess(study, front_view=not arguments.no_front_view, progress=teller(arguments.quiet))
    files.prepare_folder(out, marker=FOLDER_MARK)
    shown = None if found is None else beside(found, study, answer)
    write_report(answer, out, with_page=not arguments.no_page, shown=shown)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(answer))
    if not arguments.quiet:
        print(tables.terminal(answer, width=columns()))
        if shown is not None:
            print(f"\n{corrected.terminal(shown, width=columns())}")
        print(f"\nreport: {out / ('openings.csv' if arguments.no_page else 'report.html')}")
    return 0


def write_report(answer: results.Results, out: Path, *, with_page: bool, shown: Beside | None) -> None:
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


def run_bolts(arguments: argparse.Namespace) -> int:
    """`stiffcalc bolts`."""
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


def run_check(arguments: argparse.Namespace) -> int:
    """`stiffcalc check`."""
    study = load(arguments.study)
    if contradictions := tuple(torque_faults(study)):
        raise InputError(contradictions)
    print(
        f"{arguments.study}: valid; {len(study.designs)} layouts: {', '.join(d.name for d in study.designs)}"
    )
    searches = study.bolts.defaults_used if study.bolts.stated else ()
    searches += study.sweep.defaults_used if study.sweep else ()
    searches += study.explore.defaults_used if study.explore and "explore" in study.source else ()
    searches += study.size.defaults_used if study.size else ()
    defaults = (*study.defaults_used, *searches)
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
