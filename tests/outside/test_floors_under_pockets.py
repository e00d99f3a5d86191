"""Floors of bores that pockets reach behind, against a general-purpose geometry library.

Library: shapely 2 (GEOS): discs of 16 384 corners, whose area is 2.5e-8 of the disc's too small. What is left of a
floor is the mean of the cubes over the disc, so its lost volume of cubes is the library's common area times theirs.
"""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from wall_cases import four_bore

from stiffcalc.contours import straight
from stiffcalc.mechanics.local import floor_thickness
from stiffcalc.milling import Milled, WallShape, shared, slabs

FLOOR, DEPTH, DESIGNS = 9.0, np.array([4.0, 2.5]), 300


def batch(seed):
    """Walls of two bores and two pockets anywhere near them; the pockets of a design stand apart."""
    draw = np.random.default_rng(seed)
    one = four_bore(bores=[(-30.0, 135.0, 42.0), (31.0, 140.0, 36.0)], pockets=[(0.0,) * 5] * 2)
    walls = replace(
        one,
        **{n: np.repeat(getattr(one, n), DESIGNS, axis=0) for n in ("floor", "bore_x", "bore_y", "bore_d")},
    )
    # left and right of x = 0, some across the middle of a bore, some wholly behind it, some far off
    x = np.sort(draw.uniform(0.0, 60.0, (DESIGNS, 2, 2)), axis=2) + np.array([[[-60.0], [0.0]]])
    y = np.sort(draw.uniform(105.0, 170.0, (DESIGNS, 2, 2)), axis=2)
    return replace(walls, pocket_x=x, pocket_y=y, pocket_depth=np.broadcast_to(DEPTH, (DESIGNS, 2)))


def test_floors_left_by_rectangles_anywhere():
    walls = batch(seed=3)
    centres = np.stack([walls.bore_x, walls.bore_y], axis=-1)
    discs = shapely.buffer(shapely.points(centres), 0.5 * walls.bore_d, quad_segs=4096)[:, :, None]
    pockets = shapely.box(
        walls.pocket_x[..., 0], walls.pocket_y[..., 0], walls.pocket_x[..., 1], walls.pocket_y[..., 1]
    )[:, None]
    share = shapely.area(shapely.intersection(discs, pockets)) / shapely.area(discs)
    assert 0.2 < (share > 0).mean() < 0.8 and share.max() > 0.9
    cubes = FLOOR**3 - (share * (FLOOR**3 - (FLOOR - DEPTH) ** 3)).sum(axis=2)
    np.testing.assert_allclose(floor_thickness(walls), np.cbrt(cubes), rtol=1e-7)


@pytest.mark.parametrize(
    ("pocket", "reaches"),
    [
        ((16.0, 20.0, 116.0, 120.0), False),
        ((14.85, 20.0, 149.85, 160.0), False),
        ((14.84, 20.0, 149.85, 160.0), True),
        ((-10.0, 26.0, 90.0, 114.0), False),
        ((-10.0, 26.0, 90.0, 114.1), True),
    ],
    ids=["in a corner of the square", "corner off", "corner in", "along the edge", "over the edge"],
)
def test_only_what_lies_over_the_disc_thins_the_floor(pocket, reaches):
    x0, x1, y0, y1 = pocket
    away = shapely.distance(shapely.Point(0.0, 135.0), shapely.box(x0, y0, x1, y1))
    assert (away < 21.0) == reaches
    bore = (0.0, 135.0, 42.0)
    whole, left = (floor_thickness(four_bore(bores=[bore], pockets=p)) for p in ((), [(*pocket, 4.0)]))
    assert left < whole if reaches else left == whole


# Drawn pockets: a slanted edge across both bores, and a triangle that touches the second one only.
DRAWN = (
    ((-70.0, 128.0), (70.0, 150.0), (70.0, 172.0), (-70.0, 172.0)),
    ((20.0, 110.0), (60.0, 110.0), (44.0, 131.0)),
)


def test_floors_left_by_drawn_pockets():
    plain = four_bore(bores=[(-30.0, 135.0, 42.0), (31.0, 140.0, 36.0)], pockets=[])
    (x0, x1), (y0, y1) = plain.x[0], plain.y[0]
    outline = straight(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))
    pockets = tuple(Milled(straight(c), float(d)) for c, d in zip(DRAWN, DEPTH, strict=True))
    walls = replace(plain, slabs=shared(slabs(WallShape(outline, pockets)), 1))
    centres = np.stack([walls.bore_x, walls.bore_y], axis=-1)
    discs = shapely.buffer(shapely.points(centres), 0.5 * walls.bore_d, quad_segs=4096)[0, :, None]
    share = shapely.area(shapely.intersection(discs, [shapely.Polygon(c) for c in DRAWN])) / shapely.area(
        discs
    )
    assert (share > 0).tolist() == [[True, False], [True, True]] and share.max() < 0.7
    floor = walls.floor[0]
    cubes = floor**3 - (share * (floor**3 - (floor - DEPTH) ** 3)).sum(axis=1)
    np.testing.assert_allclose(floor_thickness(walls)[0], np.cbrt(cubes), rtol=1e-7)
