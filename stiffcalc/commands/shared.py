"""What every command needs: the mark of a report folder, the width to print in, progress, JSON."""

from __future__ import annotations

import argparse
import json
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, Protocol

from stiffcalc.errors import Fault, InputError

if TYPE_CHECKING:  # the command line imports this module before anything of weight
    from stiffcalc.caliper.assess import Progress

FOLDER_MARK = ".stiffcalc-report"
ACCURACY = (0.01, 50.0)  # percent of a peak stress that may be asked


class Answer(Protocol):
    """Anything that can be written as JSON."""

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists."""
        ...


def as_json(answer: Answer) -> str:
    """The answer as text; same inputs, same bytes."""
    return json.dumps(answer.to_dict(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def columns() -> int:
    """Width to print in: the terminal's, at least 80."""
    return max(80, shutil.get_terminal_size((100, 24)).columns)


def teller(quiet: bool) -> Progress:
    """What reports progress on standard error."""

    def tell(text: str) -> None:
        print(text, file=sys.stderr, flush=True)

    return (lambda text: None) if quiet else tell


def add_outputs(command: argparse.ArgumentParser, folder: str) -> None:
    """Where the answer goes: the arguments `--out`, `--json`, `--quiet`."""
    command.add_argument(
        "--out", type=Path, metavar="DIR", help=f"report folder (default: {folder}-STUDY here)"
    )
    command.add_argument("--json", type=Path, metavar="FILE", help="write the answer here as well")
    command.add_argument("--quiet", action="store_true", help="print neither progress nor table")


def add_resume(command: argparse.ArgumentParser, what: str) -> None:
    """The argument `--resume`."""
    command.add_argument("--resume", action="store_true", help=f"go on with the same {what} where it stopped")


def refuse_resume(out: Path, what: str) -> NoReturn:
    """Nothing was begun where `--resume` is to go on: raises InputError."""
    allowed = f"a folder in which a {what} was begun"
    mend = "give that folder with --out, or leave --resume out"
    raise InputError([Fault("--resume", f"no {what} to go on with in {out}", allowed, mend)])


def add_accuracy(command: argparse.ArgumentParser) -> None:
    """The argument `--accuracy`."""
    command.add_argument(
        "--accuracy", type=float, metavar="PERCENT", default=2.0, help="asked of the peak stress (default: 2)"
    )


def accuracy(arguments: argparse.Namespace) -> float:
    """The share of a peak stress that `--accuracy` asks for. Raises InputError."""
    low, high = ACCURACY
    percent: float = arguments.accuracy
    if not low <= percent <= high:
        allowed = f"{low:g} to {high:g} percent"
        raise InputError([Fault("--accuracy", f"{percent:g}", allowed, "leave it out for 2")])
    return percent / 100.0
