"""What a designer asks of a joined pair: spread, where it comes from, and when a face first loses contact."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.cell_pressure import mean_pressure
from stiffcalc.mechanics.elastic_faces import ElasticFaces, closed_forces, heads_give
from stiffcalc.mechanics.faces import Index, align, separation
from stiffcalc.mechanics.joint import glued
from stiffcalc.mechanics.joint_state import Pair, Response, State, forces, with_states
from stiffcalc.mechanics.stacked import apply, inverse

LEAST = np.nextafter(0.0, 1.0)  # stands for nothing where it is divided by


@dataclass(frozen=True)
class Onset:
    """First loss of contact of each face while loading.

    `pressure` of a face holds with every other face still closed, so the least of all faces is the joint's own.
    inf: not jointed, or never in the linear range; 0: open already when tightened.
    """

    pressure: Array  # (D, ..., N) MPa
    x: Array  # (D, ..., N) mm, where; NaN where the pressure is inf
    y: Array  # (D, ..., N)


def spread(pair: Pair, response: Response) -> Array:
    """Area-weighted mean opening of the bore floors, (D, ...) mm."""
    share = pair.bore_area / pair.bore_area.sum(axis=-1, keepdims=True)
    floors = response.points[..., pair.flexibility.points.bore]
    mean: Array = (floors * _between(share, floors.ndim)).sum(axis=-1)
    return mean


def onset(pair: Pair, tightened: State, *, bent_about_y: bool = True) -> Onset:
    """Pressure at which each face first loses contact, from the closed body's linear answer to pressure.

    Where the closed faces' pressure is known up to their edges, the first point decides; else, where it is known how
    bolts press the faces' cells, a cell's mean pressure does; else the face is a plane, and its corners do.
    `bent_about_y` False leaves out My where cells decide, and asks them, as a section through the bridge does.
    """
    before = tightened.response
    unit = glued(pair, np.ones(len(pair.bore_area))).response
    if not bent_about_y:
        before, unit = (replace(r, tension=r.tension * np.array([1.0, 1.0, 0.0])) for r in (before, unit))
    find = _leaving_corners if pair.clamp is None else _leaving_cells
    if pair.closed is not None and bent_about_y:
        find = _leaving_points
    pressure, x, y = find(pair, before, with_states(unit, before.pressure.ndim - 1))
    real = np.isfinite(pressure)
    return Onset(pressure=pressure, x=np.where(real, x, np.nan), y=np.where(real, y, np.nan))


def _leaving_corners(pair: Pair, before: Response, unit: Response) -> tuple[Array, Array, Array]:
    """Pressure (D, ..., N) at which each face's plane first lifts off a corner, and where."""
    faces = align(pair.faces, before.separation)
    x, y = faces.corner_x, faces.corner_y
    gap, rate = (separation(faces, r.separation, x=x, y=y) for r in (before, unit))
    found = _first(-gap, rate, x, y)
    jointed = np.isin(np.arange(gap.shape[-2]), pair.jointed)
    return (np.where(jointed, found[0], np.inf), *found[1:])


def _leaving_cells(pair: Pair, before: Response, unit: Response) -> tuple[Array, Array, Array]:
    """As `_leaving_corners`, by the pressure on the cells of closed faces, strips beside reliefs with a neighbour."""
    clamp, lead, jointed = pair.clamp, before.pressure.shape, list(pair.jointed)
    assert clamp is not None
    tension, bolt, line = (
        np.concatenate([v.reshape(len(v), -1, *v.shape[len(lead) :]) for v in both], axis=1)
        for both in (
            (before.tension, unit.tension),
            (before.bolt, unit.bolt),
            (before.pressure, unit.pressure),
        )
    )
    pressure = _on_cells(clamp, tension[:, :, jointed], bolt, line)
    cells = clamp.cells.read
    found = _first(pressure[:, :-1], -pressure[:, -1:], cells.x[:, None], cells.y[:, None])
    return _of_jointed(pair, before, tuple(v.reshape(*lead, -1) for v in found))


def _on_cells(clamp: ElasticFaces, tension: Array, bolt: Array, line: Array) -> Array:
    """Pressure on the cells of closed faces that are read (D, S, n, C), under S states (D, S, ...); 0 where dead."""
    force = closed_forces(clamp, tension=tension, bolt=bolt, pressure=line)
    on_cells = clamp.cells.merged(force.reshape(*line.shape, *clamp.cells.x.shape[1:]))
    cells = clamp.cells.read
    area = cells.area[:, None]
    if cells.relieved:  # strips
        return np.where(area > 0.0, mean_pressure(cells, on_cells), 0.0)
    return np.asarray(on_cells / np.where(area > 0.0, area, np.inf))


def _leaving_points(pair: Pair, before: Response, unit: Response) -> tuple[Array, Array, Array]:
    """As `_leaving_corners`, by the closed pressure at points of the whole faces."""
    closed = pair.closed
    assert closed is not None
    extra = before.pressure.ndim - 1
    x, y = (_between(v, v.ndim + extra) for v in (closed.x, closed.y))
    metal = np.expand_dims(closed.metal, tuple(range(1, 1 + extra)))
    jointed = list(pair.jointed)
    held, rate = (closed.of(r.tension[..., jointed, :], forces(pair, r), r.pressure) for r in (before, unit))
    found = _first(np.where(metal, held, np.inf), np.where(metal, -rate, 0.0), x, y)
    return _of_jointed(pair, before, found)


def _of_jointed(pair: Pair, before: Response, found: tuple[Array, ...]) -> tuple[Array, Array, Array]:
    """Values (D, ..., n) of the jointed faces among all bridges, (D, ..., N); inf elsewhere."""
    whole = np.full((3, *before.separation.shape[:-1]), np.inf)
    for all_faces, of_jointed in zip(whole, found, strict=True):
        all_faces[..., list(pair.jointed)] = of_jointed
    return whole[0], whole[1], whole[2]


def _first(held: Array, loss: Array, x: Array, y: Array) -> tuple[Array, Array, Array]:
    """When the first point of the last axis is used up, at `loss` a MPa, and where; 0 where one was not held."""
    with np.errstate(over="ignore"):
        share = loss / np.maximum(held, LEAST)  # of what held a point, lost a MPa: the most is the first
    loose = held < 0.0
    if loose.any():
        share[np.broadcast_to(loose, share.shape)] = np.inf
    first = share.argmax(axis=-1)[..., None]
    most = _pick(share, first)
    return (
        np.where(most <= 0.0, np.inf, 1.0 / np.where(most == 0.0, 1.0, most)),
        _pick(np.broadcast_to(x, share.shape), first),
        _pick(np.broadcast_to(y, share.shape), first),
    )


def contributions(pair: Pair, moved: Response) -> dict[str, Array]:
    """Where the spread of a response (or a change of one) comes from: name -> (D, ...) mm, summing to it.

    Virtual work: the closed body's forces under a unit load on the floors alone are in equilibrium by
    themselves, so their work on the movements is exact, for an opened joint too. `joint opening` is what the
    faces moved beyond their closed elastic layer, whose stretch is counted with the bridge's.
    """
    virtual = glued(pair, 1.0 / pair.bore_area.sum(axis=-1), bore_wall=False).response
    unit, real = forces(pair, virtual), forces(pair, moved)
    half, axes = pair.flexibility, real.ndim

    def work(movement: Array) -> Array:
        total: Array = (_between(unit, axes) * movement).sum(axis=-1)
        return total

    parts = {name: work(apply(_between(F, axes + 1), real)) for name, F in half.parts.items()}
    parts["bore wall pressure"] = moved.pressure * _between((unit * half.wall).sum(axis=-1), axes - 1)
    parts |= _bridge_work(pair, _between(virtual.tension, axes + 1), moved)
    if pair.clamp is not None:
        pressed = pair.clamp.pressed(moved.cells, moved.pressure)
        sunk = heads_give(pair.clamp, cells=pressed, bolt=moved.bolt)
        parts["joint opening"] = parts["joint opening"] - (_between(virtual.bolt, axes) * sunk).sum(axis=-1)
    if pair.bolt_flexibility.size:
        stretch = _between(virtual.bolt * pair.bolt_flexibility, axes) * moved.bolt
        parts["bolt stretch"] = stretch.sum(axis=-1)
    return parts


def _bridge_work(pair: Pair, virtual: Array, moved: Response) -> dict[str, Array]:
    """Work of virtual tensions (D, ..., N, 3) on bridges: stretch, bending about the section's centroid."""
    axes = virtual.ndim
    G = pair.bridge_flexibility
    coupling = (G[..., :1, 1:] @ inverse(G[..., 1:, 1:]))[..., 0, :]
    axial = G[..., 0, 0] - (coupling * G[..., 1:, 0]).sum(axis=-1)
    stretch = (virtual[..., 0] * _between(axial, axes - 1) * moved.tension[..., 0]).sum(axis=-1)
    closed = apply(_between(G, axes + 1), moved.tension)
    total = (virtual * closed).sum(axis=(-2, -1))
    parts = {"bridge stretch": stretch, "bridge bending": total - stretch}
    if pair.jointed:
        beyond = moved.separation - _between(pair.layer_share, axes - 1)[..., None] * closed
        if pair.sunk is not None:
            beyond = beyond - moved.pressure[..., None, None] * _between(pair.sunk, axes)
        faces = list(pair.jointed)
        parts["joint opening"] = (virtual * beyond)[..., faces, :].sum(axis=(-2, -1))
    return parts


def _between(array: Array, axes: int) -> Array:
    """Put axes of length 1 after the designs, up to `axes` in all."""
    return np.expand_dims(array, tuple(range(1, 1 + axes - array.ndim)))


def _pick(values: Array, index: Index) -> Array:
    """The entry of the last axis at `index` (..., 1)."""
    full = np.broadcast_to(values, (*index.shape[:-1], values.shape[-1]))
    picked: Array = np.take_along_axis(full, index, axis=-1)[..., 0]
    return picked
