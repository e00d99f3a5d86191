"""Centre bridges compared, and a bar on pads as a caliper sees it: limits, trends, consistency."""

import copy
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import stiffcalc
from stiffcalc.caliper import response
from stiffcalc.caliper.bars import bars, life
from stiffcalc.caliper.build import build
from stiffcalc.caliper.centre_bridge import form_of, middle_bridges
from stiffcalc.caliper.heat import ROOM, Warmth
from stiffcalc.errors import InputError
from stiffcalc.mechanics.pads import FITTED
from stiffcalc.study import parse

DEMO = Path(__file__).parents[2] / "studies/centre_bridge.toml"
RAW = tomllib.loads(DEMO.read_text(encoding="utf-8"))
NO_GIVE = replace(FITTED, slide=(0.0, 0.0), couple=(0.0, 0.0), tip=(0.0, 0.0, 0.0), turn=(0.0, 0.0, 0.0))


def study(*variants: int, bar: dict[str, Any] | None = None, **top: Any) -> stiffcalc.study.schema.Study:
    """The demo with some of its variants; `bar` changes the pads of the last."""
    data = copy.deepcopy(RAW)
    data["variant"] = [data["variant"][i] for i in variants]
    data["caliper"] |= top
    for key, value in (bar or {}).items():
        data["variant"][-1]["set"][f"caliper.bridge[3].{key}"] = value
    return parse(data)


def assessed(*variants: int, bar: dict[str, Any] | None = None, front_view: bool = False, **top: Any) -> Any:
    return stiffcalc.assess(study(*variants, bar=bar, **top), front_view=front_view).variants


@pytest.fixture(scope="module")
def demo() -> Any:
    return stiffcalc.assess(stiffcalc.load(DEMO)).variants


def by_form(variant: Any) -> dict[str, Any]:
    return {b.form: b for b in variant.centre_bridges}


def test_every_form_is_compared(demo: Any) -> None:
    assert demo[0].centre_bridges == ()
    assert [b.form for b in demo[1].centre_bridges] == ["none", "integral"]
    assert [b.form for b in demo[2].centre_bridges] == ["none", "integral", "bolts along z"]
    assert [b.form for b in demo[3].centre_bridges] == ["none", "integral", "bolts along y"]
    assert [b.given for b in demo[3].centre_bridges] == [False, False, True]


def test_rows_are_what_the_layouts_themselves_give(demo: Any) -> None:
    # The demo's variants are each other's forms: same bodies, same load case, to the last digit but the mesh's.
    case = demo[3].centre_bridges[0].load_case
    bare, whole, along_y = (next(c for c in demo[i].load_cases if c.name == case) for i in (0, 1, 3))
    rows = by_form(demo[3])
    for row, own, mass in (
        (rows["none"], bare, demo[0].mass.total),
        (rows["integral"], whole, demo[1].mass.total),
        (rows["bolts along y"], along_y, demo[3].mass.total),
    ):
        assert (row.mass_kg, row.bow) == (pytest.approx(mass, rel=1e-12), pytest.approx(own.bow, rel=1e-9))
        assert row.spread == pytest.approx(own.spread, rel=1e-9)
        assert row.tilt_middle == pytest.approx(own.tilt_middle, rel=1e-9)


def test_mass_over_bow(demo: Any) -> None:
    rows = by_form(demo[3])
    own, none = rows["bolts along y"], rows["none"]
    expected = 1e3 * (own.mass_kg - none.mass_kg) / (1e3 * (none.bow - own.bow))
    assert own.mass_per_bow == pytest.approx(expected, rel=1e-12)
    assert none.mass_per_bow is None


def test_bolted_bridges_lie_between_none_and_integral(demo: Any) -> None:
    # Fact of the trade: two added fasteners through a centre bridge raise resistance to opening along the centre
    # line; a bridge in one piece raises it more for less metal. common practice, no source
    for v, form in ((demo[2], "bolts along z"), (demo[3], "bolts along y")):
        rows = by_form(v)
        assert rows["integral"].bow < rows[form].bow < rows["none"].bow
        assert rows["integral"].mass_per_bow < rows[form].mass_per_bow


def test_contract() -> None:
    found = stiffcalc.assess(study(2), front_view=False).to_dict()["variants"][1]["centre_bridge"]  # type: ignore[index]
    assert set(found[0]) == {
        *("bridge", "form", "given", "load_case", "mass_kg", "bow_mm", "spread_mm", "tilt_mrad"),
        "grams_per_um_bow",
    }
    assert (
        found[0]["tilt_mrad"] is None and found[0]["grams_per_um_bow"] is None
    )  # frame only; none removes none
    assert found[2]["grams_per_um_bow"] > 0


def test_two_piece_bodies_compare_with_the_bonded_bridge() -> None:
    bolts = [
        {"x_mm": x, "y_mm": y, "thread": "M10x1.5", "grade": "12.9", "scatter": 1.3}
        for x in (-82.0, 82.0)
        for y in (143.0, 164.0)
    ]
    _, v = assessed(2, layout="two-piece", bolt=bolts)
    rows = by_form(v)
    assert rows["integral"].bow <= rows["bolts along y"].bow < rows["none"].bow
    assert not v.body.bridges[2].jointed and v.body.bridges[0].jointed
    ids = {c.id for c in v.load_cases[0].checks}
    assert "seat friction 3" in ids and "onset 3" not in ids


def test_an_unbolted_split_bridge_is_worth_less_than_a_bonded_one() -> None:
    # Fact of the trade: an unbolted centre bridge of a split body opens early. common practice, no source
    bolts = [
        {"x_mm": x, "y_mm": y, "thread": "M10x1.5", "grade": "12.9", "scatter": 1.3}
        for x in (-82.0, 82.0)
        for y in (143.0, 164.0)
    ]
    _, v = assessed(0, layout="two-piece", bolt=bolts)
    rows = by_form(v)
    assert 1.2 * rows["integral"].bow < rows["split, no bolts"].bow < rows["none"].bow


def test_middle_bridges_are_found_by_place() -> None:
    body = build(study(2).designs[1])
    shuffled = replace(body, bridges=(body.bridges[2], body.bridges[0], body.bridges[1]))
    assert middle_bridges(shuffled) == [0]
    assert middle_bridges(replace(body, bridges=body.bridges[:2])) == []
    assert form_of(body, 2) == "bolts along y"


# A bar on pads


def spread(constants: Any) -> float:
    design = study(2).designs[1]
    body = build(design)
    bare = replace(body, bridges=tuple(replace(b, pads=None) for b in body.bridges))
    pair = response.frame_pair(bare)
    both = response.with_pads(pair.flexibility, body, constants=constants)
    found = response.answer(
        replace(pair, flexibility=both), body, preload=np.zeros((1, 1, 0)), pressure=np.ones(1)
    )
    return float(found.openings.spread[0, 0, 0])


def test_pads_that_do_not_give_are_a_bar_in_one_piece() -> None:
    design = study(0).designs[1]
    body = build(design)
    whole = response.answer(response.frame_pair(body), body, preload=np.zeros((1, 1, 0)), pressure=np.ones(1))
    assert spread(NO_GIVE) == pytest.approx(float(whole.openings.spread[0, 0, 0]), rel=1e-12)
    assert spread(FITTED) > spread(NO_GIVE)


def test_what_pads_give_is_named_and_sums(demo: Any) -> None:
    for case in demo[3].load_cases:
        assert case.contributions["pads of bars"] > 0
        assert sum(case.contributions.values()) == pytest.approx(case.spread, rel=1e-9)


def test_wider_and_stiffer_bars_give_less() -> None:
    spreads = [
        assessed(2, bar=change)[1].load_cases[0].spread
        for change in ({}, {"x_mm": [-24.0, 24.0], "pads.pitch_mm": 20.0}, {"material": "S355"})
    ]
    assert spreads[1] < spreads[0] and spreads[2] < spreads[0]


def checks(variant: Any, name: str) -> dict[str, Any]:
    return {c.id: c for case in variant.load_cases if case.name == name for c in case.checks}


def validity(variant: Any, name: str) -> str:
    return " ".join(s for case in variant.load_cases if case.name == name for s in case.validity)


def test_slip_is_governed_by_least_preload_and_lowest_friction() -> None:
    low, high = (
        checks(assessed(2, bar={"pads.seat_friction": band})[1], "service stop")["seat friction 3"]
        for band in ([0.10, 0.30], [0.20, 0.30])
    )
    assert high.actual == pytest.approx(2 * low.actual, rel=1e-9)
    assert high.allowed == pytest.approx(low.allowed, rel=1e-9)
    wide, narrow = (
        checks(assessed(2, bar={"pads.scatter": s})[1], "service stop")["seat friction 3"] for s in (1.6, 1.2)
    )
    assert wide.actual < narrow.actual
    assert "bolts in clearance holes are not counted" in low.note
    assert "cold after hot soak" in low.note  # the least preload of its life


def test_slip_beyond_friction_fails_and_says_so() -> None:
    _, v = assessed(2, bar={"pads.seat_friction": [0.08, 0.3]})
    assert not checks(v, "proof")["seat friction 3"].met
    assert "it may slip" in validity(v, "proof")
    _, safe = assessed(2, bar={"pads.seat_friction": [0.35, 0.4]})
    assert checks(safe, "proof")["seat friction 3"].met
    assert "it may slip" not in validity(safe, "proof")


def test_burst_looks_at_shear_not_at_slip(demo: Any) -> None:
    burst, proof = checks(demo[3], "burst"), checks(demo[3], "proof")
    assert "bar bolt shear 3" in burst and "seat friction 3" not in burst
    assert "bar bolt shear 3" not in proof and "seat friction 3" in proof
    assert "bar bolt fatigue 3" in checks(demo[3], "service stop")


def test_seat_checks_are_statics(demo: Any) -> None:
    case = next(c for c in demo[3].load_cases if c.name == "proof")
    found = checks(demo[3], "proof")
    design = study(2).designs[1]
    bar = next(bars(design, build(design)))
    kept = life(bar, design, kind="proof", own=ROOM)
    least = min(float(m.preload.min) for m in kept)
    assert found["seat friction 3"].actual == pytest.approx(0.15 * 2 * least, rel=1e-9)
    assert found["seat closed 3"].actual == pytest.approx(2 * least * (12.0 - 8.0), rel=1e-9)
    assert case.pressure == 14.0


def test_short_bolts_lose_more_to_settling_than_long_ones() -> None:
    design = study(2).designs[1]
    bar = next(bars(design, build(design)))
    tight, settled = life(bar, design, kind="proof", own=ROOM)
    lost = 1 - float(settled.preload.min / tight.preload.min)
    assert 0.05 < lost < 0.25  # 2 % creep and some um over a grip of 25 mm
    assert settled.preload.max == tight.preload.max


def test_heat_tightens_steel_bolts_in_aluminium_and_cold_loosens_them() -> None:
    design = study(2).designs[1]
    bar = next(bars(design, build(design)))
    room = life(bar, design, kind="proof", own=ROOM)[1]
    warm = life(bar, design, kind="proof", own=Warmth(120.0, 120.0))[2]
    cold = life(bar, design, kind="proof", own=Warmth(-20.0, -20.0))[2]
    assert cold.preload.min < room.preload.min < warm.preload.min
    names = [m.name for m in life(bar, design, kind="service", own=ROOM)]
    assert names == ["tightened", "settled", "cold", "hot", "cold after hot soak"]


def test_pads_out_of_range_are_flagged() -> None:
    # 20 mm wide, outside what was compared with solids
    narrow = {"x_mm": [-11.0, 11.0], "pads.bolts_per_side": 1}
    assert "pad width 22 is outside the compared range" in validity(assessed(2, bar=narrow)[1], "proof")
    assert "outside the compared range" not in validity(assessed(2)[1], "proof")


def test_torque_against_preload_of_pads_is_refused() -> None:
    with pytest.raises(InputError, match=r"caliper\.bridge\[3\]\.pads"):
        assessed(2, bar={"pads.preload_N": 40000.0, "pads.torque_Nm": 20.0})
