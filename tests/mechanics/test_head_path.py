"""What a bolt's force does to a bridge's root on its way through the wall: energy of a column, statics, symmetry."""

from dataclasses import replace

import numpy as np
import pytest

from stiffcalc.mechanics.bridges import Bridges, area_matrix
from stiffcalc.mechanics.head_path import head_column, head_lean
from stiffcalc.mechanics.walls import Walls

E, T = 71000.0, 40.0


def bridges(*ends):
    """Blocks 60 mm tall over the given ends, without holes."""
    one = np.ones((1, len(ends)))
    none = np.zeros((1, len(ends), 1))
    return Bridges(
        x=np.array([ends], dtype=float),
        y=np.broadcast_to([100.0, 160.0], (1, len(ends), 2)),
        arch=0.0 * one,
        length=50.0 * one,
        hole_x=none,
        hole_y=none,
        hole_d=none,
        E=E * one,
    )


def walls(low, high):
    rows, one = np.zeros((1, 0)), np.ones(1)
    return Walls(
        x=np.array([[low, high]], dtype=float),
        y=np.array([[90.0, 160.0]]),
        thickness=T * one,
        floor=8.0 * one,
        pocket_x=np.zeros((1, 0, 2)),
        pocket_y=np.zeros((1, 0, 2)),
        E=E * one,
        nu=0.33 * one,
        **dict.fromkeys(("bore_x", "bore_y", "bore_d", "pocket_depth", "hole_x", "hole_y"), rows),
        **dict.fromkeys(("hole_d", "bearing_d", "cut_x"), rows),
    )


def test_the_mixed_term_of_a_column_held_evenly_along_its_depth():
    """Energy of R (1 - z/t) - H z/t over the depth, by sums; its derivative by R at R = 0 is the root's movement."""
    block, bolt = bridges((-20, 20)), np.array([[[6.0, 138.0]]])
    found = head_column(block, walls(-90, 90), bolts=bolts_of(bolt), owner=[0])[0, 0, :, 0]
    arm = np.array([1.0, 8.0, -6.0])
    C = np.linalg.inv(area_matrix(block)[0, 0])
    share = (np.arange(2000) + 0.5) / 2000

    def energy(R):
        carried = R * (1 - share)[:, None] - arm * share[:, None]
        return 0.5 * T / E * np.einsum("zi,ij,zj->z", carried, C, carried).mean()

    step = np.eye(3)
    slope = [0.5 * (energy(e) - energy(-e)) for e in step]
    np.testing.assert_allclose(found, slope, rtol=1e-6)


def bolts_of(places):
    return np.asarray(places, dtype=float)


def test_a_bridge_at_the_wall_s_end_leans_to_the_wall_and_one_in_the_middle_does_not():
    three = bridges((-110, -70), (-20, 20), (70, 110))
    turned = head_lean(three, walls(-110, 110), owner=[0, 1, 2])[0]
    lean = np.array([turned[i, 2, i] for i in range(3)])
    assert lean[1] == pytest.approx(0.0, abs=1e-18) and lean[0] == pytest.approx(-lean[2])
    # Bolts pull (-B): at the right end theta_y = -dw/dx < 0, the root's inner side comes down and is pressed more.
    assert lean[2] * -1.0 < 0.0
    assert lean[2] == pytest.approx(0.14 * 40.0 / T / (E * 40.0 * 60.0))


def test_only_the_bolt_s_own_bridge_is_moved():
    two = bridges((-110, -70), (70, 110))
    places, wall = bolts_of([[[90.0, 130.0], [-90.0, 130.0]]]), walls(-110, 110)
    moved = head_column(two, wall, bolts=places, owner=[1, -1])
    leaning = head_lean(two, wall, owner=[1, -1])
    for found in (moved, leaning):
        assert np.all(found[0, 0] == 0.0) and np.all(found[..., 1] == 0.0)
    assert moved[0, 1, 0, 0] < 0.0 and leaning[0, 1, 2, 0] > 0.0


def test_thicker_walls_move_roots_more():
    block, middle = bridges((-20, 20)), bolts_of([[[0.0, 130.0]]])
    thick = replace(walls(-90, 90), thickness=np.array([2 * T]))
    one, two = (head_column(block, w, bolts=middle, owner=[0])[0, 0, 0, 0] for w in (walls(-90, 90), thick))
    assert two == pytest.approx(2 * one)
