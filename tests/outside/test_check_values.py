"""Where each check value of threads, bolts and bolted joints is asserted; none may be lost.

| values | what | file |
| --- | --- | --- |
| V34 - V44 | thread sizes, areas, loads, strengths, holes, heads, inch grades | test_catalogue |
| V45 - V47, V49, V50, V70, V75 | preload, torque, factors, scatter | test_bolt_tightening |
| V48 | torque; stress | test_bolt_tightening; test_bolt_diagram |
| V51 - V53, V64, V65, V67 | resilience of bolts and plates | test_bolt_resilience |
| V54, V56 - V59, V72 | textbook joint, endurance, head pressure | test_bolt_diagram |
| V60 - V62 | shear strength, strip factors, shear areas | test_bolt_threads |
| V68, V69 | embedding | test_bolt_settling |
| V71 | limiting pressure under heads | test_catalogue |
| V73, V74 | opening of a joint face | test_joint_faces |

The numbers 55, 63 and 66 are not given out.
"""

import ast
import re
from pathlib import Path

import pytest

HERE = Path(__file__).parent
NUMBERS = [n for n in range(34, 76) if n not in (55, 63, 66)]


def named(path: Path) -> set[int]:
    """Check values that a test function of the file names, in its name."""
    functions = [n for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.FunctionDef)]
    names = [f.name for f in functions if f.name.startswith("test_")]
    return {int(v) for name in names for v in re.findall(r"_v(\d+)(?=_)", name)}


def places() -> dict[int, list[str]]:
    """The table above: number -> files."""
    found: dict[int, list[str]] = {}
    for row in re.findall(r"^\| (V.*?) \|.*?\| (\S.*?) \|$", __doc__, flags=re.MULTILINE):
        for first, last in re.findall(r"V(\d+)(?: - V(\d+))?", row[0]):
            for n in range(int(first), int(last or first) + 1):
                found.setdefault(n, []).extend(row[1].split("; "))
    return found


@pytest.mark.parametrize("number", NUMBERS)
def test_each_check_value_is_asserted_where_the_table_says(number: int) -> None:
    files = places().get(number, [])
    assert files, f"V{number} is not in the table"
    for file in files:
        assert number in named(HERE / f"{file}.py"), f"no test of {file} is named after V{number}"


def test_the_table_holds_no_other_numbers() -> None:
    assert set(places()) == set(NUMBERS)
