"""A search for pockets as text: a table for the terminal, and CSV."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

import numpy as np

from stiffcalc.explore.pocket_results import Pockets, Stage
from stiffcalc.quantities import quantity
from stiffcalc.report.listing import aligned
from stiffcalc.report.sheets import Cell, csv_text

HEAD = ["body", "mass_kg", "spread_µm", "less_%", "tilt_mrad", "frame_µm"]


def terminal(found: Pockets, width: int = 100) -> str:
    """Bodies, pockets, verdict, what is not met and cautions; at most `width` (80 or more) columns.

    Raises ValueError for a width below 80.
    """
    if width < 80:
        raise ValueError(f"a table needs 80 columns, {width} were given")
    parts = [
        _wrap(f"{found.title}: pockets of '{found.layout}', {found.aim}, spread in '{found.case}'", width),
        aligned([HEAD, *(stage_line(s, found.case) for s in found.stages)]),
        aligned([["pocket", "x_mm", "y_mm", "depth_mm"], *pocket_lines(found)]),
        _wrap(found.verdict, width),
        "\n".join(_wrap(f"Not met: {line}", width) for line in unmet(found)),
        "\n".join(_wrap(f"Note: {n}", width) for n in (*found.notices, *found.validity)),
        "\n".join(_wrap(f"Caution: {c}", width) for c in found.cautions),
    ]
    return "\n\n".join(p for p in parts if p) + "\n"


def stage_line(s: Stage, case: str) -> list[str]:
    """One body in words: name, mass, spread in a load case, spread saved, tilt, spread by the frame."""
    frame = quantity("spread_frame").text(s.frame.get(case))
    return [
        s.name,
        quantity("pocket.mass").text(s.mass),
        quantity("spread").text(s.spread[case]),
        quantity("pocket.less").text(s.less),
        quantity("here.tilt").text(s.tilt),
        frame,
    ]


def pocket_lines(found: Pockets) -> Iterator[list[str]]:
    """Number and half, sides and depth of every pocket."""
    for h in found.halves:
        for i, b in enumerate(h.boxes, start=1):
            name = f"{i}" if h.side == "both" else f"{i} {h.side}"
            yield [name, *(f"{s[0]:g} to {s[1]:g}".replace("-", "−") for s in (b.x, b.y)), f"{b.depth:.2f}"]


def unmet(found: Pockets) -> Iterator[str]:
    """Checks of the proposal that are not met, beside the layout's own margin."""
    q = quantity("margin")
    for c in found.unmet:
        before = "no such check as drawn" if c.before is None else f"{q.with_unit(c.before)} as drawn"
        yield f"{c.what}, {c.case}: margin {q.with_unit(c.margin)} ({before})."


def csv_field(found: Pockets) -> str:
    """Every pixel of every half: place, depth of the field, what a cutter leaves, what is allowed, mm."""
    rows: list[Sequence[Cell]] = [["half", "x_mm", "y_mm", "depth_mm", "cut_mm", "allowed_mm"]]
    for h in found.halves:
        x, y = 0.5 * (h.x[1:] + h.x[:-1]), 0.5 * (h.y[1:] + h.y[:-1])
        for i, k in np.ndindex(len(y), len(x)):
            depth, cut, allowed = (round(float(v[i, k]), 3) for v in (h.field, h.cut, h.allowed))
            rows.append([h.side, round(float(x[k]), 3), round(float(y[i]), 3), depth, cut, allowed])
    return csv_text(rows)


def csv_boxes(found: Pockets) -> str:
    """Every pocket of every half, mm."""
    rows: list[Sequence[Cell]] = [
        ["half", "x0_mm", "x1_mm", "y0_mm", "y1_mm", "depth_mm", "corner_radius_mm"]
    ]
    for h in found.halves:
        rows.extend([h.side, *b.x, *b.y, round(b.depth, 2), found.cutter / 2] for b in h.boxes)
    return csv_text(rows)


def _wrap(text: str, width: int) -> str:
    return textwrap.fill(" ".join(text.split()), width, subsequent_indent="  ")
