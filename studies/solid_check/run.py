"""Rebuild bodies as 3-D solids, solve them, and set the frame's and the front view's answers beside theirs."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path

import dataset
from compare import Comparison, compare, summary, text
from shaped_bodies import by_name

HERE = Path(__file__).parent


def main(argv: list[str] | None = None) -> int:
    options = _parser().parse_args(argv)
    items = []
    for item in _stored(options) if options.stored else _solved(options):
        print(text(item), end="\n\n", flush=True)
        items.append(item)
    if len(items) > 1:
        print(summary(items))
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=84, help="how many bodies of the standard list")
    parser.add_argument(
        "--seed", type=int, default=None, help="of the random bodies; the stored set has the default"
    )
    parser.add_argument("--out", type=Path, help="folder whose bodies.csv and results.csv are added to")
    parser.add_argument(
        "--body", help="one body by name, such as one_07, two_12, pocket_03, unequal_01, shape_04"
    )
    parser.add_argument(
        "--stored",
        nargs="?",
        type=Path,
        const=HERE,
        metavar="DIR",
        help="take the solids from the stored results (of a folder, default this one), solve none",
    )
    return parser


def _names(options: argparse.Namespace) -> list[str]:
    return [options.body] if options.body else dataset.standard_names(options.count)


def _stored(options: argparse.Namespace) -> Iterator[Comparison]:
    """Bodies whose solids were solved before."""
    results = dataset.read_rows(options.stored / "results.csv")
    rows = {row["body"]: row for row in dataset.read_rows(options.stored / "bodies.csv")}
    shaped = [name for name in rows if name.startswith("shape_") and not options.body]
    return (compare(rows[name], results) for name in _names(options) + shaped if name in rows)


def _solved(options: argparse.Namespace) -> Iterator[Comparison]:
    """Bodies solved now; those that `--out` already holds are passed over."""
    known = dataset.done(options.out / "bodies.csv") if options.out else set()
    for name in (n for n in _names(options) if n not in known):
        row, rows = dataset.solve_sample(by_name(name, seed=options.seed))
        if options.out:
            options.out.mkdir(parents=True, exist_ok=True)
            dataset.append(options.out / "results.csv", rows, dataset.RESULT_COLUMNS)
            dataset.append(options.out / "bodies.csv", [row], list(row))
        yield compare(dataset.as_text(row), [dataset.as_text(r) for r in rows])


if __name__ == "__main__":
    sys.exit(main())
