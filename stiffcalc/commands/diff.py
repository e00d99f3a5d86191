"""`stiffcalc diff`: what differs between two studies, and what has to be done again."""

from __future__ import annotations

import argparse
import math
from pathlib import Path

from stiffcalc.commands.shared import as_json, columns, teller
from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files
from stiffcalc.explore.changes import THRESHOLD, compare_studies
from stiffcalc.report import change_tables
from stiffcalc.study import load


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study_a", type=Path, metavar="STUDY_A", help="study file before")
    one.add_argument("study_b", type=Path, metavar="STUDY_B", help="study file after")
    one.add_argument("--json", type=Path, metavar="FILE", help="write the differences here")
    one.add_argument(
        "--threshold",
        type=float,
        default=THRESHOLD,
        metavar="PERCENT",
        help=f"figures that moved by more are listed (default {THRESHOLD:g})",
    )
    one.add_argument("--quiet", action="store_true", help="print neither progress nor table")
    one.add_argument("--no-front-view", action="store_true", help="closed-form frame only")


def run(arguments: argparse.Namespace) -> int:
    """Compare."""
    threshold = arguments.threshold
    if not 0 <= threshold < math.inf:
        raise InputError([Fault("--threshold", f"{threshold:g}", "a percentage from 0", "give 2 for 2 %")])
    changes = compare_studies(
        load(arguments.study_a),
        load(arguments.study_b),
        threshold=threshold,
        front_view=not arguments.no_front_view,
        progress=teller(arguments.quiet),
    )
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(changes))
    if not arguments.quiet:
        print(change_tables.terminal(changes, width=columns()))
    return 0
