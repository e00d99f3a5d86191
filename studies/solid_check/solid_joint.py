"""The preload at which a bolted solid opens as far as a sweep wants it to; contact itself is `grid_solid.contact`."""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError
from stiffcalc.grid_solid.contact import (
    SPRING,
    STEPS,
    Clamp,
    Face,
    JointState,
    closed,
    contact_state,
    sweep,
)
from stiffcalc.grid_solid.half import Condensed

__all__ = ["SPRING", "STEPS", "Clamp", "Face", "JointState", "closed", "contact_state", "sweep"]

ROUGH = 0.01  # change of the contact area at which a search for a preload stops


def scale_for_contact(
    solid: Condensed, face: Face, clamp: Clamp, *, load: Array, remaining: float, tolerance: float = 0.04
) -> float:
    """Factor on the preload at which `load` leaves the share `remaining` of the tightened contact.

    The response depends on load / preload only, so the factor is sought on the load.
    """
    tight = contact_state(
        solid, face, clamp, load=0.0 * load, tight=None, start=np.zeros(len(solid.S)), change=ROUGH
    )
    low, high, start = 0.05, 20.0, tight.lift
    for _ in range(30):
        factor = float(np.sqrt(low * high))
        state = contact_state(
            solid,
            face,
            clamp,
            load=factor * load,
            tight=tight.outputs[clamp.heads],
            start=start,
            change=ROUGH,
        )
        if abs(state.contact - remaining * tight.contact) < tolerance:
            return 1.0 / factor
        low, high = (factor, high) if state.contact > remaining * tight.contact else (low, factor)
        start = state.lift
    raise ConvergenceError("preload scale", residual=state.contact - remaining * tight.contact, iterations=30)
