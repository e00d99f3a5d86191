"""Files of readings that are good: what is read, in which units."""

from pathlib import Path

import numpy as np
import pytest
from reading_sample import GOOD, POINTS, csv

from stiffcalc.errors import InputError
from stiffcalc.readings.table import HEADER, load_readings, parse_readings


def read(content: bytes):
    return parse_readings(content, name="r.csv", points=POINTS).series


def test_series_in_stored_units() -> None:
    (s,) = read(csv(*GOOD))
    assert (s.case, s.quantity, s.point, s.title) == ("bench", "spread", "caliper", "spread")
    assert s.value == pytest.approx([0.01, 0.02, 0.03, 0.04, 0.031, 0.011])
    assert s.uncertainty == pytest.approx([0.001] * 6)
    assert s.up.tolist() == [True] * 4 + [False] * 2
    assert s.temperature.tolist() == [20, 20, 20, 20, 21, 21]


@pytest.mark.parametrize(
    ("quantity", "point", "unit", "stored"),
    [
        ("spread", "caliper", "mm", 2.0),
        ("spread", "caliper", "µm", 2e-3),  # micro sign
        ("spread", "caliper", "μm", 2e-3),  # Greek mu
        ("tilt", "bore 1", "deg", 2 * np.pi / 180 * 1e3),
        ("yaw", "caliper", "rad", 2000.0),
        ("fluid volume", "caliper", "cm3", 2000.0),
        ("fluid volume", "caliper", "ml", 2000.0),
        ("bolt force", "bolt 1", "kN", 2000.0),
        ("bow", "middle", "um", 2e-3),
    ],
)
def test_units(quantity: str, point: str, unit: str, stored: float) -> None:
    (s,) = read(csv(f"a,1,up,1,20,{point},{quantity},2,{unit},"))
    assert s.value == pytest.approx([stored], rel=1e-12)
    assert s.uncertainty is None


@pytest.mark.parametrize(
    ("column", "value", "MPa"),
    # 1 bar = 0.1 MPa; 1000 psi = 6.894757 MPa: NIST SP 811, Appendix B.8 (from memory)
    [
        ("pressure", "7", 7.0),
        ("pressure_MPa", "7", 7.0),
        ("pressure_bar", "70", 7.0),
        ("pressure_psi", "1000", 6.894757),
    ],
)
def test_pressure_columns(column: str, value: str, MPa: float) -> None:
    (s,) = read(csv(f"a,1,up,{value},20,caliper,spread,2,mm,", header=HEADER.replace("pressure_MPa", column)))
    assert s.pressure == pytest.approx([MPa], rel=1e-9)


def test_comments_blank_lines_mark_order_of_columns_and_quotes() -> None:
    names = HEADER.split(",")
    swapped = [",".join(reversed(r.split(","))) for r in GOOD]
    text = csv("# a comment, with commas", "", *swapped, ",,,,", header=",".join(reversed(names)))
    (s,) = read(b"\xef\xbb\xbf# first\n" + text.replace(b"bench", b'"bench"').replace(b"\n", b"\r\n"))
    assert len(s.value) == 6 and s.case == "bench"


def test_readings_may_be_grouped_by_point_or_by_pressure() -> None:
    by_point = [
        f"a,1,up,{p},20,{q},{k},1,mm,"
        for q, k in (("bore 1", "opening"), ("caliper", "spread"))
        for p in (1, 2)
    ]
    by_pressure = [by_point[0], by_point[2], by_point[1], by_point[3]]
    assert len(read(csv(*by_point))) == len(read(csv(*by_pressure))) == 2


def test_a_new_cycle_starts_again() -> None:
    again = [r.replace("bench,1", "bench,2") for r in GOOD]
    (s,) = read(csv(*GOOD, *again))
    assert set(s.cycle.tolist()) == {1, 2}


@pytest.mark.parametrize("make", [lambda p: None, lambda p: p.mkdir()])
def test_what_is_no_file_is_one_line(tmp_path: Path, make) -> None:
    target = tmp_path / "r.csv"
    make(target)
    with pytest.raises(InputError) as refusal:
        load_readings(target, points=POINTS)
    assert len(str(refusal.value).splitlines()) == 1
    assert "a file of readings" in str(refusal.value)
