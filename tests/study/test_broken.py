"""Broken study files: each kind of fault is refused, at the right place, in words that help."""

import math
from pathlib import Path
from typing import Any

import pytest
from study_sample import TEXT, raw, remove, with_changes

from stiffcalc.errors import InputError
from stiffcalc.study import load, parse

C = "caliper"
V = 'variant[1] "one piece"'
POCKET = {"x_mm": [-20.0, 20.0], "y_mm": [106.0, 112.0], "depth_mm": 5.0}


def pocket(**changes: Any) -> dict[str, Any]:
    return {**POCKET, **changes}


def own(**changes: Any) -> tuple[Any, ...]:
    alloy = {
        "E_MPa": 71000.0,
        "nu": 0.33,
        "density_kg_m3": 2800.0,
        "expansion_per_K": 23e-6,
        "yield_MPa": 400.0,
    }
    alloy |= {"ultimate_MPa": 450.0}
    return ("material", {"house": {**alloy, **changes}})


def variant(**changes: Any) -> tuple[Any, ...]:
    return ("variant", 0, "set", {key.replace("__", "."): value for key, value in changes.items()})


def set_(path: str, value: Any) -> tuple[Any, ...]:
    return ("variant", 0, "set", {path: value})


BOLT = {"x_mm": 94.0, "y_mm": 167.0, "thread": "M6x1", "grade": "12.9"}

# changes to the valid study; where the fault stands; a word of its text
BROKEN: list[tuple[list[tuple[Any, ...]], str, str]] = [
    # the file's own frame
    ([remove("format")], "format", "add format"),
    ([("format", 2)], "format", "1"),
    ([("format", True)], "format", "true"),
    ([("format", "1")], "format", '"1"'),
    ([remove("study")], "study", "[study]"),
    ([("study", "title", "  ")], "study.title", "not empty"),
    ([("study", "title", 5)], "study.title", "text"),
    ([remove("rotor")], "rotor", "[rotor]"),
    ([("rotor", [1.0])], "rotor", "a table"),
    ([remove("pad")], "pad", "a table"),
    ([remove("caliper")], "caliper", "a table"),
    ([("calliper", {})], "calliper", "write caliper"),
    # numbers
    ([("rotor", "outer_radius_mm", math.nan)], "rotor.outer_radius_mm", "nan"),
    ([("rotor", "outer_radius_mm", math.inf)], "rotor.outer_radius_mm", "finite"),
    ([("rotor", "outer_radius_mm", -math.inf)], "rotor.outer_radius_mm", "-inf"),
    ([("rotor", "thickness_mm", -28.0)], "rotor.thickness_mm", "above 0"),
    ([("rotor", "thickness_mm", 0)], "rotor.thickness_mm", "above 0"),
    ([("rotor", "thickness_mm", 10**400)], "rotor.thickness_mm", "finite"),
    ([("rotor", "thickness_mm", "28")], "rotor.thickness_mm", "without quotes"),
    ([("rotor", "thickness_mm", True)], "rotor.thickness_mm", "true"),
    ([("rotor", "edge_clearance_mm", -1)], "rotor.edge_clearance_mm", "from 0"),
    ([("pad", "friction", 0.0)], "pad.friction", "above 0"),
    ([("pad", "friction", 1.2)], "pad.friction", "up to 1"),
    ([remove("pad", "height_mm")], "pad.height_mm", "add height_mm"),
    # unknown keys
    ([("rotor", "outer_radius", 165.0)], "rotor.outer_radius", "write outer_radius_mm"),
    ([(C, "bore", 0, "diametre_mm", 42.0)], "caliper.bore[1].diametre_mm", "write diameter_mm"),
    ([(C, "wall", "colour", "red")], "caliper.wall.colour", "remove it"),
    ([(C, "bolt", 1, "washer", {"diameter": 20})], "caliper.bolt[2].washer.diameter", "diameter_mm"),
    ([("limits", "spread", 1.0)], "limits.spread", "write spread_mm"),
    ([("limits", "factors", {"serivce": 1.5})], "limits.factors.serivce", "write service"),
    ([("load_case", 0, "presure_MPa", 1.0)], "load_case[1].presure_MPa", "write pressure_MPa"),
    ([("variant", 0, "sets", {})], "variant[1].sets", "write set"),
    # pad against rotor and itself
    ([("pad", "friction_range", [0.5, 0.6])], "pad.friction_range", "holds friction"),
    ([("pad", "friction_range", [0.5, 0.3])], "pad.friction_range", "lower end first"),
    ([("pad", "friction_range", [0.3])], "pad.friction_range", "two numbers"),
    ([("pad", "worn_thickness_mm", 17.0)], "pad.worn_thickness_mm", "thinner than new"),
    ([("pad", "backing_mm", 8.0), ("pad", "worn_thickness_mm", 8.0)], "pad.backing_mm", "worn_thickness_mm"),
    ([("pad", "running_clearance_mm", 16.5)], "pad.running_clearance_mm", "thickness_mm"),
    ([("pad", "height_mm", 170.0)], "pad.height_mm", "on the disc"),
    ([("pad", "length_mm", 340.0)], "pad.length_mm", "on the disc"),
    # walls
    ([(C, "wall", "floor_mm", 34.0)], "caliper.wall.floor_mm", "below thickness_mm"),
    ([(C, "wall", "top_y_mm", 100.0)], "caliper.wall.top_y_mm", "above bottom_y_mm"),
    ([(C, "outboard", {"floor_mm": 40.0})], "caliper.outboard.floor_mm", "below thickness_mm"),
    ([(C, "inboard", {"thicknes_mm": 40.0})], "caliper.inboard.thicknes_mm", "write thickness_mm"),
    ([remove(C, "wall")], "caliper.wall", "a table"),
    ([(C, "layout", "mono")], "caliper.layout", "monoblock"),
    ([remove(C, "layout")], "caliper.layout", "add layout"),
    ([(C, "material", "2014T6")], "caliper.material", 'write "2014-T6"'),
    # bores
    ([(C, "bore", [])], "caliper.bore", "at least one bore"),
    ([(C, "bore", 3)], "caliper.bore", "two brackets"),
    ([(C, "bore", 0, 7)], "caliper.bore[1]", "a table"),
    ([(C, "bore", 0, "x_mm", 0.0)], "caliper.bore[2]", "overlap"),
    ([(C, "bore", 0, "y_mm", 120.0)], "caliper.bore[1]", "inside"),
    ([(C, "bore", 1, "x_mm", 400.0)], "caliper.bore[2]", "outside the edge"),
    ([("rotor", "outer_radius_mm", 137.0)], "caliper.bore[1]", "rotor's axis"),
    ([(C, "bore", 0, "side", "inboard")], "caliper.bore[1]", "push the disc aside"),
    ([(C, "bore", 0, "side", "left")], "caliper.bore[1].side", "inboard"),
    # pockets
    ([(C, "wall", "pockets", [pocket(x_mm=[-120.0, 0.0])])], "caliper.wall.pockets[1]", "outside the wall"),
    ([(C, "wall", "pockets", [pocket(depth_mm=35.0)])],
     "caliper.wall.pockets[1].depth_mm", "wall's thickness"),
    ([(C, "wall", "pockets", [pocket(y_mm=[106, 120], x_mm=[-40, -20], depth_mm=9.0)])],
     "caliper.wall.pockets[1].depth_mm", "floor"),
    ([(C, "wall", "pockets", [POCKET, pocket(x_mm=[10.0, 30.0])])], "caliper.wall.pockets[2]", "overlap"),
    ([(C, "wall", "pockets", [pocket(x_mm=[20.0, -20.0])])],
     "caliper.wall.pockets[1].x_mm", "lower end first"),
    ([(C, "outboard", {"pockets": [pocket(depth_mm=40.0)]})],
     "caliper.outboard.pockets[1].depth_mm", "below 34"),
    # bridges
    ([remove(C, "bridge")], "caliper.bridge", "at least one bridge"),
    ([(C, "bridge", 0, "x_mm", [-120.0, -78.0])], "caliper.bridge[1].x_mm", "length of caliper.wall"),
    ([(C, "bridge", 2, "y_mm", [172.0, 195.0])], "caliper.bridge[3].y_mm", "height of caliper.wall"),
    ([(C, "bridge", 1, "x_mm", [5.0, 110.0])], "caliper.bridge[3].x_mm", "overlap"),
    ([(C, "wall", "top_y_mm", 145.0)], "caliper.bridge[1]", "floats"),
    ([(C, "bridge", 2, "y_mm", [160.0, 190.0])], "caliper.bridge[3].y_mm[1]", "168"),
    ([(C, "bridge", 0, "x_mm", [-110.0, -12.5]), (C, "bore", 0, "y_mm", 148.0)],
     "caliper.bridge[1]", "bore[1]"),
    ([(C, "bridge", 1, "name", "leading end")], "caliper.bridge[2].name", "duplicate name"),
    ([(C, "bridge", 0, "material", "6082-T6")], "caliper.bridge[1].material", "bolted-in"),
    ([(C, "bridge", 2, "material", "6082")], "caliper.bridge[3].material", 'write "6082-T6"'),
    ([remove(C, "bridge", 1, "x_mm")], "caliper.bridge[2].x_mm", "add x_mm"),
    ([(C, "bridge", 1, "x_mm", {"low": 78})], "caliper.bridge[2].x_mm", "found a table"),
    ([(C, "bridge", 1, "x_mm", [78, 90, 110])], "caliper.bridge[2].x_mm", "found a list of 3"),
    ([(C, "bridge", 2, "y_mm", [172.0, 185.0])], "caliper.bolt[5]", "4 mm from the edge of bridge"),
    ([(C, "bridge", 1, "fillet_mm", 31.0)], "caliper.bridge[2].fillet_mm", "half the gap"),
    ([(C, "bridge", 0, "kind", "integrated")], "caliper.bridge[1].kind", 'write "integral"'),
    # layouts and bolts
    ([remove(C, "bolt"), (C, "bridge", 2, "kind", "integral")], "caliper.bolt", "two-piece body is held"),
    ([(C, "layout", "monoblock")], "caliper.bolt[1]", "one-piece body"),
    ([remove(C, "bolt", 4)], "caliper.bridge[3]", "without bolts"),
    ([(C, "bolt", 0, "x_mm", -60.0)], "caliper.bolt[1]", 'outside the nearest bridge "leading end"'),
    ([(C, "bolt", 0, "y_mm", 137.0)], "caliper.bolt[1]", "outside the nearest bridge"),
    ([(C, "bolt", 0, "y_mm", 142.0)], "caliper.bolt[1]", "so that metal is left"),
    ([(C, "bolt", 0, "x_mm", -83.0)], "caliper.bolt[1]", "from the edge of bridge"),
    ([(C, "bolt", 0, "x_mm", -40.0)], "caliper.bolt[1]", "hits caliper.bore[1]"),
    ([(C, "bolt", 1, "y_mm", 184.0)], "caliper.bolt[2]", "hangs over the edge"),
    ([(C, "bolt", 0, "y_mm", 165.0)], "caliper.bolt[2]", "overlaps the one of caliper.bolt[1]"),
    ([(C, "wall", "pockets", [pocket(x_mm=[-105.0, -90.0], y_mm=[150.0, 170.0])])],
     "caliper.bolt[1]", "across the edge of caliper.wall.pockets[1]"),
    ([(C, "bolt", 0, "thread", "M10x1.4")], "caliper.bolt[1].thread", 'write "M10x1.5"'),
    ([(C, "bolt", 0, "grade", "12,9")], "caliper.bolt[1].grade", 'write "12.9"'),
    ([(C, "bolt", 0, "grade", 12.9)], "caliper.bolt[1].grade", "text in quotes"),
    ([(C, "bolt", 0, "preload_N", 80e3)], "caliper.bolt[1].preload_N", "breaks"),
    ([(C, "bolt", 0, "engagement_mm", 35.0)], "caliper.bolt[1].engagement_mm", "wall's thickness"),
    ([(C, "bolt", 0, "washer", {"diameter_mm": 14, "thickness_mm": 2})],
     "caliper.bolt[1].washer.diameter_mm", "head's diameter"),
    ([(C, "bolt", 0, "washer", {"diameter_mm": 20})], "caliper.bolt[1].washer.thickness_mm", "nothing"),
    ([(C, "bolt", i, "washer", {"diameter_mm": 24, "thickness_mm": 2}) for i in (2, 3)],
     "caliper.bolt[4]", "overlaps the one of caliper.bolt[3] by 2 mm"),
    ([(C, "bolt", 0, "hole_mm", 9.0)], "caliper.bolt[1].hole_mm", "thread's 10"),
    ([(C, "bolt", 0, "hole_mm", 16.0)], "caliper.bolt[1].hole_mm", "head's diameter"),
    ([(C, "bolt", 0, "friction", 0.0)], "caliper.bolt[1].friction", "above 0"),
    ([(C, "bolt", 0, "friction_head", 1.5)], "caliper.bolt[1].friction_head", "up to 1"),
    ([(C, "bolt", 0, "scatter", 0.9)], "caliper.bolt[1].scatter", "from 1"),
    ([(C, "bolt", 5, {**BOLT, "bolt": 1})], "caliper.bolt[6].bolt", "remove it"),
    # pistons
    ([(C, "piston", {"wall_mm": 21.0})], "caliper.piston.wall_mm", "radius of the smallest bore"),
    ([(C, "piston", {"crown_mm": 25.0})], "caliper.piston.crown_mm", "depth of the bores"),
    ([(C, "fluid_depth_mm", 30.0)], "caliper.fluid_depth_mm", "depth of the bores"),
    ([(C, "fittings_g", -1.0)], "caliper.fittings_g", "a number from 0"),
    ([(C, "fittings_g", float("nan"))], "caliper.fittings_g", "a number from 0"),
    ([(C, "fittings_g", "46 g")], "caliper.fittings_g", "number"),
    ([(C, "piston", {"material": "S35"})], "caliper.piston.material", 'write "S355"'),
    ([(C, "joint_friction", 0)], "caliper.joint_friction", "above 0"),
    ([(C, "joint_friction", [0.2, 0.1])], "caliper.joint_friction", "lower end first"),
    ([(C, "bolt", 0, "tapped_depth_mm", 12.0), (C, "bolt", 0, "engagement_mm", 15.0)],
     "caliper.bolt[1].engagement_mm", "tapped depth, 12"),
    ([(C, "bolt", 0, "tapped_depth_mm", 40.0)], "caliper.bolt[1].tapped_depth_mm", "wall's thickness"),
    ([(C, "bolt", 0, "roughness", "course")], "caliper.bolt[1].roughness", 'write "coarse"'),
    ([(C, "bolt", 0, "creep_loss_percent", 100.0)], "caliper.bolt[1].creep_loss_percent", "below 100"),
    ([(C, "bolt", 0, "creep_loss", 2.0)], "caliper.bolt[1].creep_loss", "write creep_loss_percent"),
    ([(C, "bolt", 0, "thread_rolled", "later")], "caliper.bolt[1].thread_rolled", '"after"'),
    ([(C, "bolt", 0, "insert", "yes")], "caliper.bolt[1].insert", "true or false"),
    ([(C, "dowel", [{"x_mm": 0.0, "y_mm": 150.0, "diameter_mm": 8.0}])], "caliper.dowel[1]", "jointed bridge"),
    ([(C, "dowel", [{"x_mm": -94.0, "y_mm": 162.0, "diameter_mm": 8.0}])], "caliper.dowel[1]", "cuts the hole of"),
    ([(C, "dowel", [{"x_mm": -94.0, "y_mm": 167.0, "diameter_mm": 6.0, "bore_mm": 6.0}])],
     "caliper.dowel[1].bore_mm", "below diameter_mm"),
    ([("life", {"cold_C": 30.0})], "life.cold_C", "hot body's 20"),
    ([("life", {"hot_bod_C": 120.0})], "life.hot_bod_C", "write hot_body_C"),
    ([("life", {"soak_loss_percent": -1.0})], "life.soak_loss_percent", "from 0"),
    # load cases
    ([remove("load_case")], "load_case", "at least one load case"),
    ([("load_case", 0, "pressure_MPa", 0)], "load_case[1].pressure_MPa", "above 0"),
    ([("load_case", 0, "pressure_MPa", 120)], "load_case[1].pressure_MPa", "unit"),
    ([("load_case", 0, "body_temperature_C", -300)], "load_case[1].body_temperature_C", "-273.15"),
    ([("load_case", 0, "drag", "yes")], "load_case[1].drag", "true or false"),
    ([("load_case", 0, "kind", "normal")], "load_case[1].kind", "service"),
    ([("load_case", 1, "name", "hard stop")], "load_case[2].name", "duplicate name"),
    ([("load_case", 1, "pressure_MPa", 9)], "load_case[2].pressure_MPa", "highest service pressure"),
    ([("load_case", 1, "kind", "fatigue"), ("load_case", 1, "cycles", 0)], "load_case[2].cycles", "from 1"),
    # limits
    ([("limits", "spread_mm", -0.1)], "limits.spread_mm", "above 0"),
    ([("limits", "mass_kg", math.nan)], "limits.mass_kg", "nan"),
    ([("limits", "clamp_force_N", 50e3)], "limits.clamp_force_N", "at most 27709"),
    ([("limits", "factors", {"service": 0.1})], "limits.factors.service", "from 0.5"),
    # own materials
    ([own(nu=0.5)], "material.house.nu", "below 0.5"),
    ([own(E_MPa=71.0)], "material.house.E_MPa", "unit"),
    ([own(yield_MPa=460.0)], "material.house.yield_MPa", "ultimate_MPa"),
    ([own(yield_MPa=[[20, 400.0]])], "material.house.yield_MPa", "two points"),
    ([own(yield_MPa=[[20, 400.0], [10, 390.0]])], "material.house.yield_MPa", "rising"),
    ([own(yield_MPa=[[50, 400.0], [100, 390.0]])], "material.house.yield_MPa", "20 °C"),
    ([own(yield_MPa=[[20, 400.0], [100, -1.0]])], "material.house.yield_MPa[2][2]", "above"),
    ([own(yield_MPa=[[20, 400.0], 3])], "material.house.yield_MPa[2]", "a point"),
    ([own(E=71000.0)], "material.house.E", "write E_MPa"),
    ([("material", {"2014-T6": own()[1]["house"]})], "material.2014-T6", "catalogue"),
    ([("material", 3)], "material", "a table"),
    # variants
    ([("variant", 1, {"name": "one piece", "set": {"pad.friction": 0.5}})],
     "variant[2].name", "duplicate name"),
    ([("variant", 0, "name", "base")], 'variant[1] "base": name', "duplicate name"),
    ([remove("variant", 0, "set")], "variant[1].set", "a table"),
    ([("variant", 0, "set", {})], "variant[1].set", "at least one path"),
    ([remove("variant", 0, "name")], "variant[1].name", "nothing"),
    ([set_("caliper.wal.thickness_mm", 30.0)], f"{V}: caliper.wal", "write wall"),
    ([set_("caliper.wall.thickness", 30.0)], f"{V}: caliper.wall.thickness", "write thickness_mm"),
    ([set_("calliper.layout", "monoblock")], f'{V}: set."calliper.layout"', "begin with caliper"),
    ([set_("study.title", "x")], f'{V}: set."study.title"', "cannot be set"),
    ([set_("caliper..layout", "x")], f'{V}: set."caliper..layout"', "no path"),
    ([set_("", "x")], f'{V}: set.""', "no path"),
    ([set_("caliper.bolt[0].x_mm", 90.0)], f'{V}: set."caliper.bolt[0].x_mm"', "count from 1"),
    ([set_("caliper.bolt[9].x_mm", 90.0)], f'{V}: set."caliper.bolt[9].x_mm"', "[6] to add one"),
    ([set_("caliper.bolt.x_mm", 90.0)], f'{V}: set."caliper.bolt.x_mm"', "index in brackets"),
    ([set_("caliper.layout[1]", 90.0)], f'{V}: set."caliper.layout[1]"', "an index into"),
    ([set_("caliper.wall.thickness_mm", -3.0)], f"{V}: caliper.wall.thickness_mm", "above 0"),
    ([variant(caliper__layout="monoblock", caliper__bolt=[BOLT])], f"{V}: caliper.bolt[1]", "one-piece body"),
    ([set_("caliper.bridge[4]", {"name": "centre", "x_mm": [20, 40]})],
     f"{V}: caliper.bridge[4].name", "duplicate"),
]  # fmt: skip


def faults_of(source: Any) -> list[Any]:
    with pytest.raises(InputError) as error:
        parse(source)
    assert isinstance(error.value, ValueError)
    return list(error.value.faults)


def test_the_sample_itself_is_valid() -> None:
    assert [d.name for d in parse(TEXT).designs] == ["base", "one piece"]
    assert parse(raw()).title == "sample"


@pytest.mark.parametrize(("changes", "where", "word"), BROKEN, ids=lambda v: v if isinstance(v, str) else "")
def test_a_broken_file_is_refused_where_it_is_broken(
    changes: list[tuple[Any, ...]], where: str, word: str
) -> None:
    faults = faults_of(with_changes(*changes))
    here = [str(f) for f in faults if f.where == where]
    assert here, f"no fault at {where}; found {[str(f) for f in faults]}"
    assert any(word in text for text in here), f"{word!r} not in {here}"
    for fault in faults:
        assert all((fault.where, fault.found, fault.allowed, fault.mend)), f"a part is empty: {fault!r}"
        assert "\n" not in str(fault)


def test_one_mistake_gives_one_fault() -> None:
    """What one slip makes unreadable is not reported again in other words, nor for each variant."""
    slips = [
        [("rotor", "outer_radius_mm", "165")],
        [("rotor", "outer_radius_mm", math.nan)],
        [(C, "wall", "thickness_mm", True)],
        [(C, "wall", "top_y_mm", None)],
        [(C, "bore", 0, "diameter_mm", -1)],
        [(C, "bore", 0, {"x_mm": -30.0, "y_mm": 135.0, "diameter_mm": -1, "side": "inboard"})],
        [(C, "bolt", 0, "thread", "M11")],
        [(C, "bolt", 0, "x_mm", "left")],
        [(C, "bolt", 4, "y_mm", math.inf)],
        [(C, "bridge", 2, "x_mm", [0.0])],
        [(C, "bridge", 2, "kind", "bolted")],
        [(C, "layout", "two piece")],
        [(C, "material", "x")],
        [remove("load_case", 0, "pressure_MPa")],
        [own(yield_MPa=[[20, 400], ["hot", 300]])],
        [remove("rotor")],
        [remove("caliper")],
    ]
    for changes in slips:
        faults = faults_of(with_changes(*changes))
        assert len(faults) == 1, f"{changes}: {[str(f) for f in faults]}"


def test_all_faults_are_listed_at_once() -> None:
    broken = with_changes(
        ("format", 3),
        ("rotor", "thickness_mm", -1),
        ("pad", "heigth_mm", 3),
        (C, "bore", 1, "x_mm", 5.0),
        (C, "bolt", 0, "grade", "13.9"),
        (C, "bolt", 3, "x_mm", 60.0),
        ("load_case", 0, "pressure_MPa", math.nan),
        ("limits", "mass_kg", "light"),
        ("variant", 0, "set", {"caliper.wall.floor_mm": 50.0}),
    )
    assert {f.where for f in faults_of(broken)} == {
        "format",
        "rotor.thickness_mm",
        "pad.heigth_mm",
        "caliper.bore[2]",
        "caliper.bolt[1].grade",
        "caliper.bolt[4]",
        "load_case[1].pressure_MPa",
        "limits.mass_kg",
        'variant[1] "one piece": caliper.wall.floor_mm',
    }


FILES = [
    (b"\x7fELF\x02\x01\x00\x00\xff\xfe", "text in UTF-8"),
    (b'format = 1\ntitle = "caf\xe9"\n', "line 2"),
    (TEXT.encode("utf-16"), "UTF-8"),
    (b"format = 1\0\n", "zero bytes"),
    (b"a = " + b"[" * 5000 + b"]" * 5000, "deeply nested"),
    (b"a = " + b"9" * 5000, "too long"),
    (b"x = 1\n" * 200_000, "at most 1000000"),
    (b"", "format"),
]


@pytest.mark.parametrize(("content", "word"), FILES, ids=[word for _, word in FILES])
def test_junk_is_refused(tmp_path: Path, content: bytes, word: str) -> None:
    path = tmp_path / "study.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=word):
        load(path)


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        ("format = 1\n[study\n", 2, 7),
        ("format = 1\nformat = 2\n", 2, 11),
        ('format = 1\n[study]\ntitle = "open\n', 3, 14),
        ("format = 1\nx = [1, 2", 2, 10),
    ],
)
def test_a_syntax_error_says_line_and_column(tmp_path: Path, text: str, line: int, column: int) -> None:
    path = tmp_path / "study.toml"
    path.write_text(text)
    with pytest.raises(InputError) as error:
        load(path)
    (fault,) = error.value.faults
    assert fault.where == f"{path}, line {line}, column {column}"


def test_what_the_system_refuses_is_said_in_its_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "study.toml"
    path.write_text(TEXT)

    def refuse(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(InputError, match=r"study\.toml: found Permission denied; allowed: a readable file"):
        load(path)


def test_what_is_no_readable_file_is_refused(tmp_path: Path) -> None:
    for path, word in (
        (tmp_path / "none.toml", "no such file"),
        (tmp_path, "a folder"),
        (Path("/dev/null"), "plain file"),
    ):
        with pytest.raises(InputError, match=word):
            load(path)
    with pytest.raises(InputError):
        load("a\0b.toml")
