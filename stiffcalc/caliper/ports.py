"""What presses round the seal of a port: contact pressure on a circle just outside the seal's groove."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.batch import Index, column, of
from stiffcalc.caliper.body import PortShape
from stiffcalc.caliper.idealise import bridges
from stiffcalc.caliper.joint_results import PortState
from stiffcalc.caliper.requirement import Context, View
from stiffcalc.condensed import Array
from stiffcalc.mechanics import clamp_plane

POINTS = 72
BESIDE = 1.0  # mm outside the groove; nearer to its edge the pressure is of the cells' size, not of the face


@dataclass(frozen=True)
class Around:
    """Contact pressure round one port's seal at the moment that governs in each design."""

    moments: tuple[View, ...]
    which: Index  # (D,) of `moments`
    pressure: Array  # (D, POINTS) MPa, from +x counter-clockwise
    x: Array  # (D, POINTS) or (POINTS,)
    y: Array

    def view(self, design: int) -> View:
        """The moment that governs in one design."""
        return self.moments[int(self.which[design])]

    @property
    def least(self) -> Index:
        """Index of the lowest pressure, (D,)."""
        return np.asarray(self.pressure.argmin(axis=-1))

    @property
    def open_share(self) -> Array:
        """Share of the circle without contact, (D,)."""
        return open_shares(self.pressure)

    def place(self, design: int) -> tuple[float, float]:
        """Where the lowest pressure of one design is, x and y."""
        k = self.least[design]
        return of(self.x[..., k], design), of(self.y[..., k], design)


def governing(c: Context, port: PortShape) -> Around:
    """The moment of life, at minimum preload, that presses the seal's surroundings least."""
    x, y = circle(port)
    found = np.stack([around(c, port, view) for view in c.low], axis=1)  # (D, V, POINTS)
    # the last key counts first; equals stay in order
    which = np.lexsort((-open_shares(found), found.min(axis=-1)), axis=-1)[:, 0]
    return Around(c.low, which, found[np.arange(c.count), which], x, y)


def open_shares(pressure: Array) -> Array:
    """Share of points (..., K) without contact."""
    return np.asarray((pressure <= 0.0).mean(axis=-1))


def circle(port: PortShape) -> tuple[Array, Array]:
    """The points round the seal, (POINTS,) or (D, POINTS)."""
    angle = 2.0 * np.pi * np.arange(POINTS) / POINTS
    radius = column(port.seal) / 2 + BESIDE
    return column(port.x) + radius * np.cos(angle), column(port.y) + radius * np.sin(angle)


def around(c: Context, port: PortShape, view: View) -> Array:
    """Pressure at one moment (D, POINTS); none anywhere where nothing holds the halves together."""
    if not view.held.any():
        return np.zeros((c.count, POINTS))
    x, y = circle(port)
    shapes = bridges(c.body) if c.count == 1 else None
    found = clamp_plane.pressure_at(view.answer.pair, shapes, view.state, bridge=port.bridge, x=x, y=y)
    return np.where(view.held[:, None], found, 0.0)


def port_state(c: Context, index: int) -> PortState:
    """One port of the results, of the first design."""
    port = c.body.ports[index]
    found = governing(c, port)
    x, y = found.place(0)
    return PortState(
        index=index + 1,
        bridge=c.body.bridges[port.bridge].name,
        contact_MPa=float(found.pressure[0].min()),
        x=x,
        y=y,
        open_share=float(found.open_share[0]),
        moment=found.view(0).words,
    )
