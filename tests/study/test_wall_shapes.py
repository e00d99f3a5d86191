"""Walls of real shape in a study file: outlines as written, what is derived from them, and what is refused."""

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from study_sample import raw

import stiffcalc
from stiffcalc.errors import InputError
from stiffcalc.study import parse
from stiffcalc.study.reach import heights

ROUND = [
    [-55, 105],
    [55, 105],
    [110, 120],
    [110, 190, 4],
    [60, 190],
    {"through": [40, 184]},
    [20, 190],
    [-110, 190],
    [-110, 120],
]
POCKET = {"x_mm": [-100, -80], "y_mm": [108, 125], "depth_mm": 4}


def study(side: str = "wall", **keys: Any) -> dict[str, Any]:
    found = raw()
    found.pop("variant")
    found["caliper"].setdefault(side, {}).update(keys)
    return found


def wall(**keys: Any) -> Any:
    return parse(study(**keys)).designs[0].caliper.inboard


def test_an_outline_takes_the_place_of_the_box_and_says_so():
    found = parse(study(outline_mm=ROUND))
    w = found.designs[0].caliper.inboard
    assert (w.length, w.bottom_y, w.top_y) == (220.0, 105.0, 190.0)
    left_out = [line for line in found.defaults_used if "left out" in line]
    assert len(left_out) == 3
    assert "caliper.wall.length_mm" in left_out[0]


def test_corners_arcs_and_roundings_enclose_the_area_by_hand():
    """A box less two triangles, less (1 - pi/4) r^2 of a rounding, less a circular segment r^2 (a - sin a) / 2."""
    area = 220 * 85 - 2 * (55 * 15) / 2
    radius = (20**2 + 6**2) / (2 * 6)
    turn = 4 * math.atan(6 / 20)
    segment = radius**2 * (turn - math.sin(turn)) / 2
    expected = area - (1 - math.pi / 4) * 4**2 - segment
    shape = wall(outline_mm=ROUND).shape
    assert shape.outline.area == pytest.approx(expected, rel=1e-12)
    x, y = shape.outline.polyline().T
    assert (x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2 == pytest.approx(expected, rel=1e-12)


def test_the_outline_may_run_either_way():
    forward, back = (wall(outline_mm=list(o)).shape.outline for o in (ROUND, ROUND[::-1]))
    assert forward.area == pytest.approx(back.area, rel=1e-12)
    np.testing.assert_allclose(forward.reach(), back.reach())


def test_one_half_may_have_a_shape_of_its_own():
    caliper = parse(study(side="outboard", outline_mm=ROUND)).designs[0].caliper
    assert caliper.inboard.shape is None
    assert caliper.outboard.shape is not None


def test_a_round_pocket_and_a_round_boss():
    shape = wall(
        pockets=[{"centre_mm": [-85, 125], "diameter_mm": 20, "depth_mm": 4}],
        ribs=[{"centre_mm": [-85, 125], "diameter_mm": 8}],
    ).shape
    assert shape.pockets[0].outline.area == pytest.approx(math.pi * 100)
    assert shape.ribs[0].height == math.inf


def test_bridges_go_as_high_as_the_outline_stands_over_all_of_them():
    w = wall(outline_mm=ROUND)
    assert heights(w, (78.0, 110.0)) == pytest.approx((120.0, 186.0), abs=1e-5)
    assert heights(w, (-110.0, -78.0)) == pytest.approx((120.0, 190.0), abs=1e-5)
    assert heights(w, (30.0, 50.0))[1] == pytest.approx(184.0, abs=0.01)


def changed(index: int, entry: Any) -> list[Any]:
    return [*ROUND[:index], entry, *ROUND[index + 1 :]]


def pocket(**changes: Any) -> dict[str, Any]:
    """Pockets of one, with ribs so that the wall is read as a shape."""
    return {"pockets": [{**POCKET, **changes}], "ribs": []}


def rib(**keys: Any) -> dict[str, Any]:
    return {"pockets": [POCKET], "ribs": [keys]}


W = "caliper.wall"
OUTSIDE = {"outline_mm": [[-120, 110], [-90, 110], [-90, 130]], "depth_mm": 4}
BROKEN: list[tuple[dict[str, Any], str, str]] = [
    (
        {"outline_mm": [[-110, 105], [110, 190], [110, 105], [-110, 190]]},
        f"{W}.outline_mm",
        "sides that meet",
    ),
    ({"outline_mm": [[-110, 105], [110, 105], [110, 190], [0, 105], [-110, 190]]}, f"{W}.outline_mm", "meet"),
    ({"outline_mm": [[-110, 105], [110, 105], [50, 105], [110, 190]]}, f"{W}.outline_mm", "sides that meet"),
    ({"outline_mm": [*ROUND, ROUND[0]]}, f"{W}.outline_mm[1]", "not again at the end"),
    ({"outline_mm": [[-110, 105], [110, 105]]}, f"{W}.outline_mm", "three entries"),
    ({"outline_mm": 5}, f"{W}.outline_mm", "three entries"),
    ({"outline_mm": changed(2, [110, 120, 2, 3])}, f"{W}.outline_mm[3]", "[x, y, radius]"),
    ({"outline_mm": changed(2, [110, "low"])}, f"{W}.outline_mm[3][2]", '"low"'),
    ({"outline_mm": changed(2, [110, math.nan])}, f"{W}.outline_mm[3][2]", "nan"),
    ({"outline_mm": changed(2, [math.inf, 120])}, f"{W}.outline_mm[3][1]", "inf"),
    ({"outline_mm": changed(2, [110, -120])}, f"{W}.outline_mm[3][2]", "-120"),
    ({"outline_mm": changed(3, [110, 190, -4])}, f"{W}.outline_mm[4][3]", "-4"),
    ({"outline_mm": changed(3, [110, 190, True])}, f"{W}.outline_mm[4][3]", "true"),
    ({"outline_mm": changed(3, [110, 190, 60])}, f"{W}.outline_mm[4]", "roundings that take 60 mm"),
    ({"outline_mm": changed(5, {"thru": [40, 184]})}, f"{W}.outline_mm[6]", "through"),
    ({"outline_mm": changed(5, {"through": [40, 190]})}, f"{W}.outline_mm[6]", "in line"),
    ({"outline_mm": changed(4, [60, 190, 3])}, f"{W}.outline_mm[5]", "rounded corner at an arc"),
    ({"outline_mm": changed(6, {"through": [30, 186]})}, f"{W}.outline_mm[6]", "without two corners"),
    ({"outline_mm": [[-55, 125], *ROUND[1:]]}, "caliper.bore[1]", "inside the edge"),
    ({"outline_mm": changed(5, {"through": [40, 150]})}, "caliper.bore[2]", "inside the edge"),
    (pocket(depth_mm=34), f"{W}.pockets[1].depth_mm", "below 34"),
    (pocket(deep=1), f"{W}.pockets[1].deep", "unknown key"),
    ({"pockets": [OUTSIDE]}, f"{W}.pockets[1]", "outside the wall"),
    (
        {"pockets": [POCKET, {"centre_mm": [-85, 120], "diameter_mm": 9, "depth_mm": 4}]},
        f"{W}.pockets[2]",
        "an overlap",
    ),
    (
        {"pockets": [{"centre_mm": [-30, 135], "diameter_mm": 30, "depth_mm": 9}]},
        f"{W}.pockets",
        "below 9, the floor",
    ),
    (
        {"pockets": [{"centre_mm": [-94, 178], "diameter_mm": 14, "depth_mm": 4}]},
        "caliper.bolt[2]",
        "across the edge",
    ),
    ({"pockets": 3, "ribs": []}, f"{W}.pockets", "a list of tables"),
    (rib(height_mm=2), f"{W}.ribs[1]", "no shape"),
    (rib(hight_mm=2), f"{W}.ribs[1].hight_mm", "write height_mm"),
    (rib(x_mm=[-95, -90], y_mm=[109, 120], centre_mm=[0, 120]), f"{W}.ribs[1]", "x_mm and centre_mm"),
    (rib(x_mm=[-130, -90], y_mm=[110, 120]), f"{W}.ribs[1]", "outside the wall"),
    (rib(x_mm=[-50, -40], y_mm=[110, 120]), f"{W}.ribs[1]", "nothing is milled"),
    (rib(x_mm=[-90, -85], y_mm=[110, 120], height_mm=5), f"{W}.ribs[1].height_mm", "at most 4"),
    (rib(centre_mm=[math.inf, 120], diameter_mm=-3), f"{W}.ribs[1].diameter_mm", "-3"),
]


@pytest.mark.parametrize(("keys", "where", "word"), BROKEN)
def test_what_does_not_fit_is_refused_in_one_line(keys, where, word):
    with pytest.raises(InputError) as refused:
        parse(study(**keys))
    faults = {fault.where: str(fault) for fault in refused.value.faults}
    assert where in faults, faults
    assert word in faults[where]
    assert all("\n" not in line for line in faults.values())


def test_a_foot_beside_the_outline_is_refused():
    given = study(outline_mm=ROUND)
    given["caliper"]["bridge"][1]["y_mm"] = [170.0, 190.0]
    with pytest.raises(InputError, match=r"lie outside the outline of caliper\.wall"):
        parse(given)


def test_a_boss_behind_the_bore_lets_a_pocket_go_deeper_than_the_floor():
    web = {"x_mm": [-60, 60], "y_mm": [110, 150], "depth_mm": 14}
    bosses = [{"centre_mm": [x, 135], "diameter_mm": 42.5} for x in (-30, 30)]
    assert len(wall(pockets=[web], ribs=bosses).shape.ribs) == 2
    with pytest.raises(InputError, match=r"behind caliper\.bore"):
        wall(pockets=[web], ribs=[{**b, "diameter_mm": 41.0} for b in bosses])


def test_a_head_on_a_boss_in_a_pocket_is_seated_on_metal_of_one_height():
    sunk = {"x_mm": [-109, -70], "y_mm": [145, 189], "depth_mm": 4}
    bosses = [{"centre_mm": [-94, y], "diameter_mm": 17.0} for y in (156, 178)]
    assert wall(pockets=[sunk], ribs=bosses).shape is not None
    with pytest.raises(InputError, match="across the edge of a pocket or rib"):
        wall(pockets=[sunk], ribs=[{**b, "diameter_mm": 12.0} for b in bosses])


def test_a_slot_of_a_bar_on_pads_asks_for_a_flat_top():
    given = study(outline_mm=changed(5, {"through": [40, 176]}))
    given["caliper"]["bolt"] = given["caliper"]["bolt"][:4]
    bar = given["caliper"]["bridge"][2]
    bar |= {"x_mm": [4.0, 28.0], "y_mm": [172.0, 180.0], "pads": {"length_mm": 20.0, "bolts_per_side": 1}}
    with pytest.raises(InputError, match="a slot under an outline that ends at y"):
        parse(given)


def test_the_shapes_that_the_starting_study_explains_are_a_wall():
    text = (Path(stiffcalc.__file__).parent / "study" / "template.toml").read_text(encoding="utf-8")
    start = text.index("# pockets = [")
    end = text.index("[[caliper.bore]]")
    shown = "\n".join(line.removeprefix("# ") for line in text[start:end].split("\n"))
    shape = parse(tomllib.loads(text[:start] + shown + text[end:])).designs[0].caliper.inboard.shape
    assert (len(shape.pockets), len(shape.ribs)) == (3, 2)
    assert any(bulge for *_, bulge in shape.outline.corners)
