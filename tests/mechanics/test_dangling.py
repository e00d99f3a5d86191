"""A half on bolts that leave a rotation free: once its face is wide open nothing holds it, balance or not.

Faces that stay plane end in the balance that the joint diagram has: bolts carry all, the half stands as it is.
"""

import numpy as np
import pytest
from beam_halves import beam_half, elastic, make_bridges

from stiffcalc.condensed import add
from stiffcalc.mechanics.joint import join, load, tighten
from stiffcalc.mechanics.joint_state import UnheldError

PRELOAD = 20e3


def body(bolts, *, give, level=165.0):
    """One bridge, pistons of 2000 mm2 in all with their middle at (0, level)."""
    bridges = make_bridges(
        [[[-20.0, 20.0]]], [[[150.0, 180.0]]], [[0.0]], holes=[[[[*b, 7.0] for b in bolts]]]
    )
    half = beam_half(
        bridges,
        bolts=np.array([bolts]),
        bores=np.array([[[-30.0, level], [30.0, level]]]),
        y_beam=np.array([147.5]),
        height=np.array([85.0]),
        thickness=np.array([30.0]),
    )
    pair = join(
        add(half, half),
        bridges=bridges,
        jointed=[True],
        layer=0.8 * bridges.length,
        bolt_flexibility=np.full((1, len(bolts)), 1e-5),
        bore_area=np.full((1, 2), 1000.0),
    )
    return elastic(pair, bridges) if give else pair


def loaded(pair, pressure):
    count = pair.bolt_flexibility.shape[1]
    return load(pair, tighten(pair, np.full((1, count), PRELOAD)), np.array([pressure]))


@pytest.mark.parametrize("pressure", [35.0, 60.0, 100.0])
@pytest.mark.parametrize("bolts", [[(0.0, 165.0)], [(-12.0, 165.0), (12.0, 165.0)]])
def test_bolts_in_line_with_the_load_leave_the_half_free_to_tip(pressure, bolts):
    """Two thousand square millimetres at 35 MPa are 70 kN, over any preload here."""
    with pytest.raises(UnheldError, match="nothing holds the halves together"):
        loaded(body(bolts, give=True), pressure)
    plane = loaded(body(bolts, give=False), pressure).response
    assert plane.bolt.sum() == pytest.approx(2000.0 * pressure, rel=1e-9)
    assert plane.tension[0, 0, 0] == pytest.approx(0.0, abs=1e-2)


@pytest.mark.parametrize("give", [True, False])
def test_the_same_while_the_face_is_pressed(give):
    found = loaded(body([(0.0, 165.0)], give=give), 8.0).response
    assert found.bolt[0, 0] == pytest.approx(PRELOAD, rel=0.1)
    assert -found.tension[0, 0, 0] == pytest.approx(found.bolt[0, 0] - 16e3, rel=1e-9)


@pytest.mark.parametrize("give", [True, False])
def test_a_load_beside_the_bolt_pries_and_is_held(give):
    found = loaded(body([(0.0, 165.0)], give=give, level=155.0), 40.0).response
    assert found.bolt[0, 0] > 1.2 * 80e3
    assert -found.tension[0, 0, 0] == pytest.approx(found.bolt[0, 0] - 80e3, rel=1e-6)


@pytest.mark.parametrize("give", [True, False])
def test_three_bolts_that_span_hold_a_face_that_is_wide_open(give):
    found = loaded(body([(-12.0, 160.0), (12.0, 160.0), (0.0, 175.0)], give=give), 80.0).response
    assert found.tension[0, 0, 0] == pytest.approx(0.0, abs=1.0)
    assert found.bolt.sum() == pytest.approx(160e3, rel=1e-6)
