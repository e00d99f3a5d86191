"""Sections of whole layouts: equilibrium, joint beside joint, temperature, limits, trends, refusals."""

import json
from dataclasses import replace

import numpy as np
import pytest
from section_sample import KINDS, layout, loose_centre, raw, sample, two_piece

from stiffcalc.caliper.requirement import allowed_stress
from stiffcalc.caliper.section_limits import Field, surface
from stiffcalc.caliper.section_results import SectionResults
from stiffcalc.caliper.section_study import section, sections, through
from stiffcalc.caliper.section_whole import idle_metal
from stiffcalc.errors import InputError
from stiffcalc.report import section_page, section_tables
from stiffcalc.study import parse

SOLVED = [("one piece", 0), ("one piece", 2), ("two-piece", 0), ("two-piece", 2), ("loose centre", 2)]
JOINTED = SOLVED[2:]
each = pytest.mark.parametrize(("kind", "bridge"), SOLVED)
each_face = pytest.mark.parametrize(("kind", "bridge"), JOINTED)


def ends(found):
    return [(c, e) for c in found.load_cases for e in c.ends]


@each
def test_the_cut_carries_exactly_the_forces_of_the_response(kind, bridge):
    found, solved = sample(kind, bridge)
    answer = solved.stages.room.answers[solved.headline]
    at = solved.stages.room.at(10.0)
    for end, i in zip(found.load_cases[0].ends, (0, -1), strict=False):
        own = [j for j, b in enumerate(solved.body.bolts) if b.bridge == bridge]
        bolts = answer.loaded.bolt[0, i, at, own]
        lever = np.array([solved.body.bolts[j].y for j in own]) - found.y_r
        N, Mx, _ = answer.loaded.tension[0, i, at, bridge]
        assert (end.N, end.Mx) == pytest.approx((N + bolts.sum(), Mx + bolts @ lever), rel=1e-9)
    assert max(e.balance for _, e in ends(found)) < 1e-8


@each_face
def test_face_and_bolts_together_are_the_cut(kind, bridge):
    found, _ = sample(kind, bridge)
    for _, end in ends(found):
        assert end.bolts_section - end.face.force == pytest.approx(end.N, abs=1e-6 * end.bolts)
        assert end.face.force == pytest.approx(-end.bridge_N, rel=0.12)  # by the joint
        assert end.bolts_section == pytest.approx(end.bolts, rel=0.05)


@each_face
def test_onset_beside_the_joint(kind, bridge):
    """Flat undersides, My left out: within 5 % where the face lies at the mid-plane, earlier by up to 15 % where a
    separate bridge presses on the wall, whose metal turns away under the punch's edge."""
    found, _ = sample(kind, bridge)
    ratio = found.onset.section / found.onset.joint_without_My
    assert (0.95 if kind == "two-piece" else 0.85) < ratio < 1.05
    assert found.onset.open_when_tightened == 0.0


@each_face
def test_a_face_is_pressed_before_onset_and_open_after(kind, bridge):
    found, _ = sample(kind, bridge)
    for case, end in ends(found):
        low = float(end.face.pressure.min())
        if end.preload == "minimum preload" and case.body_C == 20.0:
            assert (low > 0) == (case.pressure < found.onset.section * 1.02)


@each
def test_rotation_beside_closed_form(kind, bridge):
    """Bridge, face and root by closed form, one half: within 13 %."""
    found, _ = sample(kind, bridge)
    for _, end in ends(found):
        assert end.rotation == pytest.approx(end.rotation_closed, rel=0.13)


def test_heat_softens_and_weakens_but_does_not_move_forces():
    found, solved = sample("one piece", 0)
    cold, hot = found.load_cases
    metal = solved.design.caliper.material
    assert hot.fillet.section_stress == pytest.approx(cold.fillet.section_stress, rel=1e-9)
    ratio = metal.E / metal.at(120.0).E
    assert hot.ends[0].rotation == pytest.approx(cold.ends[0].rotation * ratio, rel=1e-9)
    assert hot.fillet.yield_MPa == pytest.approx(metal.at(120.0).yield_MPa)
    assert hot.fillet.endurance < cold.fillet.endurance
    weaker = metal.at(120.0).ultimate_MPa / metal.ultimate_MPa
    mean = hot.fillet.mean
    assert hot.fillet.endurance == pytest.approx(
        metal.fatigue_5e8_MPa * weaker * (1 - mean / metal.at(120.0).ultimate_MPa)
    )


def test_one_piece_goes_from_nothing_to_its_stress():
    found, _ = sample("one piece", 2)
    fillet = found.load_cases[0].fillet
    assert (fillet.amplitude, fillet.mean) == pytest.approx((fillet.stress / 2, fillet.stress / 2), rel=1e-9)


def test_a_symmetric_centre_bridge_has_nothing_to_add():
    """No My, a flat underside: the section alone is all."""
    found, _ = sample("one piece", 2)
    for case in found.load_cases:
        assert case.fillet.stress == pytest.approx(case.fillet.section_stress, rel=1e-4)


def test_a_wider_fillet_is_stressed_less():
    wide = raw(caliper__bridge__2__fillet_mm=8.0)
    blunt = section(layout(wide), 2, side="inboard", accuracy=0.05)
    sharp, _ = sample("one piece", 2)
    assert blunt.load_cases[0].fillet.stress < 0.9 * sharp.load_cases[0].fillet.stress


def test_yield_is_asked_without_pressure_too():
    """Preload presses the fillet together before pressure pulls it apart: tightened it may be stressed more."""
    found, _ = sample("two-piece", 0)
    bolted = [c.fillet for c in found.load_cases]
    assert any(f.rest > f.stress for f in bolted)
    for f in bolted:
        assert f.yield_margin == pytest.approx(f.yield_MPa / max(f.stress, f.rest) - 1)
    assert [c.fillet.rest for c in sample("one piece", 0)[0].load_cases] == [0.0, 0.0]


def test_trust_says_what_the_peak_rests_on():
    found, _ = sample("one piece", 0)
    t = found.trust
    assert t.exists
    assert t.met
    assert t.estimate < 0.05
    assert 1.0 < t.order < 4.0
    assert t.extrapolated == pytest.approx(t.value, rel=0.05)
    assert "within the asked 5 %" in t.sentence
    named = next(
        c for c in found.load_cases if t.sentence.endswith(f", in '{c.name}'")
    )  # nothing is tightened
    assert t.value == pytest.approx(named.fillet.section_stress, rel=0.02)


def test_trust_names_the_state_without_pressure_where_a_tightened_fillet_is_stressed_most():
    found, _ = sample("two-piece", 0)
    assert found.trust.value > 1.1 * max(c.fillet.section_stress for c in found.load_cases)
    assert ", in 'no pressure" in found.trust.sentence and found.trust.sentence.endswith("preload'")


def test_a_sharp_corner_is_named_with_stress_at_a_distance():
    data = raw(caliper__bridge__2__fillet_mm=0.0)
    found = section(layout(data), 2, side="inboard", accuracy=0.05)
    assert not found.trust.exists
    assert "no peak stress exists here: give a fillet" in found.trust.sentence
    assert found.trust.value is None
    stress = [c.corner_stress for c in found.load_cases]
    assert found.load_cases[0].fillet is None
    # The same state in both cases; near the corner more than the plain fillet's linear stress, and finite.
    assert stress[0] == pytest.approx(stress[1], rel=1e-9)
    assert 60.0 < stress[0] < 300.0
    with_fillet, _ = sample("one piece", 2)
    assert stress[0] == pytest.approx(with_fillet.load_cases[0].fillet.stress, rel=0.4)


def test_idle_metal_grows_as_loads_fall():
    found, _ = sample("one piece", 0)
    d = found.drawing
    density = np.full(len(d.stress.grid.zones), 2800.0)
    shares = [
        idle_metal(d.stress, f * d.used, density=density).volume_share for f in (0.01, 0.5, 1.0, 4.0, 100.0)
    ]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] == pytest.approx(1.0)
    assert shares[-1] < 0.05
    assert shares[2] == pytest.approx(found.idle.volume_share)
    whole = idle_metal(d.stress, 0 * d.used, density=density).mass_kg
    width, gap, wall = 30.0, 30.5, 34.0
    hand = 2800e-9 * width * (gap * 40.0 + wall * 85.0 + (1 - np.pi / 4) * 25.0)
    assert whole == pytest.approx(hand, rel=1e-4)


def test_use_is_stress_over_what_is_allowed_at_temperature():
    """The fillet is the most used place; hot it is allowed less under the same stress."""
    found, solved = sample("one piece", 2)
    limits, metal = solved.design.limits, solved.design.caliper.material
    shares = [
        c.fillet.section_stress / allowed_stress(metal, case, limits)[0]
        for c, case in zip(found.load_cases, solved.design.load_cases, strict=True)
    ]
    assert found.drawing.used.max() == pytest.approx(max(shares), rel=0.02)  # recovered, not quite uniaxial
    assert found.drawing.shown == "hot stop"


def test_surface_picks_the_worse_end_and_judges_by_kind():
    design = parse(raw()).designs[0]
    metal, case = design.caliper.material, design.load_cases[0]
    now = np.zeros((2, 3, 3))
    now[0, 1, 0], now[1, 2, 0] = -200.0, 150.0
    before = np.zeros_like(now)
    before[0, 1, 0] = -150.0
    field = Field(
        now, before, np.abs(now[..., 0]), np.full((2, 3), 3.0), np.arange(6.0).reshape(3, 2), ("low", "high")
    )
    found = surface(field, case=case, material=metal)
    assert (found.stress, found.preload, found.z, found.y) == (200.0, "low", 2.0, 3.0)
    assert found.error == pytest.approx(0.015)
    assert (found.amplitude, found.mean) == (75.0, 75.0)  # the other end swings more
    assert found.endurance == pytest.approx(metal.fatigue_5e8_MPa * (1 - 75.0 / metal.ultimate_MPa))
    assert found.judged
    proof = surface(field, case=replace(case, kind="proof"), material=metal)
    assert not proof.judged
    assert proof.fatigue_margin is None


def run(data, **more):
    """Coarse: what is asked of these is no stress."""
    return sections(parse(data), front_view=False, accuracy=0.5, **more)


def test_the_contract_is_plain_and_the_same_again():
    data = loose_centre()
    data["load_case"] = data["load_case"][:1]
    first, again = (run(data, bridge="centre") for _ in range(2))
    assert isinstance(first, SectionResults)
    text = json.dumps(first.to_dict(), allow_nan=False)
    assert text == json.dumps(again.to_dict(), allow_nan=False)
    (one,) = first.to_dict()["sections"]
    assert {"trust", "onset", "flexibility", "idle", "load_cases", "notes", "cuts"} <= set(one)
    assert {"fillet", "hole", "ends", "corner_stress"} <= set(one["load_cases"][0])
    assert set(one["load_cases"][0]["ends"][0]["face"]) == {
        "y",
        "pressure",
        "force",
        "moment",
        "open_fraction",
    }


def test_a_pockets_sharp_corner_is_named_on_page_and_terminal():
    data = raw(load_case=[{"name": "stop", "pressure_MPa": 8.0}])
    plain = run(data, bridge="leading end")
    data["caliper"]["wall"]["pockets"] = [{"x_mm": [-110.0, -82.0], "y_mm": [105.0, 130.0], "depth_mm": 8.0}]
    pocketed = run(data, bridge="leading end")
    told = "corners of pockets or bores at (z, y) = (56.5, 130) mm: no peak stress exists there"
    assert told in section_page.render(pocketed)
    assert told in " ".join(section_tables.terminal(pocketed).split())
    assert "corners of pockets" not in section_page.render(plain) + section_tables.terminal(plain)


def test_many_sharp_corners_are_counted():
    found, _ = sample("one piece", 0)
    many = replace(found, sharp_corners=tuple((56.5, 110.0 + y) for y in range(5)))
    assert "(56.5, 112) mm and 2 more:" in section_tables.corners(many)


def test_every_bridge_of_both_unequal_halves():
    data = raw(caliper__outboard={"thickness_mm": 30.0}, load_case=[{"name": "stop", "pressure_MPa": 8.0}])
    data["caliper"]["bridge"] = data["caliper"]["bridge"][:2]
    found = run(data)
    names = [(s.bridge, s.side) for s in found.sections]
    assert names == [(b, s) for b in ("leading end", "trailing end") for s in ("inboard", "outboard")]


@pytest.mark.parametrize(
    ("name", "said"), [("center", 'write "centre"'), ("x", "leading end, trailing end, centre")]
)
def test_an_unknown_bridge_is_refused(name, said):
    with pytest.raises(InputError, match=said):
        run(raw(), bridge=name)


def test_a_face_without_bolts_has_no_section():
    data = two_piece()
    data["caliper"]["bolt"] = data["caliper"]["bolt"][:4]
    data["load_case"] = data["load_case"][:1]
    with pytest.raises(InputError, match="a joint face without bolts") as refused:
        run(data, bridge="centre")
    design = parse(data).designs[0]
    _, left_out, _ = through(design, wanted=[2], accuracy=0.1, front_view=False, strict=False)
    assert left_out == ["no section: " + str(refused.value.faults[0])]


def test_samples_are_what_they_say():
    assert set(KINDS) == {k for k, _ in SOLVED}
    assert loose_centre()["caliper"]["bridge"][2]["kind"] == "bolted-in"
