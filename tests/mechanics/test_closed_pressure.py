"""Pressure of closed faces at points: beam formulas, statics of what is uneven, what a long bridge leaves of it."""

import numpy as np
import pytest

from stiffcalc.condensed import Points
from stiffcalc.mechanics.bridges import Bridges
from stiffcalc.mechanics.closed_pressure import ACROSS, UP, Heads, closed_pressure

POINTS = Points(bridges=1, bolts=1, bores=1)
WIDTH, HEIGHT = 40.0, 60.0


def block(length=50.0, hole=0.0):
    one = np.ones((1, 1))
    return Bridges(
        x=np.array([[[-20.0, 20.0]]]),
        y=np.array([[[100.0, 160.0]]]),
        arch=0.0 * one,
        length=length * one,
        hole_x=np.full((1, 1, 1), 5.0),
        hole_y=np.full((1, 1, 1), 145.0),
        hole_d=np.full((1, 1, 1), hole),
        E=71000.0 * one,
    )


def faces(bridges=None, roots=None, thickness=30.0):
    none = np.zeros((1, 2, POINTS.count + 1))
    return closed_pressure(
        bridges or block(),
        none if roots is None else roots,
        Heads(np.array([[5.0, 145.0]]), [0]),
        thickness=thickness,
        points=POINTS,
        places=[0],
    )


def weights():
    u, v = (np.where(np.isin(np.arange(n), (0, n - 1)), 0.5, 1.0) / (n - 1) for n in (ACROSS, UP))
    return WIDTH * HEIGHT * np.outer(u, v).ravel()


def test_beam_formula_at_the_corners():
    """p = -(N/A + Mx y/Ix - My x/Iy): strength of materials, any textbook."""
    closed = faces()
    N, Mx, My = -20e3, 3e5, -2e5
    p = closed.of(np.array([[[N, Mx, My]]]), np.zeros((1, POINTS.count)), np.zeros(1))[0, 0]
    x, y = closed.x[0, 0], closed.y[0, 0] - 130.0
    wanted = -(N / (WIDTH * HEIGHT) + Mx * y * 12 / (WIDTH * HEIGHT**3) - My * x * 12 / (HEIGHT * WIDTH**3))
    np.testing.assert_allclose(p, wanted, atol=1e-10)
    assert closed.x[0, 0].min() == -20.0 and closed.y[0, 0].max() == 160.0  # edges are among the points


@pytest.mark.parametrize("hole", [0.0, 12.0])
def test_what_is_uneven_has_no_resultant(hole):
    rng = np.random.default_rng(4)
    closed = faces(block(hole=hole), roots=rng.normal(size=(1, 2, POINTS.count + 1)))
    assert closed.metal.all() == (hole == 0.0)
    dA = weights() * closed.metal[0, 0]
    arm = np.stack([np.ones_like(dA), closed.y[0, 0], closed.x[0, 0]])
    uneven = np.c_[closed.force[0, 0], closed.wall[0, 0]]
    size = np.abs(arm) @ np.abs(dA[:, None] * uneven)
    assert size.max() > 0.0
    assert np.abs(arm @ (dA[:, None] * uneven)).max() < 1e-12 * size.max()


def test_a_long_bridge_is_pressed_as_a_beam():
    """Saint-Venant: what is balanced in itself dies away."""
    roots = np.ones((1, 2, POINTS.count + 1))
    left = [np.abs(faces(block(length=g), roots=roots).wall).max() for g in (1e-3, 50.0, 100.0, 400.0)]
    assert left[0] > left[1] > left[2] > left[3] and left[3] < 1e-3 * left[0]
    # No length: the twist whole, less its plane part, and the bow of forces beside heads is left out.
    twist = np.outer(np.cos(np.pi * np.linspace(0, 1, ACROSS)), np.cos(np.pi * np.linspace(0, 1, UP))).ravel()
    np.testing.assert_allclose(faces(block(length=1e-3), roots=roots).wall[0, 0], twist, atol=1e-6)


def test_a_head_s_straight_push_is_spread_by_the_wall():
    roots = np.zeros((1, 2, POINTS.count + 1))
    roots[0, 1, POINTS.bolt.start] = 1.0  # bow under the bolt's head
    thin, thick = (np.abs(faces(roots=roots, thickness=t).force).max() for t in (1e-6, 60.0))
    assert 0.0 < thick < 0.9 * thin
