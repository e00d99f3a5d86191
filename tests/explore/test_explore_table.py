"""[explore]: what is read, what is refused."""

from typing import Any

import pytest
from compare_sample import FLOOR, WALL, raw, study

from stiffcalc.errors import InputError
from stiffcalc.study import parse


def faults(**explore: Any) -> str:
    with pytest.raises(InputError) as caught:
        parse(raw(**explore))
    return str(caught.value)


def test_what_is_stated_is_read() -> None:
    plan = study(seed=7, effort="thorough", layouts=["one piece"], extra_g={"one piece": 40.0}).explore
    assert plan is not None
    assert plan.masses == (2.9, 3.1) and plan.points == 2
    assert (plan.seed, plan.effort, plan.layouts) == (7, "thorough", ("one piece",))
    assert plan.extra == {"one piece": 0.04}
    assert [k.key.name for k in plan.keys] == ["wall", "floor", "row"]


def test_a_study_without_the_table_has_the_defaults_and_says_so() -> None:
    source = raw()
    del source["explore"]
    plan = parse(source).explore
    assert plan is not None
    assert (plan.points, plan.seed, plan.effort, plan.masses, plan.keys) == (6, 1, "usual", (), ())
    assert [line.split(" = ")[0] for line in plan.defaults_used] == [
        "explore.points",
        "explore.seed",
        "explore.effort",
    ]


@pytest.mark.parametrize(
    ("explore", "said"),
    [
        ({"masses_kg": [3.1, 2.9]}, "explore.masses_kg"),
        ({"masses_kg": [2.9]}, "2 to 20 masses"),
        ({"masses_kg": [2.9, float("nan")]}, "explore.masses_kg[2]"),
        ({"masses_kg": [2.9, -3.0]}, "explore.masses_kg[2]"),
        ({"masses_kg": "2.9"}, "explore.masses_kg"),
        ({"points": 4}, "nothing beside masses_kg"),
        ({"seed": -1}, "give one within"),
        ({"seed": 1.0}, "give it without a point"),
        ({"effort": "qick"}, 'write "quick"'),
        ({"layouts": ["one pice"]}, 'explore.layouts[1]: found "one pice"'),
        ({"layouts": []}, "explore.layouts"),
        ({"layouts": ["one piece", "one piece"]}, "each layout once"),
        ({"extra_g": {"one piece": -3.0}}, "explore.extra_g.one piece"),
        ({"extra_g": {"one piece": "heavy"}}, "explore.extra_g.one piece"),
        ({"extra_g": 3.0}, "explore.extra_g"),
        ({"masses": [2.9, 3.1]}, 'unknown key "masses"'),
        ({"key": [WALL, {**FLOOR, "name": "wall"}]}, "explore.key[2].name"),
        ({"key": [WALL, {**WALL, "name": "again"}]}, "explore.key[2]"),
        ({"key": [{**WALL, "layouts": ["two pieces"]}]}, "explore.key[1].layouts[1]"),
        ({"key": [{**WALL, "range": [38.0, 26.0]}]}, "explore.key[1].range"),
        ({"key": [{"name": "wall", "range": [26.0, 38.0]}]}, "explore.key[1].path"),
    ],
)
def test_what_is_wrong_is_said_where_it_stands(explore: dict[str, Any], said: str) -> None:
    assert said in faults(**explore)


def test_all_faults_come_at_once_a_line_each() -> None:
    lines = faults(seed=-1, effort="no", layouts=["none"]).splitlines()
    assert len([line for line in lines if "explore." in line]) == 3


def test_one_path_may_be_free_twice_in_different_layouts() -> None:
    other = {**WALL, "name": "wall of one piece", "range": [24.0, 36.0], "layouts": ["one piece"]}
    plan = study(key=[{**WALL, "layouts": ["as drawn"]}, other]).explore
    assert plan is not None and len(plan.keys) == 2
