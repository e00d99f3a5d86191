"""One round of a sizing: slopes on moving meshes against designs solved anew, factors, smooth maximum, refusals."""

from dataclasses import replace

import numpy as np
import pytest
from size_sample import TWO_PIECE

from stiffcalc.caliper.assess import solved
from stiffcalc.caliper.section_states import states
from stiffcalc.caliper.section_study import reading
from stiffcalc.caliper.section_uses import CLEAR, ROTATION, largest, uses
from stiffcalc.errors import InputError
from stiffcalc.explore.size_job import job_of
from stiffcalc.explore.size_round import (
    KG,
    SHARPNESS,
    Meshes,
    Round,
    mass,
    opened,
    smooth_maximum,
)
from stiffcalc.explore.size_shift import difference, shifted
from stiffcalc.plane.section.grid import mesh_section
from stiffcalc.plane.section.moving import moved
from stiffcalc.study import parse


def job(text=TWO_PIECE, **asked):
    options = {"bridge": None, "variant": None, "front_view": False, "accuracy": 0.1} | asked
    return job_of(parse(text), **options)


@pytest.fixture(scope="module")
def drawn():
    """The job, its layout as drawn, and the section there on an adaptive mesh."""
    own = job()
    full, _ = solved(own.read(own.start)[0], with_front_view=False)
    return own, full, reading(full, 0, side="inboard", accuracy=0.1)


@pytest.fixture(scope="module")
def begun(drawn):
    """The round about the drawn dimensions, with what its adaptive mesh says."""
    own, full, found = drawn
    known = largest(uses(found, own.plan))
    return opened(own, own.start, full, known), known


def test_at_its_point_a_round_says_what_the_adaptive_mesh_says(begun):
    round_, known = begun
    found = round_.sample(round_.job.start)
    assert found.uses == pytest.approx(list(known.values()), rel=1e-9)
    assert {limit.what for limit in round_.limits} == {"fillet", "hole", "metal", "rotation"}
    assert {limit.case for limit in round_.limits} == {"stop", "hot stop"}
    # Factors are what this mesh lacks: a few per cent at surfaces, next to nothing in rotation.
    off = {what: [abs(f - 1) for f, x in zip(round_.factors, round_.limits, strict=True) if x.what == what]
           for what in ("fillet", "rotation")}  # fmt: skip
    assert max(off["fillet"]) < 0.15
    assert max(off["rotation"]) < 0.005


def test_slopes_against_designs_solved_anew(begun):
    """Forward differences over 0.0002 of a range against central ones over 25 times as much: within 1 %."""
    round_, _ = begun
    x, ranges = round_.job.start, round_.job.high - round_.job.low
    slopes = round_.slopes(x)
    for i, unit in enumerate(np.eye(len(x))):
        h = 0.005 * ranges[i]
        up, down = round_.sample(x + h * unit), round_.sample(x - h * unit)
        assert slopes.cost[i] == pytest.approx((up.cost - down.cost) / (2 * h), rel=1e-3)
        wide = (up.uses - down.uses) / (2 * h)
        assert slopes.uses[:, i] == pytest.approx(wide, abs=0.01 * np.abs(wide).max())
    assert len(round_.meshes.made[0, "inboard"]) == 1  # all on one mesh


def test_slopes_against_fresh_meshes(begun):
    """Fillet and rotation by fine meshes made anew on both sides of a wide step: within 8 % of the largest."""
    round_, _ = begun
    x, h = round_.job.start, 3.0
    slopes = round_.slopes(x)
    found = []
    for by in (h, -h):
        (layout,) = round_.layouts([x + np.array([by, 0, 0, 0])])
        grids = {
            c: mesh_section(m.parts, sizing=m.sizing().scaled(0.4))
            for c, m in round_.job.models(layout.design).items()
        }
        found.append(np.array(list(dict(round_.smooth(layout, grids)).values())))
    wide = (found[0] - found[1]) / (2 * h)
    seen = [i for i, limit in enumerate(round_.limits) if limit.what in ("fillet", "rotation")]
    assert slopes.uses[seen, 0] == pytest.approx(wide[seen], abs=0.08 * np.abs(wide[seen]).max())


def test_a_slope_is_had_where_a_step_parts_two_levels():
    """A pocket that ends exactly where the fillet does: with a step there are two levels, so other elements."""
    foot = float(np.sqrt(168.0**2 - 94.0**2)) - 5.0
    found = []
    for end in (foot, foot - 0.3):
        text = TWO_PIECE.replace(
            "[-108.0, -70.0], y_mm = [105.0, 128.0]", f"[-82.0, -70.0], y_mm = [105.0, {end!r}]"
        )
        round_ = opened_bare(job(text))
        found.append(round_.slopes(round_.job.start).uses[:, 2])
        x, by = round_.job.start, np.array([0.0, 0.0, 1e-3, 0.0])
        here, there = (round_.job.models(round_.job.read(p)[0])[0, "inboard"].parts for p in (x, x + by))
        grid = round_.meshes.made[0, "inboard"][0].grid
        assert (moved(grid, here, there) is None) == (end == foot)
    assert found[0] == pytest.approx(found[1], abs=0.05 * np.abs(found[1]).max())


def test_forces_are_the_frame_s_plus_what_the_full_response_differs_by():
    """At the round's point every figure of a state is the full response's; the name stays."""
    own = job()
    design, _ = own.read(own.start)
    full, _ = solved(design, with_front_view=True)
    (frame,) = opened_bare(own).layouts([own.start])
    model = own.models(design)[0, "inboard"]
    for theirs, ours in zip(states(full, model, 0), states(frame, model, 0), strict=True):
        found = shifted(ours, difference(theirs, ours))
        assert abs(ours.cut[1] - theirs.cut[1]) > 1e-4 * abs(theirs.cut[1])  # the two do differ
        assert found.name == theirs.name
        for name in ("cut", "tension", "bolts", "preload", "turn"):
            assert getattr(found, name) == pytest.approx(getattr(theirs, name), rel=1e-12, abs=1e-9)


def test_mass_counts_the_fillets():
    own = job()
    (layout,) = opened_bare(own).layouts([own.start])
    (wider,) = opened_bare(own).layouts([own.start + np.array([0, 0, 1.0, 0])])
    density = layout.design.caliper.material.density_kg_m3
    extra = 2 * (1 - np.pi / 4) * (6.0**2 - 5.0**2) * (32.0 + 32.0) * density * KG
    assert mass(wider) - mass(layout) == pytest.approx(extra, rel=1e-6)


def opened_bare(own):
    return Round(own, {}, Meshes())


def test_smooth_maximum():
    values = np.array([0.2, 0.5, 1.0])
    assert smooth_maximum(np.array([0.7])) == pytest.approx(0.7)
    assert 1.0 <= smooth_maximum(values) < 1.0 + np.log(3) / SHARPNESS
    assert smooth_maximum(3 * values) == pytest.approx(3 * smooth_maximum(values))
    assert smooth_maximum(np.ones(50)) == pytest.approx(1 + np.log(50) / SHARPNESS)
    assert smooth_maximum(np.zeros(3)) == 0.0


def test_a_design_that_the_rules_refuse_is_no_sample(begun):
    round_, _ = begun
    assert (
        round_.sample(round_.job.start + np.array([0, 0, 0, 30.0])) is None
    )  # a pocket deeper than the wall


def test_uses_leave_out_sharp_corners_and_ends_of_heads(begun):
    """Metal: a finer mesh changes it by little, for what grows without bound is not looked at."""
    round_, known = begun
    metal = [v for k, v in known.items() if k.what == "metal"]
    own = [f for f, k in zip(round_.factors, round_.limits, strict=True) if k.what == "metal"]
    assert max(metal) < 1.0
    assert max(abs(f - 1) for f in own) < 0.35
    assert CLEAR == 2.0


def test_rotation_only_where_asked(drawn):
    asked, _, found = drawn
    silent = job(TWO_PIECE.replace("rotation_mrad = 2.0\n", ""))
    assert silent.plan == replace(asked.plan, rotation_mrad=None)
    assert any(limit.what == ROTATION for limit in uses(found, asked.plan))
    assert not any(limit.what == ROTATION for limit in uses(found, silent.plan))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[28.0, 44.0]", "[12.0, 44.0]", "size.dimension[1].range: found low end 12, with which "),
        ("[2.0, 14.0]", "[2.0, 40.0]", "size.dimension[4].range: found high end 40, with which "),
        ("pockets[1].depth", "pockets[2].depth", 'dimension[4].path: found "caliper.wall.pockets[2].depth_mm", which'),
        ('"caliper.bridge[2].fillet_mm"]', '"caliper.wall.thickness_mm"]', 'dimension[1] sets too'),
        ('bridges = ["lead"]', 'bridges = ["led"]', 'size.bridges: found "led"; allowed: lead, trail'),
        ('bridges = ["lead"]', 'bridges = ["trail"]', '"caliper.wall.pockets[1].depth_mm", which no section'),
        ("-78.0], fillet_mm = 5.0", "-78.0], fillet_mm = 4.0", "found values 4, 5 mm; allowed: paths that start"),
        ('path = "caliper.wall.top_y_mm"', 'path = "caliper.bridge[1].y_mm[2]"', "y_mm only of bridges that state it"),
    ],
)  # fmt: skip
def test_questions_that_cannot_be_asked(old, new, said):
    with pytest.raises(InputError) as caught:
        job(TWO_PIECE.replace(old, new))
    lines = str(caught.value).splitlines()
    assert said in str(caught.value)
    assert len(lines) == 1


def test_a_sharp_corner_cannot_be_sized():
    text = TWO_PIECE.replace("fillet_mm = 5.0", "fillet_mm = 0.0").split("[[size.dimension]]")
    with pytest.raises(InputError, match="a sharp corner, where no peak stress exists"):
        job("[[size.dimension]]".join([*text[:3], text[4]]))
