"""A layout asked for by a wrong name: the one it begins, the nearest, or the list, each name in quotes."""

from dataclasses import dataclass

import pytest

from stiffcalc.errors import InputError
from stiffcalc.study.lookup import design_named


@dataclass(frozen=True)
class Named:
    name: str


@dataclass(frozen=True)
class Some:
    designs: tuple[Named, ...]


SOME = Some((Named("six bolts, bolted bridge"), Named("two-piece, four bolts"), Named("one piece")))


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("six bolts", 'write "six bolts, bolted bridge"'),
        ("one peice", 'write "one piece"'),
        ("nix", '"six bolts, bolted bridge", "two-piece, four bolts", "one piece"'),
    ],
)
def test_wrong_names(name, said):
    with pytest.raises(InputError, match=said):
        design_named(SOME, name)
    assert design_named(SOME, "one piece").name == "one piece"
