"""[life]: what stands in for temperatures that are left out."""

from typing import Any

import pytest
from study_sample import with_changes

from stiffcalc.study import parse


@pytest.mark.parametrize(
    ("case", "cold"),
    [({"body_temperature_C": -35.0}, -35.0), ({"bolt_temperature_C": -30.0}, -30.0), ({}, -20.0)],
)
def test_the_joint_gets_as_cold_as_the_coldest_load_case(case: dict[str, Any], cold: float) -> None:
    changes = [("load_case", i, key, value) for key, value in case.items() for i in (0, 1)]
    study = parse(with_changes(*changes))
    assert {d.life.cold_C for d in study.designs} == {cold}
    (said,) = (line for line in study.defaults_used if line.startswith("life.cold_C"))
    assert said.startswith(f"life.cold_C = {cold:g} (")
    assert ("the coldest load case" in said) == bool(case)
