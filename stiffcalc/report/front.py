"""The opening of the half as a field, seen from the front."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.patches import Circle, Polygon
from matplotlib.patheffects import withStroke
from matplotlib.tri import LinearTriInterpolator, Triangulation

from stiffcalc.caliper.body import Body
from stiffcalc.caliper.results import Results, Shape, VariantResult
from stiffcalc.condensed import Array
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas
from stiffcalc.report.canvas import MAP_INK, MAP_PAPER, NARROW, Picture
from stiffcalc.report.milled import milled_lines
from stiffcalc.report.outline import abutment_lines, bridge_outline, front_reach, lug_rings

OPENING, PRESSURE = quantity("opening"), quantity("pressure")
HALO = [withStroke(linewidth=2.6, foreground=MAP_PAPER, alpha=0.55)]
METAL = "#e4e9ee"  # under map ink, so the same in both schemes


@canvas.drawn
def front(results: Results, variant: int) -> Picture | None:
    """The half seen from outboard with its opening as a field; without a mesh, the opening along the cut instead.

    None where no load case holds.
    """
    v = results.variants[variant]
    if not len(v.shape.cut_x):
        return None
    body, s = v.body, v.shape
    x0, x1, y0, y1 = _frame_of(body)
    scale = (NARROW - 0.55 - 0.1) / (x1 - x0)
    fig = canvas.figure(NARROW, 1.22 + scale * (y1 - y0))
    ax = canvas.axes(fig, 0.55, 1.1, 0.1, 0.12)
    ax.set_xlim(x0, x1)
    ax.set_ylim(y0, y1)
    ax.set_xlabel("x, tangential, mm (trailing end →)", labelpad=1)
    ax.set_ylabel("y, radial, mm")
    norm = Normalize(*_range(results))
    if len(s.triangles):
        _field(ax, s, norm, label_x=_clear_of_holes(body))
    else:
        _cut_strip(ax, v, norm)
    _front_lines(ax, body)
    canvas.colour_bar(fig, norm, f"{OPENING.label}, at {PRESSURE.with_unit(s.pressure)}", bottom=0.36)
    return canvas.picture(
        fig,
        f"front-{variant + 1}",
        title="Opening seen from the front",
        alt=_front_words(v, variant),
        variant=variant,
    )


def _front_words(v: VariantResult, index: int) -> str:
    s = v.shape
    field = s.opening if len(s.triangles) else s.cut_opening
    how = (
        "as a field over the half"
        if len(s.triangles)
        else "along the cut through the bores (frame model only)"
    )
    return (
        f"Opening of variant {index + 1} {how} at {PRESSURE.with_unit(s.pressure)}, from "
        f"{OPENING.text(float(field.min()))} to {OPENING.with_unit(float(field.max()))}; bores, bridges, "
        f"bolts, pockets and ribs outlined{', abutments marked' if v.body.abutments else ''}"
        f"{', lugs marked' if v.body.lugs else ''}."
    )


def _range(results: Results) -> tuple[float, float]:
    """One scale for every variant, from zero or from what closes most."""
    fields = [f for v in results.variants for f in (v.shape.opening, v.shape.cut_opening) if len(f)]
    low, high = min(float(f.min()) for f in fields), max(float(f.max()) for f in fields)
    return min(0.0, low) * OPENING.factor, high * OPENING.factor


def _frame_of(body: Body) -> tuple[float, float, float, float]:
    out = front_reach(body)
    x0, y0 = out.min(axis=0) - 5
    x1, y1 = out.max(axis=0) + 5
    return float(x0), float(x1), float(y0), float(y1)


def _field(ax: Axes, shape: Shape, norm: Normalize, *, label_x: float) -> None:
    """The opening in colour, and lines of equal opening labelled where they cross x = label_x."""
    mesh = Triangulation(shape.nodes[:, 0], shape.nodes[:, 1], shape.triangles)
    values = shape.opening * OPENING.factor
    ax.tripcolor(mesh, values, cmap=canvas.FIELD, norm=norm, shading="gouraud", rasterized=True)
    levels = _round_steps(float(values.min()), float(values.max()))
    ax.tricontour(mesh, values, levels=levels, colors=[MAP_INK], linewidths=0.7).set_linestyle("solid")
    low, high = shape.nodes[:, 1].min(), shape.nodes[:, 1].max()
    y = np.linspace(low + 4, high - 4, 200)
    along = LinearTriInterpolator(mesh, values)(np.full_like(y, label_x), y)
    placed = -np.inf
    for k in np.flatnonzero(np.diff(np.searchsorted(levels, along))):
        if y[k] - placed > 10:
            placed = y[k]
            level = levels[np.argmin(np.abs(levels - along[k]))]
            canvas.tag(ax, label_x, float(y[k]), f"{level:g}", MAP_INK, fontsize=7.5)


def _clear_of_holes(body: Body) -> float:
    """The most central x with room for labels beside bores, bolts and ends, or the x with most room."""
    holes = [(b.x, b.diameter / 2) for b in body.outboard.bores] + [(b.x, b.bearing / 2) for b in body.bolts]
    ends = body.outboard.outline[:, 0].min(), body.outboard.outline[:, 0].max()
    x = np.linspace(*ends, 121)
    room = np.minimum(x - ends[0], ends[1] - x)
    for at, radius in holes:
        room = np.minimum(room, np.abs(x - at) - radius)
    return float(x[np.argmax(np.minimum(room, 8.5) - 1e-3 * np.abs(x))])


def _round_steps(low: float, high: float) -> Array:
    """Round levels strictly between low and high, about eight at most."""
    raw = max(high - low, 1e-9) / 8
    decade = 10.0 ** np.floor(np.log10(raw))
    step = decade * min((s for s in (1, 2, 5, 10) if s * decade >= raw), default=10)
    return np.asarray(np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step + 0.0)  # no "-0"


def _cut_strip(ax: Axes, v: VariantResult, norm: Normalize) -> None:
    """The cut's opening as a band of colour along the cut; nothing is known away from it."""
    s, half = v.shape, 4.0
    ax.add_artist(Polygon(v.body.outboard.outline, fc=METAL, ec="none"))
    ax.pcolormesh(
        s.cut_x,
        [s.y_m - half, s.y_m + half],
        np.vstack([s.cut_opening] * 2) * OPENING.factor,
        cmap=canvas.FIELD,
        norm=norm,
        shading="gouraud",
        rasterized=True,
    )
    for k in np.linspace(0, len(s.cut_x) - 1, 5).astype(int)[1:-1]:
        canvas.tag(ax, float(s.cut_x[k]), s.y_m, OPENING.text(float(s.cut_opening[k])), MAP_INK)
    canvas.tag(
        ax,
        float(np.mean(s.cut_x)),
        float(v.body.outboard.outline[:, 1].min()),
        "frame model: opening along the cut only",
        MAP_INK,
        xytext=(0, 9),
    )


def _front_lines(ax: Axes, body: Body) -> None:
    ax.add_artist(Polygon(body.outboard.outline, fc="none", ec=MAP_INK, lw=1.2))
    milled_lines(ax, body.outboard, colour=MAP_INK)
    arch = next((b.arch for b in body.bridges if b.arch is not None), None)
    if arch is not None:
        x = np.linspace(*ax.get_xlim(), 61)
        ax.plot(x, np.sqrt(np.maximum(arch**2 - x**2, 0.0)), color=MAP_INK, lw=0.8, ls=(0, (1.2, 2)))
    for bore in body.outboard.bores:
        ax.add_artist(
            Circle((bore.x, bore.y), bore.diameter / 2, fc="none", ec=MAP_INK, lw=1.2, path_effects=HALO)
        )
    for k, bore in enumerate(body.outboard.bores):
        ax.annotate(
            str(k + 1),
            (bore.x, bore.y),
            ha="center",
            va="center",
            fontsize=8,
            color=MAP_INK,
            path_effects=HALO,
        )
    for bridge in body.bridges:
        ax.add_artist(
            Polygon(bridge_outline(bridge), fc="none", ec=MAP_INK, lw=1.0, ls=(0, (4, 2)), path_effects=HALO)
        )
    words = {"fontsize": 6.5, "color": MAP_INK, "path_effects": HALO}
    abutment_lines(ax, body, color=MAP_INK, lw=2.4, path_effects=HALO, label=words)
    lug_rings(ax, body, fc="none", ec=MAP_INK, lw=0.9, path_effects=HALO, label=words)
    for bolt in body.bolts:
        ax.add_artist(Circle((bolt.x, bolt.y), bolt.hole / 2, fc=MAP_PAPER, ec=MAP_INK, lw=1.0))
