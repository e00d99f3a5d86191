"""What the full response of a section's states differs from the frame's, and states with that added."""

from __future__ import annotations

from dataclasses import replace

from stiffcalc.caliper.section_states import CutState


def shifted(state: CutState, by: CutState | None) -> CutState:
    """A state with what the full response differs by."""
    if by is None:
        return state
    return replace(
        state,
        tension=state.tension + by.tension,
        cut=(state.cut[0] + by.cut[0], state.cut[1] + by.cut[1]),
        bolts=state.bolts + by.bolts,
        preload=state.preload + by.preload,
        turn=state.turn + by.turn,
    )


def difference(full: CutState, frame: CutState) -> CutState:
    """What to add to the frame's state."""
    return replace(
        full,
        tension=full.tension - frame.tension,
        cut=(full.cut[0] - frame.cut[0], full.cut[1] - frame.cut[1]),
        bolts=full.bolts - frame.bolts,
        preload=full.preload - frame.preload,
        turn=full.turn - frame.turn,
    )
