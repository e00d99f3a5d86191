"""Paper, ink and pens of every picture: figures of known size in inches, saved as small, repeatable inline SVG.

Text stays text (searchable, in the page's scheme); layouts are measured with a wide face, so that narrower ones fit.
Inks are written as CSS variables with the light value as fallback: a picture alone is dark on light, and follows the
page's light or dark scheme when inline.
"""

from __future__ import annotations

import functools
import html
import io
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import cycle, islice, pairwise
from typing import Any, ParamSpec, TypeVar

import matplotlib
import numpy as np
from matplotlib import colormaps
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.cm import ScalarMappable
from matplotlib.colors import ListedColormap, Normalize
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from stiffcalc.condensed import Array

WIDE, NARROW = 4.35, 4.05  # inches: pictures that compare variants, pictures of one variant

INK, SOFT, GRID, PAPER, METAL, METAL_EDGE = "#1b2530", "#5a6672", "#dde2e7", "#fdfefe", "#e4e9ee", "#8a96a3"
BAD, OK = "#b3261f", "#2f5d7c"
MAP_INK, MAP_PAPER = (
    "#11181f",
    "#ffffff",
)  # on top of a colour map, which is the same in the light and the dark scheme
SERIES = ("#2459a8", "#c3540f", "#0c7a6b", "#85409a", "#8a6d00", "#5d564f")
PENS = {
    INK: "ink",
    SOFT: "soft",
    GRID: "grid",
    PAPER: "paper",
    METAL: "metal",
    METAL_EDGE: "metal-edge",
    BAD: "bad",
    OK: "ok",
} | {colour: f"series-{i + 1}" for i, colour in enumerate(SERIES)}
TAG = re.compile(r"<[^>]+>")
FINER = re.compile(r"(?<=\.\d\d)\d+")  # a hundredth of a pixel is enough
Dash = str | tuple[int, tuple[float, ...]]
DASHES: tuple[Dash, ...] = (
    "-",
    (0, (7, 2)),
    (0, (3, 1.5)),
    (0, (7, 2, 1.5, 2)),
    (0, (1.2, 1.5)),
    (0, (10, 2, 2, 2, 2, 2)),
)
# even steps of lightness, the same to red-green and blue-yellow colour blindness; its dark third would hide lines
FIELD = ListedColormap(colormaps["cividis"](np.linspace(0.3, 1.0, 200)))

RC: Any = {
    "svg.hashsalt": "stiffcalc",
    "svg.fonttype": "none",
    "font.family": "DejaVu Sans",
    "text.parse_math": False,
    "font.size": 8.5,
    "axes.labelsize": 8.5,
    "axes.titlesize": 9,
    "xtick.labelsize": 8,
    "ytick.labelsize": 8,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "axes.facecolor": "none",
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.unicode_minus": True,
    "text.color": INK,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "grid.color": GRID,
    "grid.linewidth": 0.8,
    "axes.axisbelow": True,
    "figure.facecolor": "none",
    "figure.dpi": 72,
    "savefig.facecolor": "none",
    "savefig.dpi": 170,
    "hatch.linewidth": 0.9,
    "lines.linewidth": 1.8,
    "image.interpolation": "nearest",
}


P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True)
class Picture:
    """One inline picture: `svg` has no XML header and ids of its own; `alt` says in words what it shows."""

    id: str
    title: str
    alt: str
    svg: str
    variant: int | None = None  # index of the variant shown, None: all of them


def drawn(draw: Callable[P, R]) -> Callable[P, R]:
    """Run `draw` with this module's settings and leave the caller's settings alone."""

    @functools.wraps(draw)
    def inside(*args: P.args, **kwargs: P.kwargs) -> R:
        with matplotlib.rc_context(RC):
            return draw(*args, **kwargs)

    return inside


def pen(index: int) -> str:
    """Colour of variant `index`."""
    return SERIES[index % len(SERIES)]


def dashes(count: int) -> list[Dash]:
    """`count` line patterns, the first solid."""
    return list(islice(cycle(DASHES), count))


def figure(width: float, height: float) -> Figure:
    """An empty figure of that size in inches."""
    fig = Figure(figsize=(width, height))
    FigureCanvasSVG(fig)
    return fig


def axes(fig: Figure, left: float, bottom: float, right: float, top: float) -> Axes:
    """Axes whose frame stands those inches in from the figure's four sides."""
    w, h = fig.get_size_inches()
    return fig.add_axes((left / w, bottom / h, (w - left - right) / w, (h - bottom - top) / h))


def ticks(count: int = 7) -> MaxNLocator:
    """At most about `count` ticks at round steps of 1, 2 or 5."""
    return MaxNLocator(count, steps=[1, 2, 5, 10])


def shorten(text: str, limit: int) -> str:
    """At most `limit` characters, cut with an ellipsis; the page's tables have the name in full."""
    text = " ".join(text.split())
    return text if len(text) <= limit else text[: limit - 1].rstrip() + "…"


def legend(fig: Figure, names: list[str], *, top: float = 0.06, left: float = 0.1) -> float:
    """One line per variant, number and name, from the top of the figure; returns the height used, inches."""
    w, h = fig.get_size_inches()
    room = int((w - left - 0.45) * 72 / 5.4)
    for i, name in enumerate(names):
        y = 1 - (top + 0.09 + 0.19 * i) / h
        badge(fig, left + 0.08, (1 - y) * h, i)
        fig.text((left + 0.24) / w, y, shorten(name, room), va="center", fontsize=8.5)
    return top + 0.19 * len(names)


def apart(values: Sequence[float], *, gap: float) -> list[float]:
    """The values moved apart to at least `gap`, order kept, so that labels beside them do not overlap."""
    order = np.argsort(values, kind="stable")
    out = np.array(values, dtype=float)
    for a, b in pairwise(order):
        out[b] = max(out[b], out[a] + gap)
    excess = out[order] - np.array(values)[order]
    return list(out - 0.5 * float(excess.max(initial=0.0)))


def badge_style(index: int) -> dict[str, Any]:
    """Text settings of a variant's number on its colour."""
    box = {"boxstyle": "round,pad=0.18,rounding_size=0.3", "fc": pen(index), "ec": "none"}
    return {
        "color": PAPER,
        "fontsize": 7.5,
        "fontweight": "bold",
        "ha": "center",
        "va": "center",
        "bbox": box,
    }


def badge(fig: Figure, x: float, from_top: float, index: int) -> None:
    """The variant's number on its colour, at that place of the figure, inches from left and top."""
    w, h = fig.get_size_inches()
    fig.text(x / w, 1 - from_top / h, str(index + 1), **badge_style(index))


def tag(ax: Axes, x: float, y: float, text: str, colour: str = INK, **place: Any) -> None:
    """A label on a patch of paper, so that lines behind it do not strike it through."""
    paper = MAP_PAPER if colour == MAP_INK else PAPER
    style: dict[str, Any] = {"xytext": (0, 0), "ha": "center", "va": "center", "fontsize": 8} | place
    box = {"boxstyle": "round,pad=0.12", "fc": paper, "ec": "none", "alpha": 0.85}
    ax.annotate(text, (x, y), color=colour, textcoords="offset points", bbox=box, **style)


def colour_bar(fig: Figure, norm: Normalize, label: str, *, bottom: float) -> None:
    """A horizontal colour bar for FIELD, that many inches above the figure's lower edge."""
    w, h = fig.get_size_inches()
    cax = fig.add_axes((0.55 / w, bottom / h, (w - 0.55 - 0.25) / w, 0.12 / h))
    bar = fig.colorbar(ScalarMappable(norm, FIELD), cax=cax, orientation="horizontal")
    bar.outline.set_visible(False)
    if bar.solids is not None:
        bar.solids.set_rasterized(True)
    bar.set_label(label, labelpad=1)


def picture(fig: Figure, id: str, *, title: str, alt: str, variant: int | None = None) -> Picture:
    """The figure as an inline picture."""
    buffer = io.BytesIO()
    fig.savefig(buffer, format="svg")
    return Picture(id, title, alt, _inline(buffer.getvalue().decode(), id, alt), variant)


def hovering(drawn: Picture, fig: Figure, ax: Axes, at: Array, words: Sequence[str]) -> Picture:
    """The picture with words at places (n, 2) of its axes, shown by any browser when pointed at; no script needed."""
    high = 72 * fig.get_size_inches()[1]
    places = ax.transData.transform(at) if len(at) else np.empty((0, 2))
    spots = [
        f'<circle cx="{x:.2f}" cy="{high - y:.2f}" r="5"><title>{html.escape(said)}</title></circle>'
        for (x, y), said in zip(places, words, strict=True)
    ]
    group = f'<g class="hover" fill="transparent">{"".join(spots)}</g>'
    return replace(drawn, svg=drawn.svg.removesuffix("</svg>") + group + "</svg>")


def _inline(svg: str, id: str, alt: str) -> str:
    """Drop what only a file of its own needs, make ids unique to this picture, hang its inks on the page's scheme."""
    head, body = svg[svg.index("<svg") :].split(">", 1)
    size = " ".join(re.findall(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', head)[0])
    body = re.sub(r"<(metadata|style)\b.*?</\1>|<!--.*?-->", "", body, flags=re.S)
    used = set(re.findall(r'(?:href="#|url\(#)([^")]+)', body))
    body = re.sub(r' id="([^"]+)"', lambda m: f' id="{id}-{m[1]}"' if m[1] in used else "", body)
    body = body.replace('href="#', f'href="#{id}-').replace("url(#", f"url(#{id}-")
    body = TAG.sub(lambda m: FINER.sub("", m[0]), body)
    body = re.sub(r' transform="rotate\(-?0 [^)]*\)"', "", body)
    for colour, name in PENS.items():
        body = body.replace(f": {colour}", f": var(--{name}, {colour})")
    body = re.sub(r">\s+<", ">\n<", body)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" role="img" '
        f'aria-label="{html.escape(alt)}" viewBox="0 0 {size}" stroke-linejoin="round">{body.strip()}'
    )
