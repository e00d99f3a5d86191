"""Rectangles that follow a field, and what a cutter leaves of it: geometry on pixels, no mechanics."""

from itertools import combinations

import numpy as np
import pytest

from stiffcalc.explore.pocket_boxes import Rules, boxes, by_cost, by_likeness, deepened, tries
from stiffcalc.explore.pocket_raster import Raster, covered, idle_beside, millable, with_volume

CUTTER, RIB, HEIGHT = 10.0, 4.0, 30.0
RULES = Rules(6, CUTTER, RIB, (np.array([]), np.array([])))


def wall(allowed=15.0):
    """120 x 60 mm, the same depth allowed all over."""
    x, y = np.arange(0.0, 121.0), np.arange(0.0, 61.0)
    return Raster(x, y, np.full((60, 120), allowed), np.ones((60, 120), dtype=bool))


def painted(pixels, *rectangles):
    return sum(depth * covered(pixels, x, y) for x, y, depth in rectangles)


def tried(pixels, field):
    K = np.where(field > 0.0, 1.0, 1e3)
    return tries(pixels, K, np.full(field.shape, HEIGHT), field, RULES)


TWO = (((0.0, 40.0), (0.0, 20.0), 12.0), ((60.0, 120.0), (30.0, 60.0), 15.0))


@pytest.mark.parametrize("worth", [lambda a: by_likeness(a, 1.0), lambda a: by_cost(a, 1e-3)])
def test_two_rectangles_are_found_again(worth):
    pixels = wall()
    found = boxes(tried(pixels, painted(pixels, *TWO)), worth(tried(pixels, painted(pixels, *TWO))), RULES)
    assert len(found) == 2
    for box, (x, y, _) in zip(found, TWO, strict=True):
        # by cost a rectangle keeps a little off what is dear beside it: its own steps idle
        assert np.abs(np.subtract(box.x, x)).max() <= 4.0 and np.abs(np.subtract(box.y, y)).max() <= 4.0


def test_likeness_finds_the_depths():
    pixels = wall()
    among = tried(pixels, painted(pixels, *TWO))
    assert [b.depth for b in boxes(among, by_likeness(among, 1.0), RULES)] == pytest.approx([12.0, 15.0])


def test_rectangles_keep_their_distances():
    """A slanting field asks for steps: every two share a side or stand a rib apart, and rims are no thinner."""
    pixels = wall()
    x, y = np.meshgrid(pixels.x[:-1] + 0.5, pixels.y[:-1] + 0.5)
    among = tried(pixels, np.where(y < 0.5 * x, 15.0, 0.0))
    found = boxes(among, by_likeness(among, 1.0), RULES)
    assert len(found) >= 3
    for a, b in combinations(found, 2):
        gaps = sorted(max(s[0] - t[1], t[0] - s[1]) for s, t in ((a.x, b.x), (a.y, b.y)))
        assert gaps[1] >= RIB - 1e-9 or (abs(gaps[1]) < 1e-9 and gaps[0] < 0.0)
    for b in found:
        assert min(b.x[1] - b.x[0], b.y[1] - b.y[0]) >= 1.25 * CUTTER
        for span, edge in ((b.x, 120.0), (b.y, 60.0)):
            assert all(v in (0.0, edge) or RIB <= v <= edge - RIB for v in span)


def test_nothing_deeper_than_allowed():
    pixels = wall()
    pixels.allowed[20:40, 50:70] = 3.0  # a floor
    pixels.allowed[:, :20] = 0.0  # a foot
    field = np.minimum(np.full((60, 120), 15.0), pixels.allowed)
    among = tried(pixels, field)
    for b in boxes(among, by_likeness(among, 1.0), RULES):
        over = covered(pixels, b.x, b.y) > 0.5
        assert b.depth <= pixels.allowed[over].min() + 1e-9 and b.most <= pixels.allowed[over].min() + 1e-9
    assert all(b.depth == b.most for b in deepened(boxes(among, by_likeness(among, 1.0), RULES), 99.0))


def test_a_cutter_cannot_reach_a_slot():
    pixels = wall()
    slot = painted(pixels, ((30.0, 36.0), (10.0, 50.0), 10.0))
    assert millable(pixels, slot, cutter=CUTTER, rib=RIB).max() == 0.0
    wide = painted(pixels, ((30.0, 60.0), (10.0, 50.0), 10.0))
    left = millable(pixels, wide, cutter=CUTTER, rib=RIB)
    assert left[30, 45] == 10.0 and left[10, 30] == 0.0  # a rounded corner stays
    assert np.all(left <= wide)


def test_a_cutter_runs_out_over_the_edge():
    pixels = wall()
    corner = painted(pixels, ((0.0, 30.0), (0.0, 30.0), 10.0))
    left = millable(pixels, corner, cutter=CUTTER, rib=RIB)
    assert left[0, 0] == 10.0 and left[29, 29] == 0.0


def test_a_thin_rib_is_milled_away():
    pixels = wall()
    field = painted(pixels, ((10.0, 50.0), (10.0, 50.0), 10.0), ((52.0, 100.0), (10.0, 50.0), 10.0))
    assert millable(pixels, field, cutter=CUTTER, rib=1.0)[30, 51] == 0.0
    assert millable(pixels, field, cutter=CUTTER, rib=RIB)[30, 51] == 10.0


def test_what_a_cutter_cannot_reach_is_made_good():
    pixels = wall()
    field = painted(pixels, ((20.0, 60.0), (10.0, 50.0), 8.0), ((80.0, 84.0), (10.0, 50.0), 8.0))
    made = with_volume(pixels, field, pixels.volume(field), cutter=CUTTER, rib=RIB)
    assert pixels.volume(made) == pytest.approx(pixels.volume(field), rel=1e-3)
    assert made[30, 82] == 0.0 and 8.0 < made[30, 40] <= 15.0


def test_metal_beside_a_step_is_idle():
    """8 mm of depth reach 2 mm into the full wall, falling by 4 mm each millimetre; nothing at the wall's own edge."""
    pixels = wall()
    idle = idle_beside(pixels, painted(pixels, ((0.0, 40.0), (0.0, 60.0), 8.0)))
    assert idle[30, 38:43] == pytest.approx([8.0, 8.0, 4.0, 0.0, 0.0])
    assert idle[30, 0] == 8.0
