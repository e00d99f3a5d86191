"""What a designer asks of a joined pair: spread, where it comes from, and when a face first loses contact."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.faces import Index, align, separation
from stiffcalc.mechanics.joint import glued
from stiffcalc.mechanics.joint_state import Pair, Response, State, forces
from stiffcalc.mechanics.stacked import apply, inverse


@dataclass(frozen=True)
class Onset:
    """First loss of contact of each face while loading.

    `pressure` of a face holds with every other face still closed; the least of all faces is exact, later ones
    are approximate. inf: not jointed, or never in the linear range; 0: open already when tightened.
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


def onset(pair: Pair, tightened: State) -> Onset:
    """Pressure at which each face first loses contact, from the closed body's linear answer to pressure."""
    before = tightened.response.separation
    rise = _between(glued(pair, np.ones(len(pair.bore_area))).response.separation, before.ndim)
    faces = align(pair.faces, before)
    x, y = faces.corner_x, faces.corner_y
    gap, rate = (separation(faces, s, x=x, y=y) for s in (before, rise))
    opens = rate > 0.0
    at = np.where(opens, np.maximum(-gap, 0.0) / np.where(opens, rate, 1.0), np.inf)
    at = np.where(gap > 0.0, 0.0, at)
    first = at.argmin(axis=-1)[..., None]
    pressure, place_x, place_y = (_pick(v, first) for v in (at, x, y))
    jointed = np.isin(np.arange(pressure.shape[-1]), pair.jointed)
    pressure = np.where(jointed, pressure, np.inf)
    real = np.isfinite(pressure)
    return Onset(pressure=pressure, x=np.where(real, place_x, np.nan), y=np.where(real, place_y, np.nan))


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
