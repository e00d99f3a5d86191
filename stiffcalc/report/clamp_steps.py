"""The clamp plane step by step: small pressure maps from tightened to every load case."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

from stiffcalc.caliper.body import BridgeShape
from stiffcalc.caliper.joint_results import FaceStep
from stiffcalc.caliper.results import Results, VariantResult
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas, choose
from stiffcalc.report.canvas import NARROW, SOFT, Picture
from stiffcalc.report.face import draw, joint_of, key, key_height, mark_onset, top
from stiffcalc.report.outline import bridge_outline

CONTACT, PRESSURE, OPEN = (quantity(k) for k in ("face.pressure_MPa", "pressure", "open_fraction"))
LEFT, RIGHT, HEAD, ROW_GAP, TALLEST, LETTER = 1.12, 0.1, 0.24, 0.2, 1.05, 0.068  # inches


def clamp_steps(results: Results) -> tuple[Picture, ...]:
    """One picture of the base and one of the variant beside it whose clamp plane opens first."""
    shown = [i for i in choose.pressed(results) if results.variants[i].face_steps]
    tops = [top(f) for i in shown for step in results.variants[i].face_steps for f in step.faces]
    return tuple(_steps(results, i, Normalize(0.0, max(tops))) for i in shown)


@canvas.drawn
def _steps(results: Results, variant: int, norm: Normalize) -> Picture:
    v = results.variants[variant]
    named = {b.name: b for b in v.body.bridges}
    bridges = sorted((named[f.bridge] for f in v.face_steps[0].faces), key=lambda b: b.x0)
    low = key_height(v.body)
    fig, panels = _panels(bridges, rows=len(v.face_steps), below=0.66 + low)
    for step, row in zip(v.face_steps, panels, strict=True):
        _row(v, step, row, bridges, norm)
    for ax, bridge in zip(panels[0], bridges, strict=True):
        ax.annotate(canvas.shorten(bridge.name, int(_share(bridges) / LETTER)), (0.5, 1), **_above(ax))
    canvas.colour_bar(fig, norm, CONTACT.label, bottom=0.38 + low)
    key(fig, v.body)
    return canvas.picture(
        fig,
        f"steps-{variant + 1}",
        title="Contact pressure step by step",
        alt=f"Contact pressure over the joint faces of variant {variant + 1}, minimum preload: {_in_words(v)}.",
        variant=variant,
    )


def _panels(bridges: Sequence[BridgeShape], *, rows: int, below: float) -> tuple[Figure, list[list[Axes]]]:
    """A row of faces for each step, all at one scale, each in the middle of an equal share of the width."""
    y0 = min(float(bridge_outline(b)[:, 1].min()) for b in bridges)
    y1 = max(b.y1 for b in bridges)
    spans = [b.x1 - b.x0 for b in bridges]
    share = _share(bridges)
    scale = min(0.9 * share / max(spans), TALLEST / (y1 - y0))
    high = scale * (y1 - y0)
    fig = canvas.figure(NARROW, HEAD + rows * (high + ROW_GAP) + below)
    total = float(fig.get_size_inches()[1])
    found = []
    for k in range(rows):
        above = HEAD + k * (high + ROW_GAP)
        row = []
        for i, (b, span) in enumerate(zip(bridges, spans, strict=True)):
            x = LEFT + (i + 0.5) * share - 0.5 * scale * span
            ax = canvas.axes(fig, x, total - above - high, NARROW - x - scale * span, above)
            ax.set(xlim=(b.x0, b.x1), ylim=(y0, y1))
            ax.axis("off")
            row.append(ax)
        found.append(row)
    return fig, found


def _share(bridges: Sequence[BridgeShape]) -> float:
    return (NARROW - LEFT - RIGHT) / len(bridges)


def _row(
    v: VariantResult, step: FaceStep, row: Sequence[Axes], bridges: Sequence[BridgeShape], norm: Normalize
) -> None:
    faces = {f.bridge: f for f in step.faces}
    case = next((c for c in v.load_cases if c.name == step.name and c.pressure == step.pressure), None)
    for ax, bridge in zip(row, bridges, strict=True):
        draw(ax, faces[bridge.name], v.body, bridge, norm, numbered=False)
        joint = None if case is None else joint_of(case, bridge.name)
        if joint is not None:
            mark_onset(ax, joint, size=4.5)
            words = f"{OPEN.with_unit(joint.open_fraction)} open" if joint.open_fraction else "closed"
            ax.annotate(words, (0.5, 0), xytext=(0, -3), **_outside("top"))
    text = f"{canvas.shorten(step.name, 15)}\n{PRESSURE.with_unit(step.pressure)}"
    row[0].annotate(text, (0, 0.5), **{**_outside("center"), **_at_left(row[0]), "ha": "left", "fontsize": 8})


def _outside(va: str) -> dict[str, Any]:
    return {
        "xycoords": "axes fraction",
        "textcoords": "offset points",
        "ha": "center",
        "va": va,
        "fontsize": 7.5,
        "color": canvas.INK if va != "top" else SOFT,
        "annotation_clip": False,
    }


def _at_left(ax: Axes) -> dict[str, Any]:
    """Eight points in from the figure's left edge, whatever the face's place."""
    return {"xytext": (8 - 72 * NARROW * ax.get_position().x0, 0)}


def _above(ax: Axes) -> dict[str, Any]:
    return {**_outside("bottom"), "xytext": (0, 4), "fontsize": 8}


def _in_words(v: VariantResult) -> str:
    by_name = {c.name: c for c in v.load_cases}
    said = []
    for step in v.face_steps:
        joints = by_name[step.name].joints if step.name in by_name and step.pressure else ()
        opened = ", ".join(f"{j.bridge} {OPEN.with_unit(j.open_fraction)} open" for j in joints)
        said.append(f"{step.name} at {PRESSURE.with_unit(step.pressure)}" + (f": {opened}" if opened else ""))
    return "; ".join(said)
