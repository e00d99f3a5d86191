"""Broken files of readings: each kind is refused in one line that names line and column, all of a file at once."""

import pytest
from reading_sample import GOOD, POINTS, csv

from stiffcalc.errors import InputError
from stiffcalc.readings.table import HEADER, parse_readings

ROW = GOOD[0]


def row(**changes: str) -> str:
    cells = dict(zip(HEADER.split(","), ROW.split(","), strict=True))
    return ",".join({**cells, **changes}.values())


def head(old: str, new: str) -> bytes:
    return csv(*GOOD, header=HEADER.replace(old, new))


# kind: the file; line; column; a word of what was found or of the mend
BROKEN: dict[str, tuple[bytes, int, str, str]] = {
    "empty": (b"", 1, "1", "no line but comments"),
    "comments only": (b"# nothing\n", 1, "1", "no line but comments"),
    "header only": (csv(), 1, "1", "without readings"),
    "no header": ("\n".join(GOOD).encode(), 1, "1", "put the header above"),
    "semicolons and decimal commas": (
        csv(*GOOD).replace(b",", b";"),
        1,
        "1",
        "commas between the cells and points",
    ),
    "tabs": (csv(*GOOD).replace(b",", b"\t"), 1, "1", "tabs between the cells"),
    "UTF-16": (csv(*GOOD).decode().encode("utf-16"), 1, "1", "text in UTF-16"),
    "another encoding": (csv(ROW, ROW.replace("um", "µm")).decode().encode("latin-1"), 3, "35", "byte 0xb5"),
    "zero bytes": (csv(ROW + "\0"), 2, "1", "zero bytes"),
    "column missing": (head(",unit", ",unti"), 1, "unti", "write unit"),
    "column gone": (
        csv(*(r.rsplit(",", 1)[0] for r in GOOD), header=HEADER.replace(",uncertainty", "")),
        1,
        "uncertainty",
        "add uncertainty",
    ),
    "column unknown": (csv(*(r + ",x" for r in GOOD), header=HEADER + ",note"), 1, "note", "remove it"),
    "column twice": (csv(*(r + ",x" for r in GOOD), header=HEADER + ",case"), 1, "case", "this column twice"),
    "two columns of pressure": (
        csv(*(r + ",1" for r in GOOD), header=HEADER + ",pressure_bar"),
        1,
        "pressure_bar",
        "pressure_MPa as well",
    ),
    "cell too many": (csv(ROW + ",5"), 2, "11", "11 cells"),
    "cell missing": (csv(ROW.rsplit(",", 1)[0]), 2, "10", "9 cells"),
    "decimal comma without quotes": (csv(row(value="1,5")), 2, "11", "decimals take a point"),
    "decimal comma in quotes": (csv(row(value='"1,5"')), 2, "value", "write a decimal point"),
    "quote not closed": (csv('"' + ROW), 2, "1", "a quote that is not closed"),
    "case empty": (csv(row(case="")), 2, "case", "nothing"),
    "cycle zero": (csv(row(cycle="0")), 2, "cycle", "number the runs"),
    "cycle not whole": (csv(row(cycle="1.5")), 2, "cycle", "1.5"),
    "direction unknown": (csv(row(direction="loading")), 2, "direction", "up or down"),
    "pressure not a number": (csv(row(pressure_MPa="high")), 2, "pressure_MPa", "give a number"),
    "pressure negative": (csv(row(pressure_MPa="-1")), 2, "pressure_MPa", "from 0"),
    "pressure beyond sense": (csv(row(pressure_MPa="1200")), 2, "pressure_MPa", "mind the unit"),
    "temperature empty": (csv(row(temperature_C="")), 2, "temperature_C", "nothing"),
    "temperature beyond sense": (csv(row(temperature_C="900")), 2, "temperature_C", "900"),
    "quantity unknown": (csv(row(quantity="spraed")), 2, "quantity", "write spread"),
    "point unknown": (csv(row(quantity="opening", point="bore 7")), 2, "point", "bore 1, bore 2, middle"),
    "point of another quantity": (csv(row(point="bore 1")), 2, "point", "caliper"),
    "unit of another quantity": (csv(row(unit="kN")), 2, "unit", "mm, um, µm for spread"),
    "unit empty": (csv(row(unit="")), 2, "unit", "state the unit"),
    "unit in other letters": (csv(row(unit="MM")), 2, "unit", "write mm"),
    "value empty": (csv(row(value="")), 2, "value", "fill it in"),
    "value not finite": (csv(row(value="nan")), 2, "value", "plain finite number"),
    "value infinite": (csv(row(value="1e999")), 2, "value", "at most 1e+09"),
    "value that overflows when squared": (csv(row(value="-1e300")), 2, "value", "at most 1e+09"),
    "value with its unit": (csv(row(value="10 um")), 2, "value", "the unit has a column of its own"),
    "value of a spreadsheet's error": (csv(row(value="#N/A")), 2, "value", "give a number"),
    "value with underscores": (csv(row(value="1_0")), 2, "value", "digits 0 to 9"),
    "uncertainty negative": (csv(row(uncertainty="-1")), 2, "uncertainty", "leave it empty"),
    "uncertainty zero": (csv(row(uncertainty="0")), 2, "uncertainty", "leave it empty"),
    "uncertainty whose weight overflows": (csv(row(uncertainty="1e-300")), 2, "uncertainty", "from 1e-09"),
    "uncertainty here and not there": (
        csv(*GOOD[:2], GOOD[2].removesuffix("1")),
        4,
        "uncertainty",
        "all or none",
    ),
    "the same reading twice": (csv(*GOOD[:2], GOOD[1]), 4, "pressure", "a second reading"),
    "pressure out of order": (csv(GOOD[1], GOOD[0], GOOD[2]), 3, "pressure", "1 MPa after 2 MPa in line 2"),
    "pressure out of order on the way down": (
        csv(*GOOD[:4], GOOD[5], GOOD[4]),
        7,
        "pressure",
        "falling pressure",
    ),
    "two temperatures in one case": (
        csv(GOOD[0], GOOD[1].replace(",20,", ",60,")),
        3,
        "temperature",
        "split the case",
    ),
}


@pytest.mark.parametrize("kind", BROKEN)
def test_one_line_with_line_and_column(kind: str) -> None:
    content, line, column, word = BROKEN[kind]
    with pytest.raises(InputError) as refusal:
        parse_readings(content, name="r.csv", points=POINTS)
    said = str(refusal.value).splitlines()
    assert len(said) == 1, said
    assert said[0].startswith(f"r.csv, line {line}, column {column}: found "), said
    assert word in said[0], said
    assert "; allowed: " in said[0] and "; mend: " in said[0]


def test_at_least_twenty_kinds() -> None:
    assert len(BROKEN) >= 20


def test_all_faults_of_a_file_at_once_and_equal_ones_together() -> None:
    content = csv(
        row(unit="kg"), row(unit="kg", pressure_MPa="2"), row(value="x", pressure_MPa="3"), row(point="x")
    )
    with pytest.raises(InputError) as refusal:
        parse_readings(content, name="r.csv", points=POINTS)
    places = [f.where for f in refusal.value.faults]
    assert places == [
        "r.csv, line 2 and 1 more, column unit",
        "r.csv, line 4, column value",
        "r.csv, line 5, column point",
    ]


def test_a_layout_without_bolts_has_no_bolt_forces() -> None:
    content = csv(row(quantity="bolt force", point="bolt 1", unit="kN"))
    with pytest.raises(InputError, match="this layout has none"):
        parse_readings(content, name="r.csv", points={**POINTS, "bolt force": ()})
