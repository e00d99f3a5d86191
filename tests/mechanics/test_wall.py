"""Properties of the closed-form wall that need no number: reciprocity, rigid motions, scaling, trends,
batches.

P-numbers are those of the project's list of checks; each is a theorem of linear elasticity (Maxwell-Betti, Rayleigh,
similarity), derived.
"""

from dataclasses import fields, replace

import numpy as np
import pytest
from wall_cases import (
    CENTRE,
    ENDS,
    TWO,
    bridged,
    bridges,
    flexibility,
    four_bore,
    openings,
    pressed,
    stacked,
)

from stiffcalc.mechanics.beam import disc_beyond, strip_beyond
from stiffcalc.mechanics.sections import sections_at
from stiffcalc.mechanics.stacked import SLAB
from stiffcalc.mechanics.wall import footprints, wall_line
from stiffcalc.mechanics.wall_validity import spans

POCKET = (-20.0, 25.0, 110.0, 160.0, 5.0)
HOLES = ((-94.0, 175.0, 11.0, 17.0), (94.0, 160.0, 11.0, 17.0))
THREE = bridges(*ENDS, CENTRE)
LOPSIDED = ((-52.0, 133.0, 40.0), (-4.0, 137.0, 36.0), (41.0, 135.0, 30.0))


def rich(**more):
    """Three unequal bores, a pocket, bolt holes and cuts."""
    return four_bore(bores=LOPSIDED, pockets=[POCKET], holes=HOLES, cuts=(-60.0, 0.0, 33.0), **more)


def scaled(batch, by):
    """Every array of a batch times by[name], 1 where not named."""
    return replace(
        batch,
        **{f.name: getattr(batch, f.name) * by.get(f.name, 1.0) for f in fields(batch) if f.name != "slabs"},
    )


def test_reciprocity_and_positive_definiteness():
    # P07: F is symmetric, and positive on every set of forces in balance.
    half = flexibility(rich(), THREE)
    F, R = half.F[0], half.R[0]
    np.testing.assert_allclose(F, F.T, atol=1e-12 * np.abs(F).max())
    balanced = np.linalg.svd(R.T)[2][3:]
    assert np.linalg.eigvalsh(balanced @ F @ balanced.T).min() > 0.0


def test_parts_sum_to_the_whole():
    half = flexibility(rich(), THREE)
    np.testing.assert_allclose(sum(half.parts.values()), half.F, rtol=1e-12, atol=1e-20)
    assert list(half.parts) == [
        "wall bending",
        "wall twist",
        "wall shear",
        "wall distortion",
        "floor",
        "root",
    ]


def test_loads_in_balance_do_not_feel_where_the_beam_is_kept():
    # Adding rigid motions to F (R a R^T, any a) must not change what loads in balance do: bore against bore.
    half = flexibility(four_bore(), bridges(*ENDS))
    given = pressed(half, four_bore())
    a = np.array([[1e-3, 2e-6, 0.0], [2e-6, 1e-7, 1e-8], [0.0, 1e-8, 3e-7]])
    moved = replace(half, F=half.F + half.R @ a @ half.R.swapaxes(1, 2))
    first, second = (bridged(h, bridges(*ENDS), given)[1] for h in (half, moved))
    np.testing.assert_allclose(first, second, rtol=1e-8)


def test_bore_wall_volume_is_reciprocal_to_bore_wall_pressure():
    # P07 (Betti): volume swept by the cylinder walls under a force = its movement under pressure on them.
    half = flexibility(rich(), THREE)
    bores = half.points.bores
    np.testing.assert_allclose(half.outputs.O[:, 2 * bores : 3 * bores].sum(axis=1), half.wall, rtol=1e-12)


def test_cuts_read_the_line_of_the_wall():
    # A cut at a tiny bolt hole's x and at the bores' mean y moves as the bolt does, whatever the load.
    mean = (np.array([b[1] for b in LOPSIDED]) * np.array([b[2] ** 2 for b in LOPSIDED])).sum()
    mean /= sum(b[2] ** 2 for b in LOPSIDED)
    walls = four_bore(bores=LOPSIDED, holes=[(60.0, mean, 1e-3, 1e-2)], cuts=(60.0,))
    half = flexibility(walls, THREE)
    bolt, cut = half.points.bolt.start, 3 * half.points.bores
    np.testing.assert_allclose(half.outputs.O[0, cut], half.F[0, bolt], rtol=1e-5)
    np.testing.assert_allclose(half.outputs.R[0, cut], half.R[0, bolt], rtol=1e-12)


def test_cuts_change_nothing_else():
    # They are read from; nothing acts at them.
    bare, cut = (
        flexibility(four_bore(bores=LOPSIDED, cuts=cuts), THREE) for cuts in ((), (-20.0, 3.0, 60.0))
    )
    own = 3 * bare.points.bores
    np.testing.assert_array_equal(bare.F, cut.F)
    np.testing.assert_array_equal(bare.wall, cut.wall)
    np.testing.assert_array_equal(bare.outputs.O, cut.outputs.O[:, :own])
    np.testing.assert_array_equal(bare.outputs.wall, cut.outputs.wall[:, :own])
    assert cut.outputs.O.shape[1] == cut.outputs.R.shape[1] == cut.outputs.wall.shape[1] == own + 6


def test_tilt_of_a_small_bore_is_the_slope_of_the_line(monkeypatch):
    # theta_y = -dw/dx where no shear acts (a couple My at the last bridge), theta_x as at a cut there. Bores and cuts
    # are summed over stations of their own: enough of them for both.
    for name, value in zip(("_NODES", "_WEIGHTS"), np.polynomial.legendre.leggauss(40), strict=True):
        monkeypatch.setattr(f"stiffcalc.mechanics.beam.{name}", value)
    walls = four_bore(bores=[(40.0, 150.0, 1e-3)], cuts=(39.9, 40.0, 40.1))
    half = flexibility(walls, bridges(*ENDS))
    my = 5
    tilt_x, tilt_y = half.outputs.O[0, :2, my]
    w, theta_x = half.outputs.O[0, 3::2, my], half.outputs.O[0, 4::2, my]
    assert tilt_y == pytest.approx(-(w[2] - w[0]) / 0.2, rel=1e-5)
    assert tilt_x == pytest.approx(theta_x[1], rel=1e-6)


def test_pressure_on_the_bore_walls_closes_the_caliper():
    # Derived: the metal left behind a bore lies outward of the pressure; the solids lose 5 to 8 % of their
    # opening.
    with_it, without = (openings(four_bore(), bridges(*ENDS), bore_wall=b) for b in (True, False))
    assert np.all((with_it / without > 0.92) & (with_it / without < 0.99))


def test_mirror_image():
    # P08 in x: a body and its mirror image open alike.
    mirrored = tuple((-x, y, d) for x, y, d in LOPSIDED[::-1])
    ends = [(-x1, -x0, *rest) for x0, x1, *rest in (ENDS[1], ENDS[0], CENTRE)]
    ours, theirs = (
        openings(four_bore(bores=LOPSIDED), THREE),
        openings(four_bore(bores=mirrored), bridges(*ends)),
    )
    np.testing.assert_allclose(ours[0], theirs[0, ::-1], rtol=1e-8)


def test_symmetric_body_opens_symmetrically():
    opening = openings(four_bore(), THREE)
    assert opening[0, 0] == pytest.approx(opening[0, 1], rel=1e-10)


@pytest.mark.parametrize(
    ("stiffer", "softer"),
    [
        (openings(four_bore(), THREE), openings(four_bore(), bridges(*ENDS))),
        (openings(four_bore(t=36.0), THREE), openings(four_bore(), THREE)),
        (openings(four_bore(floor=11.0), THREE), openings(four_bore(), THREE)),
        (openings(four_bore(), THREE), openings(four_bore(pockets=[POCKET]), THREE)),
        (openings(four_bore(), THREE), openings(four_bore(holes=HOLES), THREE)),
    ],
    ids=["centre bridge", "thicker wall", "thicker floor", "pocket", "bolt holes"],
)
def test_metal_stiffens(stiffer, softer):
    # P09 (Rayleigh): adding a bridge or metal can only reduce the opening.
    assert np.all(stiffer < softer)


def test_a_second_bore_weakens_the_wall_for_the_first():
    # P09 again: the same force at one bore, another bore without pressure beside it.
    alone = flexibility(four_bore(bores=TWO[:1]), THREE)
    both = flexibility(four_bore(), THREE)
    given = [np.zeros((1, h.points.count)) for h in (alone, both)]
    for g, h in zip(given, (alone, both), strict=True):
        g[0, h.points.bore.start] = 1000.0
    first, second = (
        bridged(h, THREE, g)[1][0, h.points.bore.start] for h, g in zip((alone, both), given, strict=True)
    )
    assert 0.0 < first < second


LENGTHS = dict.fromkeys(
    (
        *("x", "y", "thickness", "floor", "bore_x", "bore_y", "bore_d", "pocket_x", "pocket_y"),
        *("pocket_depth", "hole_x", "hole_y", "hole_d", "bearing_d", "cut_x", "arch", "length"),
    ),
    1.7,
)


def test_similarity():
    # P10: all lengths times s at equal pressure: opening times s.
    ours = openings(rich(), THREE)
    np.testing.assert_allclose(
        openings(scaled(rich(), LENGTHS), scaled(THREE, LENGTHS)), 1.7 * ours, rtol=1e-9
    )


def test_modulus():
    # P11: at fixed loads and one material the opening is proportional to 1 / E.
    softer = openings(scaled(rich(), {"E": 0.5}), scaled(THREE, {"E": 0.5}))
    np.testing.assert_allclose(softer, 2.0 * openings(rich(), THREE), rtol=1e-10)


def test_moving_the_body_does_not_change_it():
    # P12: flat bridges and walls moved together in the plane.
    flat = [(x0, x1, 150.0, 190.0, 0.0) for x0, x1, *_ in ENDS]
    moved = [(x0 + 13.0, x1 + 13.0, y0 - 40.0, y1 - 40.0, 0.0) for x0, x1, y0, y1, _ in flat]
    walls = four_bore()
    shifted = replace(
        walls, x=walls.x + 13.0, y=walls.y - 40.0, bore_x=walls.bore_x + 13.0, bore_y=walls.bore_y - 40.0
    )
    np.testing.assert_allclose(openings(shifted, bridges(*moved)), openings(walls, bridges(*flat)), rtol=1e-8)


def test_a_batch_is_its_designs():
    # More designs than one inner batch, each as it is alone.
    kinds = [rich(t=30.0), rich(t=34.0, floor=8.0), rich(t=41.0)]
    many = stacked(kinds * (SLAB // 3 + 1))
    half = flexibility(many, stacked([THREE] * len(many.x)))
    for i, kind in enumerate(kinds):
        alone = flexibility(kind, THREE)
        for at in (i, len(many.x) - 3 + i):
            np.testing.assert_allclose(half.F[at], alone.F[0], rtol=1e-10)
            np.testing.assert_allclose(half.outputs.O[at], alone.outputs.O[0], rtol=1e-9, atol=1e-16)
            np.testing.assert_allclose(half.wall[at], alone.wall[0], rtol=1e-9)


def test_bores_one_above_the_other():
    # Overlapping in x at different y: finite, softer than either alone, and flagged.
    walls = four_bore(bores=((-6.0, 122.0, 26.0), (8.0, 158.0, 28.0)))
    given = openings(walls, bridges(*ENDS))
    assert np.all(np.isfinite(given) & (given > 0.0))
    overlap = spans(walls, footprints(bridges(*ENDS)).feet)[-1]
    assert not overlap.inside[0]
    assert "overlap of bores" in overlap.sentence(0)


def test_sections_of_a_moved_wall():
    # P16: second moments are about the centroid, so moving everything leaves them; rotation's invariant
    # bounds I.
    walls = rich()
    moved = replace(
        walls,
        y=walls.y + 50.0,
        bore_y=walls.bore_y + 50.0,
        hole_y=walls.hole_y + 50.0,
        pocket_y=walls.pocket_y + 50.0,
    )
    x = np.array([[-94.0, -45.0, -10.0, 5.0, 41.0]])
    ours, theirs = sections_at(walls, x), sections_at(moved, x)
    for field in fields(ours):
        np.testing.assert_allclose(
            getattr(ours, field.name), getattr(theirs, field.name), rtol=1e-9, atol=1e-9
        )
    product = ours.Iw * ours.Iv - ours.Iyz**2
    np.testing.assert_allclose(ours.I_bending * ours.Iv, product, rtol=1e-12)
    assert np.all(ours.I_bending <= ours.Iw)


@pytest.mark.parametrize("ahead", [-7.0, -3.0, 0.0, 2.5, 6.0, 11.0])
def test_what_lies_beyond_a_station(ahead):
    # Against sums over many slices of the strip and the disc.
    s = (np.arange(200000) + 0.5) / 200000 * 12.0 - 6.0
    for found, density in (
        (strip_beyond(np.array(ahead), width=np.array(12.0)), np.full_like(s, 1 / len(s))),
        (disc_beyond(np.array(ahead), radius=np.array(6.0)), np.sqrt(36 - s**2) / np.sqrt(36 - s**2).sum()),
    ):
        lever = ahead + s
        beyond = lever > 0.0
        assert found[0] == pytest.approx(density[beyond].sum(), abs=1e-5)
        assert found[1] == pytest.approx((density * lever)[beyond].sum(), abs=1e-5)


def test_stress_is_read_where_a_bore_leaves_least_metal():
    walls = four_bore(bores=((-34.0, 135.0, 44.0), (30.0, 140.0, 34.0)))
    line = wall_line(walls, footprints(bridges(*ENDS)).feet)
    at_bore = np.abs(line.x[0] - walls.bore_x[0][:, None]).argmin(axis=1)
    np.testing.assert_array_equal(line.x[0, at_bore], walls.bore_x[0])
    assert line.stress[0].max() == line.stress[0, at_bore].max()


def test_validity_of_the_usual_and_of_a_slender_wall():
    feet = footprints(bridges(*ENDS)).feet
    assert all(s.inside[0] for s in spans(four_bore(), feet))
    slender = [s for s in spans(four_bore(t=18.0, floor=6.0), feet) if not s.inside[0]]
    assert [s.name for s in slender] == ["wall height / thickness"]
    assert slender[0].sentence(0).startswith("wall height / thickness is 4.72: ")
