"""Paths into a study file."""

import pytest

from stiffcalc.study.variants import steps_of, touches, with_set


@pytest.mark.parametrize(
    ("path", "steps"),
    [
        ("caliper.layout", ["caliper", "layout"]),
        ("caliper.bolt[2].x_mm", ["caliper", "bolt", 1, "x_mm"]),
        ("caliper.wall.pockets[1].x_mm[2]", ["caliper", "wall", "pockets", 0, "x_mm", 1]),
        ('material."house alloy 7.1".nu', ["material", "house alloy 7.1", "nu"]),
        ("limits", ["limits"]),
    ],
)
def test_a_path_is_keys_and_indexes_from_one(path: str, steps: list[object]) -> None:
    assert steps_of(path) == steps


@pytest.mark.parametrize(
    "path", ["", ".", "a.", ".a", "a..b", "a[x]", "a[1]b", "a b", '"a', "a[-1]", "[1].a"]
)
def test_what_is_no_path(path: str) -> None:
    assert steps_of(path) is None


def test_setting_leaves_the_original_alone_and_copies_what_is_set() -> None:
    base = {"caliper": {"bolt": [{"x_mm": 1.0}]}}
    bolt = {"x_mm": 2.0}
    changed, faults = with_set(base, {"caliper.bolt[2]": bolt, "caliper.bolt[2].y_mm": 3.0})
    grown, _ = with_set(base, {"caliper.bolt[2].x_mm": 4.0, "caliper.wall.pockets[1].depth_mm": 5.0})
    assert grown["caliper"]["bolt"][1] == {"x_mm": 4.0}
    assert grown["caliper"]["wall"]["pockets"] == [{"depth_mm": 5.0}]
    assert not faults and base == {"caliper": {"bolt": [{"x_mm": 1.0}]}} and bolt == {"x_mm": 2.0}
    assert changed["caliper"]["bolt"] == [{"x_mm": 1.0}, {"x_mm": 2.0, "y_mm": 3.0}]


def test_touches_sees_the_part_what_holds_it_and_what_lies_inside() -> None:
    assert touches({"caliper.bolt[2].x_mm": 1}, "caliper", "bolt")
    assert touches({"caliper": {}}, "caliper", "bolt")
    assert not touches({"caliper.layout": "monoblock"}, "caliper", "bolt")
