"""Resilience of bolts and plates: limits, sums, trends, quadrature, refusals; eccentric joints by statics."""

import numpy as np
import pytest
from scipy.integrate import quad

from stiffcalc.mechanics import eccentric as e
from stiffcalc.mechanics import resilience as r
from stiffcalc.mechanics.joint_diagram import load_factor, separation_load

CONE = {"outer": 16.0, "hole": 11.0, "tangent": 0.55}


def area(z, *, length, limit=np.inf, tapped=False, far=16.0):
    """Section of the pressure body at depth z, straight from its drawing."""
    wide = 16.0 + 2 * 0.55 * z
    if not tapped:
        wide = min(wide, far + 2 * 0.55 * (length - z))
    return np.pi / 4 * (min(wide, limit) ** 2 - 11.0**2)


# Bolt


def test_bolt_of_one_section_is_a_bar():
    """Root as wide as the shank, nut of the bolt's steel: grip + head + 0.5 d + anchor over E A."""
    found = r.bolt(10.0, root_area=r.circle(10.0), shank=40.0, free_thread=20.0, E=205e3, anchor_E=205e3)
    assert found.total == pytest.approx(
        r.bar(60.0 + 4.0 + 5.0 + 3.3, area=r.circle(10.0), E=205e3), rel=1e-14
    )


def test_longer_thinner_and_softer_held_bolts_are_softer():
    base = {"root_area": 52.3, "E": 205e3, "anchor_E": 72e3}
    grip = np.linspace(20.0, 120.0, 11)
    assert np.all(np.diff(r.bolt(10.0, shank=grip, free_thread=0.0, **base).total) > 0)
    free = np.linspace(0.0, 60.0, 7)
    assert np.all(np.diff(r.bolt(10.0, shank=60.0 - free, free_thread=free, **base).total) > 0)
    waist = r.bolt(10.0, shank=60.0, free_thread=0.0, shank_diameter=np.array([10.0, 9.0, 8.0]), **base)
    assert np.all(np.diff(waist.shank) > 0) and waist.head == r.bar(4.0, area=r.circle(10.0), E=205e3)
    held = r.bolt(
        10.0, shank=60.0, free_thread=0.0, root_area=52.3, E=205e3, anchor_E=np.array([205e3, 72e3])
    )
    assert held.anchor[1] / held.anchor[0] == pytest.approx(205 / 72, rel=1e-12)


def test_stress_area_for_the_root_area_stiffens_a_caliper_s_screw_by_half_a_percent():
    kind = {"shank": 110.0, "free_thread": 0.0, "E": 205e3, "anchor": 0.0, "anchor_E": 205e3}
    by_root, by_area = (r.bolt(10.0, root_area=a, **kind).total for a in (r.circle(8.160), 57.99))
    assert by_root / by_area - 1.0 == pytest.approx(0.0059, abs=5e-4)


# Plates


def test_a_sleeve_alone_is_a_tube():
    """Plates no wider than the head: whatever the cone's angle."""
    for tapped in (False, True):
        found = r.plates(30.0, E=70e3, limit=16.0, tapped=tapped, **CONE)
        assert found == pytest.approx(30.0 / (70e3 * np.pi / 4 * (16.0**2 - 11.0**2)), rel=1e-14)
        narrow = r.plates(30.0, E=70e3, limit=14.0, tapped=tapped, **CONE)
        assert narrow == pytest.approx(30.0 / (70e3 * np.pi / 4 * (14.0**2 - 11.0**2)), rel=1e-14)


def test_a_flat_cone_tends_to_the_tube_under_the_head():
    tube = 30.0 / (np.pi / 4 * (16.0**2 - 11.0**2))
    found = r.plates(30.0, E=1.0, outer=16.0, hole=11.0, tangent=np.array([1e-2, 1e-4, 1e-6]))[:, 0]
    assert np.all(np.diff(found) > 0) and found[-1] == pytest.approx(tube, rel=1e-4)


@pytest.mark.parametrize("limit", [14.0, 20.0, 25.0, np.inf])
@pytest.mark.parametrize("tapped", [False, True])
@pytest.mark.parametrize("far", [16.0, 19.0, 60.0])
def test_slices_against_quadrature(limit, tapped, far):
    """Each layer is the integral of dz/(E A) over it."""
    ends = np.array([0.0, 3.0, 14.0, 22.0, 30.0])
    E = np.array([205e3, 70e3, 170e3, 70e3])
    found = r.plates(np.diff(ends), E=E, limit=limit, tapped=tapped, outer_far=far, **CONE)
    draw = {"length": 30.0, "limit": limit, "tapped": tapped, "far": far}
    for i, modulus in enumerate(E):
        exact = quad(lambda z: 1 / area(z, **draw), ends[i], ends[i + 1], limit=400, epsabs=1e-13)[0]
        assert found[i] == pytest.approx(exact / modulus, rel=1e-6)


def test_one_layer_is_two_of_half_its_thickness():
    for tapped in (False, True):
        one = r.plates(30.0, E=70e3, limit=24.0, tapped=tapped, **CONE).sum()
        two = r.plates([15.0, 15.0], E=70e3, limit=24.0, tapped=tapped, **CONE)
        four = r.plates([1.0, 20.0, 4.0, 5.0], E=70e3, limit=24.0, tapped=tapped, **CONE)
        assert one == pytest.approx(two.sum(), rel=1e-14) and one == pytest.approx(four.sum(), rel=1e-13)
    through = r.plates([15.0, 15.0], E=70e3, limit=24.0, **CONE)
    assert through[0] == pytest.approx(through[1], rel=1e-13)


@pytest.mark.parametrize("limit", [16.0, 24.0, np.inf])
def test_a_tapped_joint_is_half_of_a_symmetric_through_joint(limit):
    whole = r.plates(60.0, E=70e3, limit=limit, **CONE).sum()
    half = r.plates(30.0, E=70e3, limit=limit, tapped=True, **CONE).sum()
    assert half == pytest.approx(0.5 * whole, rel=1e-13)


def test_wider_plates_and_steeper_cones_are_stiffer_until_the_cone_is_whole():
    limit = np.array([16.0, 20.0, 26.0, 32.0, 32.5, 33.0, 80.0])
    found = r.plates(np.full((7, 1), 30.0), E=70e3, limit=limit, **CONE)[:, 0]
    whole = r.limit_diameter(30.0, outer=16.0, tangent=0.55)
    assert whole == pytest.approx(32.5)
    assert np.all(np.diff(found[limit <= whole]) < 0)
    assert found[limit >= whole] == pytest.approx(found[-1], rel=1e-14)
    steeper = [r.plates(30.0, E=70e3, outer=16.0, hole=11.0, tangent=t).sum() for t in (0.3, 0.5, 0.7)]
    assert np.all(np.diff(steeper) < 0)


def test_a_batch_of_joints_is_the_single_ones():
    grip = np.array([20.0, 30.0, 60.0])
    layers = np.stack([0.25 * grip, 0.75 * grip], axis=-1)
    batch = r.plates(
        layers, E=[205e3, 70e3], outer=np.array([16.0, 18.0, 16.0]), hole=11.0, tangent=0.5, limit=30.0
    )
    for i, outer in enumerate((16.0, 18.0, 16.0)):
        alone = r.plates(layers[i], E=[205e3, 70e3], outer=outer, hole=11.0, tangent=0.5, limit=30.0)
        assert batch[i] == pytest.approx(alone, rel=1e-15)


@pytest.mark.parametrize(
    "bad",
    [
        {"hole": 16.0},
        {"hole": np.nan},
        {"hole": 0.0},
        {"limit": 11.0},
        {"limit": np.nan},
        {"outer_far": 11.0},
        {"tangent": 0.0},
        {"tangent": np.nan},
        {"E": -1.0},
        {"E": np.nan},
    ],
)
def test_plates_that_cannot_be_are_refused(bad):
    with pytest.raises(ValueError, match=r"clamped plates, .*: found .*; allowed: "):
        r.plates(30.0, **({"E": 70e3} | CONE | bad))


@pytest.mark.parametrize("thickness", [0.0, -1.0, np.nan])
def test_a_layer_without_thickness_is_refused(thickness):
    with pytest.raises(ValueError, match="clamped plates, thickness"):
        r.plates([10.0, thickness], E=70e3, **CONE)


@pytest.mark.parametrize(("grip", "limit"), [(30.0, 16.0), (30.0, np.nan), (0.0, 30.0), (np.nan, 30.0)])
def test_a_cone_that_cannot_form_is_refused(grip, limit):
    with pytest.raises(ValueError, match="pressure cone"):
        r.cone_tangent(grip, outer=16.0, limit=limit)


# Eccentric joints


JOINT = {"plates": 6e-7, "bending": 4e-9, "offset": 5.0}  # mm/N, 1/(N mm), mm


def by_statics(bolt, *, plates, bending, offset, lever):
    """Share of the load that the bolt takes: two rigid ends move by u and turn by theta."""
    # u (F - S) plates, theta (a F - s S) bending, and the bolt stretches by u + s theta.
    system = np.array([[1.0, 0.0, plates], [0.0, 1.0, bending * offset], [1.0, offset, -bolt]])
    return np.linalg.solve(system, [plates, bending * lever, 0.0])[2]


@pytest.mark.parametrize("lever", [0.0, 5.0, 12.0, -8.0])
def test_eccentric_load_factor_against_statics(lever):
    found = e.eccentric_load_factor(3e-6, lever=lever, **JOINT)
    assert found == pytest.approx(by_statics(3e-6, lever=lever, **JOINT), rel=1e-12)


def test_without_levers_the_joint_is_concentric():
    straight = {"plates": 6e-7, "bending": 4e-9, "offset": 0.0}
    assert e.eccentric_load_factor(3e-6, lever=9.0, **straight) == load_factor(3e-6, plates=6e-7)
    assert e.clamped_off_axis(**straight) == 6e-7
    face = {"area": 1200.0, "inertia": 160e3, "edge": 20.0}
    opens = e.opening_load(30e3, factor=0.1, lever=0.0, **face)
    assert opens == pytest.approx(separation_load(30e3, factor=0.1), rel=1e-14)


def test_cone_inertia_is_the_mean_along_the_cone():
    mean = quad(lambda z: 1 / (np.pi / 64 * (16.0 + 2 * 0.5 * z) ** 4), 0.0, 14.0)[0]
    assert e.cone_inertia(16.0, wide=30.0) == pytest.approx(14.0 / mean, rel=1e-9)
    shifted = e.cone_inertia(16.0, wide=30.0, shift=4.0)
    assert shifted == pytest.approx(14.0 / mean + 16.0 * np.pi / 4 * 900.0, rel=1e-9)


def test_a_far_load_opens_the_face_by_the_kern_rule():
    """60 x 30 mm, 40 kN: M = F h/6 = 400 N m, the bolt in the middle, load 10 m away."""
    face = {"area": 1800.0, "inertia": 30 * 60**3 / 12, "edge": 30.0}
    load = e.opening_load(40e3, factor=0.1, lever=1e4, **face)
    assert load * 1e4 == pytest.approx(400e3, rel=2e-3)


@pytest.mark.parametrize(("offset", "lever"), [(0.0, 15.0), (4.0, 15.0), (-3.0, 10.0)])
def test_at_the_opening_load_the_edge_pressure_is_zero_and_the_clamp_the_least(offset, lever):
    face = {"area": 1800.0, "inertia": 30 * 60**3 / 12, "edge": 30.0}
    load = e.opening_load(40e3, factor=0.2, offset=offset, lever=lever, **face)
    bolt = 40e3 + 0.2 * load
    pressure = (bolt - load) / 1800.0 + (bolt * offset - load * lever) * 30.0 / face["inertia"]
    assert pressure == pytest.approx(0.0, abs=1e-9)
    least = e.clamp_to_stay_closed(load, offset=offset, lever=lever, **face)
    assert bolt - load == pytest.approx(least, rel=1e-12)


def test_a_bolt_beyond_the_load_keeps_the_edge_closed():
    face = {"area": 1800.0, "inertia": 30 * 60**3 / 12, "edge": 30.0}
    assert e.opening_load(40e3, factor=0.9, offset=20.0, lever=2.0, **face) == np.inf


def test_bolt_bends_by_the_angle_of_the_plates():
    """Angle from statics; a rod of length l bent by it has E d angle/(2 l) at its skin."""
    share, load, lever = by_statics(3e-6, lever=12.0, **JOINT), 8e3, 12.0
    angle = JOINT["bending"] * (lever * load - JOINT["offset"] * share * load)
    found = e.bolt_bending_stress(
        share * load, factor=share, lever=lever, offset=5.0, bending=4e-9, d=8.16, length=40.0, E=205e3
    )
    assert found == pytest.approx(205e3 * 8.16 * angle / 80.0, rel=1e-12)


@pytest.mark.parametrize("factor", [0.0, np.nan])
def test_a_bolt_that_takes_nothing_has_no_angle(factor):
    with pytest.raises(ValueError, match="load factor"):
        e.bolt_bending_stress(
            0.0, factor=factor, lever=1.0, offset=0.0, bending=1.0, d=8.0, length=40.0, E=1.0
        )


@pytest.mark.parametrize(("outer", "wide"), [(16.0, 16.0), (0.0, 16.0), (16.0, np.nan)])
def test_a_cone_that_does_not_widen_has_no_substitute(outer, wide):
    with pytest.raises(ValueError, match="cone, far diameter"):
        e.cone_inertia(outer, wide=wide)
