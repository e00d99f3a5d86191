"""Ports, reliefs and lands of joint faces: what is left out has a documented default, what does not fit is refused."""

import math
from typing import Any

import pytest
from study_sample import raw

from stiffcalc.errors import InputError
from stiffcalc.study import parse

# The sample's leading bridge reaches from x -110 to -78, its arch from y 127 to 149, its top is at 190; bolts with
# holes of 11 mm at (-94, 156) and (-94, 178).
PORT = {"x_mm": -103.0, "y_mm": 167.0}
BOX = {"x_mm": [-110.0, -104.0], "y_mm": [120.0, 145.0]}
TRIANGLE = [[-84.0, 150.0], [-78.0, 150.0], [-78.0, 160.0]]


def study(
    *,
    port: Any = None,
    relief: Any = None,
    land: Any = None,
    bridge: int = 0,
    variants: bool = False,
    **more: Any,
) -> dict[str, Any]:
    """The sample with a port, a relief, a land."""
    found = raw()
    caliper = found["caliper"]
    caliper |= more | ({} if port is None else {"port": port})
    caliper["bridge"][bridge] |= {k: v for k, v in (("relief", relief), ("land", land)) if v is not None}
    if not variants:
        found.pop("variant")
    return found


def faults(data: dict[str, Any]) -> list[str]:
    with pytest.raises(InputError) as caught:
        parse(data)
    return [str(f) for f in caught.value.faults]


def test_without_them_nothing_is_there_and_nothing_is_defaulted() -> None:
    found = parse(study())
    caliper = found.designs[0].caliper
    assert caliper.ports == ()
    assert all(b.reliefs == () and b.land is None for b in caliper.bridges)
    assert not any(word in line for line in found.defaults_used for word in ("port", "relief", "land"))


def test_a_port_needs_only_its_place() -> None:
    found = parse(study(port=PORT))
    (port,) = found.designs[0].caliper.ports
    assert (port.x, port.y, port.diameter, port.seal_diameter) == (-103.0, 167.0, 5.0, 12.0)
    assert any(line.startswith("caliper.port.diameter_mm = 5 ") for line in found.defaults_used)
    assert any(line.startswith("caliper.port.seal_diameter_mm = 12 ") for line in found.defaults_used)
    wide = parse(study(port={**PORT, "diameter_mm": 6.0})).designs[0].caliper.ports[0]
    assert wide.seal_diameter == 13.0


def test_several_ports_and_reliefs_are_lists() -> None:
    found = parse(study(port=[PORT, {"x_mm": 103.0, "y_mm": 167.0}], relief=[BOX, {"outline_mm": TRIANGLE}]))
    caliper = found.designs[0].caliper
    assert [p.x for p in caliper.ports] == [-103.0, 103.0]
    box, triangle = caliper.bridges[0].reliefs
    assert set(box) == {(-110.0, 120.0), (-104.0, 120.0), (-104.0, 145.0), (-110.0, 145.0)}
    assert triangle == tuple(tuple(corner) for corner in TRIANGLE)
    assert len(parse(study(relief=BOX)).designs[0].caliper.bridges[0].reliefs) == 1


def test_a_one_piece_variant_leaves_out_ports_and_ignores_reliefs() -> None:
    found = parse(study(port=PORT, relief=BOX, variants=True))
    two, one = found.designs
    assert two.caliper.ports and not one.caliper.ports
    assert any("leaves out the base's ports" in line for line in found.defaults_used)


def test_a_one_piece_base_may_have_reliefs_for_a_two_piece_variant() -> None:
    data = study(relief=BOX, layout="monoblock")
    bolts = data["caliper"].pop("bolt")
    data["caliper"]["bolt"] = bolts[-1:]
    data["variant"] = [{"name": "two", "set": {"caliper.layout": "two-piece", "caliper.bolt": bolts}}]
    assert len(parse(data).designs) == 2
    data.pop("variant")
    (fault,) = faults(data)
    assert "caliper.bridge[1]" in fault and "no variant joins" in fault


@pytest.mark.parametrize(
    ("changes", "where", "words"),
    [
        ({"x_mm": -107.0}, "caliper.port", "3 mm inside the nearest bridge's face"),
        ({"x_mm": 0.0, "y_mm": 140.0}, "caliper.port", "outside the nearest bridge's face"),
        ({"x_mm": -88.0, "y_mm": 145.0}, "caliper.port", "at least 6 mm inside one face"),
        ({"y_mm": 171.0}, "caliper.port", "overlaps the hole of caliper.bolt[2] by 0.09825 mm"),
        ({"diameter_mm": 12.0}, "caliper.port.seal_diameter_mm", None),
        (
            {"diameter_mm": 5.0, "seal_diameter_mm": 5.0},
            "caliper.port.seal_diameter_mm",
            "more than diameter_mm = 5",
        ),
        ({"seal_mm": 9.0}, "caliper.port.seal_mm", "write seal_diameter_mm"),
        ({"y_mm": math.nan}, "caliper.port.y_mm", "nan"),
        ({"diameter_mm": 0.0}, "caliper.port.diameter_mm", "above 0"),
        ({"diameter_mm": "5"}, "caliper.port.diameter_mm", "without quotes"),
    ],
)
def test_ports_that_do_not_fit_are_refused(changes: dict[str, Any], where: str, words: str | None) -> None:
    data = study(port={**PORT, **changes})
    if words is None:  # a seal that grows with the bore
        assert (
            parse(study(port={**PORT, "diameter_mm": 4.0})).designs[0].caliper.ports[0].seal_diameter == 11.0
        )
        return
    found = faults(data)
    assert any(f.startswith(f"{where}:") and words in f for f in found), found


def test_one_place_for_each_thing() -> None:
    (fault,) = faults(study(port=[PORT, {**PORT, "x_mm": -102.0, "seal_diameter_mm": 10.0}]))
    assert "caliper.port[2]" in fault and "overlaps the one of caliper.port[1] by 10 mm" in fault
    (fault,) = faults(study(port=PORT, relief={"x_mm": [-110, -100], "y_mm": [160, 165]}))
    assert "4 mm into caliper.bridge[1].relief[1]" in fault
    (fault,) = faults(study(port=PORT, land={"x_mm": [-106, -80], "y_mm": [145, 189]}))
    assert "hangs over the edge of caliper.bridge[1].land" in fault
    dowel = {"x_mm": -103.0, "y_mm": 167.0, "diameter_mm": 5.0}
    assert any("overlaps the hole of caliper.dowel[1]" in f for f in faults(study(port=PORT, dowel=[dowel])))


def test_a_port_in_a_one_piece_body_is_refused() -> None:
    data = study(port=PORT, layout="monoblock")
    data["caliper"]["bolt"] = data["caliper"]["bolt"][-1:]
    (fault,) = faults(data)
    assert "caliper.port" in fault and "one-piece body" in fault and 'layout = "two-piece"' in fault


@pytest.mark.parametrize(
    ("relief", "where", "words"),
    [
        ({"outline_mm": TRIANGLE, "x_mm": [-84, -80]}, "relief", "a box and an outline at once"),
        ({}, "relief", "no shape"),
        ({"x_mm": [-84, -80]}, "relief.y_mm", "nothing"),
        ({"x_mm": [-80, -84], "y_mm": [150, 160]}, "relief.x_mm", "put the lower end first"),
        ({"outline_mm": TRIANGLE[:2]}, "relief.outline_mm", "three corners or more"),
        ({"outline_mm": "square"}, "relief.outline_mm", '"square"'),
        ({"outline_mm": [[-84, 150], [-78, 150], 3]}, "relief.outline_mm[3]", "two numbers"),
        ({"outline_mm": [[-84, 150], [-78, "a"], [-78, 160]]}, "relief.outline_mm[2][2]", "without quotes"),
        ({"outline_mm": [*TRIANGLE, TRIANGLE[0]]}, "relief.outline_mm", "the first not again at the end"),
        (
            {"outline_mm": [[-84, 150], [-78, 160], [-78, 150], [-84, 160]]},
            "relief.outline_mm",
            "corner 1 to 2, corner 3",
        ),
        ({"outline_mm": TRIANGLE, "depth_mm": 0.1}, "relief.depth_mm", "unknown key"),
        ({"x_mm": [80, 90], "y_mm": [150, 160]}, "relief[1]", "outside the face"),
        ({"x_mm": [-110, -78], "y_mm": [120, 190]}, "", "nothing touches"),
        ({"x_mm": [-110, -78], "y_mm": [120, 187]}, "", "a strip 3 mm wide touches"),
        ({"x_mm": [-110, -78], "y_mm": [120, 168]}, "", "under the head of caliper.bolt[1]"),
        (5, "relief", "a list of tables"),
    ],
)
def test_reliefs_that_do_not_fit_are_refused(relief: Any, where: str, words: str) -> None:
    found = faults(study(relief=relief))
    place = f"caliper.bridge[1].{where}" if where else "caliper.bridge[1]"
    assert any(f.startswith(f"{place}:") and words in f for f in found), found


def test_lands_that_do_not_fit_are_refused() -> None:
    ring = {"x_mm": [-110, -78], "y_mm": [166, 190]}
    (fault,) = faults(study(land=ring))
    assert "under the head of caliper.bolt[1]" in fault and "from 11 to 16 mm" in fault
    assert "outside the face" in faults(study(land={"x_mm": [0, 5], "y_mm": [0.5, 2]}))[0]
    # part of the ring under each head is enough
    assert parse(study(land={"x_mm": [-94, -78], "y_mm": [150, 185]})).designs[0].caliper.bridges[0].land


def test_an_overhang_is_where_a_cutter_runs_out() -> None:
    assert parse(study(relief={"x_mm": [-130, -105], "y_mm": [100, 140]})).designs


def test_variants_reach_into_ports_and_reliefs() -> None:
    data = study(port=PORT, relief=[BOX])
    data["variant"] = [
        {"name": "moved", "set": {"caliper.port.y_mm": 166.5}},
        {"name": "bare", "set": {"caliper.port": [], "caliper.bridge[1].relief": []}},
        {"name": "more", "set": {"caliper.bridge[1].relief[2]": {"outline_mm": TRIANGLE}}},
    ]
    base, moved, bare, more = (d.caliper for d in parse(data).designs)
    assert (base.ports[0].y, moved.ports[0].y, bare.ports) == (167.0, 166.5, ())
    assert [len(c.bridges[0].reliefs) for c in (base, bare, more)] == [1, 0, 2]
