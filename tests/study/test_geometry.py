"""Distances in the front view against plain geometry."""

import math

import numpy as np
import pytest
from study_sample import parse_base

from stiffcalc.study.geometry import depth_inside, footprint, rectangle


@pytest.mark.parametrize(
    ("point", "depth"),
    [
        ((1, 1), 1.0),
        ((5, 2), 2.0),
        ((0, 2), 0.0),
        ((-3, 2), -3.0),
        ((13, 8), -5.0),
        ((5, 4.5), -0.5),
        ((-1, 4), -1.0),
    ],
)
def test_depth_in_a_rectangle(point: tuple[float, float], depth: float) -> None:
    assert depth_inside(*point, rectangle((0.0, 10.0), (0.0, 4.0))) == pytest.approx(depth, abs=1e-12)


def test_depth_does_not_depend_on_where_the_polygon_starts_or_turns() -> None:
    corners = np.array([(0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6)], dtype=float)  # an L
    for turned in (corners, np.roll(corners, 3, axis=0), corners[::-1]):
        assert depth_inside(1.0, 5.0, turned) == pytest.approx(1.0)
        assert depth_inside(4.0, 4.0, turned) == pytest.approx(-2.0)
        assert depth_inside(1.5, 1.5, turned) == pytest.approx(math.hypot(0.5, 0.5))


def test_a_placeholder_gives_no_answer() -> None:
    assert math.isnan(depth_inside(math.nan, 1.0, rectangle((0.0, 10.0), (0.0, 4.0))))
    assert math.isnan(depth_inside(1.0, 1.0, rectangle((math.nan, 10.0), (0.0, 4.0))))


def test_an_end_bridge_follows_the_rotor_circle() -> None:
    design = parse_base()
    outline = footprint(design.caliper.bridges[0], design.caliper, design.rotor)
    radius = design.rotor.outer_radius + design.rotor.edge_clearance
    under = outline[:-2]
    assert np.hypot(under[:, 0], under[:, 1]) == pytest.approx(radius)
    # straight down from the bolt at x -94 the metal ends on the circle
    assert depth_inside(-94.0, math.sqrt(radius**2 - 94.0**2), outline) == pytest.approx(0.0, abs=1e-3)
    # the distance of a point outside the circle to it is radial
    assert depth_inside(-94.0, 147.0, outline) == pytest.approx(math.hypot(94.0, 147.0) - radius, abs=1e-3)
