"""Front outlines of bridges, shared by the pictures of the body."""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper.body import BridgeShape
from stiffcalc.condensed import Array


def bridge_outline(bridge: BridgeShape) -> Array:
    """Front outline (N, 2) of a bridge: its arch or flat underside, and its top."""
    x = np.linspace(bridge.x0, bridge.x1, 25)
    low = np.full_like(x, bridge.y0)
    if bridge.arch is not None:
        low = np.maximum(low, np.sqrt(np.maximum(bridge.arch**2 - x**2, 0.0)))
    top = [[bridge.x1, bridge.y1], [bridge.x0, bridge.y1]]
    return np.vstack([np.column_stack([x, low]), top, [[x[0], low[0]]]])
