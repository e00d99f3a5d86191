"""Metal of a bar's pads, their slots and tapped holes: solids (..., 4) of one side, outboard (`mechanics.solids`)."""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper.body import BridgeShape, HalfShape, PadShape
from stiffcalc.condensed import Array
from stiffcalc.mechanics import solids


def cut_from_wall(bridge: BridgeShape, pads: PadShape, half: HalfShape, *, half_gap: float) -> Array:
    """Slot, open to the wall's top, and tapped holes below the seat."""
    slot = _box(bridge, pads, top=half.outline[..., 1].max(axis=-1), half_gap=half_gap)
    holes = _holes(pads, diameter=pads.tapped, low=pads.seat - pads.depth, high=pads.seat, half_gap=half_gap)
    return slot + holes


def added_to_bar(bridge: BridgeShape, pads: PadShape, *, half_gap: float) -> Array:
    """One pad with its clearance holes."""
    box = _box(bridge, pads, top=bridge.y1, half_gap=half_gap)
    return box - _holes(pads, diameter=pads.hole, low=pads.seat, high=bridge.y1, half_gap=half_gap)


def _box(bridge: BridgeShape, pads: PadShape, *, top: float, half_gap: float) -> Array:
    corners = solids.box(solids.together(bridge.x0, bridge.x1), solids.together(pads.seat, top))
    z0, z1 = np.asarray(half_gap), np.asarray(half_gap + pads.length)
    return solids.extrude(solids.polygon(corners), z0=z0, z1=z1)


def _holes(pads: PadShape, *, diameter: float, low: float, high: float, half_gap: float) -> Array:
    """Cylinders along y: a row along x, `setback` from the inner face."""
    z = half_gap + pads.setback
    holes = [solids.together(1.0, x, 0.5 * (low + high), z) for x in pads.x]
    volume = np.asarray(0.25 * np.pi * diameter**2 * (high - low))
    return np.asarray(volume[..., None] * np.sum(np.broadcast_arrays(*holes), axis=0))
