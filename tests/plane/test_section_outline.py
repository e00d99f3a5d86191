"""Outlines: arcs, fillets, areas, and every fault named."""

import math

import numpy as np
import pytest
from section_cases import ALLOY, block, bracket

from stiffcalc.errors import InputError
from stiffcalc.plane.section.corners import leading_power, sharp_corners
from stiffcalc.plane.section.outline import (
    Edge,
    Material,
    Part,
    Region,
    circle,
    oriented,
    polygon,
    signed_area,
)

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


def part(outline, **more):
    return Part("part", outline, more.pop("thickness", 4.0), more.pop("material", ALLOY), **more)


def test_area_of_a_rounded_square():
    """Four quarter discs instead of four squares: 100 - (4 - pi) r^2."""
    assert signed_area(polygon(SQUARE, radii=[2.0] * 4)) == pytest.approx(100 - (4 - math.pi) * 4)
    assert signed_area(oriented(polygon(SQUARE), clockwise=True)) == pytest.approx(-100)
    assert signed_area(circle(3.0, -2.0, 6.0)) == pytest.approx(9 * math.pi)


def test_a_fillet_is_tangent_on_both_sides():
    edges = polygon(SQUARE, radii=[0, 3.0, 0, 0], fillet="round ")
    i = next(k for k, e in enumerate(edges) if e.name == "round 1")
    for before, after in ((edges[i - 1], edges[i]), (edges[i], edges[i + 1])):
        assert before.directions()[1] == pytest.approx(after.directions()[0], abs=1e-12)
    assert edges[i].radius == pytest.approx(3.0)


def test_a_clockwise_arc_turns_the_other_way():
    arc = Edge((0.0, 1.0), (1.0, 0.0), "", (0.0, 0.0), clockwise=True)
    assert arc.turn == pytest.approx(-math.pi / 2)
    assert arc.at(np.array([0.5]))[0] == pytest.approx([math.sqrt(0.5)] * 2)
    long = Edge((0.0, 1.0), (1.0, 0.0), "", (0.0, 0.0))
    assert long.turn == pytest.approx(1.5 * math.pi)
    assert list(arc.holds(np.array([[0.6, 0.8], [-0.6, 0.8], [0.5, 0.5]]), tolerance=1e-9)) == [
        True,
        False,
        False,
    ]


def test_reversing_an_edge_keeps_its_points():
    arc = Edge((0.0, 1.0), (1.0, 0.0), "", (0.0, 0.0), clockwise=True)
    share = np.linspace(0, 1, 5)
    assert arc.reversed().at(share) == pytest.approx(arc.at(share)[::-1])


@pytest.mark.parametrize(
    ("outline", "found"),
    [
        ((Edge((0, 0), (1, 0)), Edge((1, 0), (1, 1)), Edge((1, 1.1), (0, 0))), "next start"),
        (polygon([(0, 0), (10, 10), (10, 0), (0, 10)]), "meets itself"),
        (polygon([(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)]), "meets itself"),
        (polygon([(0, 0), (10, 0), (4, 0), (0, 10)]), "folds back|meets itself"),
        ((Edge((0, 0), (1, 0)), Edge((1, 0), (1, 0)), Edge((1, 0), (0, 0))), "one point"),
        ((Edge((0, 0), (2, 0)), Edge((2, 0), (0, 0), "", (1.0, 0.5)), Edge((0, 0), (0, 0))), "one point"),
        ((Edge((0, 0), (2, 0)), Edge((2, 0), (0, 0), "", (0.5, 0.0))), "from its centre"),
        ((Edge((0, 0), (math.nan, 0)), Edge((math.nan, 0), (0, 0))), "no finite number"),
        ((Edge((0, 0), (1, 0)),), "1 edges"),
    ],
)
def test_broken_outlines_are_refused(outline, found):
    with pytest.raises(InputError, match=found):
        part(outline)


@pytest.mark.parametrize("radius", [6.0, -1.0, math.nan, math.inf])
def test_impossible_fillets_are_refused(radius):
    with pytest.raises(InputError, match=r"radius|roundings"):
        polygon(SQUARE, radii=[radius, radius, 0, 0])


@pytest.mark.parametrize(
    ("holes", "found"),
    [
        ((circle(20, 5, 2),), "not inside"),
        ((circle(9.5, 5, 2),), "not inside"),
        ((circle(4, 5, 2), circle(5, 5, 2)), "meets another"),
        ((circle(5, 5, 6), circle(5, 5, 2)), "meets another"),
    ],
)
def test_holes_lie_inside_and_apart(holes, found):
    with pytest.raises(InputError, match=found):
        part(polygon(SQUARE), holes=holes)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_properties_are_positive_and_all_named_at_once(bad):
    region = Region("pocket", polygon([(1, 1), (2, 1), (2, 2)]), bad)
    with pytest.raises(InputError) as caught:
        part(polygon(SQUARE), thickness=bad, material=Material(bad, bad - 1), regions=(region,))
    text = str(caught.value)
    assert all(where in text for where in ("part.thickness", "part.E", "part.nu", "part.pocket.thickness"))


def test_a_part_needs_a_material():
    with pytest.raises(InputError, match="give the part a material"):
        part(polygon(SQUARE), material=None)


def test_regions_have_one_name_each():
    region = Region("pocket", polygon([(1, 1), (2, 1), (2, 2)]), 2.0)
    with pytest.raises(InputError, match="'pocket' twice"):
        part(polygon(SQUARE), regions=(region, region))


def test_sharp_corners_are_found_and_rounded_ones_not():
    assert sharp_corners(block()) == ()
    assert [round(c.angle_deg) for c in sharp_corners(bracket())] == []
    (corner,) = sharp_corners(part(polygon([(0, 0), (9, 0), (9, 3), (3, 3), (3, 9), (0, 9)])))
    assert (corner.x, corner.y) == (3, 3)
    assert corner.angle_deg == pytest.approx(270)
    notched = part(polygon(SQUARE), holes=(polygon([(3, 3), (6, 3), (6, 6), (3, 6)]),))
    assert len(sharp_corners(notched)) == 4


def test_powers_of_singular_corners():
    """0.5445 for a right-angled notch, 1/2 for a crack (Williams 1952; from memory)."""
    assert leading_power(1.5 * math.pi) == pytest.approx(0.5445, abs=5e-5)
    assert leading_power(math.radians(359.99)) == pytest.approx(0.5, abs=1e-4)
    assert leading_power(math.pi) == 1.0
    powers = [leading_power(math.radians(a)) for a in (185, 210, 240, 270, 300)]
    assert np.all(np.diff(powers) < 0)
