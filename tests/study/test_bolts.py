"""[bolts] of a study file: what is left out has a documented default, what is wrong is named with its mend."""

import pytest
import study_sample as sample

from stiffcalc.errors import InputError
from stiffcalc.study import parse

ALL = """
[bolts]
counts = [4, 6]
threads = ["M8", "m10 x 1.25"]
grades = ["10.9"]
row_shift_mm = [-2, 0.5]
aim = "highest onset"
bridges = ["leading end", "trailing end"]
head_gap_mm = 0.5
edge_metal_diameters = 0.3
"""


def faults(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse(sample.TEXT + text)
    return str(caught.value)


def test_everything_stated_is_read_with_the_catalogues_names() -> None:
    found = parse(sample.TEXT + ALL).bolts
    assert (found.counts, found.threads, found.grades) == ((4, 6), ("M8x1.25", "M10x1.25"), ("10.9",))
    assert (found.row_shift, found.aim, found.head_gap, found.edge_metal) == (
        (-2.0, 0.5),
        "highest onset",
        0.5,
        0.3,
    )
    assert found.bridges == ("leading end", "trailing end")
    assert found.stated and not found.defaults_used


def test_without_the_table_defaults_are_listed_apart_from_those_of_an_assessment() -> None:
    study = parse(sample.TEXT)
    assert not study.bolts.stated
    assert len(study.bolts.defaults_used) == 8
    assert all(line.startswith("bolts.") and "(" in line for line in study.bolts.defaults_used)
    assert not any(line.startswith("bolts.") for line in study.defaults_used)


@pytest.mark.parametrize(
    ("line", "where", "mend"),
    [
        ('threads = ["M11"]', 'bolts.threads[1]: found unknown thread "M11"', 'write "M10x1"'),
        ('grades = ["12.8"]', 'bolts.grades[1]: found unknown grade "12.8"', 'write "12.9"'),
        ('threads = ["M8", "M8x1.25"]', 'bolts.threads[2]: found "M8x1.25"', "remove it"),
        ("threads = []", "bolts.threads: found an empty list", "write threads"),
        ("threads = [8]", "bolts.threads[1]: found 8", "in quotes"),
        ("counts = []", "bolts.counts: found an empty list", "write counts"),
        ("counts = 4", "bolts.counts: found 4", "write counts"),
        ("counts = [4.0]", "bolts.counts[1]: found 4", "count all bolts"),
        ("counts = [true]", "bolts.counts[1]: found true", "count all bolts"),
        ("counts = [0]", "bolts.counts[1]: found 0", "count all bolts"),
        ("counts = [31]", "bolts.counts[1]: found 31", "count all bolts"),
        ("row_shift_mm = [nan]", "bolts.row_shift_mm[1]: found nan", "finite"),
        ("row_shift_mm = [inf]", "bolts.row_shift_mm[1]: found inf", "finite"),
        ("row_shift_mm = [0, 0.0]", "bolts.row_shift_mm[2]: found 0", "remove it"),
        ('row_shift_mm = ["0"]', 'bolts.row_shift_mm[1]: found "0"', "plain number"),
        ('aim = "least spred"', "bolts.aim", 'write "least spread"'),
        ('bridges = ["leading"]', 'bolts.bridges: found unknown bridge "leading"', 'write "leading end"'),
        ("head_gap_mm = -1", "bolts.head_gap_mm: found -1", "mind the unit"),
        ("edge_metal_diameters = nan", "bolts.edge_metal_diameters: found nan", "finite"),
        ("row_shift = [0]", 'bolts.row_shift: found unknown key "row_shift"', "write row_shift_mm"),
    ],
)
def test_one_line_a_fault(line: str, where: str, mend: str) -> None:
    found = faults(f"[bolts]\n{line}\n").splitlines()
    assert len(found) == 1
    assert found[0].startswith(where)
    assert mend in found[0].split("mend: ")[1]


def test_all_faults_at_once_and_no_second_fault_for_the_same_entry() -> None:
    found = faults('[bolts]\nthreads = ["M99", "M99"]\nrow_shift_mm = [nan, nan]\naim = "x"\n').splitlines()
    assert len(found) == 5


def test_too_many_combinations_are_refused_with_their_number() -> None:
    shifts = ", ".join(str(0.1 * i) for i in range(600))
    found = faults(f"[bolts]\ncounts = [2, 4, 6]\nrow_shift_mm = [{shifts}]\n")
    assert "3 x 3 x 3 x 600 = 16200 combinations" in found and "at most 5000" in found
