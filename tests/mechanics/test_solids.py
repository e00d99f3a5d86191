"""Derived checks of the closed-form prism integrals: additivity, symmetry, brute-force sums, other routes."""

import numpy as np
import pytest

from stiffcalc.mechanics import bridges, solids

SQUARE = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0)])
CLAW = np.array(
    [(0.0, 0.0), (9.0, 0.0), (9.0, 7.0), (6.0, 7.0), (6.0, 3.0), (2.0, 3.0), (2.0, 7.0), (0.0, 7.0)]
)


def one(*values):
    return tuple(np.asarray(v, dtype=float) for v in values)


def common(x, y, diameter, outline):
    x, y, diameter = one(x, y, diameter)
    return solids.disc_in_polygon(x, y, diameter=diameter, outline=outline)


def test_polygon_of_a_rectangle_and_of_a_claw():
    assert solids.polygon(SQUARE) == pytest.approx([60.0, 300.0, 180.0], rel=1e-14)
    parts = [((0, 9), (0, 3)), ((0, 2), (3, 7)), ((6, 9), (3, 7))]
    boxes = solids.polygon(solids.box(*(np.array(v, dtype=float) for v in zip(*parts, strict=True)))).sum(
        axis=0
    )
    assert solids.polygon(CLAW) == pytest.approx(boxes, rel=1e-14)


def test_a_box_may_differ_among_designs_along_one_axis_only():
    x, y = np.array([0.0, 2.0]), np.array([[1.0, 3.0], [1.0, 4.0]])
    assert solids.polygon(solids.box(x, y)) == pytest.approx(np.array([[4, 4, 8], [6, 6, 15]]), rel=1e-14)


def test_extrude_places_the_middle():
    solid = solids.extrude(np.array([2.0, 6.0, 8.0]), z0=np.asarray(1.0), z1=np.asarray(4.0))
    assert solid == pytest.approx([6.0, 18.0, 24.0, 15.0])


@pytest.mark.parametrize(
    ("x", "y", "share"),
    [
        (5.0, 3.0, 1.0),
        (5.0, 0.0, 0.5),
        (0.0, 0.0, 0.25),
        (10.0, 6.0, 0.25),
        (-4.0, 3.0, 0.0),
        (5.0, -2.0, 0.0),
    ],
)
def test_disc_inside_on_an_edge_at_a_corner_and_outside(x, y, share):
    section = common(x, y, 4.0, SQUARE)
    assert section[0] == pytest.approx(share * np.pi * 4.0, abs=1e-12)


def test_half_disc_has_its_centroid_at_4r_over_3pi():
    area, _, first_y = common(5.0, 0.0, 4.0, SQUARE)
    assert first_y / area == pytest.approx(4.0 * 2.0 / (3.0 * np.pi), rel=1e-13)


def test_polygon_wholly_inside_the_disc_is_the_polygon():
    assert common(4.0, 3.0, 40.0, CLAW) == pytest.approx(solids.polygon(CLAW), rel=1e-12)


@pytest.mark.parametrize("diameter", [5.0, 7.0, 11.0])
def test_disc_across_a_claw_against_a_fine_grid(diameter):
    x, y, n = 4.2, 4.1, 2000
    step = 9.0 / n
    px, py = np.meshgrid((np.arange(n) + 0.5) * step, (np.arange(n) + 0.5) * step)
    metal = (py < 3) | ((py < 7) & ((px < 2) | (px > 6)))
    inside = metal & ((px - x) ** 2 + (py - y) ** 2 < 0.25 * diameter**2)
    grid = np.array([inside.sum(), px[inside].sum(), py[inside].sum()]) * step**2
    assert common(x, y, diameter, CLAW) == pytest.approx(grid, rel=3e-3)


def test_pieces_of_a_disc_add_up():
    tiles = solids.box(
        np.array([(0.0, 3.0), (3.0, 10.0), (0.0, 3.0), (3.0, 10.0)]),
        np.array([(0.0, 2.0), (0.0, 2.0), (2.0, 6.0), (2.0, 6.0)]),
    )
    pieces = solids.disc_in_polygon(*one([3.5] * 4, [2.5] * 4), diameter=np.full(4, 6.0), outline=tiles)
    assert pieces.sum(axis=0) == pytest.approx(common(3.5, 2.5, 6.0, SQUARE), rel=1e-13)


def test_no_diameter_is_no_area():
    assert common(3.0, 3.0, 0.0, SQUARE) == pytest.approx([0.0, 0.0, 0.0], abs=1e-15)


@pytest.mark.parametrize(
    ("x", "y0", "arch"),
    [
        ((78.0, 110.0), 105.0, 168.0),
        ((-110.0, -78.0), 105.0, 168.0),
        ((98.0, 150.0), 105.0, 168.0),
        ((-150.0, 150.0), 105.0, 168.0),
        ((-12.0, 12.0), 172.0, 168.0),
        ((-12.0, 20.0), 172.0, 0.0),
    ],
)
def test_bridge_section_equals_the_one_the_response_uses(x, y0, arch):
    batch = bridges.Bridges(
        x=np.array([[x]]),
        y=np.array([[(y0, 190.0)]]),
        arch=np.array([[arch]]),
        length=np.array([[61.0]]),
        hole_x=np.zeros((1, 1, 0)),
        hole_y=np.zeros((1, 1, 0)),
        hole_d=np.zeros((1, 1, 0)),
        E=np.ones((1, 1)),
    )
    found = bridges.section(batch)
    area, first_x, first_y = solids.bridge(batch.x, batch.y, arch=batch.arch)[0, 0]
    # the other route is a Gauss rule of 24 points, good to 3e-7 on an arch as wide as a rotor
    assert (area, first_x / area, first_y / area) == pytest.approx(
        (found.area[0, 0], found.x[0, 0], found.y[0, 0]), rel=1e-6
    )
