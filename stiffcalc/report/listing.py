"""A catalogue as text: short columns side by side, long ones below each row's name."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

SHORT = 14  # characters, longest cell of a column that stands in the table


def listing(header: Sequence[str], rows: Sequence[Sequence[str]], *, width: int = 110) -> str:
    """The short columns as a table, then the long ones as paragraphs, a row each; the first column names the row."""
    columns = range(len(header))
    short = [k for k in columns if k == 0 or max(len(row[k]) for row in rows) <= SHORT]
    table = aligned([[heading(header[k]) for k in short], *([row[k] for k in short] for row in rows)])
    notes = [paragraph(header, row, [k for k in columns if k not in short], width) for row in rows]
    return "\n\n".join((table, "\n".join(notes)))


def heading(text: str) -> str:
    """A heading with its unit joined on, so that it stays one column's word."""
    return text.replace(" ", "_")


def aligned(rows: Sequence[Sequence[str]]) -> str:
    """Rows of cells, the first column to the left, the others to the right."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    lines = []
    for row in rows:
        first = row[0].ljust(widths[0])
        others = [cell.rjust(w) for cell, w in zip(row[1:], widths[1:], strict=True)]
        lines.append("  ".join((first, *others)).rstrip())
    return "\n".join(lines)


def paragraph(header: Sequence[str], row: Sequence[str], long: Sequence[int], width: int) -> str:
    """What a row says in its long columns."""
    said = "; ".join(f"{header[k]}: {row[k]}" for k in long if row[k] != "-")
    return textwrap.fill(f"{row[0]}: {said}", width=width, subsequent_indent="    ", break_on_hyphens=False)
