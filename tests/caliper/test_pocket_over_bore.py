"""A pocket over a bore, rectangular or drawn: openings say so, for no model knows the floor's edge under it."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from stiffcalc import assess
from stiffcalc.study import parse

DEMO = Path(__file__).parents[2] / "studies" / "hillclimb_front.toml"
OVER = {"x_mm": [-34.0, -24.0], "y_mm": [115.0, 133.0], "depth_mm": 3.0}  # within the leading bore
CORNER = {
    "x_mm": [-60.0, -43.5],
    "y_mm": [99.0, 109.5],
    "depth_mm": 3.0,
}  # of the square about it: 20.5 mm away
BESIDE = {"x_mm": [-92.0, -60.0], "y_mm": [99.0, 127.0], "depth_mm": 12.0}


def drawn(pocket: dict[str, Any]) -> dict[str, Any]:
    (a, b), (c, d) = pocket["x_mm"], pocket["y_mm"]
    return {"outline_mm": [[a, c], [b, c], [b, d], [a, d]], "depth_mm": pocket["depth_mm"]}


def said(inboard: list[Any], outboard: list[Any]) -> list[str]:
    """Sentences about pockets over bores, of halves with those pockets."""
    raw = tomllib.loads(DEMO.read_text(encoding="utf-8"))
    raw.pop("variant")
    raw["caliper"]["wall"]["pockets"] = inboard
    if outboard is not inboard:
        raw["caliper"]["outboard"] = {"pockets": outboard}
    (variant,) = assess(parse(raw), front_view=False).variants
    every = [[s for s in case.validity if "a pocket lies over" in s] for case in variant.load_cases]
    assert every == [every[0]] * len(every)
    return every[0]


@pytest.mark.parametrize("shape", [dict, drawn], ids=["rectangle", "drawn"])
def test_openings_say_that_a_pocket_lies_over_a_bore(shape: Any) -> None:
    both = [shape(OVER), shape(BESIDE)]
    (sentence,) = said(both, both)
    assert sentence.startswith("inboard wall: a pocket lies over bore 1: ")
    assert "neither was compared with solids" in sentence


@pytest.mark.parametrize("shape", [dict, drawn], ids=["rectangle", "drawn"])
@pytest.mark.parametrize("pocket", [BESIDE, CORNER], ids=["beside", "at a corner"])
def test_a_pocket_beside_the_bores_is_no_such_pocket(pocket: dict[str, Any], shape: Any) -> None:
    both = [shape(pocket)]
    assert said(both, both) == []


def test_the_half_that_has_it_is_named() -> None:
    (sentence,) = said([BESIDE], [BESIDE, OVER])
    assert sentence.startswith("outboard wall: a pocket lies over bore 1: ")
