"""Pictures of drawn bodies: the band on the opening curve, and how likely each check is met."""

from __future__ import annotations

from matplotlib.axes import Axes

from stiffcalc.explore.uncertainty_results import Chance, UncertaintyResult
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas
from stiffcalc.report.canvas import BAD, INK, OK, SOFT, Picture

ROWS = 12  # least likely checks shown; the table has all
ROW = 0.36  # inches
LINE = 58  # characters that fit the width


@canvas.drawn
def band(found: UncertaintyResult) -> Picture:
    """Spread against pressure: the layout itself, half of the bodies below, nine in ten between."""
    fig = canvas.figure(canvas.WIDE, 2.95)
    ax = canvas.axes(fig, 0.6, 0.45, 0.35, 0.15)
    spread, p = quantity("spread"), quantity("pressure")
    low, median, high = (row * spread.factor for row in found.curve_band)
    ax.fill_between(found.pressure, low, high, color=OK, alpha=0.25, linewidth=0)
    for edge in (low, high):
        ax.plot(found.pressure, edge, color=OK, linewidth=0.8)
    ax.plot(found.pressure, median, color=OK, linewidth=1.8)
    ax.plot(found.pressure, found.curve * spread.factor, color=INK, linewidth=1.1, linestyle=(0, (4, 2)))
    _limit(ax, found)
    ax.set_xlim(0, found.pressure[-1])
    ax.set_ylim(0, 1.06 * max(high[-1], (found.limit or 0.0) * spread.factor))
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_locator(canvas.ticks())
    ax.grid(True)
    ax.set_xlabel(p.label)
    ax.set_ylabel(f"{spread.label}, 20 °C")
    edges = [spread.with_unit(float(row[-1]) / spread.factor) for row in (low, median, high)]
    return canvas.picture(
        fig,
        "band",
        title="Opening curve: median, 5 to 95 % of the bodies; dashed: the layout itself",
        alt=f"Spread against line pressure of {found.samples} bodies. At {p.with_unit(float(found.pressure[-1]))}: 5 % "
        f"below {edges[0]}, half below {edges[1]}, 95 % below {edges[2]}.",
    )


def _limit(ax: Axes, found: UncertaintyResult) -> None:
    """The study's limit of the spread, over the pressures below which it is asked."""
    if found.limit is None:
        return
    shown = found.limit * quantity("spread").factor
    ax.plot([0, found.case_pressure], [shown, shown], color=BAD, linewidth=1.0, linestyle=(0, (5, 2)))
    canvas.tag(ax, 0, shown, f"limit, {found.case}", BAD, xytext=(6, 7), ha="left")


@canvas.drawn
def chances(found: UncertaintyResult) -> Picture:
    """Bars of probability, least likely first, with their interval; every check at once on top."""
    shown = [found.every, *found.chances[:ROWS]]
    fig = canvas.figure(canvas.WIDE, 0.5 + ROW * len(shown))
    ax = canvas.axes(fig, 0.12, 0.42, 0.55, 0.06)
    ax.set_xlim(0, 100)
    ax.set_ylim(ROW * len(shown), 0)
    for i, c in enumerate(shown):
        _row(ax, ROW * i, c)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.grid(True, axis="x")
    ax.set_xlabel("probability of being met, % (line: 95 % interval)")
    named = "; ".join(
        f"{c.what} {quantity('chance.probability').with_unit(c.probability)}" for c in shown[:5]
    )
    return canvas.picture(
        fig,
        "chances",
        title="How likely each check is met",
        alt=f"Probability that checks are met, of {found.samples} bodies. {named}.",
    )


def _row(ax: Axes, y: float, c: Chance) -> None:
    p = quantity("chance.probability")
    bar = y + 0.26
    sure = c.low >= 0.5
    ax.barh(
        bar,
        c.probability * p.factor,
        height=0.11,
        facecolor=OK if sure else "none",
        edgecolor=OK if sure else BAD,
        hatch=None if sure else "//////",
        linewidth=0 if sure else 0.9,
    )
    ax.plot(
        [c.low * p.factor, c.high * p.factor], [bar, bar], color=INK, linewidth=1.2, solid_capstyle="butt"
    )
    ax.annotate(
        p.with_unit(c.probability),
        (c.high * p.factor, bar),
        xytext=(4, 0),
        textcoords="offset points",
        fontsize=8,
        va="center",
        annotation_clip=False,
    )
    text = c.what if not c.case else f"{c.what} · {c.case}"
    ax.annotate(canvas.shorten(text, LINE), (0, y + 0.1), fontsize=8, va="center", annotation_clip=False)
    ax.plot([0, 0], [bar - 0.08, bar + 0.08], color=SOFT, linewidth=0.9)
