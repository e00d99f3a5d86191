"""What a valid study becomes: values, overrides, variants, defaults with their reasons."""

import hashlib
import math
import random
from pathlib import Path
from typing import Any

import pytest
from study_sample import TEXT, parse_base, raw, remove, with_changes

from stiffcalc import catalogue
from stiffcalc.errors import InputError
from stiffcalc.study import defaults, load, parse
from stiffcalc.study.schema import Study

ROOT = Path(__file__).parents[2]
C = "caliper"

MINIMAL = """
format = 1
study = { title = "least" }
rotor = { outer_radius_mm = 165, thickness_mm = 28 }
pad = { thickness_mm = 16, height_mm = 50, length_mm = 110 }
[caliper]
layout = "two-piece"
wall = { length_mm = 220, bottom_y_mm = 105, top_y_mm = 190, thickness_mm = 34 }
bore = [{ x_mm = 0, y_mm = 135, diameter_mm = 42 }]
bridge = [{ name = "a", x_mm = [-110, -78] }, { name = "b", x_mm = [78, 110] }]
bolt = [
  { x_mm = -94, y_mm = 170, thread = "M10x1.5", grade = "12.9" },
  { x_mm = 94, y_mm = 170, thread = "M10x1.5", grade = "10.9" },
]
[[load_case]]
name = "stop"
pressure_MPa = 8
"""


def test_the_least_study_works_and_lists_every_default_with_its_reason() -> None:
    study = parse(MINIMAL)
    (design,) = study.designs
    lines = "\n".join(study.defaults_used)
    caliper, (first, second) = design.caliper, design.caliper.bolts
    assert design.rotor.edge_clearance == 3.0 and "rotor.edge_clearance_mm = 3 (" in lines
    assert caliper.material == catalogue.material("2014-T6") and 'caliper.material = "2014-T6" (' in lines
    assert (
        caliper.inboard.floor == pytest.approx(0.22 * 42, abs=0.05)
        and "caliper.wall.floor_mm = 9.2 (" in lines
    )
    assert (first.hole, first.engagement, first.scatter) == (11.0, 20.0, 1.6)
    assert "caliper.bolt[1,2].hole_mm = 11 (ISO 273 medium series)" in lines
    # three quarters of the ISO 898-1 proof loads 56 300 N (12.9) and 48 100 N (10.9) of an M10
    assert first.preload_N == pytest.approx(0.75 * 56_300, rel=0.002)
    assert second.preload_N == pytest.approx(0.75 * 48_100, rel=0.002)
    assert (first.torque_Nm, first.washer_diameter, first.washer_thickness) == (None, None, 0.0)
    (case,) = design.load_cases
    assert (case.kind, case.drag, case.body_temperature_C, case.bolt_temperature_C) == (
        "service",
        False,
        20,
        20,
    )
    assert "pad.friction_range = [0.32, 0.48] (" in lines
    assert "bridge[1,2].fillet_mm" in lines and "bridge[1,2].material" not in lines
    assert dict(design.limits.factors) == {k: d.value for k, d in defaults.FACTORS.items()}
    assert design.limits.spread is None
    assert all(line.endswith(")") and " = " in line and "()" not in line for line in study.defaults_used)
    assert len(set(study.defaults_used)) == len(study.defaults_used)


def test_what_the_file_states_is_not_listed_as_a_default() -> None:
    stated = parse(with_changes((C, "fluid_depth_mm", 3.0)))
    assert not [line for line in stated.defaults_used if "fluid_depth" in line]
    assert [line for line in parse(raw()).defaults_used if "fluid_depth" in line]


def test_tightening_is_taken_as_stated() -> None:
    torque = parse(with_changes((C, "bolt", 0, "torque_Nm", 70))).designs[0].caliper.bolts[0]
    preload = parse(with_changes((C, "bolt", 0, "preload_N", 40e3))).designs[0].caliper.bolts[0]
    assert (torque.torque_Nm, torque.preload_N) == (70.0, None)
    assert (preload.torque_Nm, preload.preload_N) == (None, 40e3)


def test_only_a_fatigue_case_has_cycles_unless_stated() -> None:
    cases = parse(with_changes(("load_case", 1, "kind", "fatigue"))).designs[0].load_cases
    assert [c.cycles for c in cases] == [None, 1e6]
    stated = parse(with_changes(("load_case", 0, "cycles", 5000))).designs[0].load_cases
    assert [c.cycles for c in stated] == [5000.0, None]


def test_whole_numbers_are_numbers() -> None:
    rotor = parse(with_changes(("rotor", "outer_radius_mm", 165))).designs[0].rotor
    assert isinstance(rotor.outer_radius, float) and rotor.outer_radius == 165.0


def test_a_half_overrides_any_key_of_the_wall() -> None:
    caliper = parse(with_changes((C, "outboard", {"thickness_mm": 30, "floor_mm": 8}))).designs[0].caliper
    assert (caliper.inboard.thickness, caliper.inboard.floor) == (34.0, 9.0)
    assert (caliper.outboard.thickness, caliper.outboard.floor, caliper.outboard.length) == (30.0, 8.0, 220.0)


def test_a_fault_of_the_common_wall_is_reported_there_despite_an_override() -> None:
    with pytest.raises(InputError) as error:
        parse(with_changes((C, "outboard", {"floor_mm": 8}), (C, "wall", "thickness_mm", "34")))
    assert [f.where for f in error.value.faults] == ["caliper.wall.thickness_mm"]


def test_facing_bores_given_a_side_each_become_one() -> None:
    bores = raw()["caliper"]["bore"]
    sided = [{**b, "side": s} for b in bores for s in ("outboard", "inboard")]
    caliper = parse(with_changes((C, "bore", sided))).designs[0].caliper
    assert caliper.bores == parse(raw()).designs[0].caliper.bores


def test_a_pocket_may_hold_a_head_or_lie_behind_a_bore_if_shallow() -> None:
    seat = {"x_mm": [-105.0, -83.0], "y_mm": [146.0, 167.0], "depth_mm": 3.0}
    behind = {"x_mm": [-35.0, 35.0], "y_mm": [120.0, 140.0], "depth_mm": 3.0}
    assert (
        len(parse(with_changes((C, "wall", "pockets", [seat, behind]))).designs[0].caliper.inboard.pockets)
        == 2
    )


def test_own_materials_with_curves() -> None:
    alloy = {"E_MPa": [[0, 72000], [40, 70000], [100, 68000]], "nu": 0.33, "density_kg_m3": 2800}
    alloy |= {"expansion_per_K": 23e-6, "yield_MPa": [[20, 400], [120, 300]], "ultimate_MPa": 450}
    found = (
        parse(with_changes(("material", {"house": alloy}), (C, "material", "house")))
        .designs[0]
        .caliper.material
    )
    assert abs(found.E - 71000) < 1e-6
    assert found.yield_MPa == 400  # at 20 °C, on the straight line
    hot = found.at(70.0)
    assert (hot.E, hot.yield_MPa) == pytest.approx((69000, 350))
    assert [flag for flag in hot.flags if "ultimate_MPa" in flag] and len(hot.flags) == 1
    assert found.status == "given in the study"


def test_spellings_of_a_thread_are_made_one() -> None:
    for written in ("M10", "m10 x 1.50", "M10×1.5"):
        assert (
            parse(with_changes((C, "bolt", 0, "thread", written))).designs[0].caliper.bolts[0].thread
            == "M10x1.5"
        )


# variants


def test_a_one_piece_variant_leaves_out_the_bolts_but_those_of_bolted_in_bridges_and_says_so() -> None:
    base, one_piece = parse(raw()).designs
    assert len(base.caliper.bolts) == 5
    assert [b.thread for b in one_piece.caliper.bolts] == ["M8x1.25"]
    assert [
        line for line in parse(raw()).defaults_used if line.startswith('variant[1] "one piece": caliper.bolt')
    ]


def test_a_variant_that_drops_nothing_says_nothing_of_bolts() -> None:
    bolts = raw()["caliper"]["bolt"]
    one_piece = with_changes((C, "layout", "monoblock"), (C, "bolt", bolts[4:]))
    lines = parse(one_piece).defaults_used
    assert not [line for line in lines if "leaves out" in line]


def varied(changes: dict[str, Any]) -> Any:
    return parse(with_changes(("variant", 0, {"name": "v", "set": changes}))).designs[1]


def test_paths_reach_tables_lists_and_what_the_base_leaves_to_defaults() -> None:
    assert varied({"caliper.bore[2].diameter_mm": 38}).caliper.bores[1].diameter == 38.0
    assert varied({"caliper.piston.wall_mm": 3}).caliper.piston.wall == 3.0
    assert varied({"pad.friction": 0.3}).pad.friction_range == pytest.approx((0.24, 0.36))
    assert varied({"load_case[1].pressure_MPa": 12}).load_cases[0].pressure == 12.0
    added = varied({"caliper.bridge[4]": {"name": "fourth", "x_mm": [40, 60]}})
    assert [b.name for b in added.caliper.bridges][3] == "fourth"
    bolts = raw()["caliper"]["bolt"]
    assert len(varied({"caliper.bolt": [bolts[0], bolts[2], bolts[4]]}).caliper.bolts) == 3
    quoted = {
        'material."my alloy"': {**_ALLOY},
        "caliper.material": "my alloy",
        'material."my alloy".nu': 0.3,
    }
    assert varied(quoted).caliper.material.nu == 0.3


_ALLOY = {"E_MPa": 71e3, "nu": 0.33, "density_kg_m3": 2800, "expansion_per_K": 23e-6, "yield_MPa": 400}
_ALLOY |= {"ultimate_MPa": 450}


def test_a_variant_leaves_the_base_and_the_echo_alone() -> None:
    study = parse(with_changes(("variant", 0, {"name": "v", "set": {"caliper.bore[1].diameter_mm": 38}})))
    assert [d.caliper.bores[0].diameter for d in study.designs] == [42.0, 38.0]
    assert study.source["caliper"]["bore"][0]["diameter_mm"] == 42.0  # type: ignore[index]


# shipped files


@pytest.mark.parametrize(
    "path",
    [
        ROOT / "stiffcalc/study/template.toml",
        ROOT / "studies/hillclimb_front.toml",
        ROOT / "studies/four_or_six_bolts.toml",
        ROOT / "studies/shaped_body.toml",
    ],
    ids=lambda p: p.name,
)
def test_shipped_studies_are_valid_and_say_that_they_are_invented(path: Path) -> None:
    study = load(path)
    assert len(study.designs) >= 3
    assert "invented" in path.read_text(encoding="utf-8").lower()
    if path.name != "template.toml":
        assert "Invented" in study.title and "Invented scenario" in study.note
    for design in study.designs:
        service = max(c.pressure for c in design.load_cases if c.kind == "service")
        force = service * sum(math.pi / 4 * b.diameter**2 for b in design.caliper.bores)
        assert 15e3 < force < 40e3, f"{design.name}: clamp force {force:.0f} N"


def test_the_template_shows_the_real_defaults() -> None:
    """Every commented `key = number` that the template calls a default is what the reader uses."""
    text = (ROOT / "stiffcalc/study/template.toml").read_text(encoding="utf-8")
    used = "\n".join(load(ROOT / "stiffcalc/study/template.toml").defaults_used)
    keys = (
        "edge_clearance_mm running_clearance_mm friction backing_mm worn_thickness_mm compressibility_um_per_MPa "
        "joint_friction fluid_depth_mm fittings_g fillet_mm preload_N scatter engagement_mm hole_mm wall_mm crown_mm "
        "creep_loss_percent cold_C hot_body_C hot_bolt_C soak_loss_percent"
    )
    for key in keys.split():
        shown = (
            next(line for line in text.splitlines() if line.startswith(f"# {key} = "))
            .split("=")[1]
            .split()[0]
        )
        assert f"{key} = {float(shown):g} (" in used, f"{key}: the template says {shown}"


def test_the_hash_is_that_of_the_bytes(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(TEXT)
    again = tmp_path / "b.toml"
    again.write_text(TEXT)
    assert load(path).sha256 == load(again).sha256 == hashlib.sha256(TEXT.encode()).hexdigest()
    again.write_text(TEXT + "# one more line\n")
    assert load(again).sha256 != load(path).sha256
    assert load(again).designs == load(path).designs


def test_a_byte_order_mark_and_foreign_line_ends_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    assert load(path).designs == parse(TEXT).designs


# whatever is written into a valid file, the answer is a study or a list of faults

NASTY = [
    0,
    -1,
    1,
    1e-300,
    1e300,
    math.nan,
    math.inf,
    -math.inf,
    10**400,
    True,
    "",
    "x",
    "2014-T6",
    "M10",
    [],
    [1, 2],
]
NASTY += [
    [1, 2, 3],
    [[]],
    {},
    {"a": 1},
    [{}],
    [{"x_mm": 1}],
    None,
    b"bytes",
    "\0",
    "é" * 1000,
    37.5,
    150.0,
    12.0,
]


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The path of every value in a nested structure."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path] * bool(path) + [p for key, child in inner for p in places(child, (*path, key))]


def answer(source: Any) -> Study | InputError:
    try:
        return parse(source)
    except InputError as error:
        return error


def test_any_single_value_may_be_replaced_by_anything() -> None:
    seen = {Study: 0, InputError: 0}
    chance = random.Random(11)
    for path in places(raw()):
        for value in chance.sample(NASTY, 4):
            seen[type(answer(with_changes((*path, value))))] += 1
        seen[type(answer(with_changes(remove(*path))))] += 1
    assert seen[Study] > 20 and seen[InputError] > 300, seen


def test_many_values_may_be_replaced_at_random() -> None:
    chance = random.Random(20)
    every = [p for p in places(raw()) if len(p) > 1]
    for _ in range(150):
        changed = raw()
        for path in chance.sample(every, 6):
            place: Any = changed
            for step in path[:-1]:
                if not isinstance(place, dict | list) or (isinstance(place, list) and len(place) <= step):
                    break
                place = place[step] if isinstance(place, list) else place.get(step)
            if isinstance(place, dict):
                place[path[-1]] = chance.choice(NASTY)
        found = answer(changed)
        assert isinstance(found, Study) or all(f.where and f.mend for f in found.faults)


def test_any_cut_or_flipped_byte_gives_a_study_or_faults(tmp_path: Path) -> None:
    chance, content = random.Random(7), TEXT.encode()
    path = tmp_path / "study.toml"
    for _ in range(300):
        bad = bytearray(content)
        bad[chance.randrange(len(bad))] = chance.randrange(256)
        path.write_bytes(bytes(bad[: chance.choice((len(bad), chance.randrange(len(bad))))]))
        try:
            load(path)
        except InputError as error:
            assert error.faults


def test_a_joint_friction_may_be_a_band_and_dowels_have_defaults() -> None:
    found = (
        parse(
            with_changes(
                ("caliper", "joint_friction", [0.1, 0.2]),
                ("caliper", "dowel", [{"x_mm": -94.0, "y_mm": 167.0, "diameter_mm": 6.0}]),
            )
        )
        .designs[0]
        .caliper
    )
    assert (found.joint_friction, found.joint_friction_high) == (0.1, 0.2)
    assert found.dowels[0].depth == 6.0 and found.dowels[0].material.name == "S355"
    base = parse_base().caliper
    assert base.joint_friction == base.joint_friction_high == 0.10 and base.dowels == ()


def test_life_follows_the_hottest_load_case() -> None:
    hot = parse(
        with_changes(
            ("load_case", 0, "body_temperature_C", 120.0), ("load_case", 0, "bolt_temperature_C", 110.0)
        )
    )
    life = hot.designs[0].life
    assert (life.hot_body_C, life.hot_bolt_C, life.cold_C, life.soak_loss) == (120.0, 110.0, -20.0, 0.05)
    assert parse_base().life.soak_loss == 0.0, "nothing gets hot"
    given = parse(with_changes(("life", {"hot_body_C": 150.0, "soak_loss_percent": 8.0}))).designs[0].life
    assert (given.hot_bolt_C, given.soak_loss) == (150.0, 0.08)
