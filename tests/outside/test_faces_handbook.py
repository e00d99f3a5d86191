"""Faces that give way elastically, against handbook figures of punches, cracks and rings on elastic bodies."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ellipe, ellipk

from stiffcalc.mechanics import elastic_faces, land_give
from stiffcalc.mechanics.bridges import Bridges
from stiffcalc.mechanics.elastic_faces import (
    FITTED,
    RIGID_WALL,
    FaceConstants,
    _mirrored,
    land_flexibility,
    pressing_only,
    seat_flexibility,
    with_give,
)
from stiffcalc.mechanics.face_cells import cut_faces
from stiffcalc.mechanics.voids import Void

E, NU = 71000.0, 0.33
SHARES = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7)  # of a face's height that does not touch


def rectangle(width, height):
    """One bridge without holes, its face a rectangle."""
    one, none = np.ones((1, 1)), np.zeros((1, 1, 0))
    ends = np.array([[[-width / 2, width / 2]]])
    return Bridges(
        x=ends,
        y=np.array([[[100.0, 100.0 + height]]]),
        arch=0.0 * one,
        length=61.0 * one,
        hole_x=none,
        hole_y=none,
        hole_d=none,
        E=E * one,
    )


def test_a_rigid_square_punch_on_a_half_space(monkeypatch):
    # P / delta = pi E* C, C the electrostatic capacity of the thin plate of that shape (the same integral of 1/r):
    # a square of side a has C = 0.36679 a (Read 1997; Hwang and Mascagni 2004; from memory), which gives the 2.3 of
    # Johnson's square punch. Cells of even pressure come near as their size; twice as many show the limit.
    monkeypatch.setattr(elastic_faces, "IMAGES", (0,))
    found = []
    for count in (12, 24):
        cells = cut_faces(rectangle(30.0, 30.0), jointed=[0], columns=count, rows=count)
        found.append(np.linalg.solve(_mirrored(cells)[0, 0], np.ones(count**2)).sum() / 30.0)
    assert found[0] < found[1] == pytest.approx(0.36679, rel=0.02)
    assert 2 * found[1] - found[0] == pytest.approx(0.36679, rel=2e-3)


def crack_rotation(share):
    """E' theta / sigma of a strip in bending with an edge crack of that share of its height (sigma = 6 M / (b W^2)).

    Tada, Paris and Irwin, The Stress Analysis of Cracks Handbook, single edge notch in pure bending; from memory.
    """
    series = 5.93 - 19.69 * share + 37.14 * share**2 - 35.84 * share**3 + 13.12 * share**4
    return 4.0 * (share / (1.0 - share)) ** 2 * series


def test_the_handbook_s_rotation_and_stress_intensity_are_of_one_piece():
    # What a crack adds to the rotation is its energy: M d(theta) / 2 = K^2 / E' da (Irwin), K by the same handbook's
    # other formula (from memory). Keeps a slip of memory out of the next test.
    def bending(x):
        return 1.122 - 1.40 * x + 7.33 * x**2 - 13.08 * x**3 + 14.0 * x**4

    for share in (0.2, 0.4, 0.6, 0.7):
        energy, _ = quad(lambda x: x * bending(x) ** 2, 0.0, share)
        assert crack_rotation(share) == pytest.approx(12.0 * np.pi * energy, rel=0.05)


@pytest.mark.parametrize("share", SHARES)
def test_a_relief_along_an_edge_turns_like_an_edge_crack(share):
    # A strip whose lower part does not touch is a strip with an edge crack; one ten times as wide as high is in plane
    # strain. Mirrors in the sides that count twice (`land_give.EDGE`) meet the handbook's rotation at every depth;
    # counted once, as if the sides were held flat, they let it turn 4 to 14 % less.
    assert 0.95 < edge_crack_over_relief(share) < 1.06


def test_mirrors_counted_twice_are_neither_soft_nor_stiff_in_the_mean(monkeypatch):
    assert np.mean([edge_crack_over_relief(s) for s in SHARES]) == pytest.approx(1.0, abs=0.01)
    monkeypatch.setattr(land_give, "EDGE", 1.0)
    assert min(edge_crack_over_relief(s) for s in SHARES) > 1.03


def edge_crack_over_relief(share):
    return crack_over_relief(share, edge=land_give.EDGE)


@cache
def crack_over_relief(share, *, edge):
    """Tada's rotation of an edge crack over that of a wide face relieved to the same depth, before a rigid wall.

    Mirrors count `edge` times, as `land_give` has it now.
    """
    width, height = 600.0, 60.0
    top = 100.0 + share * height
    relief = Void(np.array([(-900.0, 90.0), (900.0, 90.0), (900.0, top), (-900.0, top)]))
    cells = cut_faces(rectangle(width, height), jointed=[0], voids=[relief], columns=12, rows=60)
    pressed = pressing_only(cells, bolts=np.zeros((1, 0, 2)), heights=np.zeros((1, 0)), owner=[])
    before_rigid_wall = replace(FITTED, give=RIGID_WALL)
    faces = with_give(pressed, E=np.full((1, 1), E), nu=np.full((1, 1), NU), constants=before_rigid_wall)
    stress = 6.0 / (width * height**2)
    return crack_rotation(share) * stress * (1 - NU**2) / E / land_flexibility(faces)[0, 1, 1]


def test_a_wedge_pressed_at_its_edge_asks_more_of_the_mirror_than_one():
    # Force along one face of a wedge of half angle a: it gives way as ln r / E' times cos2/(a + sin 2a / 2) +
    # sin2/(a - sin 2a / 2) of the force's angle to the bisector (Timoshenko and Goodier, Theory of Elasticity, section
    # 38, from memory). A quarter-plane (a = 45 degrees) gives 3.36 times a half-plane: source, and 2.36 of mirror.
    def along_bisector(a):
        return 1.0 / (a + 0.5 * np.sin(2 * a))

    quarter = 0.5 * along_bisector(np.pi / 4) + 0.5 / (np.pi / 4 - 0.5)
    assert quarter / along_bisector(np.pi / 2) - 1.0 == pytest.approx(2.36, abs=0.01)
    assert 1.0 < land_give.EDGE < 2.36


def test_a_ring_s_seat():
    # Mean sinking of a half-space under even pressure on a ring, by the disc's surface displacement (Johnson, Contact
    # Mechanics, eq. 3.29, from memory): 0.48 to 0.50 F / (E a) for holes of 0 to 0.75 of the bearing diameter.
    def disc(r, a):
        if r <= a:
            return 4 * (1 - NU**2) * a / np.pi * ellipe((r / a) ** 2)
        k = (a / r) ** 2
        return 4 * (1 - NU**2) * r / np.pi * (ellipe(k) - (1 - k) * ellipk(k))

    for hole, wanted in ((0.0, 0.482), (0.6, 0.480), (0.69, 0.488), (0.75, 0.498)):
        pressure = 1.0 / (np.pi * (1 - hole**2))
        volume, _ = quad(
            lambda r, h=hole: 2 * np.pi * r * (disc(r, 1.0) - (disc(r, h) if h else 0.0)), hole, 1.0
        )
        sinking = pressure * volume / (np.pi * (1 - hole**2))
        assert sinking == pytest.approx(wanted, abs=1e-3)
        # The plate behind has part of it: the fitted share is less, and more than half.
        of_two = seat_flexibility(E=np.array(1.0), bearing=np.array(2.0))
        assert 0.5 < of_two / (2 * sinking) < 1.0


@pytest.mark.parametrize("height", [8.0, 14.0])
def test_a_bolt_far_from_the_sides_presses_as_boussinesq_says(height):
    # Vertical stress below a point force, 3 F z^3 / (2 pi (r^2 + z^2)^(5/2)) (Boussinesq 1885): on a face so wide that
    # its sides do not matter, the share of a ring r is 1 - (1 + (r/z)^2)^(-3/2).
    cells = cut_faces(rectangle(200.0, 200.0), jointed=[0], columns=40, rows=40)
    pressed = pressing_only(
        cells,
        bolts=np.array([[(0.0, 200.0)]]),
        heights=np.full((1, 1), height),
        owner=[0],
        constants=FaceConstants(give=1.0, height=1.0, seat=0.0),
    )
    even = cells.section[0, 0] / cells.section[0, 0].sum()
    share = pressed.pressing[0, :, 0] + even  # by symmetry the linear part is even
    r = np.hypot(cells.x[0, 0], cells.y[0, 0] - 200.0)
    for reach in (1.5, 3.0):
        inside = share[r <= reach * height].sum()
        cut = np.sqrt((r <= reach * height).sum() * 25.0 / np.pi) / height  # radius of the cells counted
        assert inside == pytest.approx(1.0 - (1.0 + cut**2) ** -1.5, abs=0.02)
