"""Lugs in the study file: a hole may follow from the thread, what does not hang on the inboard wall is refused."""

from typing import Any

import pytest
from study_sample import raw

from stiffcalc.errors import InputError
from stiffcalc.study import parse

# The sample's walls reach from x -110 to 110, y 105 to 190, 34 mm thick; a head of M10 at (94, 156) is 16 mm across.
EAR = {"x_mm": 80.0, "y_mm": 98.0, "diameter_mm": 24.0, "hole_mm": 10.5, "height_mm": 20.0}
BOSS = EAR | {"stands": "on outer face", "x_mm": 70.0, "y_mm": 130.0}
CORNERS = [[-110.0, 105.0], [110.0, 105.0], [110.0, 190.0], [-110.0, 190.0]]


def study(*lugs: dict[str, Any], **wall: Any) -> dict[str, Any]:
    found = raw()
    found["caliper"]["lug"] = [dict(g) for g in lugs]
    found["caliper"]["wall"] |= wall
    return found


def faults(source: dict[str, Any]) -> dict[str, Any]:
    with pytest.raises(InputError) as caught:
        parse(source)
    return {f.where: f for f in caught.value.faults if "variant" not in f.where}


def test_a_tapped_lug_takes_its_hole_from_the_thread() -> None:
    """Pitch diameter of M12x1.75: 12 - 0.649519 x 1.75 = 10.863 mm; ISO 724."""
    tapped = {k: v for k, v in EAR.items() if k != "hole_mm"} | {"thread": "M12x1.75", "x_mm": -80.0}
    found = parse(study(EAR, tapped))
    one, two = found.designs[0].caliper.lugs
    assert (one.hole, one.stands, one.thread) == (10.5, "up to outer face", None)
    assert two.hole == pytest.approx(10.863, abs=1e-3)
    assert any(d.startswith("caliper.lug[2].hole_mm") for d in found.defaults_used)
    assert all(d.caliper.lugs == (one, two) for d in found.designs)


@pytest.mark.parametrize(
    ("lug", "where", "words"),
    [
        (EAR | {"hole_mm": 24.0}, ".hole_mm", "below diameter_mm = 24"),
        (EAR | {"y_mm": 93.0}, "", "less than 12 mm outside"),
        (EAR | {"y_mm": 100.0}, "", "at least 5.25 mm outside"),
        (EAR | {"height_mm": 34.5}, ".height_mm", "at most 34"),
        (EAR | {"height_mm": -1.0}, ".height_mm", "a number above 0"),
        (EAR | {"stands": "on the wall"}, ".stands", '"on outer face"'),
        (EAR | {"thread": "M11x9"}, ".thread", "M12x1.75"),
        ({k: v for k, v in EAR.items() if k != "hole_mm"}, ".hole_mm", "a number"),
        (EAR | {"mass_kg": 1.0}, ".mass_kg", "diameter_mm"),
        (BOSS | {"x_mm": 99.0}, "", "at least 12 mm inside"),
        (BOSS | {"x_mm": 80.0, "y_mm": 165.0}, "", "beside the heads"),
    ],
)
def test_one_line_says_what_is_wrong(lug: dict[str, Any], where: str, words: str) -> None:
    fault = faults(study(lug))[f"caliper.lug[1]{where}"]
    assert words in f"{fault.allowed} {fault.mend}"


def test_a_boss_stands_beside_pockets_of_a_box_and_of_a_drawn_wall() -> None:
    box = {"pockets": [{"x_mm": [60.0, 76.0], "y_mm": [145.0, 160.0], "depth_mm": 5.0}]}
    drawn = {
        "outline_mm": CORNERS,
        "pockets": [{"outline_mm": [[60.0, 145.0], [76.0, 145.0], [68.0, 160.0]], "depth_mm": 5.0}],
    }
    for wall in (box, drawn):
        source = study(BOSS, **wall)
        if "outline_mm" in wall:
            for key in ("length_mm", "bottom_y_mm", "top_y_mm"):
                source["caliper"]["wall"].pop(key)
        assert parse(source).designs[0].caliper.lugs
        source["caliper"]["lug"][0]["y_mm"] = 135.0
        assert "milled 5 mm deep" in faults(source)["caliper.lug[1]"].found


def test_lugs_lie_beside_each_other_and_beside_slots_of_bars() -> None:
    assert "lug[1]" in faults(study(EAR, EAR | {"x_mm": 100.0}))["caliper.lug[2]"].found
    source = study(EAR | {"x_mm": 0.0, "y_mm": 200.5})
    assert parse(source)
    source["caliper"]["bolt"].pop()
    pads = {"length_mm": 20.0, "thread": "M8x1.25", "grade": "10.9"}
    source["caliper"]["bridge"][2]["pads"] = pads
    assert "beside the slots" in faults(source)["caliper.lug[1]"].allowed
