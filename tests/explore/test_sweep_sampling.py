"""Designs of a sweep are told by their number alone."""

from itertools import product

import numpy as np
import pytest
import sweep_sample as sample
from scipy.stats import qmc

from stiffcalc.explore import sampling
from stiffcalc.study.schema import Level, SweepKey

RANGE = SweepKey("r", ("pad.friction",), ("rotor.x",), 1.0, 3.0, ())
LIST = SweepKey("l", ("a",), (), np.nan, np.nan, tuple(Level(t, np.nan, {"pad.a": t}) for t in "xyz"))


@pytest.mark.parametrize("kind", ["random", "sobol", "halton"])
def test_more_designs_leave_the_first_ones_as_they_are(kind: str) -> None:
    few, many = (sample.plan(sampling=kind, samples=n) for n in (300, 5000))  # in chunks of 128, of 512
    drawn = [np.concatenate([sampling.drawn(p, k) for k in range(sampling.chunks(p))]) for p in (few, many)]
    assert len(drawn[0]) == 300 and len(drawn[1]) == 5000
    assert np.array_equal(drawn[1][:300], drawn[0])
    assert [n for k in range(3) for n in sampling.designs_of(few, k)] == list(range(1, 301))


@pytest.mark.parametrize("kind", ["random", "sobol", "halton"])
def test_the_seed_tells_sweeps_apart(kind: str) -> None:
    one, same, other = (sampling.points(sample.plan(sampling=kind, seed=s), 1) for s in (3, 3, 4))
    assert np.array_equal(one, same) and not np.array_equal(one, other)


@pytest.mark.parametrize(("kind", "sequence"), [("sobol", qmc.Sobol), ("halton", qmc.Halton)])
def test_chunks_are_parts_of_the_librarys_sequence(kind: str, sequence: type) -> None:
    """Against scipy.stats.qmc drawn in one go."""
    plan = sample.plan(sampling=kind, seed=5)
    size = len(plan.keys)
    whole = sequence(size, scramble=True, seed=np.random.default_rng(5)).random(1024)
    assert np.array_equal(np.concatenate([sampling.points(plan, k) for k in range(8)]), whole)


def test_low_discrepancy_is_lower_than_chance() -> None:
    """Centred discrepancy of scipy.stats.qmc; that of random points falls as 1/sqrt(n) only."""
    found = {
        k: qmc.discrepancy(sampling.points(sample.plan(sampling=k), 0)) for k in ("random", "sobol", "halton")
    }
    assert found["sobol"] < 0.5 * found["random"] and found["halton"] < 0.5 * found["random"]


def test_a_grid_has_every_place_once() -> None:
    keys = (LIST, SweepKey("n", ("b",), (), 0, 1, tuple(Level(str(v), v, {"b": v}) for v in (0.0, 1.0))))
    plan = sample.plan(sampling="grid", samples=6, keys=keys)
    assert sampling.drawn(plan, 0).tolist() == [list(map(float, p)) for p in product(range(3), range(2))]


def test_choices_become_paths_numbers_and_words() -> None:
    plan = sample.plan(keys=(RANGE, LIST))
    assert sampling.changes(plan, (2.5, 1.0)) == {"pad.friction": 2.5, "rotor.x": -2.5, "pad.a": "y"}
    assert sampling.label(RANGE, 2.5) == "2.5" and sampling.label(LIST, 2.0) == "z"


def test_a_range_is_filled_within_its_ends_and_a_list_evenly() -> None:
    plan = sample.plan(keys=(RANGE, LIST), samples=1024)
    taken = np.array([c for k in range(8) for c in sampling.drawn(plan, k)])
    assert 1.0 <= taken[:, 0].min() < 1.02 and 2.98 < taken[:, 0].max() <= 3.0
    assert np.bincount(taken[:, 1].astype(int)).tolist() == pytest.approx([1024 / 3] * 3, rel=0.02)
    assert all(float(f"{v:.6g}") == v for v in taken[:, 0])


@pytest.mark.parametrize(
    ("samples", "size", "chunks"),
    [
        (1, 128, 1),
        (1024, 128, 8),
        (2047, 128, 16),
        (2048, 256, 8),
        (100_000, 8192, 13),
        (1_000_000, 8192, 123),
    ],
)
def test_chunks_grow_with_the_sweep(samples: int, size: int, chunks: int) -> None:
    plan = sample.plan(samples=samples)
    assert (sampling.size(plan), sampling.chunks(plan)) == (size, chunks)


@pytest.mark.parametrize("kind", ["random", "sobol", "halton"])
def test_designs_read_alone_come_in_small_chunks_and_are_the_same(kind: str) -> None:
    alone, together = (sample.plan(sampling=kind, samples=5000, alone=a) for a in (True, False))
    assert (sampling.size(alone), sampling.size(together)) == (128, 512)
    one, other = (
        np.concatenate([sampling.drawn(p, k) for k in range(sampling.chunks(p))]) for p in (alone, together)
    )
    assert np.array_equal(one, other)


def test_numbers_are_shortened_as_a_decimal_is_read() -> None:
    """Against Python's own formatting and reading."""
    values = np.concatenate(
        [np.logspace(-9, 9, 997), -np.logspace(-3, 3, 99), [0.0, 999999.5, 1000.0, 0.1, 1e-15]]
    )
    assert sampling.shortened(values).tolist() == [float(f"{v:.6g}") for v in values.tolist()]
