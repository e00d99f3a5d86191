"""Checks of the body's metal: each part is judged by the metal that it is made of."""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stiffcalc.caliper import assess
from stiffcalc.caliper.checked import margin_below
from stiffcalc.caliper.results import CaseResult, Check
from stiffcalc.study import parse

STUDY = Path(__file__).parents[2] / "studies/centre_bridge.toml"
SOFT = {  # an invented metal as stiff as the body's
    "E_MPa": 73100.0,
    "nu": 0.33,
    "density_kg_m3": 2800.0,
    "expansion_per_K": 2.3e-5,
    "yield_MPa": [[20, 30.0], [100, 20.0]],
    "ultimate_MPa": [[20, 60.0], [200, 40.0]],
}


def hot_stop(*, body: str, bridge: str) -> CaseResult:
    """The stop at 110 °C of a body in one piece with a centre bridge bolted in, of two metals; frame."""
    source: dict[str, Any] = tomllib.loads(STUDY.read_text())
    source["caliper"]["material"] = body
    source["load_case"] = source["load_case"][1:2]
    source["material"] = {"soft": SOFT}
    source["variant"] = source["variant"][1:2]
    source["variant"][0]["set"]["caliper.bridge[3]"]["material"] = bridge
    return assess.variant_result(parse(source).designs[1], with_front_view=False).load_cases[0]


def test_a_case_of_fatigue_says_that_the_body_is_not_judged() -> None:
    said = "Fatigue of the body is not judged here"
    source = tomllib.loads(STUDY.read_text())
    source["load_case"] = [
        {"name": "many stops", "kind": "fatigue", "pressure_MPa": 6.0},
        source["load_case"][0],
    ]
    tired, used = assess.variant_result(parse(source).designs[0], with_front_view=False).load_cases
    assert any(s.startswith(said) for s in tired.validity)
    assert not any(s.startswith(said) for s in used.validity)


def bridge_check(case: CaseResult) -> Check:
    return next(c for c in case.checks if c.id == "bridge")


def test_a_bridge_is_judged_by_its_own_metal() -> None:
    """20 MPa / 1.5 by hand, end of the soft metal's curve: for the centre bridge, or the ends beside a harder one."""
    plain = bridge_check(hot_stop(body="2014-T6", bridge="2014-T6"))
    centre = bridge_check(hot_stop(body="2014-T6", bridge="soft"))
    ends = bridge_check(hot_stop(body="soft", bridge="2014-T6"))
    assert plain.what == centre.what == "nominal stress, bridge centre"
    assert ends.what == "nominal stress, bridge trailing end"
    for check in (centre, ends):
        assert check.allowed == pytest.approx(20.0 / 1.5, rel=1e-12)
        assert "yield 20 at 110 °C / 1.5" in check.formula
        assert check.margin == pytest.approx(check.allowed / check.actual - 1.0)
    assert ends.actual < plain.actual


def test_a_bridges_strength_beyond_its_data_is_said() -> None:
    beyond = "soft: yield_MPa at 110 °C is outside its data (20 to 100 °C); nearest end used, the true value is lower"
    said = hot_stop(body="2014-T6", bridge="soft").validity
    assert [s for s in said if "yield_MPa" in s] == [beyond]


def bore_wall(case: CaseResult) -> Check:
    return next(c for c in case.checks if c.id == "bore wall inboard")


def moved(**bore: float) -> CaseResult:
    """The stop of a body in one piece whose second bore is set anew; frame."""
    source: dict[str, Any] = tomllib.loads(STUDY.read_text())
    source["load_case"] = source["load_case"][1:2]
    source["variant"] = source["variant"][1:2]
    source["caliper"]["bore"][1] |= bore
    return assess.variant_result(parse(source).designs[1], with_front_view=False).load_cases[0]


def test_bores_are_judged_by_the_least_metal_round_them() -> None:
    """By hand: a bore of 40 whose centre is 24 mm from the wall's edge: 4 p 20^2 / (24^2 - 20^2) along that edge."""
    as_given = bore_wall(moved())
    assert as_given.what == "stress round the bore, inboard, bore 2"
    assert as_given.actual == pytest.approx(10.0 * 4.0 * 400.0 / 176.0, rel=1e-9)
    assert as_given.met


def test_a_ligament_too_thin_to_hold_fails() -> None:
    """By hand: 0.4 mm between the bores of 38 and 40, so a cylinder of 20 and 20.2 mm: von Mises of 100.5 p and -p."""
    thin = bore_wall(moved(x_mm=-32.0 + 39.0 + 0.4))
    hoop = (20.2**2 + 20.0**2) / (20.2**2 - 20.0**2)
    assert thin.actual == pytest.approx(10.0 * (hoop**2 + hoop + 1.0) ** 0.5, rel=1e-6)
    assert not thin.met


def test_a_load_that_is_unknown_is_not_met() -> None:
    assert np.isnan(margin_below(np.nan, 5.0))
    assert margin_below([0.0, 2.0], 5.0).tolist() == [np.inf, 1.5]
