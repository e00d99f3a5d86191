"""What joining two halves is given and what it returns: frozen data, and the axes they share.

Axes: D designs first, then any load states (preloads, pressures), then the item's own axes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from stiffcalc.condensed import Array, Flexibility
from stiffcalc.errors import ConvergenceError
from stiffcalc.mechanics.closed_pressure import ClosedPressure
from stiffcalc.mechanics.elastic_faces import ElasticFaces
from stiffcalc.mechanics.faces import Faces, Index, take
from stiffcalc.mechanics.joint_system import System, closed_answer, system
from stiffcalc.mechanics.stacked import apply, greatest, transposed

LIMIT = 1e-8  # of residual, equilibrium and energy errors, relative
ITEM_AXES = {
    "pressure": 0,
    "tension": 2,
    "bolt": 1,
    "separation": 2,
    "rigid": 1,
    "points": 1,
    "outputs": 1,
    "cells": 1,
}


class JointError(ConvergenceError):
    """The joint's equilibrium was not found; `designs` lists the rows of the batch concerned."""

    def __init__(self, what: str, *, residual: float, iterations: int, designs: tuple[int, ...]) -> None:
        self.designs = designs
        where = ", ".join(str(d) for d in designs[:5]) + (", ..." if len(designs) > 5 else "")
        super().__init__(f"{what} (design {where})", residual=residual, iterations=iterations)


class UnheldError(JointError):
    """Nothing holds the halves together: no closed face, bolt or solid bridge resists some movement."""


@dataclass(frozen=True)
class Pair:
    """Two halves and what joins them. mm, N, MPa."""

    flexibility: Flexibility  # of both halves together
    bridge_flexibility: Array  # (D, N, 3, 3) of the whole length, (w, theta_x, theta_y) per (N, Mx, My)
    layer_share: Array  # (D, N) part of the length that is the face's elastic layer; 0 = not jointed
    jointed: tuple[int, ...]  # indices of the jointed bridges
    faces: Faces  # (D, N)
    bolt_flexibility: Array  # (D, J) mm/N, whole bolts
    bore_area: Array  # (D, B) mm2
    clamp: ElasticFaces | None = (
        None  # how bolts press the faces' cells, and what the cells give; None: not known
    )
    grown: Array | None = None  # (D, N) mm by which each bridge, left free, outgrows the body; None: 0
    closed: ClosedPressure | None = None  # of whole closed faces up to their edges; None: not known

    def compliance(self, q: int, *, with_layer: bool, designs: Index | slice = slice(None)) -> Array:
        """F_qq plus what bridges (with or without their face's layer) and bolts add, (D, q, q), of some designs."""
        total = np.array(self.flexibility.F[designs, :q, :q])
        own = self.bridge_flexibility[designs]
        if not with_layer:
            own = own * (1.0 - self.layer_share[designs])[..., None, None]
        for i in range(own.shape[1]):
            total[:, 3 * i : 3 * i + 3, 3 * i : 3 * i + 3] += own[:, i]
        bolts = np.arange(3 * own.shape[1], q)
        total[:, bolts, bolts] += self.bolt_flexibility[designs, : len(bolts)]
        return total

    @cached_property
    def prying(self) -> Array | None:
        """Resultants N, Mx, My of the fluid of ports on each bridge's face per MPa, (D, N, 3); None: no port."""
        own = None if self.clamp is None else self.clamp.prying
        if own is None:
            return None
        found = np.zeros((*self.layer_share.shape, 3))
        found[:, list(self.jointed)] = own
        return found

    @cached_property
    def sunk(self) -> Array | None:
        """How far the fluid presses the faces' elastic layers apart per MPa, (D, N, 3); None: no port.

        A layer is of the whole section, so that it stretches with what the bridge carries, fluid or contact.
        """
        if self.prying is None:
            return None
        return np.asarray(self.layer_share[..., None] * apply(self.bridge_flexibility, self.prying))

    @cached_property
    def stretch(self) -> Array:
        """What all bridges' tensions stretch them by, faces' layers left out, (D, 3 N, 3 N)."""
        own = (1.0 - self.layer_share)[..., None, None] * self.bridge_flexibility
        found = np.zeros((len(own), 3 * own.shape[1], 3 * own.shape[1]))
        for i in range(own.shape[1]):
            found[:, 3 * i : 3 * i + 3, 3 * i : 3 * i + 3] = own[:, i]
        return found

    @cached_property
    def answering(self) -> Array:
        """[F; O; R^T] (D, m + n + 3, m): of forces at the points, their movements, the outputs and the resultants."""
        half = self.flexibility
        return np.concatenate([half.F, half.outputs.O, transposed(half.R)], axis=1)

    @cached_property
    def turning(self) -> Array:
        """[R; R of the outputs] (D, m + n, 3): movements of points and outputs in unit rigid motions."""
        half = self.flexibility
        return np.concatenate([half.R, half.outputs.R], axis=1)

    @cached_property
    def swept(self) -> Array:
        """Movements of points and outputs per MPa on the bores' cylinder walls, (D, m + n)."""
        half = self.flexibility
        return np.concatenate([half.wall, half.outputs.wall], axis=1)

    @cached_property
    def magnitudes(self) -> Array:
        """|F; R^T| (D, m + 3, m), what rounding is measured against."""
        half = self.flexibility
        return np.asarray(np.abs(np.concatenate([half.F, transposed(half.R)], axis=1)))

    @cached_property
    def point_levers(self) -> Array:
        """Lever of each point, (D, m): 1 for forces and w, the longest about the origin for moments and rotations."""
        points, reach = self.flexibility.points, greatest(greatest(np.abs(self.flexibility.R)))
        levers = np.ones((len(reach), points.count))
        levers[:, 1 : points.bridge.stop : 3] = levers[:, 2 : points.bridge.stop : 3] = reach[:, None]
        return levers

    @cached_property
    def levers(self) -> Array:
        """Levers of forces and moments at the jointed faces, (D, 3 n)."""
        faces = self.faces
        up = greatest(np.abs(faces.corner_y - faces.y_r[..., None]))
        across = greatest(np.abs(faces.corner_x - faces.x_b[..., None]))
        return np.stack([np.ones_like(up), up, across], axis=-1)[:, self.jointed].reshape(len(up), -1)

    @cached_property
    def joint_faces(self) -> Faces:
        """Those of the jointed bridges, (D, n)."""
        return take(self.faces, np.arange(len(self.bore_area)), self.jointed)

    @cached_property
    def tightening(self) -> Array:
        """`closed_answer` at the bridges, while the bolts' forces are given."""
        return self._closed_answer(self.flexibility.points.bridge.stop)

    @cached_property
    def bolted(self) -> Array:
        """`closed_answer` at bridges and bolts, once bolts act as springs."""
        return self._closed_answer(self.flexibility.points.bolt.stop)

    def _closed_answer(self, q: int) -> Array:
        return closed_answer(self.compliance(q, with_layer=True), self.flexibility.R[:, :q], self.layers(q))

    def layers(self, q: int) -> Array:
        """Stretch of the jointed faces' layers per unit of forces at the first q points, (D, 3 n, q)."""
        stretch = -self.layer_share[..., None, None] * self.bridge_flexibility
        found = np.zeros((len(stretch), 3 * len(self.jointed), q))
        for k, i in enumerate(self.jointed):
            found[:, 3 * k : 3 * k + 3, 3 * i : 3 * i + 3] = stretch[:, i]
        return found

    def opened(self, q: int, designs: Index) -> System:
        """What answers at the first q points where faces of these designs may open."""
        compliance, R = self.compliance(q, with_layer=False, designs=designs), self.flexibility.R[designs, :q]
        return system(compliance, R, jointed=self.jointed, faces=take(self.faces, designs, self.jointed))


@dataclass(frozen=True)
class Response:
    """Forces and relative movements (openings positive), or a change of them."""

    pressure: Array  # (D, ...) MPa
    tension: Array  # (D, ..., N, 3) of the bridges: N, Mx, My at the reference point
    bolt: Array  # (D, ..., J) N
    separation: Array  # (D, ..., N, 3) s of the joint faces, elastic layer included; 0 where not jointed
    rigid: Array  # (D, ..., 3)
    points: Array  # (D, ..., m) e, see `condensed`
    outputs: Array  # (D, ..., n) o, see `condensed`
    cells: Array  # (D, ..., M) N, pressing, on the cells of `Pair.clamp`; M = 0 where faces move as planes


@dataclass(frozen=True)
class Checks:
    """Relative errors of one solve, each (D, ...) and at most `LIMIT`, and the Newton steps it took."""

    residual: Array  # compatibility at the points and force balance at the faces
    equilibrium: Array  # reactions of bridges and bolts against the loads
    energy: Array  # work of the loads against what halves, bridges, faces and bolts took up
    steps: Index


@dataclass(frozen=True)
class State:
    """A solved state."""

    response: Response
    checks: Checks


def forces(pair: Pair, response: Response) -> Array:
    """The forces f = (-T, -B, p A) on the points, (D, ..., m)."""
    lead = response.pressure.shape
    tension = response.tension.reshape(*lead, -1)
    area = np.expand_dims(pair.bore_area, tuple(range(1, len(lead))))
    return np.concatenate([-tension, -response.bolt, response.pressure[..., None] * area], axis=-1)


def change(loaded: Response, before: Response) -> Response:
    """Loaded minus before; `before` may lack the last load-state axes of `loaded`."""
    extra = loaded.pressure.ndim - before.pressure.ndim
    older = with_states(before, extra)
    return Response(**{f.name: getattr(loaded, f.name) - getattr(older, f.name) for f in fields(Response)})


def plus(loaded: Response, before: Response) -> Response:
    """The sum of both; `before` may lack the last load-state axes of `loaded`."""
    older = with_states(before, loaded.pressure.ndim - before.pressure.ndim)
    return Response(**{f.name: getattr(loaded, f.name) + getattr(older, f.name) for f in fields(Response)})


def with_states(response: Response, extra: int) -> Response:
    """The response with `extra` load-state axes of length 1 after those it has."""
    first = response.pressure.ndim
    return _each(response, lambda v, _: np.expand_dims(v, tuple(range(first, first + extra))))


def scaled(response: Response, factor: Array) -> Response:
    """The response times a factor that has its load-state axes."""
    return _each(response, lambda v, items: v * np.expand_dims(factor, tuple(range(-items, 0))))


def picked(response: Response, at: tuple[int | slice | Sequence[int], ...]) -> Response:
    """The response at an index into its designs and load states; the designs' axis must stay (use a slice)."""
    return Response(**{f.name: getattr(response, f.name)[at] for f in fields(Response)})


def states_of(state: State, which: Sequence[int]) -> State:
    """Some of the load states (the second axis)."""
    if tuple(which) == tuple(range(state.response.pressure.shape[1])):
        return state
    checks = {name: values[:, which] for name, values in vars(state.checks).items()}
    return State(picked(state.response, (slice(None), which)), Checks(**checks))


def reshaped(state: State, lead: tuple[int, ...]) -> State:
    """The state with its leading axis unfolded into designs and load states."""
    c = state.checks
    return State(
        response=_each(state.response, lambda v, items: v.reshape(*lead, *v.shape[v.ndim - items :])),
        checks=Checks(
            residual=c.residual.reshape(lead),
            equilibrium=c.equilibrium.reshape(lead),
            energy=c.energy.reshape(lead),
            steps=c.steps.reshape(lead),
        ),
    )


def _each(response: Response, act: Callable[[Array, int], Array]) -> Response:
    """Apply `act(array, number of item axes)` to every field."""
    return Response(**{name: act(getattr(response, name), items) for name, items in ITEM_AXES.items()})
