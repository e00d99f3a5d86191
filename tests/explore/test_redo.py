"""Which change calls for which work, and how inputs and figures are told apart."""

from pathlib import Path

import pytest

from stiffcalc.explore.changes import Moved, _counts, input_changes, leaves
from stiffcalc.explore.redo import RULES, redo
from stiffcalc.study import load

STUDIES = Path(__file__).parents[2] / "studies"


@pytest.mark.parametrize(
    ("path", "changed"),
    [
        ("pad.thickness_mm", "rotor or pad thickness"),
        ("rotor.thickness_mm", "rotor or pad thickness"),
        ("rotor.outer_radius_mm", "rotor size"),
        ("pad.friction_range", "pad friction"),
        ("pad.height_mm", "pad"),
        ("caliper.bore[2].diameter_mm", "bores"),
        ("caliper.material", "alloy"),
        ("material.house alloy.E_MPa", "alloy"),
        ('caliper.bridge["centre"].material', "alloy"),
        ("caliper.bolt[1].preload_N", "bolts"),
        ('caliper.bridge["centre"].x_mm', "body"),
        ("caliper.layout", "body"),
        ('load_case["proof"].pressure_MPa', "load cases"),
        ("limits.spread_mm", "limits"),
        ('variant["one piece"].set.caliper.bore[1].x_mm', "bores"),
        ('variant["one piece"].set.caliper.layout', "body"),
    ],
)
def test_rule_of_a_path(path: str, changed: str) -> None:
    (found,) = redo([path])
    assert found.rule.changed == changed and found.paths == (path,)


def test_words_call_for_nothing_and_paths_of_one_rule_share_it() -> None:
    assert redo(["study.title", "format"]) == ()
    (found,) = redo(["caliper.bolt[1].x_mm", "caliper.bolt[2].x_mm", "study.note"])
    assert found.paths == ("caliper.bolt[1].x_mm", "caliper.bolt[2].x_mm")


@pytest.mark.parametrize("study", sorted(STUDIES.glob("*.toml")), ids=lambda p: p.stem)
def test_every_input_of_the_demos_is_known_to_a_rule(study: Path) -> None:
    paths = [p for p, _ in leaves(load(study).source) if not p.startswith(("study.", "format", "variant["))]
    called = {p for r in redo(paths) for p in r.paths}
    assert called == set(paths)


def test_every_rule_says_what_and_why() -> None:
    assert all(r.paths and r.redo and r.why for r in RULES)
    assert len({r.changed for r in RULES}) == len(RULES)


def test_tables_are_matched_by_name_and_lists_compared_whole() -> None:
    a = {"x": [{"name": "p", "v": 1}, {"name": "q", "v": [1, 2]}], "y": [{"v": 1}], "z": {}}
    b = {"x": [{"name": "q", "v": [1, 3]}, {"name": "p", "v": 1}], "y": [{"v": 1}, {"v": 2}], "z": {}}
    assert [(c.path, c.a, c.b) for c in input_changes(a, b)] == [
        ('x["q"].v', [1, 2], [1, 3]),
        ("y[2].v", None, 2),
    ]


@pytest.mark.parametrize(
    ("a", "b", "moved", "counts"),
    [
        (0.200, 0.210, 0.05, True),
        (0.200, 0.202, 0.01, False),  # below the threshold
        (0.00001, 0.00002, 1.0, False),  # a hundredth of a micrometre is not seen
        (None, 0.2, None, True),
        (float("inf"), 0.2, float("inf"), True),
    ],
)
def test_what_counts_as_moved(a, b, moved, counts) -> None:
    assert _counts(Moved("v", "c", "spread", "spread", a, b, moved), 0.02) is counts
