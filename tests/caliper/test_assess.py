"""The main job as a whole: contract, determinism, properties that need no number, and trends of the trade."""

import contextlib
import dataclasses
import io
import json
import math
import tomllib
from pathlib import Path

import pytest

import stiffcalc
from stiffcalc.caliper import assess as assessing
from stiffcalc.study import parse

DEMO = Path(__file__).parents[2] / "studies/hillclimb_front.toml"


@pytest.fixture(scope="module")
def readme():
    """What README's example of Python leaves behind, run as it stands there, and what it prints."""
    code = (DEMO.parents[1] / "README.md").read_text().split("```python\n")[1].split("```")[0]
    names, said = {}, io.StringIO()
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(said):
        patch.chdir(DEMO.parents[1])
        exec(compile(code, "README.md", "exec"), names)
    return names, said.getvalue()


@pytest.fixture(scope="module")
def demo(readme):
    """All layouts of the demo."""
    return readme[0]["results"]


def variant(results, name):
    return next(v for v in results.variants if name in v.name)


def edited(**changes):
    """The demo's base design alone, with dotted keys (double underscore) changed."""
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    for path, value in changes.items():
        *above, last = path.split("__")
        table = data
        for key in above:
            table = table[key]
        table[last] = value
    if data["caliper"]["layout"] == "monoblock":  # no clamp plane: no port, no reliefs
        data["caliper"].pop("port")
        for bridge in data["caliper"]["bridge"]:
            bridge.pop("relief", None)
    return parse(data).designs[0]


@pytest.fixture(scope="module")
def framed():
    """The demo's base design alone, assessed by the frame."""
    return stiffcalc.assess(base_alone(), front_view=False)


def base_alone():
    study = stiffcalc.load(DEMO)
    return dataclasses.replace(study, designs=study.designs[:1])


@pytest.fixture(scope="module")
def base_spread():
    return spread(edited())


def spread(design, pressure=10.0):
    result = assessing.variant_result(design, with_front_view=False)
    return next(c for c in result.load_cases if c.pressure == pressure).spread


def test_three_lines_of_python(readme, demo):
    spread = demo.variants[0].load_cases[0].spread
    assert spread > 0
    assert "leads" in demo.verdict
    assert readme[1].split() == f"{demo.verdict} {spread}".split()
    assert [v.name for v in demo.variants] == [d.name for d in stiffcalc.load(DEMO).designs]
    with pytest.raises(dataclasses.FrozenInstanceError):
        demo.verdict = "other"


def test_same_inputs_same_bytes(demo):
    """Two-piece base and one piece, which take every path of the others."""
    study = stiffcalc.load(DEMO)
    (one,) = (k for k, d in enumerate(study.designs) if not d.caliper.bolts)
    again = stiffcalc.assess(dataclasses.replace(study, designs=tuple(study.designs[k] for k in (0, one))))
    twice = json.loads(json.dumps(again.to_dict()))["variants"]
    once = json.loads(json.dumps(demo.to_dict()))["variants"]
    assert json.dumps(twice) == json.dumps([once[0], once[one]])


def test_contract_is_plain_and_complete(demo):
    contract = json.loads(json.dumps(demo.to_dict(), allow_nan=False))
    assert contract["format"] == 1
    case = contract["variants"][0]["load_cases"][0]
    assert {"spread", "max", "by_bore", "middle", "bow"} <= case["opening_mm"].keys()
    assert set(case["models"]) == {"frame", "front_view"}
    assert case["models"]["frame"]["tilt_mrad"] is None, "the frame's tilt is not published"
    assert case["joints"][0]["bolts"][0].keys() >= {"index", "preload_N", "force_N", "amplitude_N"}
    assert {c["id"] for c in case["checks"]} >= {
        "spread",
        "slip",
        "bolt service",
        "engagement",
    }


def test_clamp_force_is_asked_at_the_highest_pressure_in_use_only(demo):
    """Two stops at 10 and 12 MPa, proof at 16: pi/4 (38^2 + 42^2) x 12 MPa by hand."""
    asked = {c.name: [k for k in c.checks if k.id == "clamp force"] for c in demo.variants[0].load_cases}
    assert [name for name, found in asked.items() if found] == ["hard stop, hot"]
    (check,) = asked["hard stop, hot"]
    assert check.actual == pytest.approx(math.pi / 4 * (38.0**2 + 42.0**2) * 12.0, rel=1e-12)


def test_contributions_sum_to_the_spread(demo):
    for v in demo.variants:
        for case in v.load_cases:
            assert sum(case.contributions.values()) == pytest.approx(case.spread, rel=1e-9)


def test_every_solve_is_in_balance(demo):
    for v in demo.variants:
        for case in v.load_cases:
            for model in case.models.values():
                assert max(model.residual, model.equilibrium, model.energy) < 1e-8


def test_margins_are_sorted_and_signed(demo):
    for v in demo.variants:
        for case in v.load_cases:
            margins = [c.margin for c in case.checks]
            assert margins == sorted(margins)
            assert all(c.met == (c.margin >= 0) for c in case.checks)


def test_minimum_preload_governs_onset(framed):
    design = base_alone().designs[0]
    stronger = dataclasses.replace(
        design,
        caliper=dataclasses.replace(
            design.caliper, bolts=tuple(dataclasses.replace(b, scatter=1.0) for b in design.caliper.bolts)
        ),
    )
    sure = assessing.variant_result(stronger, with_front_view=False)
    loose = framed.variants[0]
    ratio = sure.load_cases[0].joints[0].onset_MPa / loose.load_cases[0].joints[0].onset_MPa
    low, high = (r.load_cases[0].joints[0].bolts[0].preload_min for r in (loose, sure))
    # P04 of the property list: for fixed geometry the threshold is proportional to preload.
    assert ratio == pytest.approx(high / low, rel=1e-3) and high > low, (
        "settling shifts bolts a little unevenly"
    )


def test_middle_is_rotor_plus_two_pads_wide(demo):
    # Fact of the trade: the body is only as wide as rotor, two pads and their running clearance need.
    # common practice, no source
    design = stiffcalc.load(DEMO).designs[0]
    wide = design.rotor.thickness + 2 * (design.pad.thickness + design.pad.running_clearance)
    assert 2 * demo.variants[0].body.half_gap == pytest.approx(wide, rel=1e-12)


def test_two_bolts_through_a_centre_bridge_stiffen_the_middle(demo):
    # Fact of the trade: two added fasteners through a centre bridge raise resistance to opening along the
    # centre line. common practice, no source
    four, six = variant(demo, "four bolts"), variant(demo, "six bolts")
    assert six.load_cases[0].middle < four.load_cases[0].middle
    assert six.load_cases[0].bow < four.load_cases[0].bow


def test_neither_layout_is_stiffer_by_nature():
    # Fact of the trade: below onset a bolted body is as stiff as the same body in one piece with the same holes,
    # so more metal can put either layout in front. common practice, no source
    def layouts(two_thickness, one_thickness):
        two = edited(caliper__wall__thickness_mm=two_thickness)
        one = edited(caliper__layout="monoblock", caliper__bolt=[], caliper__wall__thickness_mm=one_thickness)
        return spread(two), spread(one)

    two, one = layouts(34.0, 30.0)
    assert two < one
    two, one = layouts(30.0, 34.0)
    assert one < two


def test_spread_falls_with_modulus_and_rises_with_gap(base_spread):
    base = edited()
    stiff = dataclasses.replace(base.caliper.material, E=2 * base.caliper.material.E)
    one = edited(caliper__layout="monoblock", caliper__bolt=[])
    caliper = dataclasses.replace(
        one.caliper,
        material=stiff,
        bridges=tuple(dataclasses.replace(b, material=stiff) for b in one.caliper.bridges),
    )
    # P11: with fixed loads and one material, opening is proportional to 1/E.
    assert spread(dataclasses.replace(one, caliper=caliper)) == pytest.approx(spread(one) / 2, rel=1e-9)
    assert spread(edited(pad__thickness_mm=18.0)) > base_spread


def test_equal_halves_are_one_half_twice(base_spread):
    # P08: unequal halves whose difference vanishes give the symmetric body's answer.
    thick = edited().caliper.inboard.thickness
    same = edited(caliper__outboard={"thickness_mm": thick})
    assert spread(same) == pytest.approx(base_spread, rel=1e-12)
    thicker = edited(caliper__outboard={"thickness_mm": thick + 8.0})
    assert spread(thicker) < base_spread


def test_without_front_view_tilt_is_not_given(framed):
    case = framed.variants[0].load_cases[0]
    assert case.model == "frame" and case.tilt_by_bore is None and case.tilt_middle is None
    assert any("Tilt is not given" in s for s in case.validity)
    assert not any(c.id == "tilt" for c in case.checks)


def test_missing_gmsh_is_a_notice_and_the_frame_stands(monkeypatch):
    monkeypatch.setattr(assessing, "unavailable", lambda: "front view not run: install gmsh")
    results = stiffcalc.assess(base_alone())
    assert results.notices[0] == "front view not run: install gmsh"
    assert results.variants[0].load_cases[0].model == "frame"


def test_assembly_case_has_no_opening():
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    data["load_case"].append({"name": "tightened", "kind": "assembly"})
    results = stiffcalc.assess(parse(data), front_view=False)
    case = results.variants[0].load_cases[-1]
    assert case.spread == pytest.approx(0.0, abs=1e-12)
    assert case.stiffness_kN_per_mm is None
    json.dumps(results.to_dict(), allow_nan=False)


def test_a_sharp_corner_is_named_not_stressed():
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    for bridge in data["caliper"]["bridge"]:
        bridge["fillet_mm"] = 0.0
    case = stiffcalc.assess(parse(data), front_view=False).variants[0].load_cases[0]
    assert any("sharp corner" in s for s in case.validity)
    assert not any(c.id == "fillet" for c in case.checks)
