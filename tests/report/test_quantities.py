"""The one table of quantities covers the results, and prints numbers as people write them."""

import dataclasses
import math
import re
import typing
from collections.abc import Iterator
from pathlib import Path

import pytest

import stiffcalc
from stiffcalc.caliper import joint_results as joints
from stiffcalc.caliper import results as contract
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.measures import Masses
from stiffcalc.explore.bolt_results import BoltMatrix, Figures
from stiffcalc.explore.compare_results import CompareResult, Crossing, Curve, Free, Gap, Limit, Point
from stiffcalc.explore.compare_results import Scatter as SpreadScatter
from stiffcalc.explore.sensitivity_results import Confirmed, Formula, Sensitivities, Slope
from stiffcalc.explore.sweep_results import Best, Own, SweepResult, Tally
from stiffcalc.explore.uncertainty_results import Band, Cause, Chance, UncertaintyResult
from stiffcalc.quantities import QUANTITIES, percent, quantity
from stiffcalc.study.schema import Bolt, SweepPlan

OWNED = {
    SweepResult: "sweep.",
    Tally: "sweep.",
    Best: "sweep.",
    Own: "sweep.",
    contract.Fluid: "fluid.",
    Masses: "mass.",
    joints.FaceMap: "face.",
    joints.LifeStage: "stage.",
    joints.PortState: "port.",
    joints.TorqueShares: "torque.",
    contract.SolidCase: "solid.",
    Sensitivities: "here.",
    Slope: "slope.",
    Confirmed: "confirmed.",
    Formula: "formula.",
    UncertaintyResult: "drawn.",
    Band: "band.",
    Chance: "chance.",
    Cause: "cause.",
    CompareResult: "compare.",
    Curve: "compare.",
    Point: "point.",
    Limit: "limit.",
    SpreadScatter: "scatter.",
    Gap: "gap.",
    Crossing: "gap.",
}  # names that mean two things carry their owner
NOT_RESULTS = {Body, Bolt}  # geometry as defined: input


def numeric(hint: object) -> bool:
    """Numbers, arrays and containers of numbers; bool, str and dataclasses are not."""
    if hint in (float, int):
        return True
    if typing.get_origin(hint) is not None and hint != contract.Array:
        return any(numeric(a) for a in typing.get_args(hint))
    return hint == contract.Array


def classes(hint: object) -> Iterator[type]:
    if dataclasses.is_dataclass(hint):
        yield typing.cast(type, hint)
    for a in typing.get_args(hint):
        yield from classes(a)


def fields_of(cls: type, seen: set[type]) -> Iterator[str]:
    if cls in seen or cls in NOT_RESULTS:
        return
    seen.add(cls)
    for name, hint in typing.get_type_hints(cls).items():
        if numeric(hint):
            yield OWNED.get(cls, "") + name
        for inner in classes(hint):
            yield from fields_of(inner, seen)


def test_every_numeric_field_of_the_results_is_in_the_table() -> None:
    seen: set[type] = set()
    keys = set(fields_of(contract.Results, seen))
    assert {
        contract.SolidCase,
        contract.Check,
        joints.BoltState,
        contract.Sweep,
        contract.Fluid,
        Masses,
    } <= seen
    assert len(keys) > 50
    assert not keys - QUANTITIES.keys()


def test_every_numeric_field_of_a_matrix_of_bolts_is_in_the_table() -> None:
    seen: set[type] = set()
    keys = set(fields_of(BoltMatrix, seen))
    assert {Figures, Masses} <= seen
    assert not keys - QUANTITIES.keys()


def test_every_numeric_field_of_a_sweep_is_in_the_table() -> None:
    seen: set[type] = {SweepPlan}  # input
    keys = set(fields_of(SweepResult, seen))
    assert {Figures, Tally, Best, Own} <= seen
    assert not keys - QUANTITIES.keys()


def test_every_numeric_field_of_slopes_is_in_the_table() -> None:
    seen: set[type] = set()
    keys = set(fields_of(Sensitivities, seen))
    assert {Slope, Confirmed, Formula} <= seen
    assert not keys - QUANTITIES.keys()


def test_every_numeric_field_of_drawn_bodies_is_in_the_table() -> None:
    seen: set[type] = set()
    keys = set(fields_of(UncertaintyResult, seen))
    assert {Band, Cause, Chance} <= seen
    assert not keys - QUANTITIES.keys()


def test_every_numeric_field_of_layouts_at_equal_mass_is_in_the_table() -> None:
    seen: set[type] = set()
    keys = set(fields_of(CompareResult, seen))
    assert {Curve, Point, Limit, SpreadScatter, Gap, Crossing, Free, Figures} <= seen
    assert not keys - QUANTITIES.keys()


def test_names_in_sentences_stand_in_one_kind_of_quotes() -> None:
    package = Path(stiffcalc.__file__).parent
    texts = [p for ending in ("py", "html", "toml", "csv") for p in package.rglob(f"*.{ending}")]
    assert len(texts) > 300
    assert [p.name for p in texts if re.search("[“”‘’]", p.read_text(encoding="utf-8"))] == []


def test_a_relative_number_is_called_relative() -> None:
    small = [q for q in QUANTITIES.values() if q.digits is None]
    assert small and all("relative" in q.label for q in small), small


def test_columns_carry_their_unit_once_and_are_unique() -> None:
    columns = [q.column for q in QUANTITIES.values()]
    assert len(set(columns)) == len(columns)
    assert quantity("spread").column == "spread_mm"
    assert quantity("onset_MPa").column == "onset_MPa"
    assert quantity("cut.Mx").column == "cut_Mx_Nmm"  # as moment_Nmm of a study file
    assert quantity("flexibility.turn_per_Mx").column == "flexibility_turn_per_Mx_rad_per_Nmm"
    assert all(re.fullmatch(r"\w+", c) for c in columns)
    assert quantity("stiffness_kN_per_mm").column == "stiffness_kN_per_mm"


@pytest.mark.parametrize(
    ("key", "value", "text"),
    [
        ("spread", 0.2054, "205"),
        ("clamp_force", 27849.0, "27.8"),
        ("tilt_middle", -3.075, "−3.08"),
        ("tilt_middle", -0.001, "0.00"),
        ("open_fraction", 0.084, "8"),
        (
            "fluid.total",
            12345.6,
            "12\u202f346",
        ),  # ISO 80000-1: groups of three, parted by a thin gap (from memory)
        ("residual", 2.4e-13, "2e−13"),
        ("onset_MPa", math.inf, "∞"),
        ("tilt_middle", None, "–"),
        ("bow", math.nan, "–"),
    ],
)
def test_text(key: str, value: float | None, text: str) -> None:
    assert quantity(key).text(value) == text


def test_unit_follows_only_where_there_is_a_number() -> None:
    assert quantity("spread").with_unit(0.2) == "200\u00a0µm"
    assert quantity("onset_MPa").with_unit(math.inf) == "∞"


@pytest.mark.parametrize(
    ("share", "how", "text"),
    [
        (0.125, {}, "12\u00a0%"),
        (0.125, {"digits": 1}, "12.5\u00a0%"),
        (-0.9034, {"digits": 1, "signed": True}, "−90.3\u00a0%"),
        (0.005, {"digits": 1, "signed": True}, "+0.5\u00a0%"),
    ],
)
def test_a_share_in_words_looks_as_a_quantity_in_percent(
    share: float, how: dict[str, int], text: str
) -> None:
    assert percent(share, **how) == text
    assert how or quantity("open_fraction").with_unit(share) == text


def test_no_words_have_a_percent_sign_without_its_space() -> None:
    package = Path(stiffcalc.__file__).parent
    words = [p for p in package.rglob("*.py") if p.parent.name != "mechanics"]  # which has numbers alone
    tight = re.compile(r":[+,]?\.\d%\}|\}%|\d%[ ,.;)]")
    assert [f"{p.name}: {found[0]}" for p in words if (found := tight.search(p.read_text("utf-8")))] == []
