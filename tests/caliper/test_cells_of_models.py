"""Which model's faces are cut how fine: what is judged has what it needs, what stands beside it the usual cells."""

from pathlib import Path

import pytest

from stiffcalc.caliper import accuracy, assess
from stiffcalc.mechanics.face_cells import COLUMNS, ROWS, SPLIT
from stiffcalc.study import load

PORTED = Path(__file__).parents[2] / "studies/handover_check/ported.toml"


@pytest.fixture(scope="module")
def design():
    return load(PORTED).designs[0]


def grids(layout):
    return {name: answer.pair.clamp.cells.grid for name, answer in layout.stages.room.answers.items()}


def test_the_frame_beside_a_front_view_has_the_usual_cells_and_moves_within_its_band(design):
    fine = (SPLIT * COLUMNS, SPLIT * ROWS)
    beside, _ = assess.solved(design, with_front_view=True)
    assert grids(beside) == {"front view": fine, "frame": (COLUMNS, ROWS)}
    alone, _ = assess.solved(design, with_front_view=False)
    assert grids(alone) == {"frame": fine}
    # without pressure, the first of the sweep, nothing opens
    spread = [one.stages.room.answers["frame"].openings.spread[..., 1:] for one in (beside, alone)]
    off = abs(spread[0] / spread[1] - 1.0).max()
    assert 0.0 < off < 0.05 * accuracy.WORST["frame", "opening", True]
