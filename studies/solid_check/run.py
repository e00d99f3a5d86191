"""Rebuild bodies as 3-D solids, solve them, and set the two models' answers beside theirs."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import dataset
from random_bodies import SEED, by_name

HERE = Path(__file__).parent


def main(argv: list[str] | None = None) -> int:
    options = _parser().parse_args(argv)
    names = [options.body] if options.body else dataset.standard_names(options.count)
    if options.out:
        options.out.mkdir(parents=True, exist_ok=True)
    for name in names:
        _one(name, seed=options.seed, out=options.out)
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=84, help="how many bodies of the standard list")
    parser.add_argument("--seed", type=int, default=SEED, help="of the random bodies; the stored set has the default")
    parser.add_argument("--out", type=Path, help="folder whose bodies.csv and results.csv are added to")
    parser.add_argument("--body", help="one body by name, such as one_07, two_12, pocket_03, unequal_01")
    return parser


def _one(name: str, *, seed: int, out: Path | None) -> None:
    if out and name in dataset.done(out / "bodies.csv"):
        return
    row, rows = dataset.solve_sample(by_name(name, seed=seed))
    glued = [r["opening_um_per_MPa"] for r in rows if r["state"] == "glued"]
    print(name, row["group"], row["unknowns"], f"{row['seconds']} s", "um/MPa", glued, flush=True)
    if out:
        dataset.append(out / "results.csv", rows, dataset.RESULT_COLUMNS)
        dataset.append(out / "bodies.csv", [row], list(row))


if __name__ == "__main__":
    sys.exit(main())
