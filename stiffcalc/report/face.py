"""One joint face in a picture: its pressure map, what does not touch, ports and bolts."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Circle, PathPatch, Polygon, Rectangle
from matplotlib.path import Path

from stiffcalc.caliper.body import Body, BridgeShape, Corners
from stiffcalc.caliper.joint_results import FaceMap, JointState
from stiffcalc.caliper.results import CaseResult
from stiffcalc.condensed import Array
from stiffcalc.report import canvas
from stiffcalc.report.canvas import INK, MAP_INK, MAP_PAPER
from stiffcalc.report.outline import bridge_outline

LOST = "#b3261e"  # a hair off canvas.BAD, so that it stays the same in both schemes, as the maps do
RELIEVED = "#cdd3d9"
EDGE: dict[str, Any] = {"ec": MAP_INK, "lw": 0.8}


def draw(
    ax: Axes, face: FaceMap, body: Body, bridge: BridgeShape, norm: Normalize, *, numbered: bool = True
) -> None:
    """Map, hatched where nothing touches; reliefs, ports with seals, bolts with the rings under their heads."""
    _pressure(ax, face, bridge, norm)
    _relieved(ax, bridge)
    _ports(ax, body, bridge)
    _bolts(ax, body, bridge, numbered=numbered)


def stepped(body: Body) -> bool:
    """Whether some joint face has a port, relief or land."""
    return bool(body.ports) or any(b.jointed and (b.reliefs or b.land) for b in body.bridges)


def top(face: FaceMap) -> float:
    """Largest pressure of a map, MPa."""
    return float(np.nanmax(face.pressure_MPa)) if np.isfinite(face.pressure_MPa).any() else 1.0


def joint_of(case: CaseResult, bridge: str) -> JointState | None:
    """State of one bridge's face, if the case has it."""
    return next((j for j in case.joints if j.bridge == bridge), None)


def mark_onset(ax: Axes, joint: JointState, *, size: float) -> None:
    """A diamond where the face opens first, if it does."""
    if np.isfinite(joint.onset_MPa):
        place = [joint.onset_x], [joint.onset_y]
        paper: dict[str, Any] = {"markeredgecolor": MAP_PAPER, "markeredgewidth": 0.17 * size}
        ax.plot(*place, marker="D", markersize=size, color=LOST, clip_on=False, zorder=5, **paper)


def key_height(body: Body) -> float:
    """Inches that `key` takes at a figure's lower edge."""
    return 0.4 if stepped(body) else 0.2


def key(fig: Figure, body: Body) -> None:
    """Under the picture: what diamond, hatching and rings are, and what does not touch."""
    w, h = fig.get_size_inches()
    high = key_height(body)
    ax = canvas.axes(fig, 0, 0.02, 0, h - high)
    ax.axis("off")
    ax.set(xlim=(0, w), ylim=(0, high - 0.02))
    y = high - 0.11
    ax.plot([0.35], [y], marker="D", markersize=6, color=LOST)
    ax.add_artist(Rectangle((1.3, y - 0.06), 0.22, 0.12, fc=MAP_PAPER, ec=LOST, hatch="//////", lw=0))
    ax.add_artist(Circle((2.52, y), 0.06, fc="none", ec=INK, lw=0.9, ls=(0, (2, 2))))
    words = [(0.44, y, "opens first"), (1.58, y, "no contact"), (2.64, y, "ring under head")]
    if stepped(body):
        y -= 0.2
        ax.add_artist(Rectangle((0.24, y - 0.06), 0.22, 0.12, fc=RELIEVED, **EDGE))
        ax.add_artist(Circle((2.5, y), 0.08, fc=RELIEVED, **EDGE))
        ax.add_artist(Circle((2.5, y), 0.035, fc=MAP_PAPER, **EDGE))
        words += [(0.52, y, "relieved, does not touch"), (2.64, y, "port in its seal")]
    for x, at, word in words:
        ax.text(x, at, word, fontsize=8, va="center")


def _pressure(ax: Axes, face: FaceMap, bridge: BridgeShape, norm: Normalize) -> None:
    """The map, carried on a little past its last points so that the true outline cuts it, not the grid."""
    dx, dy = face.x[1] - face.x[0], face.y[1] - face.y[0]
    box = (face.x[0] - dx / 2, face.x[-1] + dx / 2, face.y[0] - dy / 2, face.y[-1] + dy / 2)
    limits = ax.get_xlim(), ax.get_ylim()
    edge = Polygon(bridge_outline(bridge), fc="none", ec=MAP_INK, lw=1.0, clip_on=False)
    shown = _grown(face.pressure_MPa, times=3)
    ax.add_artist(edge)
    image = ax.imshow(
        shown,
        origin="lower",
        extent=box,
        aspect="auto",
        cmap=canvas.FIELD,
        norm=norm,
        interpolation="bilinear",
    )
    image.set_clip_path(edge)
    if (shown <= 0.0).any():
        fill = ax.contourf(
            face.x,
            face.y,
            shown,
            levels=[-1.0, 0.004 * float(norm.vmax or 1.0)],
            colors=[MAP_PAPER],
            hatches=["//////"],
        )
        fill.set(edgecolor=LOST, linewidth=0)
        fill.set_clip_path(edge)
    ax.set(xlim=limits[0], ylim=limits[1])


def _grown(values: Array, *, times: int) -> Array:
    """Values with the edge of the metal carried outward: a NaN beside known points takes their mean."""
    out = np.array(values)
    for _ in range(times):
        around = np.stack(
            [
                np.roll(np.pad(out, 1, constant_values=np.nan), s, axis=a)[1:-1, 1:-1]
                for s in (-1, 1)
                for a in (0, 1)
            ]
        )
        known = np.isfinite(around)
        count = known.sum(axis=0)
        mean = np.where(known, around, 0.0).sum(axis=0) / np.maximum(count, 1)
        out = np.where(np.isnan(out) & (count > 0), mean, out)
    return out


def _relieved(ax: Axes, bridge: BridgeShape) -> None:
    """Reliefs, and all that lies beside a land, cut off at the face's outline."""
    edge = Polygon(bridge_outline(bridge), fc="none", ec="none")
    ax.add_artist(edge)
    shapes = [[relief] for relief in bridge.reliefs]
    if bridge.land is not None:
        whole = tuple((float(x), float(y)) for x, y in bridge_outline(bridge))
        shapes.append([whole, bridge.land])
    for corners in shapes:
        patch = PathPatch(_path(corners), fc=RELIEVED, **EDGE)
        ax.add_artist(patch)
        patch.set_clip_path(edge)


def _path(shapes: list[Corners]) -> Path:
    """Closed outlines as one path, the second cut out of the first."""
    turned = [o if _area(o) * sign > 0 else o[::-1] for o, sign in zip(shapes, (1, -1), strict=False)]
    vertices = [corner for o in turned for corner in (*o, o[0])]
    codes = [c for o in turned for c in (Path.MOVETO, *[Path.LINETO] * (len(o) - 1), Path.CLOSEPOLY)]
    return Path(vertices, codes)


def _area(outline: Corners) -> float:
    """Twice the area, positive counter-clockwise."""
    x, y = np.array(outline).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _ports(ax: Axes, body: Body, bridge: BridgeShape) -> None:
    for port in body.ports:
        if body.bridges[port.bridge] is bridge:
            ax.add_artist(Circle((port.x, port.y), port.seal / 2, fc=RELIEVED, **EDGE))
            ax.add_artist(Circle((port.x, port.y), port.diameter / 2, fc=MAP_PAPER, **EDGE))


def _bolts(ax: Axes, body: Body, bridge: BridgeShape, *, numbered: bool) -> None:
    for k, bolt in enumerate(body.bolts):
        if body.bridges[bolt.bridge] is bridge:
            ax.add_artist(Circle((bolt.x, bolt.y), bolt.hole / 2, fc=MAP_PAPER, ec=MAP_INK, lw=1.0))
            ax.add_artist(
                Circle((bolt.x, bolt.y), bolt.bearing / 2, fc="none", ec=MAP_INK, lw=0.9, ls=(0, (2, 2)))
            )
            if numbered:
                ax.annotate(
                    str(k + 1), (bolt.x, bolt.y), ha="center", va="center", fontsize=7.5, color=MAP_INK
                )
