"""What a solved state says of each joint face: contact pressure, share open, clamp left and clamp needed."""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper.response import Answer
from stiffcalc.condensed import Array
from stiffcalc.mechanics import clamp_plane
from stiffcalc.mechanics.elastic_faces import closed_forces
from stiffcalc.mechanics.face_cells import mean_pressure
from stiffcalc.mechanics.joint_state import picked


def pressure_range(answer: Answer, at: int) -> tuple[Array, Array]:
    """Least and greatest contact pressure of each face at one pressure, (S, N) MPa."""
    here = picked(answer.loaded, (slice(None), slice(None), at))
    low, high = clamp_plane.pressure_range(answer.pair, here)
    return low[0], high[0]


def open_share(answer: Answer) -> Array:
    """Share of each face that has lost contact (S, P, N); zero where there is no joint, NaN where nothing holds."""
    part = clamp_plane.open_fraction(answer.pair, answer.loaded)[0]
    nothing: Array = np.where(answer.held[0, ..., None], 0.0, np.nan)
    return np.asarray(part + nothing)


def clamp_left(tension: Array) -> Array:
    """Force that presses each face, N; tension (N, 3) of the bridges."""
    return np.asarray(np.maximum(-tension[:, 0], 0.0))


def clamp_needed(answer: Answer, *, end: int, at: int) -> Array:
    """Clamp that would just keep each jointed face closed under the moments and bolts it carries, N (n,).

    The clamp left, less the area times the least pressure that the closed face would have: F_KA of VDI 2230 Part 1,
    for any face, both moments and bolts that press unevenly.
    """
    pair = answer.pair
    assert pair.clamp is not None  # every jointed pair knows its faces
    state = picked(answer.loaded, (slice(None), end, at))
    jointed = state.tension[:, list(pair.jointed)]
    cells = pair.clamp.cells
    force = closed_forces(pair.clamp, tension=jointed, bolt=state.bolt).reshape(cells.area.shape)
    least = mean_pressure(cells, force)[0].min(axis=-1)
    return np.asarray(clamp_left(jointed[0]) - cells.area[0].sum(axis=-1) * least)
