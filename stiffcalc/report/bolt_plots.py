"""Pictures of a matrix of bolts: a heat map for each sharing of the bolts, and mass against onset pressure."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import cycle
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from stiffcalc.explore.bolt_results import BoltMatrix, Row
from stiffcalc.explore.bolt_rules import RULES
from stiffcalc.quantities import Quantity, quantity
from stiffcalc.report import bolt_tables, canvas
from stiffcalc.report.canvas import BAD, INK, MAP_INK, SOFT, Picture

AIM_KEYS = {
    "least mass": "mass.total",
    "least spread": "spread",
    "highest onset": "onset_MPa",
    "best worst margin": "worst_margin",
}
WRITTEN = {"mass.total": "worst_margin"}  # in the cells, where the coloured figure hardly changes along a row
CELL = 0.25  # inches high
MOST_WRITTEN = 8  # columns with figures in their cells; more are too narrow for them
DARK = 0.4  # of the colour scale, below which light letters are read better
MARKS = ("o", "s", "^", "D", "v", "P", "X", "p", "*", "h")
Panel = tuple[tuple[int, ...], int, bool]  # pattern, count, as drawn


def panels(matrix: BoltMatrix) -> list[Panel]:
    """The sharings of the bolts, in the order of the matrix."""
    found = {(r.pattern, r.count, r.drawn) for r in matrix.rows}
    return sorted(found, key=lambda p: (p[1], p[0], not p[2]))


def panel_name(panel: Panel) -> str:
    """4 bolts, 2+2, as drawn."""
    pattern, count, drawn = panel
    shared = ", " + "+".join(map(str, pattern)) if pattern else ""
    return f"{count} bolts{shared}, {bolt_tables.PLACED[drawn]}"


def aimed(row: Row, key: str) -> float:
    """The aim's figure of a row by the frame, in its shown unit; NaN without."""
    if row.frame is None or row.mass is None:
        return np.nan
    value = row.mass.total if key == "mass.total" else getattr(row.frame, key)
    return np.nan if value is None else value * quantity(key).factor


def scale(matrix: BoltMatrix) -> Normalize:
    """One colour scale for every panel, over the finite figures."""
    found = np.array([aimed(r, AIM_KEYS[matrix.aim]) for r in matrix.rows])
    found = found[np.isfinite(found)]
    low, high = (found.min(), found.max()) if len(found) else (0.0, 1.0)
    return Normalize(low, high if high > low else low + 1.0)


@canvas.drawn
def heat_map(matrix: BoltMatrix, panel: Panel) -> Picture:
    """Size and grade down, row shift across; colour: the aim's figure by the frame; refused cells hatched."""
    rows = [r for r in matrix.rows if (r.pattern, r.count, r.drawn) == panel]
    down = list(dict.fromkeys((r.thread, r.grade) for r in _ordered(rows)))
    across = sorted({r.row_shift for r in rows})
    letters = sorted({r.refused.letter: RULES[r.refused.rule].broken for r in rows if r.refused}.items())
    q = quantity(AIM_KEYS[matrix.aim])
    key = _key(letters, quantity(WRITTEN.get(q.key, q.key)))
    foot = 0.62 + 0.17 * len(key)
    fig = canvas.figure(canvas.WIDE, 0.12 + CELL * len(down) + 0.42 + foot)
    ax = canvas.axes(fig, 1.28, foot + 0.42, 0.12, 0.12)
    norm = scale(matrix)
    for r in rows:
        _cell(ax, r, across.index(r.row_shift), down.index((r.thread, r.grade)), norm, q, written=len(across))
    _grid(ax, across, down)
    canvas.colour_bar(fig, norm, f"{q.label}, frame", bottom=0.17 * len(key) + 0.42)
    for i, line in enumerate(key):
        fig.text(
            0.12 / canvas.WIDE,
            (0.06 + 0.17 * (len(key) - 1 - i)) / fig.get_size_inches()[1],
            line,
            fontsize=7.5,
        )
    return canvas.picture(
        fig,
        f"matrix-{'-'.join(map(str, panel[0])) or 'none'}-{panel[1]}-{'drawn' if panel[2] else 'placed'}",
        title=panel_name(panel),
        alt=_alt(panel, rows, q),
    )


def _ordered(rows: Sequence[Row]) -> list[Row]:
    """By size, then by grade as the grades' strengths go in the names."""
    return sorted(rows, key=lambda r: (_size(r.thread), r.grade.rjust(9)))


def _size(thread: str) -> tuple[float, float]:
    d, _, pitch = thread.removeprefix("M").partition("x")
    return float(d), -float(pitch or 0.0)


def _key(letters: Sequence[tuple[str, str]], number: Quantity) -> list[str]:
    """What letters and marks mean, a line each."""
    marks = [
        f"number: {number.label} · ✕ a check is not met",
        "thick frame: best · dashed: the study's own bolts",
    ]
    return [*(f"{letter}: {words}" for letter, words in letters), *marks]


def _cell(ax: Axes, r: Row, x: int, y: int, norm: Normalize, q: Quantity, *, written: int) -> None:
    """One combination."""
    value = aimed(r, q.key)
    if r.frame is None:
        letter = r.refused.letter if r.refused else ""
        ax.add_patch(Rectangle((x, y), 1, 1, facecolor="none", edgecolor=SOFT, hatch="////", linewidth=0.4))
        canvas.tag(ax, x + 0.5, y + 0.5, letter, INK, fontsize=7.5)
        return
    face = canvas.FIELD(norm(value)) if np.isfinite(value) else canvas.MAP_PAPER
    ax.add_patch(Rectangle((x, y), 1, 1, facecolor=face, edgecolor="none"))
    number = quantity(WRITTEN.get(q.key, q.key))
    text = _short(number, aimed(r, number.key)) if written <= MOST_WRITTEN else ""
    text += " ✕" if r.frame.unmet else ""
    ink = MAP_INK if not np.isfinite(value) or norm(value) > DARK else canvas.MAP_PAPER
    ax.text(x + 0.5, y + 0.5, text.strip(), color=ink, fontsize=7, ha="center", va="center")
    if r.own or r.rank == 1:
        inner: dict[str, Any] = {
            "facecolor": "none",
            "edgecolor": ink,
            "linewidth": 2.0 if r.rank == 1 else 1.2,
            "zorder": 3,
        }
        style: canvas.Dash = "-" if r.rank == 1 else (0, (2, 1.5))
        ax.add_patch(Rectangle((x + 0.03, y + 0.06), 0.94, 0.88, linestyle=style, **inner))


def _short(q: Quantity, shown: float) -> str:
    """A figure for a narrow cell: percentages of ten and more without decimals."""
    whole = q.shown == "%" and abs(shown) >= 10 and np.isfinite(shown)
    return f"{shown:.0f}".replace("-", "−") if whole else q.text(shown / q.factor)


def _grid(ax: Axes, across: Sequence[float], down: Sequence[tuple[str, str]]) -> None:
    """Axes of the matrix."""
    ax.set_xlim(0, len(across))
    ax.set_ylim(len(down), 0)
    ax.set_xticks(np.arange(len(across)) + 0.5, [bolt_tables.shift(s) for s in across])
    ax.set_yticks(np.arange(len(down)) + 0.5, [f"{thread} · {grade}" for thread, grade in down])
    ax.tick_params(length=0)
    for side in ("left", "bottom"):
        ax.spines[side].set_visible(False)
    ax.set_xlabel("row shift, mm (inward − … outward +)", labelpad=2)


def _alt(panel: Panel, rows: Sequence[Row], q: Quantity) -> str:
    solved = [r for r in rows if r.frame]
    values = [v for v in (aimed(r, q.key) for r in solved) if np.isfinite(v)]
    span = (
        f"{q.label} from {q.text(min(values) / q.factor)} to {q.text(max(values) / q.factor)}; "
        if values
        else ""
    )
    met = sum(r.frame is not None and r.frame.unmet == 0 for r in solved)
    return (
        f"Heat map, {panel_name(panel)}: {span}{met} of {len(rows)} combinations meet every check, "
        f"{len(rows) - len(solved)} are refused."
    )


@canvas.drawn
def mass_against_onset(matrix: BoltMatrix) -> Picture:
    """Every evaluated combination by the frame: full marks meet every check; the pressure the joint has to hold."""
    solved = [r for r in matrix.rows if r.frame and r.mass and np.isfinite(r.frame.onset_MPa)]
    kinds = [p for p in panels(matrix) if any((r.pattern, r.count, r.drawn) == p for r in solved)]
    fig = canvas.figure(canvas.WIDE, 2.95 + 0.17 * len(kinds))
    ax = canvas.axes(fig, 0.6, 0.45, 0.2, 0.27 + 0.17 * len(kinds))
    kg, onset = quantity("mass.total"), quantity("onset_MPa")
    for i, (kind, mark) in enumerate(zip(kinds, cycle(MARKS), strict=False)):
        own = [r for r in solved if (r.pattern, r.count, r.drawn) == kind]
        _marks(ax, own, mark, canvas.pen(i))
        _legend(fig, 0.16 + 0.17 * i, mark, canvas.pen(i), panel_name(kind))
    if np.isfinite(matrix.hold_MPa):
        ax.axhline(matrix.hold_MPa, color=BAD, linewidth=1.0, linestyle=(0, (5, 2)))
        text = f"has to stay closed up to {onset.with_unit(matrix.hold_MPa)}"
        canvas.tag(
            ax, 0, matrix.hold_MPa, text, BAD, xycoords=("axes fraction", "data"), xytext=(4, 7), ha="left"
        )
    ax.margins(x=0.12)
    top = max(
        [
            matrix.hold_MPa if np.isfinite(matrix.hold_MPa) else 1.0,
            *(r.frame.onset_MPa for r in solved if r.frame),
        ]
    )
    ax.set_ylim(0, 1.15 * top)
    _named(ax, matrix)
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_locator(canvas.ticks())
    ax.grid(True)
    ax.set_xlabel(kg.label)
    ax.set_ylabel(f"{onset.label}, frame")
    _legend(fig, 0.16 + 0.17 * len(kinds), "o", SOFT, "full: meets every check, frame; hollow: does not")
    return canvas.picture(
        fig,
        "mass-onset",
        title="Mass against onset pressure",
        alt=f"Total mass against onset pressure of {len(solved)} combinations. {matrix.verdict}",
    )


def _marks(ax: Axes, rows: Sequence[Row], mark: str, colour: str) -> None:
    for r in rows:
        assert r.frame is not None and r.mass is not None  # chosen so
        full = r.frame.unmet == 0
        style: dict[str, Any] = {
            "color": colour,
            "markerfacecolor": colour if full else "none",
            "markersize": 4.5,
        }
        ax.plot([r.mass.total], [r.frame.onset_MPa], mark, linestyle="none", markeredgewidth=0.9, **style)


def _legend(fig: Figure, from_top: float, mark: str, colour: str, text: str) -> None:
    w, h = fig.get_size_inches()
    at = 1 - from_top / h
    ax = fig.add_axes((0.12 / w, at - 0.07 / h, 0.14 / w, 0.14 / h))
    ax.set_axis_off()
    ax.plot([0.5], [0.5], mark, color=colour, markersize=5)
    ax.set(xlim=(0, 1), ylim=(0, 1))
    fig.text(0.34 / w, at, text, va="center", fontsize=8)


def _named(ax: Axes, matrix: BoltMatrix) -> None:
    """The best and the study's own bolts by name."""
    best = next((r for r in matrix.rows if r.rank == 1), None)
    for r, text, where in ((best, "best", (9, 9)), (matrix.own, "as drawn", (9, -9))):
        if r is None or r.frame is None or r.mass is None or not np.isfinite(r.frame.onset_MPa):
            continue
        line = {"arrowstyle": "-", "color": INK, "lw": 0.8, "shrinkA": 0, "shrinkB": 2}
        at = (r.mass.total, r.frame.onset_MPa)
        right = at[0] < np.mean(ax.get_xlim())  # the word stands toward the middle
        place = (where[0] if right else -where[0], where[1])
        ax.annotate(
            text,
            at,
            xytext=place,
            textcoords="offset points",
            fontsize=8,
            arrowprops=line,
            bbox={"boxstyle": "round,pad=0.12", "fc": canvas.PAPER, "ec": "none", "alpha": 0.85},
            va="center",
            ha="left" if right else "right",
        )
