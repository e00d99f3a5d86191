"""`stiffcalc check`: a study file's faults, or what it leaves to defaults."""

from __future__ import annotations

import argparse
from pathlib import Path

from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.errors import InputError
from stiffcalc.study import load


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file (TOML, format 1)")


def run(arguments: argparse.Namespace) -> int:
    """Validate and list."""
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
