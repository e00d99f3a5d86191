"""Slabs of shaped walls are kept for equal walls and cannot be spoilt by who reads them."""

import pytest

from stiffcalc.contours import Contour
from stiffcalc.milling import WallShape, slabs

CORNERS = ((-60.0, 100.0, 0.0), (60.0, 100.0, 0.0), (60.0, 170.0, 0.3), (-60.0, 170.0, 0.0))


def test_equal_walls_have_the_same_slabs_and_no_one_writes_to_them():
    first, again, other = (slabs(WallShape(Contour(c))) for c in (CORNERS, tuple(CORNERS), CORNERS[:3]))
    assert again is first and other is not first
    for values in vars(first).values():
        with pytest.raises(ValueError, match="read-only"):
            values[...] = 0.0
