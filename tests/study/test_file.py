"""Text that is no TOML: what the parser found, in words that can stand after "found"."""

import pytest

from stiffcalc.errors import InputError
from stiffcalc.study.file import parse_toml


@pytest.mark.parametrize(
    ("text", "place", "found"),
    [
        ("a = 1\na = 2\n", "line 2", "a second value of one key"),
        ("[pad]\n[caliper.wall]\n[caliper.wall]\n", "line 3", "a second [caliper.wall]"),
        ("[pad]\n[pad]\n", "line 2", "a second [pad]"),
        ("height_mm = 1,5\n", "line 1", "expected newline or end of document after a statement"),
        ("height_mm = 15 mm\n", "line 1", "expected newline or end of document after a statement"),
        ("a = 1\rb = 2\r", "line 1", "expected newline or end of document after a statement"),
    ],
)
def test_what_is_wrong_reads_as_a_sentence(text: str, place: str, found: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_toml(text, where="study.toml")
    (fault,) = caught.value.faults
    assert fault.where.startswith(f"study.toml, {place}, column ")
    assert fault.found == found
    assert fault.mend.startswith("correct this line: each key once, decimal points")
