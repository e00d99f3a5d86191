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


BRIDGES = ("caliper", "bridge")


def test_a_pad_longer_than_the_room_between_end_bridges_is_refused() -> None:
    """Stated abutments say where a pad is held, so they take the rule away."""
    room = 2 * 78.0
    ends = ((*BRIDGES, 0, "x_mm", [-110.0, -78.0]), (*BRIDGES, 1, "x_mm", [78.0, 110.0]))
    assert not faults(*ends, ("pad", "length_mm", room))
    (fault,) = faults(*ends, ("pad", "length_mm", room + 0.1))
    assert str(fault) == (
        "pad.length_mm: found 156.1; allowed: at most 156, the room between the end bridges; "
        "mend: shorten the pad, move the bridges or state [[caliper.abutment]]"
    )
    patch = {"bridge": "trailing end", "y_mm": [150.0, 160.0], "z_mm": [7.0, 20.0]}
    held = faults(*ends, ("pad", "length_mm", room + 0.1), ("caliper", "abutment", [patch]))
    assert not [f for f in held if f.where == "pad.length_mm"]
