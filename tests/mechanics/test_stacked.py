"""Work done some designs at a time is work done on all at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pytest

from stiffcalc.condensed import Array
from stiffcalc.mechanics import stacked


@dataclass(frozen=True)
class Leaf:
    values: Array
    count: int
    nothing: None = None


@dataclass(frozen=True)
class Tree:
    leaf: Leaf
    pair: tuple[Array, Leaf]
    named: Mapping[str, Array]


def tree(count: int) -> Tree:
    rng = np.random.default_rng(count)
    leaf = Leaf(rng.random((count, 3)), 4)
    return Tree(leaf, (rng.random(count), leaf), {"a": rng.random((count, 2, 2))})


@pytest.mark.parametrize("count", [0, 1, 5, 6, 7, 13])
def test_slabs_put_together_are_the_whole(count):
    whole, calls = tree(count), []

    def work(rows: slice) -> Tree:
        calls.append(rows)
        return stacked.some(whole, rows)

    found = stacked.in_slabs(work, count, size=6)
    assert len(calls) == max(1, -(-count // 6))
    np.testing.assert_array_equal(found.leaf.values, whole.leaf.values)
    np.testing.assert_array_equal(found.pair[0], whole.pair[0])
    np.testing.assert_array_equal(found.named["a"], whole.named["a"])
    assert (found.leaf.count, found.leaf.nothing) == (4, None)


def test_one_is_a_batch_of_that_design():
    found = stacked.one(tree(5), 3)
    np.testing.assert_array_equal(found.pair[1].values, tree(5).leaf.values[3:4])


def test_greatest_is_numpys():
    values = np.random.default_rng(1).normal(size=(4, 3, 5))
    for axis in (-1, 0, 1):
        np.testing.assert_array_equal(stacked.greatest(values, axis), values.max(axis=axis))
