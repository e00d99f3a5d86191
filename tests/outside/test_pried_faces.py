"""A joint face pried by a push beside its bolt, against handbook statics: no tension between the faces.

One bridge, one bolt of nearly constant force F through the middle of a b x h face, a push P at a distance a above it.
Contact is left with F - P at the distance e = P a / (F - P) below the middle. Its pressure is straight, (F - P) (1/A +-
e c/I), while e stays in the kern h/6; beyond it contact keeps 3 (h/2 - e) of the height. Gere & Timoshenko, Mechanics
of Materials, chapter 12, eccentric loads and kern; rigid footing without tension, any handbook; from memory.
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).parents[1] / "mechanics"))

from beam_halves import beam_half, elastic_clamp, make_bridges

from stiffcalc.condensed import add
from stiffcalc.mechanics.clamp_plane import open_fraction, pressure_at
from stiffcalc.mechanics.joint import join, load, tighten
from stiffcalc.mechanics.opening import onset
from stiffcalc.mechanics.port_push import SealDisc, pushed

B, H, F, A, SEAL = 40.0, 60.0, 30e3, 15.0, 16.0
MIDDLE = (0.0, 130.0)
AREA = np.pi / 4 * SEAL**2


@pytest.fixture(scope="module")
def pair():
    """Face stays plane; its bolt is so slender that its force hardly changes; pistons of next to no area."""
    bridges = make_bridges([[[-B / 2, B / 2]]], [[[100.0, 100.0 + H]]], [[0.0]], holes=[[[[*MIDDLE, 1e-3]]]])
    half = beam_half(
        bridges,
        bolts=np.array([[MIDDLE]]),
        bores=np.array([[[-10.0, 120.0]]]),
        y_beam=np.array([130.0]),
        height=np.array([80.0]),
        thickness=np.array([40.0]),
        curvature=0.0,
    )
    clamp = elastic_clamp(bridges, jointed=[0], give=False, height=500.0)
    fluid = pushed(clamp.cells, bridges, [SealDisc(0, 0, MIDDLE[0], MIDDLE[1] + A, SEAL)])
    return join(
        add(half, half),
        bridges=bridges,
        jointed=[True],
        layer=0.9 * bridges.length,
        bolt_flexibility=np.array([[1.0]]),
        bore_area=np.array([[1e-3]]),
        clamp=replace(clamp, fluid=fluid),
    )


def push(*, eccentricity):
    """Push P at which contact's resultant lies `eccentricity` below the middle."""
    return F * eccentricity / (A + eccentricity)


@pytest.mark.parametrize("e", [2.0, 6.0, 9.9])
def test_closed_face_has_the_pressure_of_an_eccentric_force(pair, e):
    P = push(eccentricity=e)
    found = load(pair, tighten(pair, np.array([[F]])), np.array([P / AREA])).response
    y = np.array([100.0, 115.0, 130.0, 145.0, 160.0])
    measured = pressure_at(pair, None, found, bridge=0, x=np.zeros(5), y=y)[0]
    wanted = (F - P) * (1 / (B * H) + e * (130.0 - y) / (B * H**3 / 12))
    np.testing.assert_allclose(measured, wanted, rtol=2e-4, atol=1e-3)


@pytest.mark.parametrize("e", [12.0, 15.0, 20.0])
def test_beyond_the_kern_contact_keeps_three_times_the_rest(pair, e):
    P = push(eccentricity=e)
    found = load(pair, tighten(pair, np.array([[F]])), np.array([P / AREA])).response
    assert 1.0 - open_fraction(pair, found)[0, 0] == pytest.approx(3 * (H / 2 - e) / H, rel=2e-3)


def test_onset_is_the_kern_rule_at_the_outermost_cells(pair):
    """Cells tell by their means, so the outermost row's middle decides; a disc's own cells are not asked here."""
    tight = tighten(pair, np.array([[F]]))
    cells = pair.clamp.cells
    away = np.where(np.hypot(cells.x, cells.y - MIDDLE[1] - A) < SEAL, 0.0, cells.area)
    beside = replace(pair, clamp=replace(pair.clamp, cells=replace(cells, area=away)))
    assert beside.clamp.cells.relieved
    arm, area = cells.arm[0, 0], away[0, 0]
    inertia = np.linalg.inv((area[:, None] * arm).T @ arm)
    # contact spread straight over what touches: F in the middle, P taken off at the seal
    held, lost = (inertia @ np.array([1.0, v, 0.0]) for v in (0.0, A))
    first = np.min((arm @ held * F)[area > 0] / np.maximum((arm @ lost)[area > 0], 1e-12)) / AREA
    found = onset(beside, tight)
    assert found.pressure[0, 0] == pytest.approx(first, rel=2e-3)
    assert found.y[0, 0] > 150.0
