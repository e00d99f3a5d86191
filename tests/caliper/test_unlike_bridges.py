"""Bridges of another metal in a study: forces in balance by themselves, nothing at 20 °C, bars feel the pull."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.caliper import heat
from stiffcalc.caliper.assess import solved
from stiffcalc.caliper.cases import case_result, context_of
from stiffcalc.mechanics.joint import load, tighten
from stiffcalc.study import parse

DEMO = Path(__file__).parents[2] / "studies/centre_bridge.toml"


def layouts(material):
    """The bridge bolted along z, and the bar; front views left out."""
    data = tomllib.loads(DEMO.read_text())
    data["variant"] = data["variant"][1:]
    for variant in data["variant"]:
        changed = variant["set"]
        whole = changed.get("caliper.bridge[3]")
        changed |= {"caliper.bridge[3].material": material} if whole is None else {}
        if whole is not None:
            whole["material"] = material
    return [solved(d, with_front_view=False)[0] for d in parse(data).designs[1:]]


@pytest.fixture(scope="module")
def steel():
    return layouts("S355")


def case(layout, number):
    return context_of(layout, layout.design.load_cases[number])


def test_unlike_growth_pulls_a_steel_bridge_and_presses_its_neighbours(steel):
    for layout in steel:
        here = case(layout, 1)
        pull = here.answer.warm.tension[0, 0, :, 0]
        assert pull[2] > 1000.0 and np.all(pull[:2] < 0.0), "aluminium outgrows steel when hot"
        assert pull.sum() == pytest.approx(0.0, abs=1e-6 * pull[2])
        assert case(layout, 0).answer.warm is None, "nothing grows at 20 °C"


def test_pull_is_less_than_between_rigid_walls(steel):
    """Handbook bound, rigid walls: (alpha_1 - alpha_2) dT / sum 1/(E A), see tests/outside/test_unlike_bars.py."""
    layout = steel[0]
    here = case(layout, 1)
    flexibility = here.answer.pair.bridge_flexibility[0, :, 0, 0]
    grown = here.answer.pair.grown[0, 2]
    rigid = -grown / (flexibility[2] + 1.0 / (1.0 / flexibility[:2]).sum())
    assert 0.05 * rigid < here.answer.warm.tension[0, 0, 2, 0] < rigid


def test_forces_of_a_body_with_a_bar_hold_it_and_openings_are_pressures_alone(steel):
    bar = steel[1]
    here = case(bar, 1)
    both = here.answer.loaded.tension - here.answer.change.tension
    np.testing.assert_allclose(both[0, 0, 0], here.answer.warm.tension[0, 0], rtol=1e-9)
    assert case(layouts("2014-T6")[1], 1).answer.warm is None
    result = case_result(bar, bar.design.load_cases[1])
    friction = next(c for c in result.checks if c.id == "seat friction 3")
    pull = here.answer.loaded.tension[0, 0, here.at, 2, 0]
    assert f"N = {pull:.0f} N" in friction.formula
    assert any("along z is in the figures" in s for s in result.validity)


def test_a_joint_with_an_unlike_bridge_keeps_its_bolts_in_one_story(steel):
    """The joint tightened to its hot preloads at that temperature is the settled one warmed up."""
    layout = steel[0]
    life, own = layout.life, case(layout, 1).answer
    settled, hot = life.stage("settled"), life.stage("hot")
    start, end = life.pairs[settled.warmth], life.pairs[hot.warmth]
    np.testing.assert_array_equal(end.grown, own.pair.grown)
    before = tighten(start, settled.preload.min)
    grown = heat.lengthening(layout.design, layout.body, hot.warmth)
    moved = load(end, before, np.zeros(1), lengthening=grown, tightened_with=start.bolt_flexibility).response
    np.testing.assert_allclose(moved.bolt, hot.preload.min, rtol=1e-9)
    tight = own.tightened.response.tension[:, 0]
    np.testing.assert_allclose(moved.tension, tight, rtol=1e-6, atol=1e-6 * np.abs(tight).max())
