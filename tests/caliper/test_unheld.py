"""Joints that cannot hold: failing checks with the governing reason, no exception, no NaN, readable reports."""

import json
import tomllib
from pathlib import Path

import numpy as np
import pytest

import stiffcalc
from stiffcalc.caliper import assess as assessing
from stiffcalc.caliper import response
from stiffcalc.caliper.build import build
from stiffcalc.caliper.results import Results
from stiffcalc.mechanics.joint_state import JointError, UnheldError
from stiffcalc.report import page, tables
from stiffcalc.study import parse

DEMO = Path(__file__).parents[2] / "studies/hillclimb_front.toml"


def study(**bolt):
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    for one in data["caliper"]["bolt"]:
        one.update(bolt)
    return data


def answered(data) -> Results:
    found = stiffcalc.assess(parse(data), front_view=False)
    json.dumps(found.to_dict(), allow_nan=False)
    assert tables.terminal(found)
    assert all(text for text in tables.csv_files(found).values())
    return found


def shown(data) -> Results:
    """With the page, for each kind of gap in the figures."""
    found = answered(data)
    assert page.render(found, accuracy="-")
    return found


def check(case, name):
    return next(c for c in case.checks if c.id == name)


def test_too_little_preload_fails_by_name_and_reason():
    v = answered(study(preload_N=3000.0)).variants[0]
    for case in v.load_cases:
        found = check(case, "clamp plane holds")
        assert not found.met and found.margin < 0
    lost = check(v.load_cases[0], "clamp plane holds")
    assert "has no preload left" in lost.formula and "cold" in lost.note


def test_preload_lost_to_settling_is_no_crash():
    v = shown(study(preload_N=900.0)).variants[0]
    assert all(s.min == 0.0 for b in v.preload_life for s in b.stages[1:2])
    assert not check(v.load_cases[0], "clamp plane holds").met
    assert not check(v.load_cases[0], "onset 1").met and check(v.load_cases[0], "onset 1").actual == 0.0


@pytest.fixture
def lets_go(monkeypatch):
    """A joint solver that finds nothing to hold the halves above 8 MPa: bolts hold any body by prying, so none does."""
    true_load = response.joint.load

    def load(pair, tightened, pressure, **more):
        if pressure.max() > 8.0:
            raise UnheldError("nothing holds the halves", residual=1.0, iterations=1, designs=(0,))
        return true_load(pair, tightened, pressure, **more)

    monkeypatch.setattr(response.joint, "load", load)


def test_a_joint_that_nothing_holds_has_no_figures_and_failing_checks(lets_go):
    results = answered(study())
    case = results.variants[0].load_cases[-1]
    assert case.spread is None and case.fluid is None and case.models == {} and case.joints == ()
    assert case.stiffness_per_mass is None and case.yaw is None
    assert any(s.startswith("not held") for s in case.validity)
    found = check(case, "clamp plane holds")
    assert not found.met and found.margin == pytest.approx(-1.0)
    assert "nothing holds the halves together at 16 MPa" in found.formula
    plain = results.to_dict()["variants"][0]["load_cases"][-1]
    assert plain["opening_mm"]["spread"] is None and plain["fluid_mm3"] is None
    assert "not held" in tables.terminal(results)
    assert "does not hold" in results.verdict
    sweep = results.to_dict()["variants"][0]["sweep"]
    known = [s is not None for s in sweep["spread_mm"][0]]
    assert known == [p <= 8.0 for p in sweep["pressure_MPa"]]


def test_a_layout_that_does_not_hold_never_leads(lets_go):
    data = tomllib.loads(DEMO.read_text())
    data["variant"] = data["variant"][-1:]
    assert shown(data).verdict.startswith("'one piece' leads")


def test_no_equilibrium_for_other_reasons_stays_an_error(monkeypatch):
    def fails(*_args, **_kwargs):
        raise JointError("equilibrium of the joint", residual=1.0, iterations=60, designs=(0,))

    monkeypatch.setattr(response.joint, "load", fails)
    with pytest.raises(JointError, match="did not converge"):
        assessing.variant_result(parse(study()).designs[0], with_front_view=False)


def test_states_that_hold_are_those_of_a_batch(request):
    # Solved one by one because one state does not hold, the others must not change.
    design = parse(study()).designs[0]
    body = build(design)
    pair, preload, pressure = response.frame_pair(body), np.full((1, 2, 4), 30e3), np.array([0.0, 4.0, 9.0])
    together = response.answer(pair, body, preload=preload, pressure=pressure)
    request.getfixturevalue("lets_go")
    apart = response.answer(pair, body, preload=preload, pressure=pressure)
    assert apart.held[0].tolist() == [[True, True, False]] * 2
    assert apart.openings.spread[0, :, :2] == pytest.approx(together.openings.spread[0, :, :2], rel=1e-9)


def test_hot_yield_thread_too_short_and_sunken_head_fail_by_name():
    data = study(engagement_mm=6.0)
    for one in data["caliper"]["bolt"]:
        one.pop("washer")
    case = answered(data).variants[0].load_cases[1]
    missed = {c.id: c for c in case.checks if not c.met}
    assert {"bolt service", "engagement", "head pressure"} <= missed.keys()
    assert "hot" in missed["bolt service"].note and "hot" in missed["head pressure"].note
