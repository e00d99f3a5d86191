"""Section stresses against plain formulas, brute force and equilibrium; limits and trends of the fillet factor."""

from dataclasses import replace

import numpy as np
import pytest
from wall_cases import bridges, wall

from stiffcalc.mechanics import strength
from stiffcalc.mechanics.bridges import Bridges, about, columns, integral_aa, reference


def bridge(x, y0, arch, *, holes=()):
    return bridges((*x, y0, 190.0, arch), holes=[list(holes) or [(0.0, 0.0, 0.0)]])


FLAT = bridge((-12, 12), 172.0, 0.0)
ARCHES = {
    "trailing": bridge((78, 110), 105.0, 168.0, holes=[(94, 156, 11), (94, 178, 11)]),
    "leading": bridge((-110, -78), 105.0, 168.0),
    "runs out": bridge((98, 150), 105.0, 168.0),
    "runs out, leading": bridge((-150, -98), 105.0, 168.0),
    "across": bridge((-150, 150), 105.0, 168.0),
    "flat": FLAT,
}
FORCES = np.array([[[4000.0, -21e3, 9e3]]])


def test_rectangle_is_n_over_a_and_m_over_w():
    points = strength.extreme_points(FLAT)[0, 0]
    found = strength.bridge_stress(FLAT, np.array([[[4320.0, 2592.0, 1728.0]]]))[0, 0]
    by_hand = 10.0 + 2592.0 / 1296.0 * (points[:, 1] - 181.0) / 9.0 - points[:, 0] / 12.0
    assert found == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.parametrize("name", ARCHES)
def test_stress_carries_the_forces_and_is_extreme_at_the_points(name):
    b = ARCHES[name]
    points = strength.extreme_points(b)[0, 0]
    found = strength.bridge_stress(b, FORCES)[0, 0]
    plane, *_ = np.linalg.lstsq(np.column_stack([np.ones(6), points]), found, rcond=None)
    cut, (x_b, y_r) = columns(b), reference(b)
    shifted = np.array([plane @ [1.0, x_b[0, 0], y_r[0, 0]], plane[2], -plane[1]])
    assert integral_aa(about(cut, x_b=x_b, y_r=y_r))[0, 0] @ shifted == pytest.approx(FORCES[0, 0], rel=1e-9)
    metal = cut.weight > 0.0
    inside = np.concatenate([(plane[0] + plane[1] * cut.x + plane[2] * y)[metal] for y in (cut.lo, cut.hi)])
    assert found.max() >= inside.max() - 1e-9
    assert found.min() <= inside.min() + 1e-9


def test_points_of_an_arch_that_runs_out():
    kink = np.sqrt(168.0**2 - 105.0**2)
    expected = [
        (-150, 105),
        (-kink, 105),
        (kink, 105),
        (150, 105),
        (150, 190),
        (-150, 190),
    ]
    assert strength.extreme_points(ARCHES["across"])[0, 0] == pytest.approx(np.array(expected), abs=1e-9)


def test_heights_over_the_underside():
    found = strength.corner_height(ARCHES["trailing"])[0, 0]
    assert found[[0, 3]] == pytest.approx(190.0 - np.sqrt(168.0**2 - np.array([78.0, 110.0]) ** 2))


def test_holes_raise_the_stress():
    solid = bridge((78, 110), 105.0, 168.0)
    pull = np.array([[[4000.0, 0.0, 0.0]]])
    drilled = strength.bridge_stress(ARCHES["trailing"], pull).max()
    assert drilled > strength.bridge_stress(solid, pull).max()


def test_a_batch_of_bridges_is_the_single_ones():
    names = ("trailing", "runs out", "flat")
    plain = [replace(ARCHES[n], hole_x=FLAT.hole_x, hole_y=FLAT.hole_y, hole_d=FLAT.hole_d) for n in names]
    both = Bridges(
        *(np.concatenate([getattr(b, k) for b in plain], axis=1) for k in plain[0].__dataclass_fields__)
    )
    single = [strength.bridge_stress(b, FORCES)[0, 0] for b in plain]
    assert strength.bridge_stress(both, np.repeat(FORCES, 3, axis=1))[0] == pytest.approx(np.array(single))


# Fillet


def test_no_fillet_no_figure():
    found = strength.corner_factor(np.array([0.0, 4.0]), height=40.0, wall=50.0)
    assert np.isinf(found.value[0]) and np.isfinite(found.value[1])
    assert found.inside.tolist() == [False, True]


def test_larger_fillets_and_thicker_walls_never_raise_the_peak():
    radius = np.linspace(1.2, 24.0, 60)
    assert np.all(np.diff(strength.corner_factor(radius, height=40.0, wall=50.0).value) < 0)
    wall = np.linspace(20.0, 80.0, 61)
    assert np.all(np.diff(strength.corner_factor(4.0, height=40.0, wall=wall).value) <= 0)


def test_the_factor_depends_on_shape_only():
    small = strength.corner_factor(2.0, height=23.0, wall=20.0).value
    assert strength.corner_factor(4.0, height=46.0, wall=40.0).value == pytest.approx(small, rel=1e-14)


@pytest.mark.parametrize(
    ("radius", "height", "wall"),
    [(1.0, 40.0, 40.0), (25.0, 40.0, 40.0), (4.0, 60.0, 34.0), (np.nan, 40.0, 40.0)],
)
def test_outside_its_range_it_says_so(radius, height, wall):
    assert not strength.corner_factor(radius, height=height, wall=wall).inside


# Wall


PLAIN = {"length": 220.0, "y": (105.0, 190.0), "t": 34.0, "floor": 9.0}
BORED = wall(bores=[(-30.0, 135.0, 42.0)], **PLAIN)
MIDDLE = np.array([[-30.0]])


def test_plain_wall_is_m_over_w():
    found = strength.wall_stress(wall(**PLAIN), np.array([[0.0, 50.0]]), moment=np.array([[1e5, -2e5]]))
    assert found == pytest.approx(np.array([[1.0, 2.0]]) * 1e5 * 6.0 / (85.0 * 34.0**2), rel=1e-12)


def test_bored_wall_against_a_fine_grid():
    """sigma = c . (y, z) on the section's own metal, found from int sigma y = 0 and int sigma z = M."""
    n = 1200
    y, z = np.meshgrid((np.arange(n) + 0.5) * 85.0 / n, (np.arange(n) + 0.5) * 34.0 / n)
    metal = (np.abs(y - 30.0) > 21.0) | (z > 25.0)
    y0, z0 = y[metal].mean(), z[metal].mean()
    rows = np.stack([y[metal] - y0, z[metal] - z0])
    slope = np.linalg.solve(rows @ rows.T * (85.0 * 34.0 / n**2), [0.0, 1e5])
    corners = [abs(slope @ [p - y0, q - z0]) for p in (0.0, 85.0) for q in (0.0, 34.0)]
    found = strength.wall_stress(BORED, MIDDLE, moment=np.array([[1e5]]))
    assert found[0, 0] == pytest.approx(max(corners), rel=2e-3)


def test_a_bore_raises_the_stress():
    moment = np.array([[1e5]])
    bored = strength.wall_stress(BORED, MIDDLE, moment=moment)
    assert bored > 1.2 * strength.wall_stress(wall(**PLAIN), MIDDLE, moment=moment)
