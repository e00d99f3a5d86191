"""What every command needs: the caution, the mark of a report folder, the width to print in, progress, JSON."""

from __future__ import annotations

import json
import shutil
import sys
from typing import Protocol

from stiffcalc.caliper.assess import Progress

CAUTION = (
    "Screening estimate only: validated FEA, proof, burst and fatigue tests, local codes and licensed practice "
    "decide."
)
FOLDER_MARK = ".stiffcalc-report"


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
