"""Pictures of a sizing: mass and worst use on the way, dimensions in their ranges."""

from __future__ import annotations

import numpy as np
from matplotlib.ticker import MaxNLocator

from stiffcalc.explore.size_results import SizeResult
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas
from stiffcalc.report.canvas import BAD, GRID, INK, SOFT, WIDE, Picture

TALL, ROW = 3.5, 0.42  # inches


@canvas.drawn
def history(found: SizeResult) -> Picture:
    """Mass above, worst use below, step by step; a ring where full response and adaptive meshes were asked."""
    points = {(s.round, s.x) for s in found.history if s.checked}  # the search asks about its first point too
    steps = [
        s
        for s in found.history
        if s.mass is not None and (s.checked or (s.iterate and (s.round, s.x) not in points))
    ]
    n, mass = np.arange(1, len(steps) + 1), np.array([s.mass for s in steps], dtype=float)
    use = np.array([s.worst_use for s in steps], dtype=float)
    checked = np.array([s.checked for s in steps])
    fig = canvas.figure(WIDE, TALL)
    above = canvas.axes(fig, 0.62, 1.95, 0.15, 0.12)
    below = canvas.axes(fig, 0.62, 0.42, 0.15, 2.05)
    for ax, values, colour in ((above, mass, INK), (below, 100 * use, INK)):
        ax.plot(n, values, color=colour, lw=1.4)
        ax.plot(n[checked], values[checked], "o", ms=6, mfc="none", mec=colour, mew=1.2)
        ax.grid(axis="y")
        ax.xaxis.set_major_locator(MaxNLocator(8, integer=True))
        ax.set_xlim(0.5, len(steps) + 0.5)
    above.set_xticklabels([])
    above.set_ylabel(quantity("size.mass").label)
    below.axhline(100.0, color=BAD, lw=1.0, ls=(0, (7, 2)))
    below.set_ylabel("worst use, %")
    below.set_xlabel("step of the search; ring: round, on adaptive meshes", labelpad=1)
    return canvas.picture(
        fig,
        "size-history",
        title="Mass and worst use on the way",
        alt=f"Mass from {mass[0]:.3f} to {mass[-1]:.3f} kg and the worst use of a limit from {100 * use[0]:.0f} to "
        f"{100 * use[-1]:.0f} % over {len(steps)} steps in {found.rounds} rounds.",
    )


@canvas.drawn
def ranges(found: SizeResult) -> Picture:
    """Each dimension in its range: a line from start to end."""
    count = len(found.dimensions)
    fig = canvas.figure(WIDE, ROW * count + 0.62)
    ax = canvas.axes(fig, 0.15, 0.45, 0.15, 0.12)
    for i, d in enumerate(found.dimensions):
        y, span = count - 1 - i, d.high - d.low
        a, b = (100 * (v - d.low) / span for v in (d.start, d.end))
        ax.plot([0, 100], [y, y], color=GRID, lw=5, solid_capstyle="butt", zorder=1)
        ax.plot([a, b], [y, y], color=canvas.pen(0), lw=2.2, zorder=2)
        ax.plot(a, y, "o", ms=5, mfc=canvas.PAPER, mec=canvas.pen(0), mew=1.2, zorder=3)
        ax.plot(b, y, "o", ms=6, color=canvas.pen(0), zorder=4)
        words = f"{_short(d.paths[0])}: {d.start:.2f} → {d.end:.2f} mm, of {d.low:g} to {d.high:g}"
        ax.text(0, y + 0.2, words, fontsize=8, color=INK, va="bottom")
    ax.set_ylim(-0.4, count - 0.25)
    ax.set_xlim(-3, 103)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.spines["bottom"].set_color(SOFT)
    ax.set_xlabel("share of its range, %; open: start, full: sized", labelpad=1)
    return canvas.picture(
        fig,
        "size-ranges",
        title="Dimensions in their ranges",
        alt="; ".join(f"{d.paths[0]} from {d.start:.2f} to {d.end:.2f} mm" for d in found.dimensions) + ".",
    )


def _short(path: str) -> str:
    return path.removeprefix("caliper.").removesuffix("_mm")
