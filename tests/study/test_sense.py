"""Numbers that a plausible slip makes: each read alone would pass."""

import pytest
from study_sample import with_changes

from stiffcalc.errors import Fault, InputError
from stiffcalc.study import parse


def faults(*changes: tuple[object, ...]) -> list[Fault]:
    try:
        parse(with_changes(*changes))
    except InputError as error:
        return list(error.faults)
    return []


@pytest.mark.parametrize("kind", ["service", "fatigue"])
def test_bar_for_megapascal_is_refused_in_use(kind: str) -> None:
    """80 bar written as 80 MPa; a burst test may well be that high."""
    (fault,) = faults(("load_case", 0, "kind", kind), ("load_case", 0, "pressure_MPa", 80.0))
    assert fault.where == "load_case[1].pressure_MPa"
    assert fault.allowed == "a number above 0 and up to 40 MPa"
    assert "unit" in fault.mend
    assert not faults(("load_case", 1, "kind", "burst"), ("load_case", 1, "pressure_MPa", 80.0))
