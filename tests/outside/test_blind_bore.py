"""The way of a floor's force through the wall's depth against an axially symmetric solid of a blind bore.

Outside the project: 3-D elasticity by scikit-fem (nine-node quadrilaterals, 0.012 of the floor at the inner corner);
Mindlin's plate beside it in closed form (studies/solid_check/blind_bore.py).
"""

import numpy as np
import pytest

pytest.importorskip("skfem", reason="the solid needs scikit-fem (extra dev or test)")

from blind_bore import NU, Blind, lacking, plate_floor, solid_floor

from stiffcalc.mechanics.plates import floor_edge_flexibility, floor_path_flexibility

UNIT = {"thickness": 1.0, "E": 1.0}


@pytest.mark.parametrize("share", [0.2, 0.3, 0.43])
def test_what_a_plate_lacks_in_proportion_to_the_bore_is_the_way_through_the_wall(share):
    """Split over slender and stout floors, the part as a is (a / 2 E) ln(t / e), to 6 % of what it is."""
    way, turning = lacking(share, cut=1.5)
    assert way == pytest.approx(floor_path_flexibility(1.0, wall=1.0 / share, **UNIT), rel=0.06)
    edge = floor_edge_flexibility(1.0, nu=NU, **UNIT)
    assert 0.25 * edge < turning < 1.3 * edge


@pytest.mark.parametrize(("a", "t"), [(1.2, 3.0), (1.7, 3.6), (2.0, 5.0)])
def test_with_way_and_turning_the_plate_s_floor_moves_as_the_solid_s(a, t):
    at = Blind(a, t, a + 1.5 * t)
    solid, plate = solid_floor(at), plate_floor(at)
    turned = plate + floor_edge_flexibility(a, nu=NU, **UNIT)
    full = turned + floor_path_flexibility(a, wall=t, **UNIT)
    assert abs(full - solid) < 0.25 * abs(turned - solid)


def test_a_finer_corner_moves_the_floor_by_next_to_nothing(monkeypatch):
    at = Blind(1.7, 3.3, 7.0)
    usual = solid_floor(at)
    monkeypatch.setattr("blind_bore.FINEST", 0.004)
    assert solid_floor(at) == pytest.approx(usual, rel=2e-4)


def test_a_wall_no_thicker_than_the_floor_has_no_way():
    assert floor_path_flexibility(np.array([9.0, 20.0]), thickness=8.0, wall=8.0, E=71e3) == pytest.approx(
        0.0
    )
