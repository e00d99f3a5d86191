"""pads = { ... } of a bridge: what is left out has a documented default, what does not fit is refused with its mend."""

import math
from typing import Any

import pytest
from study_sample import raw

from stiffcalc.errors import InputError
from stiffcalc.study import parse
from stiffcalc.study.pads import bolt_places

PADS = {"length_mm": 20.0, "thread": "M8x1.25", "grade": "10.9"}


def study(pads: dict[str, Any] | None = None, **bridge: Any) -> dict[str, Any]:
    """The sample with its centre bridge 40 wide on pads, and without the bolt that clamped it along z."""
    found = raw()
    found["caliper"]["bolt"].pop()
    found["variant"] = []
    found["caliper"]["bridge"][2] |= {"x_mm": [-20.0, 20.0], "pads": {**PADS, **(pads or {})}, **bridge}
    return found


def fault(data: dict[str, Any]) -> str:
    with pytest.raises(InputError) as caught:
        parse(data)
    return str(caught.value)


def test_defaults_are_documented() -> None:
    found = parse(study())
    pads = found.designs[0].caliper.bridges[2].pads
    assert pads is not None
    assert (pads.bolts_per_side, pads.pitch, pads.setback) == (2, 20.0, 10.0)
    assert pads.friction == (0.10, 0.20)
    assert pads.screw.hole == 9.0  # ISO 273, medium
    assert pads.screw.engagement == 16.0
    assert pads.screw.preload_N == pytest.approx(
        0.75 * 830.0 * 36.6, rel=2e-3
    )  # of the proof load, ISO 898-1
    for key in ("bolts_per_side", "pitch_mm", "setback_mm", "seat_friction", "hole_mm", "scatter"):
        assert any(line.startswith(f"caliper.bridge[3].pads.{key} = ") for line in found.defaults_used), key


def test_everything_may_be_stated() -> None:
    stated = {
        "bolts_per_side": 3,
        "pitch_mm": 13.0,
        "setback_mm": 11.0,
        "seat_friction": [0.12, 0.3],
        "torque_Nm": 25.0,
        "scatter": 1.4,
        "hole_mm": 8.4,
        "engagement_mm": 14.0,
        "friction": 0.1,
    }
    found = parse(study(stated)).designs[0].caliper.bridges[2]
    pads = found.pads
    assert pads is not None
    assert bolt_places(found, pads) == [-13.0, 0.0, 13.0]
    assert (pads.screw.torque_Nm, pads.screw.preload_N, pads.screw.scatter) == (25.0, None, 1.4)


def test_a_bridge_without_pads_has_none() -> None:
    assert all(b.pads is None for b in parse(raw()).designs[0].caliper.bridges)


def test_a_one_piece_body_needs_no_other_bolts() -> None:
    data = study()
    data["caliper"] |= {"layout": "monoblock", "bolt": []}
    assert parse(data).designs[0].caliper.bridges[2].pads is not None


@pytest.mark.parametrize(
    ("pads", "bridge", "text"),
    [
        ({"length_mm": 34.0}, {}, "below the thickness of caliper.wall, 34"),
        ({"length_mm": 12.0}, {}, "heads wholly on the pad"),
        ({"pitch_mm": 12.0}, {}, "at least 13, the diameter of a head"),
        ({"pitch_mm": 30.0}, {}, "a row of heads 43 mm long"),
        ({"setback_mm": 6.0}, {}, "middle third"),
        ({"setback_mm": 14.0}, {}, "middle third"),
        ({"bolts_per_side": 1.5}, {}, "a whole number"),
        ({"bolts_per_side": 0}, {}, "from 1 and up to 6 bolts"),
        ({"bolts_per_side": math.nan}, {}, "from 1 and up to 6 bolts"),
        ({"thread": "M9"}, {}, 'unknown thread "M9"'),
        ({"grade": "11.9"}, {}, "unknown grade"),
        ({"hole_mm": 7.5}, {}, "from the thread's 8"),
        ({"washer": {"diameter_mm": 12.0, "thickness_mm": 1.5}}, {}, "take a larger washer"),
        ({"preload_N": 60000.0}, {}, "where M8x1.25 of grade 10.9 breaks"),
        ({"seat_friction": [0.3, 0.1]}, {}, "put the lower end first"),
        ({"frictoin": 0.2}, {}, "write friction"),
        ({"engagement_mm": 70.0}, {}, "from the seat to the bottom"),
        ({"engagement_mm": 20.0, "tapped_depth_mm": 12.0}, {}, "at most the tapped depth, 12"),
        ({"engagement_mm": 25.0}, {"x_mm": [-44.0, -4.0]}, "a tapped hole that hits caliper.bore[1]"),
        ({}, {"kind": "integral"}, "pads of an integral bridge"),
        ({}, {"y_mm": [172.0, 196.0]}, "within the height"),
        ({}, {"x_mm": [-84.0, -44.0]}, 'a slot under bridge "leading end"'),
    ],
)
def test_what_does_not_fit_is_refused(pads: dict[str, Any], bridge: dict[str, Any], text: str) -> None:
    assert text in fault(study(pads, **bridge))


def test_a_bar_with_no_height_over_the_rotor_is_refused() -> None:
    data = study()
    del data["caliper"]["bridge"][2]["y_mm"]
    data["caliper"]["wall"]["top_y_mm"] = 167.0
    assert "it floats above the metal" in fault(data)


def test_bolts_along_z_may_not_cross_the_slot() -> None:
    data = study()
    data["caliper"]["bolt"].append({"x_mm": 0.0, "y_mm": 181.0, "thread": "M8x1.25", "grade": "12.9"})
    assert "caliper.bolt[5] in the slot" in fault(data)


def test_pockets_may_not_meet_slot_or_tapped_holes() -> None:
    data = study()
    pocket = {"x_mm": [-30.0, 30.0], "y_mm": [160.0, 185.0], "depth_mm": 12.0}
    data["caliper"]["wall"]["pockets"] = [pocket]
    assert parse(data)
    data["caliper"]["wall"]["pockets"] = [pocket | {"depth_mm": 14.0}]
    assert "meets caliper.wall.pockets[1]" in fault(data)
    low = pocket | {"y_mm": [157.0, 165.0], "depth_mm": 20.5}
    data["caliper"]["wall"]["pockets"] = [low]
    assert "meets caliper.wall.pockets[1]" in fault(data)


def test_faults_are_told_at_once_and_once() -> None:
    text = fault(study({"length_mm": "long", "thread": "M9", "pitch_mm": 1.0}))
    assert (
        text.count("caliper.bridge[3].pads") == 2
    )  # what depends on the length or the head is not told again
