"""What a joint's faces show in a solved state: contact pressure, where it is least and most, what has opened.

The same questions for faces cut into cells and for faces that stay plane (see `joint_state.Pair.clamp`).
Axes: D designs, then load states, N bridges; NaN or zero where a bridge is not jointed, as said.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RegularGridInterpolator

from stiffcalc.condensed import Array
from stiffcalc.mechanics import faces
from stiffcalc.mechanics.bridges import Bridges, underside
from stiffcalc.mechanics.cell_pressure import mean_pressure
from stiffcalc.mechanics.elastic_faces import ElasticFaces
from stiffcalc.mechanics.faces import PressureMap
from stiffcalc.mechanics.joint_state import Pair, Response, with_states
from stiffcalc.mechanics.voids import Void, keeps


@dataclass(frozen=True)
class Swing:
    """Largest change of contact pressure on each face between two states, and where. MPa, mm."""

    pressure: Array  # (D, ..., N) not negative; 0 where not jointed
    x: Array  # (D, ..., N) NaN where not jointed
    y: Array


def open_fraction(pair: Pair, response: Response, *, beyond: float = 0.0) -> Array:
    """Share of each face's area without contact, (D, ..., N); 0 where not jointed.

    Of faces that move as planes any share up to `beyond` may be given as 0, which takes a fraction of the time.
    """
    shares = np.zeros(response.separation.shape[:-1])
    jointed = list(pair.jointed)
    clamp = _elastic(pair)
    if clamp is None:
        found = faces.open_fraction(pair.faces, response.separation, beyond=beyond)
        shares[..., jointed] = found[..., jointed]
        return shares
    area = _between(clamp.cells.area, response)
    opened = area * ~(_on_cells(clamp, response) > 0.0)
    shares[..., jointed] = opened.sum(axis=-1) / area.sum(axis=-1)
    return shares


def pressure_range(pair: Pair, response: Response) -> tuple[Array, Array]:
    """Least and greatest contact pressure on each face, MPa, (D, ..., N); 0 where not jointed.

    Of faces cut into cells the means over cells.
    """
    clamp = _elastic(pair)
    if clamp is None:
        return faces.pressure_range(pair.faces, response.separation)
    pressure, alive = _cell_pressure(clamp, response), _between(clamp.cells.read.area, response) > 0.0
    low, high = np.zeros((2, *response.separation.shape[:-1]))
    low[..., list(pair.jointed)] = np.where(alive, pressure, np.inf).min(axis=-1)
    high[..., list(pair.jointed)] = pressure.max(axis=-1)
    return low, high


def swing(pair: Pair, before: Response, loaded: Response) -> Swing:
    """How much the pressure on each face changes; `before` may lack the last load-state axes of `loaded`.

    Of faces cut into cells means over cells, of planes at their extreme points.
    """
    older = with_states(before, loaded.pressure.ndim - before.pressure.ndim)
    change, places = _change(pair, older, loaded)
    at = change.argmax(axis=-1)[..., None]
    shape, jointed = loaded.separation.shape[:-1], list(pair.jointed)
    largest, x, y = np.zeros(shape), np.full(shape, np.nan), np.full(shape, np.nan)
    for whole, values in ((largest, change), (x, places[0]), (y, places[1])):
        full = values if values is change else np.broadcast_to(_between(values, loaded), change.shape)
        whole[..., jointed] = np.take_along_axis(full, at, axis=-1)[..., 0]
    return Swing(largest, x, y)


def _change(pair: Pair, older: Response, loaded: Response) -> tuple[Array, tuple[Array, Array]]:
    """Change of pressure (D, ..., n, K) at places (D, n, K) of the jointed faces."""
    clamp, jointed = _elastic(pair), list(pair.jointed)
    if clamp is None:
        x, y = pair.faces.corner_x, pair.faces.corner_y
        after, first = (faces.face_pressure(pair.faces, r.separation, x=x, y=y) for r in (loaded, older))
        return np.abs(after - first)[..., jointed, :], (x[:, jointed], y[:, jointed])
    change = np.abs(_cell_pressure(clamp, loaded) - _cell_pressure(clamp, older))
    read = clamp.cells.read
    return np.where(_between(read.area, loaded) > 0.0, change, 0.0), (read.x, read.y)


def lost_share(pair: Pair, before: Response, loaded: Response) -> Array:
    """Share of the area in contact before that is so no more, (D, ..., N); 0 where not jointed.

    `before` may lack the last load-state axes of `loaded`. Of planes by the areas alone: what closes elsewhere counts
    against what opens.
    """
    clamp = _elastic(pair)
    older = with_states(before, loaded.pressure.ndim - before.pressure.ndim)
    if clamp is None:
        touched = 1.0 - open_fraction(pair, older)
        lost = np.maximum(touched - (1.0 - open_fraction(pair, loaded)), 0.0)
        return np.asarray(lost / np.where(touched > 0.0, touched, 1.0))
    touched = _between(clamp.cells.area, loaded) * (_on_cells(clamp, older) > 0.0)
    left = touched * (_on_cells(clamp, loaded) > 0.0)
    all_ = touched.sum(axis=-1)
    shares = np.zeros(loaded.separation.shape[:-1])
    shares[..., list(pair.jointed)] = (all_ - left.sum(axis=-1)) / np.where(all_ > 0.0, all_, 1.0)
    return shares


def pressure_at(
    pair: Pair, bridges: Bridges | None, response: Response, *, bridge: int, x: Array, y: Array
) -> Array:
    """Contact pressure, MPa, at points (K,) or (D, K) of one face, (D, ..., K) over its load states.

    `bridges` are needed only where faces are cut into cells.
    """
    clamp, designs = _elastic(pair), len(response.pressure)
    x, y = (np.broadcast_to(v, (designs, np.shape(v)[-1])) for v in (x, y))
    if clamp is None:
        everywhere = [np.repeat(v[:, None], pair.faces.count, axis=1) for v in (x, y)]
        found = faces.face_pressure(pair.faces, response.separation, x=everywhere[0], y=everywhere[1])
        return np.asarray(found[..., bridge, :])
    assert bridges is not None
    face = pair.jointed.index(bridge)
    cells = _cell_pressure(clamp, response)[..., face, :]
    states = cells.reshape(designs, -1, *clamp.cells.read.grid)
    found = np.array(
        [
            [_interpolated(one, places) for one in states[d]]
            for d in range(designs)
            for places in [_in_cells(bridges, clamp, d, face=face, bridge=bridge, x=x[d], y=y[d])]
        ]
    )
    return found.reshape(*response.pressure.shape, x.shape[-1])


def pressure_map(
    pair: Pair,
    bridges: Bridges,
    response: Response,
    *,
    bridge: int,
    voids: tuple[Void, ...] = (),
    step: float = 0.5,
) -> PressureMap:
    """Contact pressure over one face of the first design on a grid of about `step` mm; `response` of one state."""
    low_x, high_x = pair.faces.corner_x[0, bridge].min(), pair.faces.corner_x[0, bridge].max()
    low_y, high_y = pair.faces.corner_y[0, bridge].min(), pair.faces.corner_y[0, bridge].max()
    x, y = (
        np.linspace(a, b, 1 + max(2, round((b - a) / step))) for a, b in ((low_x, high_x), (low_y, high_y))
    )
    X, Y = np.meshgrid(x, y)
    p = pressure_at(pair, bridges, response, bridge=bridge, x=X.ravel(), y=Y.ravel())[0].reshape(X.shape)
    metal = _metal(bridges, voids, bridge=bridge, x=X, y=Y)
    return PressureMap(x=x, y=y, pressure=np.where(metal, p, 0.0), metal=metal)


def _elastic(pair: Pair) -> ElasticFaces | None:
    """The faces' cells where forces on them are known."""
    return pair.clamp if pair.clamp is not None and pair.clamp.give is not None else None


def _on_cells(clamp: ElasticFaces, response: Response) -> Array:
    """Forces on cells (D, ..., n, C), N."""
    return response.cells.reshape(*response.cells.shape[:-1], *clamp.cells.x.shape[1:])


def _cell_pressure(clamp: ElasticFaces, response: Response) -> Array:
    """Mean pressure on the cells to be read (D, ..., n, C), MPa; in a hole that of the nearest cell."""
    return mean_pressure(clamp.cells.read, clamp.cells.merged(_on_cells(clamp, response)))


def _between(values: Array, response: Response) -> Array:
    """Values (D, n, C) with the response's load-state axes after the designs."""
    return np.expand_dims(values, tuple(range(1, response.pressure.ndim)))


def _in_cells(
    bridges: Bridges, clamp: ElasticFaces, design: int, *, face: int, bridge: int, x: Array, y: Array
) -> Array:
    """Points as (K, 2) places in the grid of cells: column and row, whole numbers at cells' middles."""
    x0, x1 = clamp.cells.x_edges[design, face]
    everywhere = np.broadcast_to(x, (*bridges.x.shape[:2], len(x)))
    low, top = underside(bridges, everywhere)[design, bridge], bridges.y[design, bridge, 1]
    across, up = (x - x0) / (x1 - x0), (y - low) / np.maximum(top - low, 1e-9)
    columns, rows = clamp.cells.read.grid
    return np.stack([across * columns - 0.5, up * rows - 0.5], axis=-1)


def _interpolated(cells: Array, places: Array) -> Array:
    """Linear between cells' middles, constant beyond the outermost ones."""
    columns, rows = cells.shape
    grid = RegularGridInterpolator((np.arange(columns), np.arange(rows)), cells)
    return np.asarray(grid(np.clip(places, 0.0, [columns - 1, rows - 1])))


def _metal(
    bridges: Bridges, voids: tuple[Void, ...], *, bridge: int, x: Array, y: Array
) -> NDArray[np.bool_]:
    everywhere = np.broadcast_to(x.ravel(), (1, bridges.x.shape[1], x.size))
    metal = underside(bridges, everywhere)[0, bridge].reshape(x.shape) <= y
    holes = (h[0, bridge] for h in (bridges.hole_x, bridges.hole_y, bridges.hole_d))
    for hole_x, hole_y, d in zip(*holes, strict=True):
        metal &= (x - hole_x) ** 2 + (y - hole_y) ** 2 >= 0.25 * d**2
    for void in voids:
        metal &= keeps(void, x=x, y=y)
    return np.asarray(metal)
