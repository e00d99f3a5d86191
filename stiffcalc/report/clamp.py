"""Contact pressure over the clamp plane."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon, Rectangle

from stiffcalc.caliper.body import Body, BridgeShape
from stiffcalc.caliper.joint_results import FaceMap, JointState
from stiffcalc.caliper.results import CaseResult, Results
from stiffcalc.condensed import Array
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas, choose, words
from stiffcalc.report.canvas import INK, MAP_INK, MAP_PAPER, NARROW, Picture
from stiffcalc.report.outline import bridge_outline

CONTACT, ONSET, PRESSURE = (quantity(k) for k in ("face.pressure_MPa", "onset_MPa", "pressure"))
LOST = "#b3261e"  # a hair off canvas.BAD, so that it stays the same in both schemes, as the maps do


@canvas.drawn
def clamp_plane(results: Results, variant: int) -> Picture | None:
    """Contact pressure over each joint face at the highest load case, minimum preload; None for one piece."""
    v = results.variants[variant]
    if not v.faces:
        return None
    case = choose.highest(v)
    norm = Normalize(0.0, max(_top(f) for w in results.variants for f in w.faces))
    faces = {f.bridge: f for f in v.faces}
    bridges = sorted((b for b in v.body.bridges if b.name in faces), key=lambda b: b.x0)
    fig, panels = _face_axes(bridges)
    for ax, bridge in zip(panels, bridges, strict=True):
        face = faces[bridge.name]
        _face(ax, face, bridge, norm)
        _face_bolts(ax, v.body, bridge)
        _face_onset(ax, _joint(case, bridge.name), bridge.name)
    panels[0].set_ylabel("y, radial, mm")
    canvas.colour_bar(fig, norm, f"{CONTACT.label}, at {PRESSURE.with_unit(case.pressure)}", bottom=0.58)
    _map_key(fig)
    return canvas.picture(
        fig,
        f"clamp-{variant + 1}",
        title="Contact pressure in the clamp plane",
        alt=f"Contact pressure over the joint faces of variant {variant + 1} at {PRESSURE.with_unit(case.pressure)}, "
        f"minimum preload. {_faces_in_words(case)}",
        variant=variant,
    )


def _map_key(fig: Figure) -> None:
    """One line under the colour bar: what the diamond, the hatching and the rings are."""
    w, h = fig.get_size_inches()
    ax = canvas.axes(fig, 0, 0.02, 0, h - 0.2)
    ax.axis("off")
    ax.set(xlim=(0, w), ylim=(0, 0.18))
    ax.plot([0.35], [0.09], marker="D", markersize=6, color=LOST)
    ax.text(0.44, 0.09, "opens first", fontsize=8, va="center")
    ax.add_patch(Rectangle((1.3, 0.03), 0.22, 0.12, fc=MAP_PAPER, ec=LOST, hatch="//////", lw=0))
    ax.text(1.58, 0.09, "no contact", fontsize=8, va="center")
    ax.add_patch(Circle((2.52, 0.09), 0.06, fc="none", ec=INK, lw=0.9, ls=(0, (2, 2))))
    ax.text(2.64, 0.09, "ring under head", fontsize=8, va="center")


def _top(face: FaceMap) -> float:
    return float(np.nanmax(face.pressure_MPa)) if np.isfinite(face.pressure_MPa).any() else 1.0


def _joint(case: CaseResult, bridge: str) -> JointState | None:
    return next((j for j in case.joints if j.bridge == bridge), None)


def _face_axes(bridges: Sequence[BridgeShape]) -> tuple[Figure, list[Axes]]:
    """Faces side by side at one scale and one height axis; what lies between them is left out."""
    spans = [b.x1 - b.x0 for b in bridges]
    y0 = min(float(bridge_outline(b)[:, 1].min()) for b in bridges)
    y1 = max(b.y1 for b in bridges)
    left, right, below, above, name = 0.55, 0.1, 1.28, 0.5, 1.05
    room = NARROW - left - right
    gap = max(0.25, name - min(2.3 / (y1 - y0), room / sum(spans)) * min(spans)) if len(bridges) > 1 else 0.0
    scale = min((room - gap * (len(bridges) - 1)) / sum(spans), 2.3 / (y1 - y0))
    fig = canvas.figure(NARROW, below + above + scale * (y1 - y0))
    x = left
    out: list[Axes] = []
    for b, span in zip(bridges, spans, strict=True):
        ax = canvas.axes(fig, x, below, NARROW - x - scale * span, above)
        ax.set_xlim(b.x0, b.x1)
        ax.set_ylim(y0, y1)
        ax.set_xticks([b.x0, b.x1], ["", ""])
        ax.set_xlabel(f"x {b.x0:g} to {b.x1:g} mm".replace("-", "−"), labelpad=2)
        ax.tick_params(labelleft=not out)
        for side in ("left", "bottom"):
            ax.spines[side].set_position(("outward", 3))
        x += scale * span + gap
        out.append(ax)
    return fig, out


def _face(ax: Axes, face: FaceMap, bridge: BridgeShape, norm: Normalize) -> None:
    """The map, carried on a little past its last points so that the true outline cuts it, not the grid."""
    dx, dy = face.x[1] - face.x[0], face.y[1] - face.y[0]
    box = (face.x[0] - dx / 2, face.x[-1] + dx / 2, face.y[0] - dy / 2, face.y[-1] + dy / 2)
    limits = ax.get_xlim(), ax.get_ylim()
    edge = Polygon(bridge_outline(bridge), fc="none", ec=MAP_INK, lw=1.0, clip_on=False)
    shown = _grown(face.pressure_MPa, times=3)
    ax.add_patch(edge)
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


def _face_bolts(ax: Axes, body: Body, bridge: BridgeShape) -> None:
    for k, bolt in enumerate(body.bolts):
        if body.bridges[bolt.bridge] is bridge:
            ax.add_patch(Circle((bolt.x, bolt.y), bolt.hole / 2, fc=MAP_PAPER, ec=MAP_INK, lw=1.0))
            ax.add_patch(
                Circle((bolt.x, bolt.y), bolt.bearing / 2, fc="none", ec=MAP_INK, lw=0.9, ls=(0, (2, 2)))
            )
            ax.annotate(str(k + 1), (bolt.x, bolt.y), ha="center", va="center", fontsize=7.5, color=MAP_INK)


def _face_onset(ax: Axes, joint: JointState | None, bridge: str) -> None:
    words = "" if joint is None else "no onset in range"
    if joint is not None and np.isfinite(joint.onset_MPa):
        words = f"onset {ONSET.with_unit(joint.onset_MPa)}"
        ax.plot(
            [joint.onset_x],
            [joint.onset_y],
            marker="D",
            markersize=7,
            color=LOST,
            markeredgecolor=MAP_PAPER,
            markeredgewidth=1.2,
            clip_on=False,
            zorder=5,
        )
    ax.annotate(
        f"{canvas.shorten(bridge, 16)}\n{words}",
        (0.5, 1),
        xycoords="axes fraction",
        xytext=(0, 6),
        textcoords="offset points",
        ha="center",
        va="bottom",
        fontsize=8,
        linespacing=1.25,
    )


def _faces_in_words(case: CaseResult) -> str:
    share = quantity("open_fraction")
    return " ".join(
        f"{j.bridge}: onset {words.onset(j.onset_MPa)}, {share.with_unit(j.open_fraction)} of the face open, "
        f"at most {CONTACT.with_unit(j.face_pressure_max_MPa)}."
        for j in case.joints
    )
