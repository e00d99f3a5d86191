"""Contact pressure over the clamp plane."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

from stiffcalc.caliper.body import BridgeShape
from stiffcalc.caliper.joint_results import JointState
from stiffcalc.caliper.results import CaseResult, Results
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas, choose, words
from stiffcalc.report.canvas import NARROW, Picture
from stiffcalc.report.face import draw, joint_of, key, key_height, mark_onset, top
from stiffcalc.report.outline import bridge_outline

CONTACT, ONSET, PRESSURE, SOON = (
    quantity(k) for k in ("face.pressure_MPa", "onset_MPa", "pressure", "open_2pct_MPa")
)


@canvas.drawn
def clamp_plane(results: Results, variant: int) -> Picture | None:
    """Contact pressure over each joint face at the highest load case, minimum preload; None for one piece."""
    v = results.variants[variant]
    if not v.faces:
        return None
    case = choose.highest(v)
    norm = Normalize(0.0, max(top(f) for w in results.variants for f in w.faces))
    faces = {f.bridge: f for f in v.faces}
    bridges = sorted((b for b in v.body.bridges if b.name in faces), key=lambda b: b.x0)
    low = key_height(v.body)
    fig, panels = _face_axes(bridges, below=1.08 + low)
    for ax, bridge in zip(panels, bridges, strict=True):
        draw(ax, faces[bridge.name], v.body, bridge, norm)
        _named(ax, joint_of(case, bridge.name), bridge.name)
    panels[0].set_ylabel("y, radial, mm")
    canvas.colour_bar(
        fig, norm, f"{CONTACT.label}, at {PRESSURE.with_unit(case.pressure)}", bottom=0.38 + low
    )
    key(fig, v.body)
    return canvas.picture(
        fig,
        f"clamp-{variant + 1}",
        title="Contact pressure in the clamp plane",
        alt=f"Contact pressure over the joint faces of variant {variant + 1} at {PRESSURE.with_unit(case.pressure)}, "
        f"minimum preload. {_faces_in_words(case)}",
        variant=variant,
    )


def _face_axes(bridges: Sequence[BridgeShape], *, below: float) -> tuple[Figure, list[Axes]]:
    """Faces side by side at one scale and one height axis; what lies between them is left out."""
    spans = [b.x1 - b.x0 for b in bridges]
    y0 = min(float(bridge_outline(b)[:, 1].min()) for b in bridges)
    y1 = max(b.y1 for b in bridges)
    left, right, above, name = 0.55, 0.1, 0.64, 1.15
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


def _named(ax: Axes, joint: JointState | None, bridge: str) -> None:
    lines = [canvas.shorten(bridge, 16)]
    if joint is not None:
        known = np.isfinite(joint.onset_MPa)
        lines.append(f"onset {ONSET.with_unit(joint.onset_MPa)}" if known else "no onset in range")
        if joint.open_2pct_MPa is not None:
            lines.append(f"2 % open {SOON.with_unit(joint.open_2pct_MPa)}")
        mark_onset(ax, joint, size=7)
    ax.annotate(
        "\n".join(lines),
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
