"""Where bolts fit, by hand numbers; places against a general geometry library; sizes against tables."""

import math
from dataclasses import replace

import bolt_sample as sample
import numpy as np
import pytest
import shapely

from stiffcalc.errors import ConvergenceError, InputError
from stiffcalc.explore import bolt_layouts
from stiffcalc.explore.batches import Solved, solve
from stiffcalc.explore.bolt_choice import Question, opens_last, with_places
from stiffcalc.explore.bolt_layouts import Candidate, candidates, sharings
from stiffcalc.explore.bolt_places import fitting, groups_of, shapes_of
from stiffcalc.explore.bolt_rules import RULES, crowding, rooms, site
from stiffcalc.explore.bolt_sizes import bearing, hole, proof_load, resized, torque, utilisation
from stiffcalc.study.geometry import depths_inside, footprint
from stiffcalc.study.schema import Design

OWN = sample.BASE.caliper.bolts[0]


def of(found: tuple[Candidate, ...], thread: str, *, drawn: bool, shift: float = 0.0) -> Candidate:
    return next(
        c for c in found if (c.at.thread, c.at.sharing.drawn, c.at.row_shift) == (thread, drawn, shift)
    )


def refusal(design: Design, thread: str, *, shift: float = 0.0, **changes: object) -> str:
    """Why the bolts as drawn are refused in that size."""
    tried = sample.search(threads=(thread,), counts=(4,), **{"row_shift": (shift,), **changes})
    found = of(candidates(design, tried), thread, drawn=True, shift=shift)
    assert found.refused is not None
    assert found.design is None
    return found.refused.text


# Refusals by hand. The body: bridge x -98..-66, arch R 153, top 178, wall 31 mm; bolts (-86, 138), (-84, 159).


def test_heads_that_touch() -> None:
    # centres sqrt(2^2 + 21^2) = 21.1; two washers of 24 mm and a gap of 1 mm need 25
    assert refusal(sample.BASE, "M12x1.75") == "heads touch: 21.1 < 25.0 mm (leading end)"


def test_too_little_metal_to_the_arch() -> None:
    # moved in by 2: sqrt(86^2 + 136^2) - 153 = 7.9, less 5.5 of the hole: 2.4; asked 0.4 x 10
    text = refusal(sample.BASE, "M10x1.5", shift=-2.0)
    assert text == "too little metal to the bridge's edge: 2.4 < 4.0 mm (leading end)"


def test_head_over_the_walls_edge() -> None:
    # moved out by 10: 178 - 169 = 9 for a washer of radius 10
    assert (
        refusal(sample.BASE, "M10x1.5", shift=10.0)
        == "head over the wall's edge: 9.0 < 10.0 mm (leading end)"
    )


def test_too_little_wall_for_the_thread() -> None:
    # engagement 2.8 d: 33.6 mm of M12 in a wall of 31; heads are kept small so that they do not touch first
    design = sample.with_bolts(engagement=28.0, washer_diameter=None)
    text = refusal(design, "M12x1.75", edge_metal=0.0)
    assert text == "too little wall for the thread: 31.0 < 33.6 mm (leading end)"


def test_washer_smaller_than_the_head() -> None:
    # 16.1 / 10 x 8 = 12.9 against a head of 13 (ISO 4762)
    text = refusal(sample.with_bolts(washer_diameter=16.1), "M8x1.25")
    assert text == "washer smaller than the head: 12.9 < 13.0 mm (every bolt)"


def test_head_across_a_pockets_edge_and_hole_near_a_bore() -> None:
    # pocket up to y 127; bore of 38 at (-29, 124); seal of 10 at (-88.5, 171)
    metal = site(sample.POCKETED, sample.search())
    bolt = sample.POCKETED.caliper.bolts[0]
    places = np.array([[[-78.0, 136.0]], [[-78.0, 120.0]], [[-78.0, 150.0]]])
    found = rooms(places, bolt=bolt, bridge=0, site=metal)
    assert found["pocket"].found[:2, 0] == pytest.approx([9.0, 7.0])
    assert found["pocket"].needed == 10.0
    assert found["bore"].found[0, 0] == pytest.approx(math.hypot(49, 12) - 19.0 - 5.5)
    assert found["bore"].found[2, 0] == pytest.approx(math.hypot(10.5, 21) - 5.0 - 5.5), "the port's seal"
    assert found["thread"].found[:2, 0] == pytest.approx([32.0, 20.0]), (
        "the pocket of 12 mm thins the tapped wall"
    )


def test_the_nearest_two_heads_of_three_count() -> None:
    # centres 3-4-5 apart, by 5: 15, 20, 25
    places = 5.0 * np.array([[[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]]])
    found = rooms(places, bolt=OWN, bridge=0, site=site(sample.BASE, sample.search()))["heads"]
    assert float(found.found.min()) == pytest.approx(15.0)
    assert found.needed == 21.0


def test_heads_of_neighbouring_bridges_that_touch() -> None:
    near = replace(OWN, x=OWN.x + 20.5)
    found = crowding((OWN, replace(OWN, x=0.0), near), head_gap=1.0)
    assert found is not None
    assert found.text == "heads touch: 20.5 < 21.0 mm (bolts of neighbouring bridges)"
    assert crowding((OWN, replace(near, x=OWN.x + 21.0)), head_gap=1.0) is None


def test_bolts_that_cannot_be_shared_out_are_kept_with_the_reason() -> None:
    found = candidates(sample.BASE, sample.search(counts=(5,), threads=("M8x1.25",)))
    assert [c.refused.rule for c in found if c.refused] == ["split"]
    assert "5 bolts cannot be shared out" in found[0].refused.text  # type: ignore[union-attr]


def test_every_combination_is_there_once() -> None:
    tried = sample.search(grades=("10.9", "12.9"), row_shift=(-2.0, 0.0, 2.0))
    found = candidates(sample.BASE, tried)
    assert len(found) == len({c.at for c in found}) == 4 * 3 * 2 * 3  # 1+1, 2+2 as drawn, 2+2, 3+3
    assert all((c.design is None) != (c.refused is None) for c in found)


def test_the_studys_own_bolts_stand_whatever_practice_asks() -> None:
    # 9.6 - 5.5 = 4.1 mm of metal, asked 4.5
    tried = sample.search(threads=("M10x1.5",), counts=(4,), edge_metal=0.45)
    own = next(c for c in candidates(sample.BASE, tried) if c.own)
    assert own.design is sample.BASE
    assert own.notes[0] == "too little metal to the bridge's edge: 4.1 < 4.5 mm (leading end)"


def test_own_bolts_are_found_only_where_size_grade_and_place_are_theirs() -> None:
    tried = sample.search(grades=("10.9", "12.9"), row_shift=(0.0, 2.0))
    own = [c.at for c in candidates(sample.BASE, tried) if c.own]
    assert [(a.thread, a.grade, a.row_shift, a.sharing.drawn) for a in own] == [
        ("M10x1.5", "12.9", 0.0, True)
    ]


# What fits


@pytest.mark.parametrize("n", [1, 2, 3])
def test_places_that_fit_keep_their_distances_by_shapely(n: int) -> None:
    """Shapely (general geometry library) on the same outlines: metal to the edge, heads on the wall, centres apart."""
    tried = sample.search()
    metal = site(sample.BASE, tried)
    bolt = resized(OWN, thread="M8x1.25", grade="12.9")
    for group in groups_of(sample.BASE, tried):
        found = fitting(group, n, shift=1.0, bolt=bolt, metal=metal)
        assert len(found.places) == len(found.names) > 0
        outline = shapely.Polygon(
            footprint(sample.BASE.caliper.bridges[group.bridge], sample.BASE.caliper, sample.BASE.rotor)
        )
        for places in found.places:
            assert places.mean(axis=0)[1] == pytest.approx(group.centre[1] + 1.0)
            points = [shapely.Point(*p) for p in places]
            assert all(outline.contains(p) for p in points)
            assert all(outline.exterior.distance(p) >= 0.4 * 8 + 4.5 - 1e-6 for p in points)
            assert all(178.0 - y >= 8.0 - 1e-6 for _, y in places)
            assert all(p.distance(q) >= 17.0 - 1e-6 for p in points for q in points if p is not q)


def test_distance_into_a_polygon_by_shapely() -> None:
    outline = footprint(sample.BASE.caliper.bridges[0], sample.BASE.caliper, sample.BASE.rotor)
    points = np.random.default_rng(3).uniform((-110, 100), (-50, 190), (400, 2))
    polygon = shapely.Polygon(outline)
    inside = np.array([polygon.contains(shapely.Point(*p)) for p in points])
    away = np.array([polygon.exterior.distance(shapely.Point(*p)) for p in points])
    assert inside.any() and not inside.all()
    np.testing.assert_allclose(depths_inside(points, outline), np.where(inside, away, -away), atol=1e-9)


@pytest.mark.parametrize("n", [2, 3])
def test_arrangements_are_about_their_mean_and_keep_the_pitch(n: int) -> None:
    for name, offsets in shapes_of(n, pitch=17.0):
        gaps = [np.linalg.norm(a - b) for i, a in enumerate(offsets) for b in offsets[:i]]
        assert offsets.mean(axis=0) == pytest.approx([0, 0], abs=1e-12), name
        assert min(gaps) >= 17.0 - 1e-9


def test_ends_mirror_each_other() -> None:
    tried = sample.search(counts=(6,), threads=("M8x1.25",))
    found = candidates(sample.BASE, tried)[0]
    assert found.design is not None
    places = np.array([(b.x, b.y) for b in found.design.caliper.bolts])
    lead, trail = places[:3], places[3:]
    assert np.sort(-lead[:, 0]) == pytest.approx(np.sort(trail[:, 0]))


def test_a_middle_bridge_does_not_make_ends_unlike() -> None:
    middle = replace(sample.BASE.caliper.bridges[0], name="centre", x=(-14.0, 14.0))
    own = (*sample.BASE.caliper.bolts, replace(OWN, x=0.0, y=165.5))
    changed = replace(sample.BASE.caliper, bridges=(*sample.BASE.caliper.bridges, middle), bolts=own)
    tried = sample.search(counts=(7,), threads=("M8x1.25",))
    found = candidates(replace(sample.BASE, caliper=changed), tried)
    assert [c.at.sharing.pattern for c in found] == [(2, 3, 2), (3, 1, 3)]
    lead, single, trail = found[1].arrangement
    assert lead == trail and single == "single"


def test_bolts_of_other_bridges_are_kept() -> None:
    tried = sample.search(bridges=("leading end",), counts=(3,), threads=("M8x1.25",))
    found = candidates(sample.BASE, tried)[0]
    assert found.design is not None
    assert set(sample.BASE.caliper.bolts[2:]) <= set(found.design.caliper.bolts)
    assert len(found.design.caliper.bolts) == 5


def test_sharings_of_three_bridges() -> None:
    groups = groups_of(sample.BASE, sample.search())
    three = (groups[0], replace(groups[0], name="centre", bolts=groups[0].bolts[:1]), groups[1])
    found = [(s.pattern, s.drawn) for s in sharings(three, sample.search(counts=(5,)))]
    assert found == [((2, 1, 2), True), ((1, 3, 1), False), ((2, 1, 2), False)]


def test_the_place_taken_is_the_one_that_opens_last_through_life() -> None:
    """Every place tried as a design of its own, by the checks of onset that an assessment makes."""
    tried = sample.search()
    groups, metal = groups_of(sample.BASE, tried), site(sample.BASE, tried)
    bolt = resized(OWN, thread="M8x1.25", grade="8.8")
    fits = tuple(fitting(g, 2, shift=3.0, bolt=bolt, metal=metal) for g in groups)
    question = Question(fits, bolt)
    chosen = opens_last(sample.BASE, groups, [question])[0]
    designs = []
    for k in range(question.tries):
        bolts = with_places(sample.BASE, groups, question.places(k), bolt)
        designs.append(replace(sample.BASE, caliper=replace(sample.BASE.caliper, bolts=bolts)))
    onsets = np.array([[checked_onset(found, g.name) for g in groups] for found in solve(designs)])
    best = np.max(onsets, axis=0)
    assert [onsets[k][i] for i, k in enumerate(chosen)] == pytest.approx(list(best), rel=1e-6)
    assert np.sum(onsets == 0.0) >= 2, "some gape at some stage"
    assert best.min() > 1.2 * np.min(onsets[onsets > 0.0]), "the choice matters"


def checked_onset(found: Solved | ConvergenceError, bridge: str) -> float:
    """Least onset pressure of a face in all load cases, at the stages that govern them."""
    assert isinstance(found, Solved)
    every = (k for c in found.load_cases for k in c.checks)
    return min(k.actual for k in every if k.what == f"onset pressure, {bridge}")


def test_no_arrangement_taken_gapes_where_another_does_not() -> None:
    """Four M8 3 mm up: leaning by 20 degrees the joint opens last at 20 degrees, and gapes once settled and cold."""
    tried = sample.search(counts=(4,), threads=("M8x1.25",), grades=("12.9", "8.8"), row_shift=(3.0,))
    placed = [c.design for c in candidates(sample.BASE, tried) if c.design and not c.at.sharing.drawn]
    ends = [b.name for b in sample.BASE.caliper.bridges]
    assert len(placed) == 2
    assert all(checked_onset(found, name) > 0.0 for found in solve(placed) for name in ends)


def test_places_are_chosen_for_the_weakest_grade_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    def spy(design, groups, questions):
        asked.extend(q.bolt.grade for q in questions)
        return opens_last(design, groups, questions)

    monkeypatch.setattr(bolt_layouts, "opens_last", spy)
    candidates(sample.BASE, sample.search(counts=(4,), threads=("M8x1.25",), grades=("12.9", "8.8", "10.9")))
    assert set(asked) == {"8.8"}


# Sizes


@pytest.mark.parametrize(
    ("thread", "grade", "newton"),
    [  # ISO 898-1, proof loads of coarse threads; from memory
        ("M8x1.25", "8.8", 21200),
        ("M10x1.5", "10.9", 48100),
        ("M12x1.75", "12.9", 81800),
    ],
)
def test_preload_is_the_studys_share_of_the_proof_load(thread: str, grade: str, newton: float) -> None:
    assert proof_load(thread, grade) == pytest.approx(newton, rel=5e-3)
    found = resized(OWN, thread=thread, grade=grade)
    assert found.preload_N == pytest.approx(utilisation(OWN) * newton, rel=5e-3)
    assert utilisation(found) == pytest.approx(utilisation(OWN))


def test_torque_stays_torque() -> None:
    own = replace(OWN, preload_N=None, torque_Nm=70.0)
    found = resized(own, thread="M12x1.75", grade="10.9")
    assert found.preload_N is None
    assert utilisation(found) == pytest.approx(utilisation(own))
    assert torque(found) == found.torque_Nm


def test_hole_keeps_its_series_and_the_rest_its_ratio() -> None:
    # ISO 273: 11 and 9 medium, 10.5 and 8.4 fine
    assert hole(OWN, thread="M8x1.25") == 9.0
    assert hole(replace(OWN, hole=10.5), thread="M8x1.25") == 8.4
    assert hole(replace(OWN, hole=11.4), thread="M8x1.25") == pytest.approx(0.8 * 11.4)
    found = resized(OWN, thread="M8x1.25", grade="12.9")
    assert (bearing(found), found.washer_thickness, found.engagement) == pytest.approx((16.0, 1.6, 16.0))


def test_the_own_size_is_the_own_bolt() -> None:
    assert resized(OWN, thread=OWN.thread, grade=OWN.grade) is OWN


# Bad input


def test_a_layout_without_bolts_is_refused() -> None:
    plain = replace(sample.BASE, caliper=replace(sample.BASE.caliper, layout="monoblock", bolts=()))
    with pytest.raises(InputError, match=r"which has no bolts.*--variant"):
        candidates(plain, sample.search())


def test_a_bridge_that_is_not_bolted_is_refused() -> None:
    with pytest.raises(InputError, match='"centre", no bolted bridge'):
        candidates(sample.BASE, sample.search(bridges=("centre",)))


def test_every_rule_has_a_letter_of_its_own_and_a_source() -> None:
    assert len({r.letter for r in RULES.values()}) == len(RULES)
    assert all(r.source for r in RULES.values())
