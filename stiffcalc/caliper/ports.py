"""What presses round the seal of a port: contact pressure on a circle just outside the seal's groove."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.body import PortShape
from stiffcalc.caliper.idealise import bridges
from stiffcalc.caliper.joint_results import PortState
from stiffcalc.caliper.requirement import Context, View
from stiffcalc.condensed import Array
from stiffcalc.mechanics import clamp_plane
from stiffcalc.mechanics.joint_state import picked

POINTS = 72
BESIDE = 1.0  # mm outside the groove; nearer to its edge the pressure is of the cells' size, not of the face


@dataclass(frozen=True)
class Around:
    """Contact pressure round one port's seal at one moment."""

    view: View
    pressure: Array  # (POINTS,) MPa, from +x counter-clockwise
    x: Array  # (POINTS,)
    y: Array

    @property
    def least(self) -> int:
        """Index of the lowest pressure."""
        return int(self.pressure.argmin())

    @property
    def open_share(self) -> float:
        """Share of the circle without contact."""
        return float(np.mean(self.pressure <= 0.0))


def governing(c: Context, port: PortShape) -> Around:
    """The moment of life, at minimum preload, that presses the seal's surroundings least."""
    found = [around(c, port, view) for view in c.low]
    return min(found, key=lambda a: (a.pressure.min(), -a.open_share))


def around(c: Context, port: PortShape, view: View) -> Around:
    """One moment; no pressure anywhere where nothing holds the halves together."""
    angle = 2.0 * np.pi * np.arange(POINTS) / POINTS
    radius = port.seal / 2 + BESIDE
    x, y = port.x + radius * np.cos(angle), port.y + radius * np.sin(angle)
    if not view.held:
        return Around(view, np.zeros(POINTS), x, y)
    state = picked(view.answer.loaded, (slice(None), view.end, view.at))
    shapes = bridges([c.body])
    found = clamp_plane.pressure_at(view.answer.pair, shapes, state, bridge=port.bridge, x=x, y=y)
    return Around(view, found, x, y)


def port_state(c: Context, index: int) -> PortState:
    """One port of the results."""
    port = c.body.ports[index]
    found = governing(c, port)
    k = found.least
    return PortState(
        index=index + 1,
        bridge=c.body.bridges[port.bridge].name,
        contact_MPa=float(found.pressure[k]),
        x=float(found.x[k]),
        y=float(found.y[k]),
        open_share=found.open_share,
        moment=found.view.words,
    )
