"""`stiffcalc pockets`: where the metal of the outer faces should be, and rectangular pockets that follow it."""

from __future__ import annotations

import argparse
from pathlib import Path

from stiffcalc.caliper.accuracy import STATEMENT
from stiffcalc.commands.shared import FOLDER_MARK, add_outputs, as_json, columns, teller
from stiffcalc.exchange import files
from stiffcalc.exchange.toml import toml_text
from stiffcalc.explore.pocket_variant import proposal_study
from stiffcalc.explore.pockets import pockets
from stiffcalc.report import pocket_page, pocket_tables
from stiffcalc.study import load


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument(
        "study", type=Path, metavar="STUDY", help="study file; its [pockets] says what may be milled"
    )
    one.add_argument("--variant", metavar="NAME", help="layout (default: the base)")
    add_outputs(one, "pockets")


def run(arguments: argparse.Namespace) -> int:
    """Field, pockets and the proposal's study file into the report folder."""
    study = load(arguments.study)
    out = arguments.out or Path(f"pockets-{arguments.study.stem}")
    files.refuse_foreign_folder(out, FOLDER_MARK)
    found = pockets(study, variant=arguments.variant, progress=teller(arguments.quiet))
    files.prepare_folder(out, marker=FOLDER_MARK)
    written = {
        "pockets.json": as_json(found),
        "field.csv": pocket_tables.csv_field(found),
        "pockets.csv": pocket_tables.csv_boxes(found),
        "proposal.toml": toml_text(proposal_study(study, found)),
        "pockets.html": pocket_page.render(found, accuracy=STATEMENT),
    }
    for name, text in written.items():
        files.write_text_atomic(out / name, text)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(found))
    if not arguments.quiet:
        print(pocket_tables.terminal(found, width=columns()))
        print(f"\nreport: {out / 'pockets.html'}; variant: {out / 'proposal.toml'}")
    return 0
