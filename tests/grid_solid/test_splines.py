"""Quadratic splines of one axis: what they reproduce, where slopes may jump, how cells are graded."""

import itertools

import numpy as np
import pytest
from numpy.typing import NDArray

from stiffcalc.grid_solid.splines import Line, graded

BREAKS = np.array([-7.0, -3.0, -1.0, 0.5, 1.0, 4.0, 11.0])
LINES = [Line(BREAKS), Line(BREAKS, (0.5,)), Line(BREAKS, (-3.0, 4.0))]
HAIR = 1e-9


def table(line: Line, at: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Values and slopes (K, count) of all functions."""
    which, *parts = line.at(at)
    full = [np.zeros((len(at), line.count)) for _ in parts]
    for one, part in zip(full, parts, strict=True):
        np.put_along_axis(one, which, part, axis=1)
    return full[0], full[1]


@pytest.mark.parametrize("line", LINES)
def test_functions_add_up_to_one_and_span_quadratics(line: Line) -> None:
    at = np.linspace(-7.0, 11.0, 200)
    value, slope = table(line, at)
    assert value.sum(axis=1) == pytest.approx(np.ones(200), abs=1e-12)
    assert slope.sum(axis=1) == pytest.approx(np.zeros(200), abs=1e-12)
    assert (value >= 0.0).all()
    wanted = 3.0 - 2.0 * at + 0.7 * at**2
    found = np.linalg.lstsq(value, wanted, rcond=None)[0]
    assert value @ found == pytest.approx(wanted, abs=1e-9)
    assert slope @ found == pytest.approx(-2.0 + 1.4 * at, abs=1e-9)


@pytest.mark.parametrize("line", LINES)
def test_slopes_jump_at_creases_alone_and_values_nowhere(line: Line) -> None:
    inner = BREAKS[1:-1]
    before, after = (table(line, inner + s * HAIR) for s in (-1.0, 1.0))
    assert after[0] == pytest.approx(before[0], abs=1e-7)
    jumps = np.abs(after[1] - before[1]).max(axis=1) > 1e-3
    assert jumps.tolist() == [b in line.creases for b in inner]
    assert line.count == line.cells + 2 + len(line.creases)


def test_a_kink_at_a_crease_is_followed_exactly() -> None:
    at = np.linspace(-7.0, 11.0, 300)
    kink = np.maximum(0.0, at - 0.5)
    for line, exact in ((Line(BREAKS, (0.5,)), True), (Line(BREAKS), False)):
        value, _ = table(line, at)
        off = np.abs(value @ np.linalg.lstsq(value, kink, rcond=None)[0] - kink).max()
        assert bool(off < 1e-9) is exact


@pytest.mark.parametrize(("parts", "points"), [(1, 3), (4, 2)])
def test_gauss_rule_is_exact_over_every_cell(parts: int, points: int) -> None:
    places, weight = LINES[0].rule(parts, points)
    assert weight.sum(axis=1) == pytest.approx(np.diff(BREAKS))
    assert (weight * places**3).sum(axis=1) == pytest.approx(np.diff(BREAKS**4) / 4.0)


def test_cells_grow_away_from_stops() -> None:
    assert len(graded([0.0, 60.0], size=12.0, edge=2.0)) - 1 < 12  # even cells of 2 mm would be 30


def test_centres_reproduce_the_place() -> None:
    at = np.linspace(-7.0, 11.0, 50)
    for line in LINES:
        assert table(line, at)[0] @ line.centres == pytest.approx(at)


def test_a_break_belongs_to_the_cell_beyond_it_but_the_last() -> None:
    assert LINES[0].cell_of(BREAKS).tolist() == [0, 1, 2, 3, 4, 5, 5]


@pytest.mark.parametrize("size", [3.0, 8.0, 50.0])
@pytest.mark.parametrize("edge", [1.0, 2.5])
def test_graded_cells_meet_every_stop_and_are_finest_there(size: float, edge: float) -> None:
    stops = [0.0, 3.1, 20.0, 20.9, 75.0]
    found = graded(stops, size=size, edge=edge)
    widths = np.diff(found)
    assert (widths > 0.0).all()
    assert np.abs(found[:, None] - stops).min(axis=0) == pytest.approx(np.zeros(5), abs=1e-9)
    assert widths.max() <= 1.5 * size  # as a whole number of cells fills each span
    assert (widths[1:] / widths[:-1]).max() < 3.0 * 1.5
    for a, b in itertools.pairwise(stops):
        own = widths[(found[:-1] >= a - 1e-9) & (found[1:] <= b + 1e-9)]
        assert own == pytest.approx(own[::-1])  # as fine at either end
        assert own[0] == pytest.approx(own.min())
        assert own[0] <= 1.75 * edge  # the next cell would be half as wide again
