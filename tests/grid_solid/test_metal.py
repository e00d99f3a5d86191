"""Where there is metal: at chosen points of a half with everything on it."""

import numpy as np
import pytest
from grid_bodies import E, recessed

from stiffcalc.grid_solid.metal import columns, touching

HALF = recessed()  # z: mid-plane 0, inner face 15, bore floor 27, outer face 35
STEEL = 205000.0 / E


@pytest.mark.parametrize(
    ("x", "y", "z", "wanted"),
    [
        (-35.0, 100.0, 1.0, 1.0),  # in the leading bridge
        (-25.0, 88.0, 1.0, 0.0),  # below its arch: hypot 91.5 < 92
        (-25.0, 89.0, 1.0, 1.0),  # above it: 92.4
        (-25.0, 88.0, 16.0, 1.0),  # the wall over it
        (30.0, 85.0, 1.0, STEEL),  # in the steel bridge
        (30.0, 85.0, 14.9, STEEL),
        (30.0, 85.0, 15.1, 1.0),  # the wall is aluminium
        (0.0, 100.0, 1.0, 0.0),  # over the rotor
        (-20.0, 100.0, 16.0, 1.0),  # the wall
        (-39.9, 81.0, 34.9, 1.0),
        (-40.1, 81.0, 34.9, 0.0),  # beyond its end
        (-32.0, 113.9, 5.0, 0.0),  # a bolt's hole in the bridge
        (-32.0, 113.9, 25.0, 0.0),  # and in the wall
        (-32.0, 114.1, 25.0, 1.0),
        (1.0, 98.0, 20.0, 0.0),  # in the bore
        (13.9, 98.0, 20.0, 0.0),
        (14.1, 98.0, 20.0, 1.0),
        (1.0, 98.0, 26.9, 0.0),
        (5.0, 98.0, 27.1, 1.0),  # its floor
        (5.0, 98.0, 29.9, 1.0),
        (5.0, 98.0, 30.1, 0.0),  # the pocket behind it
        (12.1, 98.0, 34.0, 1.0),  # beside the pocket
        (1.0, 98.0, 32.9, 1.0),  # the rib in it
        (1.0, 98.0, 33.1, 0.0),  # over the rib
        (1.0, 98.0, 35.1, 0.0),  # outside
    ],
)
def test_metal_is_where_the_shape_says(x: float, y: float, z: float, wanted: float) -> None:
    found = columns(HALF, np.array([x]), np.array([y])).stiffness(HALF, np.array([z]))
    assert found.shape == (1, 1)
    assert found[0, 0] == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("bridge", "x", "y", "wanted"),
    [
        (0, -35.0, 100.0, True),  # in the land
        (0, -39.0, 100.0, False),  # in the section, not in the land
        (0, -35.0, 111.0, False),  # in the bolt's hole
        (0, -20.0, 100.0, False),
        (1, 38.0, 100.0, True),
        (1, 33.0, 97.0, False),  # in the relief
        (1, 33.0, 90.0, True),  # below it
        (1, -35.0, 100.0, False),  # another bridge's
    ],
)
def test_faces_touch_in_their_land_less_reliefs_and_holes(
    bridge: int, x: float, y: float, wanted: bool
) -> None:
    found = touching(HALF, HALF.sections[bridge], np.array([x]), np.array([y]))
    assert bool(found[0]) is wanted
