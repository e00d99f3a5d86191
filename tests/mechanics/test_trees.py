"""Many designs as one whose numbers are arrays, and back."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import pytest

from stiffcalc.mechanics.trees import shape, single, stack


@dataclass(frozen=True)
class Part:
    size: float
    range: tuple[float, float]
    outline: tuple[tuple[float, float], ...] = ()
    name: str = ""
    share: float | None = None


@dataclass(frozen=True)
class Whole:
    parts: tuple[Part, ...]
    rotor: Part
    shape: np.ndarray


ROTOR = Part(9.0, (0.0, 1.0))
POINTS = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
TREES = [
    Whole((Part(k, (k, 2 * k), ((0.0, k * 0), (1.0, 2.0))),), ROTOR, k * POINTS) for k in (1.0, 2.0, 3.0)
]


def test_there_and_back() -> None:
    batch = stack(TREES)
    assert batch.parts[0].size.tolist() == [1.0, 2.0, 3.0]
    assert batch.parts[0].range[1].tolist() == [2.0, 4.0, 6.0]
    assert batch.shape.shape == (3, 3, 2)
    for a, b in zip((single(batch, d) for d in range(3)), TREES, strict=True):
        assert a.parts == b.parts and type(a.parts[0].size) is float
        assert np.array_equal(a.shape, b.shape)


def test_what_is_one_object_in_all_stays_as_it_is() -> None:
    batch = stack(TREES)
    assert batch.rotor is ROTOR and single(batch, 2).rotor is ROTOR


def test_equal_numbers_stay_plain_but_for_the_trees_own() -> None:
    part = Part(9.0, (0.0, 1.0))
    assert stack([part, part]).size.tolist() == [9.0, 9.0]  # type: ignore[attr-defined]
    batch = stack([Whole((Part(k, (k, 5.0)),), ROTOR, POINTS) for k in (1.0, 2.0)])
    assert batch.parts[0].range[1] == 5.0 and batch.parts[0].range[0].tolist() == [1.0, 2.0]


@pytest.mark.parametrize(
    "other",
    [{"name": "b"}, {"share": 1.0}, {"outline": ((0.0, 0.0), (1.0, 3.0))}, {"range": (1.0,)}],
)
def test_trees_that_differ_in_more_than_numbers_are_refused(other: dict[str, object]) -> None:
    part = TREES[0].parts[0]
    with pytest.raises(ValueError, match="differ"):
        stack([part, replace(part, **other)])


def test_parts_that_must_be_alike() -> None:
    part = TREES[0].parts[0]
    with pytest.raises(ValueError, match="differ"):
        stack([part, replace(part, size=2.0)], whole=(Part,)) if False else stack(
            [Whole((part,), ROTOR, POINTS), Whole((replace(part, size=2.0),), ROTOR, POINTS)], whole=(Part,)
        )


@dataclass(frozen=True)
class Line:
    at: tuple[float, ...] = field(metadata={"whole": True})
    value: tuple[float, ...] = (1.0, 2.0)


@dataclass(frozen=True)
class Metal:
    lines: Mapping[str, Line]
    factors: Mapping[str, float]


def test_parts_by_name_are_stacked_but_numbers_by_name_are_not() -> None:
    metals = [Metal({"E": Line((20.0, 100.0), (k, 2 * k))}, {"proof": 1.1}) for k in (1.0, 2.0)]
    assert shape(metals[0]) == shape(metals[1])
    batch = stack(metals)
    assert batch.lines["E"].value[1].tolist() == [2.0, 4.0] and batch.lines["E"].at == (20.0, 100.0)
    assert [single(batch, d) for d in range(2)] == metals
    assert shape(metals[0]) != shape(replace(metals[0], factors={"proof": 1.2}))
    with pytest.raises(ValueError, match="differ"):
        stack([metals[0], replace(metals[0], factors={"proof": 1.2})])


def test_a_field_that_is_whole_is_the_same_in_all() -> None:
    assert shape(Line((20.0, 100.0))) == shape(Line((20.0, 100.0), (3.0, 4.0)))
    assert shape(Line((20.0, 100.0))) != shape(Line((20.0, 120.0)))
