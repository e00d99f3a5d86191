"""`stiffcalc catalogue`: what is known of materials, threads and grades, with sources."""

from __future__ import annotations

import argparse

from stiffcalc import catalogue
from stiffcalc.commands.shared import columns
from stiffcalc.report.listing import listing


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("kind", choices=("materials", "threads", "grades"))


def run(arguments: argparse.Namespace) -> int:
    """Print one list."""
    header, rows = catalogue.tables(arguments.kind)
    print(listing(header, rows, width=columns()))
    return 0
