"""Bridges of unlike metal when warm, against the handbook's bars between rigid walls.

Two bars of equal length side by side between rigid plates, warmed by dT: F = (alpha_1 - alpha_2) dT / (1/(E_1 A_1) +
1/(E_2 A_2)), compression in the one that expands more, and both lengthen by (alpha_1 E_1 A_1 + alpha_2 E_2 A_2) dT L /
(E_1 A_1 + E_2 A_2). Gere & Timoshenko, Mechanics of Materials, chapter 2, temperature effects (sleeve and bolt), from
memory.
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).parents[1] / "mechanics"))

from beam_halves import beam_half, elastic, make_bridges

from stiffcalc.condensed import add
from stiffcalc.mechanics.joint import glued, glued_grown, join, load, tighten
from stiffcalc.mechanics.joint_state import change, forces
from stiffcalc.mechanics.warming import warmed

L, DT = 61.0, 60.0
ALUMINIUM, STEEL = (71000.0, 23.4e-6), (205000.0, 11.5e-6)
WIDTH, CENTRE = 20.0, 16.0


def body(*, thickness, jointed=False, preload_bolts=True):
    """Aluminium ends, a steel bridge in the middle, walls of a thickness; two bolts at each end."""
    x = [[[-60.0, -60.0 + WIDTH], [-CENTRE / 2, CENTRE / 2], [60.0 - WIDTH, 60.0]]]
    y, flat = [[[150.0, 180.0]] * 3], np.zeros((1, 3))
    bolts = [[-50.0, 157.0], [-50.0, 173.0], [50.0, 157.0], [50.0, 173.0]]
    holes = [[[[*b, 9.0] for b in bolts[:2]], [[0.0, 165.0, 0.0]] * 2, [[*b, 9.0] for b in bolts[2:]]]]
    bridges = replace(
        make_bridges(x, y, flat, length=L, holes=holes if jointed else ()),
        E=np.array([[ALUMINIUM[0], STEEL[0], ALUMINIUM[0]]]),
    )
    half = beam_half(
        bridges,
        bolts=np.array([bolts if jointed else np.zeros((0, 2))]).reshape(1, -1, 2),
        bores=np.array([[[-30.0, 165.0], [30.0, 165.0]]]),
        y_beam=np.array([165.0]),
        height=np.array([30.0]),
        thickness=np.array([thickness]),
    )
    pair = join(
        add(half, half),
        bridges=bridges,
        jointed=[jointed, False, jointed],
        layer=0.5 * bridges.length,
        bolt_flexibility=np.full((1, 4 if jointed else 0), 1e-5),
        bore_area=np.full((1, 2), 1000.0),
    )
    pair = elastic(pair, bridges) if jointed else pair
    grown = L * DT * (STEEL[1] - ALUMINIUM[1]) * np.array([[0.0, 1.0, 0.0]])
    one = np.ones((1, 3))
    return warmed(
        pair, body=np.ones(1), bridges=one, bolts=np.ones((1, pair.bolt_flexibility.shape[1])), grown=grown
    )


def handbook():
    """Force of the steel bar, N, and how far the walls part beyond what aluminium alone would, mm."""
    (E1, a1), (E2, a2) = ALUMINIUM, STEEL
    k1, k2 = E1 * 2 * WIDTH * 30.0 / L, E2 * CENTRE * 30.0 / L
    force = (a1 - a2) * DT * L * k1 * k2 / (k1 + k2)
    return force, (a1 * k1 + a2 * k2) * DT * L / (k1 + k2) - a1 * DT * L


def test_three_bars_between_rigid_walls():
    found, (force, parted) = glued_grown(body(thickness=1e8)).response, handbook()
    ends, middle = found.tension[0, ::2, 0], found.tension[0, 1, 0]
    assert middle == pytest.approx(force, rel=1e-5), "steel between aluminium is pulled when warm"
    np.testing.assert_allclose(ends, -force / 2, rtol=1e-5)
    np.testing.assert_allclose(found.points[0, [0, 3, 6]], parted, rtol=1e-5)


def test_walls_that_bend_take_some_of_it():
    """Self-equilibrated whatever the walls are; ends and middle then part by unlike amounts."""
    pair = body(thickness=25.0)
    found = glued_grown(pair).response
    full, _ = handbook()
    assert 0.0 < found.tension[0, 1, 0] < 0.8 * full
    assert found.tension[0, :, 0].sum() == pytest.approx(0.0, abs=1e-9 * full)
    np.testing.assert_allclose(forces(pair, found) @ pair.flexibility.R, 0.0, atol=1e-6 * full)
    assert found.points[0, 3] < found.points[0, 0], "the short bar draws the middle in"


def test_a_clamped_joint_feels_the_same_while_it_stays_closed():
    """Bolts' forces given: walls pressed harder by the steel's pull, which is what the closed body answers."""
    pair = body(thickness=25.0, jointed=True)
    bolts = np.full((1, 4), 12e3)
    cold = replace(pair, grown=None)
    moved = change(tighten(pair, bolts).response, tighten(cold, bolts).response)
    assert moved.tension[0, 1, 0] > 0.0
    assert moved.tension[0, :, 0].sum() == pytest.approx(0.0, abs=1e-4)
    warm = load(pair, tighten(pair, bolts), np.array([3.0])).response
    alone = load(cold, tighten(cold, bolts), np.array([3.0])).response
    assert warm.cells.sum() > alone.cells.sum(), "ends are pressed by what the middle pulls"
    spring = change(load(pair, tighten(cold, bolts), np.zeros(1)).response, tighten(cold, bolts).response)
    unit = glued_grown(pair).response
    for name in ("tension", "bolt", "points"):
        a, b = getattr(spring, name), getattr(unit, name)
        np.testing.assert_allclose(a, b, rtol=1e-7, atol=1e-7 * np.abs(b).max(), err_msg=name)


def test_pressure_answers_alike_warm_or_not():
    pair = body(thickness=25.0)
    warm, cold = (glued(p, np.ones(1)).response for p in (pair, replace(pair, grown=None)))
    np.testing.assert_array_equal(warm.points, cold.points)
