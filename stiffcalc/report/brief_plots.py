"""The drawing of the analyst's brief: axes, bores, screws, supports and points, from the front and from below."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyArrowPatch, Polygon, Rectangle

from stiffcalc.caliper.body import Body
from stiffcalc.handover.job import Job
from stiffcalc.handover.tables import pad_centre
from stiffcalc.report import canvas
from stiffcalc.report.canvas import INK, METAL, METAL_EDGE, PAPER, SERIES, SOFT, Picture
from stiffcalc.report.milled import milled_lines
from stiffcalc.report.outline import abutment_lines, bridge_outline, front_reach, lug_rings
from stiffcalc.solid.model import SLIDES
from stiffcalc.solid.shapes import SIDES, ScrewShape

WIDTH = 7.4  # inches
AXIS, POINT = SERIES[0], SERIES[1]
ROOM = 14.0  # mm round the body
OFF = {"a": (-5.0, 0.0), "b": (5.0, 0.0), "c": (-5.0, 0.0)}  # points
OPPOSITE = {
    "a": ", d",
    "b": ", e",
}  # supports of a bolted outboard half, seen at the same place from the front


@canvas.drawn
def axes_and_points(job: Job) -> Picture:
    """Front view on the left, view from below on the right, one scale."""
    body = job.answer.body
    out = front_reach(body)
    (x0, y0), (x1, y1) = out.min(axis=0) - ROOM, out.max(axis=0) + ROOM
    deep = max(body.half_gap + h.thickness for h in (body.inboard, body.outboard)) + ROOM + _heads(job)
    scale = (WIDTH - 0.2) / (2 * (x1 - x0))
    height = scale * max(y1 - y0, 2 * deep) + 0.25
    fig = canvas.figure(WIDTH, height)
    front = canvas.axes(fig, 0.0, 0.0, WIDTH / 2 + 0.05, 0.2)
    below = canvas.axes(fig, WIDTH / 2 + 0.05, 0.0, 0.0, 0.2)
    middle = (y0 + y1) / 2
    half = (height - 0.2) / scale / 2
    for ax, low, high, title in (
        (front, middle - half, middle + half, "from outboard, mm"),
        (below, -half, half, "from below, mm"),
    ):
        ax.set(xlim=(x0, x1), ylim=(low, high))
        ax.set_aspect("equal")
        ax.axis("off")
        ax.set_title(title, loc="left", fontsize=8, color=SOFT, pad=2)
    _front(front, job, body)
    _below(below, job, body)
    return canvas.picture(
        fig,
        "points",
        title="Axes and points",
        alt="The body seen from outboard and from below with the axes x, y, z, bores, screws, ports (P) and "
        "abutments (A) and lugs (L) by number, "
        "the supports a, b, c on the inboard outer face (d, e on a bolted outboard one) and the places where the pads' "
        "drag acts.",
    )


def _heads(job: Job) -> float:
    return max((s.washer + s.head_height for s in job.model.a.screws if s.axis[2]), default=0.0)


def _front(ax: Axes, job: Job, body: Body) -> None:
    lug_rings(ax, body, fc=PAPER, ec=INK, lw=0.8, label={"fontsize": 5.5, "color": INK})
    ax.add_patch(Polygon(body.outboard.outline, fc=METAL, ec=INK, lw=1.0))
    milled_lines(ax, body.outboard, colour=METAL_EDGE)
    for bridge in body.bridges:
        ax.add_patch(Polygon(bridge_outline(bridge), fc="none", ec=INK, lw=0.8, ls=(0, (4, 2))))
        ax.text(
            (bridge.x0 + bridge.x1) / 2, bridge.y1 + 4, bridge.name, ha="center", fontsize=6.5, color=SOFT
        )
    for k, b in enumerate(body.outboard.bores, start=1):
        ax.add_patch(Circle((b.x, b.y), b.diameter / 2, fc=PAPER, ec=INK, lw=0.8))
        ax.text(b.x, b.y + b.diameter / 4, f"bore {k}", ha="center", va="center", fontsize=7)
    for s in job.model.a.screws:
        if s.axis[2]:
            ax.add_patch(Circle(s.seat[:2], s.bearing / 2, fc=PAPER, ec=INK, lw=0.7))
            ax.text(*s.seat[:2], _number(s), ha="center", va="center", fontsize=6.5)
    for k, port in enumerate(body.ports, start=1):
        ax.add_patch(Circle((port.x, port.y), port.seal / 2, fc="none", ec=POINT, lw=0.9))
        ax.text(port.x, port.y, f"P{k}", ha="center", va="center", fontsize=5.5, color=POINT)
    abutment_lines(ax, body, color=POINT, lw=2.2, label={"fontsize": 5.5, "color": POINT})
    for name in "abc":
        x, y, _ = job.model.mesh.nodes[job.model.nodes[f"support_{name}"][0]]
        _support(ax, float(x), float(y), name + OPPOSITE.get(name, "") * job.model.a.split, OFF[name])
    x, y = pad_centre(job)
    if any(c.drag for c in job.design.load_cases):
        _arrow(ax, (x - 7, y), (x + 7, y), POINT)
        canvas.tag(ax, x, y - 5.5, "drag", POINT, fontsize=6.5)
    low = float(body.outboard.outline[:, 1].min())
    _axes(ax, 0.0, low - 12, "x", "y")


def _below(ax: Axes, job: Job, body: Body) -> None:
    """x to the right, z (outboard) up: y points away from the reader, who looks from the rotor's axis."""
    h = body.half_gap
    for side, sign in SIDES:
        half = job.model.a.half(side)
        low, high = half.outline[:, 0].min(), half.outline[:, 0].max()
        z = h if sign > 0 else -h - half.thickness
        ax.add_patch(Rectangle((low, z), high - low, half.thickness, fc=METAL, ec=INK, lw=1.0))
        for b in half.bores:
            depth = half.thickness - half.floor
            start = h if sign > 0 else -h - depth
            ax.add_patch(
                Rectangle((b.x - b.diameter / 2, start), b.diameter, depth, fc=PAPER, ec=METAL_EDGE, lw=0.8)
            )
        place: dict[str, Any] = {"ha": "right", "va": "center", "rotation": 90.0, "rotation_mode": "default"}
        ax.text(low - 3, sign * (h + half.thickness / 2), side, fontsize=7, color=SOFT, **place)
    for bridge in body.bridges:
        ax.add_patch(
            Rectangle((bridge.x0, -h), bridge.x1 - bridge.x0, 2 * h, fc=METAL, ec=INK, lw=0.8, ls=(0, (4, 2)))
        )
    if job.model.a.split:
        for _, bridge in job.model.a.own():
            ax.plot([bridge.x0, bridge.x1], [0, 0], color=INK, lw=1.2)
    for a in body.abutments:
        z0, z1 = (dict(SIDES)[a.half] * z for z in (a.z0, a.z1))
        ax.plot([a.x, a.x], [z0, z1], color=POINT, lw=2.2, solid_capstyle="butt")
    for s in job.model.a.screws:
        _screw_below(ax, s)
    for name in "abc":
        x, _, z = job.model.mesh.nodes[job.model.nodes[f"support_{name}"][0]]
        if name != "c":  # behind a
            _support(ax, float(x), float(z), "a, c" if name == "a" else name, (0.0, -8.0))
    for name in SLIDES[:2] if job.model.a.split else "":
        x, _, z = job.model.mesh.nodes[job.model.nodes[f"support_{name}"][0]]
        _support(ax, float(x), float(z), name, (0.0, 8.0))
    disc = job.design.rotor.thickness / 2
    ends = sorted((b.x0, b.x1) for b in body.bridges)
    edge = ends[0][1], ends[-1][0]  # between the first bridge and the last
    ax.add_patch(Rectangle((edge[0], -disc), edge[1] - edge[0], 2 * disc, fc="none", ec=SOFT, lw=0.7, ls=":"))
    ax.text(edge[1] - 4, -disc / 2, "disc", ha="right", va="center", fontsize=6.5, color=SOFT)
    _axes(ax, edge[0] + 6, -disc, "x", "z")


def _screw_below(ax: Axes, s: ScrewShape) -> None:
    x, _, z = s.seat
    if not s.axis[2]:
        ax.add_patch(Circle((x, z), s.bearing / 2, fc=PAPER, ec=INK, lw=0.7))
        return
    length, r = s.grip + s.engaged, s.diameter / 2
    ax.add_patch(Rectangle((x - r, z), 2 * r, length, fc="none", ec=INK, lw=0.7))
    head = s.head_diameter / 2
    ax.add_patch(
        Rectangle((x - head, z - s.washer - s.head_height), 2 * head, s.head_height, fc=PAPER, ec=INK, lw=0.7)
    )


def _number(s: ScrewShape) -> str:
    return s.name.removeprefix("bolt_")


def _support(ax: Axes, x: float, y: float, name: str, away: tuple[float, float]) -> None:
    """A mark, its letter moved off by points."""
    ax.plot([x], [y], marker="^", color=POINT, ms=5, mec=PAPER, mew=0.5, zorder=5)
    side = {-1.0: "right", 0.0: "center", 1.0: "left"}[float(np.sign(away[0]))]
    style: dict[str, Any] = {"fontsize": 7.5, "color": POINT, "ha": side, "va": "center"}
    ax.annotate(name, (x, y), xytext=away, textcoords="offset points", **style)


def _axes(ax: Axes, x: float, y: float, right: str, up: str) -> None:
    for dx, dy, name in ((15, 0, right), (0, 15, up)):
        _arrow(ax, (x, y), (x + dx, y + dy), AXIS)
        ax.text(
            x + 1.2 * dx,
            y + 1.2 * dy,
            name,
            color=AXIS,
            fontsize=8,
            fontweight="bold",
            ha="center",
            va="center",
        )


def _arrow(ax: Axes, start: tuple[float, float], end: tuple[float, float], colour: str) -> None:
    ax.add_patch(
        FancyArrowPatch(
            start, end, arrowstyle="-|>", mutation_scale=8, color=colour, lw=1.3, shrinkA=0, shrinkB=0
        )
    )
