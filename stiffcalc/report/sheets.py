"""CSV text: one way to write cells for every table."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

Cell = str | float | int | None


def csv_text(rows: Iterable[Sequence[Cell]]) -> str:
    """Rows as CSV: plain line ends, empty where there is no value, `inf` for what never comes."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows([_plain(c) for c in row] for row in rows)
    return out.getvalue()


def _plain(cell: Cell) -> str | int:
    """Ten significant digits: more than the models hold, few enough to read."""
    if cell is None:
        return ""
    return f"{float(cell):.10g}" if isinstance(cell, float) else cell
