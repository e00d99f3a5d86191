"""`stiffcalc new`: a commented starting study."""

from __future__ import annotations

import argparse
from importlib import resources
from pathlib import Path

from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("file", type=Path, metavar="FILE", help="file to write; never overwritten")


def run(arguments: argparse.Namespace) -> int:
    """Write it where nothing is yet."""
    target: Path = arguments.file
    if target.exists():
        raise InputError([Fault(str(target), "an existing file", "a new file", "give another name")])
    template = resources.files("stiffcalc.study").joinpath("template.toml").read_text(encoding="utf-8")
    files.write_text_atomic(target, template)
    print(f"{target}: written; edit it, then: stiffcalc assess {target}")
    return 0
