"""Pictures of a section: its mesh and thicknesses, von Mises stress, use of the metal, pressure on the joint face."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.tri import Triangulation

from stiffcalc.caliper.section_results import Drawing, Idle, SectionCase, SectionResult
from stiffcalc.condensed import Array
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas
from stiffcalc.report.canvas import BAD, INK, MAP_INK, METAL, METAL_EDGE, NARROW, SOFT, Picture

FOUR = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])  # a six-node triangle as four plain ones
STRESS, USE = quantity("section.stress"), quantity("section.used")
ABOVE, BELOW, TALLEST, MARGIN = (
    0.12,
    1.0,
    3.4,
    0.04,
)  # inches; share of the section's height left free round it
ROUND = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10)
CENTRE_LINE = (0, (7, 2, 1.5, 2))


@canvas.drawn
def mesh(d: Drawing, *, what: str, id: str) -> Picture:
    """The mesh; darker the thinner the section is there. what: the section in words."""
    grid = d.solution.grid
    fig, ax = _frame(d)
    thick = grid.thickness
    norm = Normalize(0.0, float(thick.max()))
    corners = list(grid.nodes[grid.triangles[:, :3]])
    style: dict[str, Any] = {"linewidths": 0, "rasterized": True, "antialiaseds": False}
    ax.add_collection(PolyCollection(corners, array=thick, cmap=canvas.FIELD, norm=norm, **style))
    pairs = np.sort(grid.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    sides = list(grid.nodes[np.unique(pairs, axis=0)])
    ax.add_collection(LineCollection(sides, colors=MAP_INK, linewidths=0.12, rasterized=True))
    _outlines(ax, d)
    _heads(ax, d)
    canvas.colour_bar(fig, norm, "thickness (metal left of the strip's width), mm", bottom=0.4)
    return canvas.picture(
        fig,
        f"mesh-{id}",
        title="Mesh and thickness",
        alt=f"Mesh of {len(grid.triangles)} six-node triangles of {what}, coloured by thickness, "
        f"{float(thick.min()):.3g} to {float(thick.max()):.3g} mm.",
    )


@canvas.drawn
def stress(d: Drawing, *, what: str, id: str, peak: tuple[float, float] | None) -> Picture:
    """Von Mises stress in the state that uses the metal most; `peak` is ringed."""
    norm = Normalize(0.0, _round_up(d.top))
    fig, ax = _frame(d)
    _field(ax, d, d.level, norm)
    _heads(ax, d)
    if peak is not None:
        ax.plot(*peak, "o", ms=8, mfc="none", mec=BAD, mew=1.2, zorder=6)
    canvas.colour_bar(fig, norm, STRESS.label, bottom=0.4)
    return canvas.picture(
        fig,
        f"stress-{id}",
        title="Von Mises stress",
        alt=f"Von Mises stress in {what}, {d.shown}; the colours end at {norm.vmax:g} MPa.",
    )


@canvas.drawn
def use(d: Drawing, idle: Idle, *, what: str, id: str) -> Picture:
    """Largest share of the allowed stress over all load cases; idle metal plain."""
    share, below = 100.0 * d.used, 100.0 * idle.below
    norm = Normalize(0.0, 100.0)
    fig, ax = _frame(d)
    _field(ax, d, share, norm)
    plain = _triangulation(d)
    if share.min() < below:
        ax.tricontourf(plain, share, levels=[-1.0, below], colors=[METAL], zorder=3)
    if share.min() < below < share.max():
        ax.tricontour(plain, share, levels=[below], colors=[METAL_EDGE], linewidths=0.8, zorder=4)
    canvas.colour_bar(fig, norm, f"{USE.label} (plain: below {below:.0f})", bottom=0.4)
    return canvas.picture(
        fig,
        f"use-{id}",
        title="Use of the metal",
        alt=f"Largest share of the allowed stress over all load cases in {what}. "
        f"{100 * idle.volume_share:.0f} % of the metal stays below {below:.0f} % in every load case.",
    )


@canvas.drawn
def face(result: SectionResult, *, id: str) -> Picture | None:
    """Contact pressure over the height of the joint face, every load case; None without a face."""
    cases = [c for c in result.load_cases if c.ends[0].face is not None]
    if not cases:
        return None
    above = 0.19 * len(cases) + 0.22
    fig = canvas.figure(NARROW, 2.8 + above)
    ax = canvas.axes(fig, 0.68, 0.5, 0.2, above)
    for i, case in enumerate(cases):
        for end, style in zip(case.ends, ("-", (0, (3, 1.5))), strict=False):
            if end.face is not None:
                ax.plot(end.face.pressure, end.face.y, color=canvas.pen(i), ls=style, lw=1.6)
    for head in result.drawing.heads:
        ax.axhline(head.y, color=SOFT, lw=0.8, ls=CENTRE_LINE, zorder=0)
        place: dict[str, Any] = {
            "xycoords": ("axes fraction", "data"),
            "textcoords": "offset points",
            "xytext": (-2, 2),
        }
        ax.annotate("bolt", (1, head.y), ha="right", fontsize=7.5, color=SOFT, **place)
    ax.set_xlim(left=0.0)
    ax.set_ylim(result.y_r - result.height / 2, result.y_r + result.height / 2)
    ax.set_xlabel("contact pressure, MPa (dashed: maximum preload)")
    ax.set_ylabel(result.drawing.axes[1])
    ax.grid(axis="x")
    canvas.legend(fig, [f"{c.name}, {c.pressure:g} MPa" for c in cases])
    words = " ".join(_face_words(c) for c in cases)
    return canvas.picture(
        fig,
        f"face-{id}",
        title="Pressure on the joint face",
        alt=f"Contact pressure over the height of the face of {result.bridge}. {words}",
    )


def _face_words(case: SectionCase) -> str:
    faces = [e.face for e in case.ends if e.face is not None]
    least, most = min(float(f.pressure.min()) for f in faces), max(float(f.pressure.max()) for f in faces)
    return f"{case.name}: {least:.0f} to {most:.0f} MPa."


def _round_up(value: float) -> float:
    """A round number at or above."""
    step = 10.0 ** np.floor(np.log10(max(value, 1e-9)))
    return float(next(step * m for m in ROUND if step * m >= 0.999 * value))


def _frame(d: Drawing) -> tuple[Figure, Axes]:
    """Axes at one scale round the section."""
    low, high = d.solution.grid.nodes.min(axis=0), d.solution.grid.nodes.max(axis=0)
    free = MARGIN * float((high - low).max())
    (width, height), left, right = high - low + 2 * free, 0.55, 0.12
    scale = min((NARROW - left - right) / width, TALLEST / height)
    spare = (NARROW - left - right - scale * width) / 2
    fig = canvas.figure(NARROW, BELOW + ABOVE + scale * height)
    ax = canvas.axes(fig, left + spare, BELOW, right + spare, ABOVE)
    ax.set_xlim(low[0] - free, high[0] + free)
    ax.set_ylim(low[1] - free, high[1] + free)
    ax.set_xlabel(d.axes[0], labelpad=1)
    ax.set_ylabel(d.axes[1])
    ax.xaxis.set_major_locator(canvas.ticks(5))
    ax.yaxis.set_major_locator(canvas.ticks(6))
    return fig, ax


def _triangulation(d: Drawing) -> Triangulation:
    xy = d.stress.grid.nodes[d.stress.node]
    return Triangulation(xy[:, 0], xy[:, 1], d.stress.triangles[:, FOUR].reshape(-1, 3))


def _field(ax: Axes, d: Drawing, values: Array, norm: Normalize) -> None:
    style: dict[str, Any] = {"cmap": canvas.FIELD, "norm": norm, "rasterized": True, "zorder": 2}
    ax.tripcolor(_triangulation(d), values, shading="gouraud", **style)
    _outlines(ax, d)


def _outlines(ax: Axes, d: Drawing) -> None:
    for loop in (loop for part in d.parts for loop in part.loops):
        points = np.concatenate([edge.chords() for edge in loop])
        ax.plot(*np.vstack([points, points[:1]]).T, color=INK, lw=0.8, zorder=5)


def _heads(ax: Axes, d: Drawing) -> None:
    """Bolts' centre lines, and where their heads press."""
    for head in d.heads:
        ax.plot([0, head.z], [head.y, head.y], color=MAP_INK, lw=0.8, ls=CENTRE_LINE, zorder=5)
        y = [head.y - head.half_width, head.y + head.half_width]
        ax.plot([1.01 * head.z] * 2, y, color=BAD, lw=2.4, zorder=5, solid_capstyle="butt")
