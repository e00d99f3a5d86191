"""Which layouts are compared and what is free in them."""

from pathlib import Path
from typing import Any

import pytest
from compare_sample import FLOOR, ROW, WALL, raw, study

from stiffcalc.errors import InputError
from stiffcalc.explore.compare_layouts import Field, field
from stiffcalc.study import load, parse
from stiffcalc.study.schema import Study


def found(of: Study) -> Field:
    assert of.explore is not None
    return field(of, of.explore)


def faults(**explore: Any) -> str:
    with pytest.raises(InputError) as caught:
        found(study(**explore))
    return str(caught.value)


def alone(**caliper: Any) -> Study:
    """The base without variants and without [explore]."""
    source = raw()
    del source["variant"], source["explore"]
    source["caliper"] |= caliper
    return parse(source)


def test_layouts_of_the_file_with_the_keys_that_each_has() -> None:
    layouts = found(study()).layouts
    assert [c.name for c in layouts] == ["as drawn", "one piece"]
    assert [[k.name for k in c.keys] for c in layouts] == [["wall", "floor", "row"], ["wall", "floor"]]


def test_bolts_that_a_one_piece_variant_leaves_out_are_not_freed() -> None:
    one_piece = found(study()).layouts[1]
    assert not one_piece.design.caliper.bolts
    assert all("bolt" not in path for k in one_piece.keys for path in k.paths)


def test_layouts_that_are_named_alone() -> None:
    assert [c.name for c in found(study(layouts=["one piece"], key=[WALL])).layouts] == ["one piece"]


def test_a_base_alone_brings_the_obvious_layouts() -> None:
    layouts = found(alone()).layouts
    made = [(c.name, c.design.caliper.layout, len(c.design.caliper.bridges)) for c in layouts]
    assert made == [
        ("as drawn", "two-piece", 2),
        ("one piece", "monoblock", 2),
        ("one piece, centre bridge", "monoblock", 3),
        ("bolted centre bridge", "two-piece", 3),
    ]
    assert [len(c.design.caliper.bolts) for c in layouts] == [4, 0, 0, 6]


def test_an_obvious_layout_that_does_not_fit_is_left_out_and_said() -> None:
    bolts = [dict(b, washer={"diameter_mm": 24.0, "thickness_mm": 2.0}) for b in raw()["caliper"]["bolt"]]
    bolts[1]["y_mm"], bolts[3]["y_mm"] = 165.0, 165.0
    there = found(alone(bolt=bolts))
    assert "bolted centre bridge" in {c.name for c in there.layouts} or any(
        n.startswith("Left out: 'bolted centre bridge'") for n in there.notices
    )


def test_a_one_piece_base_is_told_that_bolts_are_its_own_affair() -> None:
    source = raw()
    del source["variant"], source["explore"], source["caliper"]["bolt"]
    source["caliper"]["layout"] = "monoblock"
    there = found(parse(source))
    assert [c.name for c in there.layouts] == ["as drawn", "centre bridge"]
    assert any("states its bolts" in n for n in there.notices)


def test_default_dimensions_and_their_ranges_are_listed() -> None:
    source = raw()
    del source["explore"]
    source["pad"]["length_mm"] = 112.0
    there = found(parse(source))
    two, one = ({k.name: k for k in c.keys} for c in there.layouts)
    assert list(two) == [
        "wall, mm",
        "floor, mm",
        "top, mm",
        "inner end of the bridges, mm",
        "bolt row 1, mm",
        "bolt row 2, mm",
    ]
    assert list(one) == list(two)[:4]
    assert two["top, mm"].high == 178.0 and two["wall, mm"].low == pytest.approx(23.2, abs=0.1)
    inner = two["inner end of the bridges, mm"]
    assert (inner.low, inner.high) == (56.0, 78.8)  # from half the pad's length, never over the pad
    assert sum('"wall, mm"' in line and "as drawn, one piece" in line for line in there.defaults_used) == 1


def test_the_demo_frees_what_each_layout_has() -> None:
    demo = load(Path(__file__).parents[2] / "studies" / "compare_at_equal_mass.toml")
    assert [len(c.keys) for c in found(demo).layouts] == [7, 8, 4, 5]
    assert "Invented" in demo.title


def test_mass_that_the_study_adds() -> None:
    there = found(study(extra_g={"one piece": 46.0}))
    assert [c.extra for c in there.layouts] == [0.0, 0.046]
    assert any("one piece 46 g" in n for n in there.notices)


@pytest.mark.parametrize(
    ("explore", "said"),
    [
        ({"extra_g": {"two piece": 3.0}}, 'unknown layout "two piece"'),
        ({"key": [WALL, {**FLOOR, "path": "caliper.wall.flor_mm"}]}, "explore.key[2]: caliper.wall.flor_mm"),
        (
            {"key": [WALL, {**ROW, "path": "caliper.bolt[9].y_mm"}]},
            'explore.key[2]: found path "caliper.bolt[9]',
        ),
        (
            {
                "key": [
                    WALL,
                    {**ROW, "path": "caliper.bridge[2].x_mm[1]", "minus": "caliper.bridge[1].x_mm[9]"},
                ]
            },
            'explore.key[2]: found paths "caliper.bridge[2].x_mm[1]", "caliper.bridge[1].x_mm[9]", not all of them',
        ),
        ({"key": [{**ROW, "layouts": ["one piece"]}, WALL]}, "explore.key[1]"),
        ({"key": [ROW]}, "nothing that 'one piece' has"),
        ({"key": [WALL, {"name": "x", "path": "walls.thickness_mm", "range": [1.0, 2.0]}]}, "explore.key[2]"),
    ],
)
def test_keys_that_no_layout_has_are_refused(explore: dict[str, Any], said: str) -> None:
    assert said in faults(**explore)
