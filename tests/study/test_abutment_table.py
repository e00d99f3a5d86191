"""Abutments in the study file: what is left out has a documented default, what no pad can push at is refused."""

from typing import Any

import pytest
from study_sample import raw

from stiffcalc.errors import InputError
from stiffcalc.study import parse
from stiffcalc.study.abutments import flank, plates

# The sample's trailing bridge begins at x = 78, where the circle of 168 mm passes at y 148.80; its top is at 190. Half
# the gap is 14 + 16 + 0.5 = 30.5; the backing plate stands at 25 to 30 new, at 16 to 21 worn.
PATCH = {"bridge": "trailing end", "y_mm": [149.0, 165.0], "z_mm": [14.0, 30.5]}


def study(*abutments: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """The sample with abutments (by default one at the trailing end, with changes)."""
    found = raw()
    found["caliper"]["abutment"] = [dict(a) for a in abutments] or [PATCH | changes]
    return found


def faults(source: dict[str, Any]) -> dict[str, Any]:
    with pytest.raises(InputError) as caught:
        parse(source)
    return {f.where: f for f in caught.value.faults if "variant" not in f.where}


def test_one_patch_stands_for_both_halves_and_says_so() -> None:
    found = parse(study())
    (abutment,) = found.designs[0].caliper.abutments
    assert (abutment.half, abutment.y, abutment.z) == ("both", (149.0, 165.0), (14.0, 30.5))
    assert any(d.startswith('caliper.abutment[1].half = "both"') for d in found.defaults_used)
    assert all(d.caliper.abutments == (abutment,) for d in found.designs)
    leading, trailing, _ = found.designs[0].caliper.bridges
    assert (flank(leading), flank(trailing)) == (-78.0, 78.0)
    assert plates(found.designs[0].rotor, found.designs[0].pad) == ((25.0, 30.0), (16.0, 21.0))


@pytest.mark.parametrize(
    ("changes", "where", "words"),
    [
        ({"bridge": "end"}, "[1].bridge", '"leading end", "trailing end", "centre"'),
        ({"bridge": ""}, "[1].bridge", "not empty"),
        ({"bridge": "centre"}, "[1].bridge", "before or behind the pad"),
        ({"half": "left"}, "[1].half", '"both", "inboard", "outboard"'),
        ({"y_mm": [148.79, 160.0]}, "[1].y_mm", "y 148.80 to 190"),
        ({"y_mm": [160.0, 191.0]}, "[1].y_mm", "y 148.80 to 190"),
        ({"y_mm": [160.0, 150.0]}, "[1].y_mm", "low below high"),
        ({"y_mm": [float("nan"), 150.0]}, "[1].y_mm[1]", "a number"),
        ({"z_mm": [14.0, 31.0]}, "[1].z_mm", "up to 30.5"),
        ({"z_mm": [-1.0, 30.0]}, "[1].z_mm[1]", "from 0"),
        ({"z_mm": [21.0, 30.0]}, "[1].z_mm", "a worn pad, z 16 to 21"),
        ({"z_mm": [14.0, 25.0]}, "[1].z_mm", "a new pad, z 25 to 30"),
        ({"half": "inboard"}, "", "in each half"),
        ({"bridge": "leading end"}, "", "forward drag pushes there"),
        ({"width_mm": 3.0}, "[1].width_mm", "bridge"),
    ],
)
def test_one_line_says_what_is_wrong(changes: dict[str, Any], where: str, words: str) -> None:
    fault = faults(study(**changes))[f"caliper.abutment{where}"]
    assert words in f"{fault.allowed} {fault.mend}"


def test_patches_of_one_flank_lie_beside_each_other() -> None:
    beside = PATCH | {"y_mm": [165.0, 170.0]}
    assert len(parse(study(PATCH, beside)).designs[0].caliper.abutments) == 2
    assert "overlap" in faults(study(PATCH, beside | {"y_mm": [164.0, 170.0]}))["caliper.abutment[2]"].found
    halves = [PATCH | {"half": half} for half in ("inboard", "outboard")]
    assert len(parse(study(*halves)).designs[0].caliper.abutments) == 2


def test_a_flank_lies_behind_the_pad_and_open() -> None:
    source = study()
    source["pad"]["length_mm"] = 157.0
    assert "x 78.5 or more" in faults(source)["caliper.abutment[1].bridge"].allowed
    source = study()
    more = {"name": "rail", "x_mm": [60.0, 78.0], "y_mm": [160.0, 190.0]}
    source["caliper"]["bridge"].append(more)
    assert "rail" in faults(source)["caliper.abutment[1]"].found


def test_a_bridge_that_is_a_part_of_its_own_takes_no_drag() -> None:
    source = study()
    source["caliper"]["bridge"][1]["kind"] = "bolted-in"
    assert "of one piece" in faults(source)["caliper.abutment[1].bridge"].allowed
