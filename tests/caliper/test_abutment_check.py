"""Bearing pressure of the abutments: the figure by hand, what of a patch a pad reaches, many designs at once."""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stiffcalc.caliper import assess
from stiffcalc.caliper.build import build
from stiffcalc.caliper.results import Check
from stiffcalc.explore import batches
from stiffcalc.study import parse
from stiffcalc.study.schema import Design

SMALL = Path(__file__).parents[2] / "studies/handover_check/small.toml"
PATCH = {"bridge": "trailing end", "y_mm": [96.0, 110.0], "z_mm": [7.0, 17.0]}


def design(*abutments: dict[str, Any], drag: bool = True, kind: str = "service") -> Design:
    """A small body: bore 34 mm, 10 MPa, pad friction up to 0.48, plate of 5 mm at z 12 to 17 new, 9 to 14 worn."""
    source = tomllib.loads(SMALL.read_text())
    source["caliper"]["abutment"] = list(abutments)
    source["load_case"][0] |= {"drag": drag, "kind": kind}
    return parse(source).designs[0]


def checks(one: Design) -> dict[str, Check]:
    found = assess.variant_result(one, with_front_view=False).load_cases[0].checks
    return {c.id: c for c in found if c.id.startswith("abutment")}


def test_pressure_by_hand() -> None:
    """0.48 x 10 MPa x pi/4 34^2 = 4358 N on 14 x 5 mm: the plate, not the patch of 14 x 10. Statics."""
    found = checks(design(PATCH))
    assert found.keys() == {"abutment inboard", "abutment outboard"}
    for check in found.values():
        assert check.actual == pytest.approx(0.48 * 10.0 * np.pi / 4 * 34.0**2 / 70.0, rel=1e-12)
        assert check.allowed == pytest.approx(415.0 / 1.5)
        assert check.margin == pytest.approx(check.allowed / check.actual - 1)
        assert check.source.endswith("common practice, no source")
        assert "the pad ends 10 mm before the flank" in check.note


def test_a_worn_pad_may_reach_less_than_a_new_one() -> None:
    (check, _) = checks(design(PATCH | {"z_mm": [11.0, 17.0]})).values()
    assert check.actual == pytest.approx(0.48 * 10.0 * np.pi / 4 * 34.0**2 / (14.0 * 3.0), rel=1e-12)
    assert "a worn pad" in check.note


def test_trailing_patches_of_one_half_share_and_leading_ones_do_not() -> None:
    low, high = PATCH | {"y_mm": [95.0, 97.5]}, PATCH | {"y_mm": [100.0, 104.5]}
    leading = PATCH | {"bridge": "leading end"}
    found = checks(design(low, high | {"half": "inboard"}, leading))
    force = 0.48 * 10.0 * np.pi / 4 * 34.0**2
    assert found["abutment inboard"].actual == pytest.approx(force / (7.0 * 5.0), rel=1e-12)
    assert found["abutment outboard"].actual == pytest.approx(force / (2.5 * 5.0), rel=1e-12)


def test_no_drag_or_no_abutment_no_check() -> None:
    assert not checks(design(PATCH, drag=False))
    assert not checks(design())


def test_burst_is_judged_by_ultimate_strength() -> None:
    (check, _) = checks(design(PATCH, kind="burst")).values()
    assert "ultimate" in check.formula and check.allowed > 415.0


def test_patches_carry_no_mass_and_no_stiffness() -> None:
    with_, without = (assess.variant_result(d, with_front_view=False) for d in (design(PATCH), design()))
    assert with_.mass == without.mass
    assert with_.load_cases[0].spread == without.load_cases[0].spread


def test_a_batch_is_what_each_is_alone() -> None:
    many = [design(PATCH | {"y_mm": [96.0, y], "z_mm": [z, 17.0]}) for y, z in ((104.0, 7.0), (110.0, 10.5))]
    together = batches.solve(many)
    for one, found in zip(many, together, strict=True):
        assert isinstance(found, batches.Solved)
        own = {c.id: c for c in found.load_cases[0].checks if c.id.startswith("abutment")}
        assert own == checks(one)
    assert build(many[0]).abutments[0].name == "abutment_1_inboard"
