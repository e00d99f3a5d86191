"""Tornado pictures: what a unit of each dimension does to spread, tilt, mass and the worst margin."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes

from stiffcalc.explore.sensitivity_results import Sensitivities, Slope
from stiffcalc.quantities import Quantity, quantity
from stiffcalc.report import canvas
from stiffcalc.report.canvas import BAD, INK, OK, Picture

ROWS = 14  # largest slopes shown; the table has all
ROW = 0.23  # inches
PANELS = ("spread", "tilt", "mass", "worst_margin")
KEYS = {
    "spread": "slope.spread",
    "tilt": "slope.tilt",
    "mass": "slope.mass",
    "worst_margin": "slope.worst_margin",
}


@canvas.drawn
def tornado(found: Sensitivities, figure: str) -> Picture:
    """The largest slopes of one figure, largest first; a bar to the right grows it."""
    slopes = largest(found, figure)
    q = quantity(KEYS[figure])
    fig = canvas.figure(canvas.WIDE, 0.62 + ROW * max(1, len(slopes)))
    ax = canvas.axes(fig, 1.72, 0.45, 0.15, 0.1)
    ax.set_ylim(max(1, len(slopes)) - 0.5, -0.5)
    reach = max((abs(_of(s, figure)) for s in slopes), default=1.0) * q.factor
    ax.set_xlim(-1.45 * reach, 1.45 * reach)
    for i, s in enumerate(slopes):
        _bar(ax, i, s, figure, q)
    ax.axvline(0, color=INK, linewidth=0.9)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.xaxis.set_major_locator(canvas.ticks())
    ax.grid(True, axis="x")
    ax.set_xlabel(f"{q.shown} for 1 mm more, or as named")
    named = "; ".join(f"{s.words} {q.with_unit(_of(s, figure))} per {s.per}" for s in slopes[:5])
    return canvas.picture(
        fig,
        f"tornado-{figure.replace('_', '-')}",
        title=q.words[0].upper() + q.words[1:],
        alt=f"Tornado of the {q.words}. {named}.",
    )


def largest(found: Sensitivities, figure: str) -> list[Slope]:
    """The slopes with the largest change of one figure; those that change it at all."""
    some = [s for s in found.slopes if getattr(s, figure) is not None and abs(_of(s, figure)) > 1e-12]
    return sorted(some, key=lambda s: -abs(_of(s, figure)))[:ROWS]


def _of(s: Slope, figure: str) -> float:
    value = getattr(s, figure)
    return 0.0 if value is None else float(value)


def _bar(ax: Axes, row: int, s: Slope, figure: str, q: Quantity) -> None:
    value = _of(s, figure)
    x, worse = value * q.factor, (value > 0) != (figure == "worst_margin")
    doubtful = figure == "worst_margin" and s.kinked
    ax.barh(
        row,
        x,
        height=0.62,
        facecolor="none" if doubtful else (BAD if worse else OK),
        edgecolor=BAD if worse else OK,
        hatch="//////" if doubtful else None,
        linewidth=0.9 if doubtful else 0,
    )
    ax.annotate(
        q.text(value) + (" ?" if doubtful else ""),
        (x, row),
        xytext=(4 if x >= 0 else -4, 0),
        textcoords="offset points",
        fontsize=8,
        ha="left" if x >= 0 else "right",
        va="center",
        annotation_clip=False,
    )
    _label(ax, row, s)


def _label(ax: Axes, row: int, s: Slope) -> None:
    left = ax.get_position().x0 * canvas.WIDE * 72
    words, per = canvas.shorten(s.words, 21), "" if s.per == "1 mm" else f", {s.per}"
    ax.annotate(
        words + per,
        (0, row),
        xycoords=("axes fraction", "data"),
        xytext=(8 - left, 0),
        textcoords="offset points",
        va="center",
        annotation_clip=False,
    )


def pictures(found: Sensitivities) -> Sequence[Picture]:
    """Every figure that has slopes."""
    return [tornado(found, f) for f in PANELS if largest(found, f)]
