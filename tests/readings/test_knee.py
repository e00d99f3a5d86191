"""Take-up and knee on synthetic readings of known truth, fixed seeds."""

import numpy as np
import pytest
from reading_sample import SLOPE, TOP, noisy

from stiffcalc.readings.knee import LEAST_BEND, find, levels
from stiffcalc.readings.lines import Points

SIZES = [(8, 1), (12, 1), (16, 1), (30, 1), (12, 2), (16, 3)]


@pytest.mark.parametrize(
    ("count", "cycles", "stated"), [(*s, False) for s in SIZES] + [(*s, True) for s in SIZES[::2]]
)
def test_no_knee_in_at_least_95_of_100_straight_sets(count: int, cycles: int, stated: bool) -> None:
    sets = [find(noisy(seed, count=count, cycles=cycles, noise=0.01, stated=stated)) for seed in range(100)]
    wrong = sum(f is not None and f.line.bend is not None for f in sets)
    assert wrong <= 5, f"{wrong} of 100"


@pytest.mark.parametrize("knee", [6.0, 7.5, 9.0])
@pytest.mark.parametrize(("count", "cycles", "noise"), [(16, 1, 0.003), (16, 2, 0.005), (25, 3, 0.007)])
def test_knee_within_5_percent_where_it_exists(count: int, cycles: int, noise: float, knee: float) -> None:
    """Sizes at which the readings hold that much: an interval of 95 % is then within 5 % itself."""
    places = []
    for seed in range(25):
        found = find(noisy(1000 + seed, count=count, cycles=cycles, noise=noise, knee=knee))
        assert found is not None and found.line.bend is not None, seed
        places.append(found.line.bend.at)
    worst = float(np.max(np.abs(np.array(places) / knee - 1)))
    assert worst < 0.05, f"worst {worst:.1%}"


def test_interval_of_the_knee_covers_it_as_often_as_it_says() -> None:
    sets = [find(noisy(seed, count=20, cycles=2, noise=0.01, knee=7.0)) for seed in range(100)]
    bends = [f.line.bend for f in sets if f is not None and f.line.bend is not None]
    covered = sum(b.low <= 7.0 <= b.high for b in bends)
    assert len(bends) >= 95
    assert covered >= 0.88 * len(bends), (
        f"{covered} of {len(bends)}"
    )  # 95 % less three standard errors of 100 sets


def test_interval_of_the_slope_covers_it_as_often_as_it_says() -> None:
    lines = [f.line for s in range(200) if (f := find(noisy(s, count=14, cycles=2, noise=0.01))) is not None]
    covered = sum(abs(line.slope - SLOPE) <= line.half_width for line in lines)
    assert 0.90 <= covered / len(lines) <= 0.99, f"{covered} of {len(lines)}"


@pytest.mark.parametrize("toe_slope", [2.0, 0.4])
def test_take_up_is_found_and_dropped(toe_slope: float) -> None:
    """Steeper at first (fluid, slack) or flatter (nothing seated yet): what is left has the true slope."""
    found = find(noisy(5, count=24, cycles=2, noise=0.003, toe=2.0, toe_slope=toe_slope))
    assert found is not None and found.found
    assert found.take_up == pytest.approx(2.0, abs=0.35)
    assert found.line.bend is None
    assert abs(found.line.slope - SLOPE) <= found.line.half_width
    assert found.early is (toe_slope < 1)
    assert not found.kept.all()


def test_take_up_and_knee_together() -> None:
    found = find(noisy(6, count=24, cycles=2, noise=0.004, toe=1.8, knee=8.0))
    assert found is not None and found.found and found.line.bend is not None
    assert found.take_up == pytest.approx(1.8, abs=0.4)
    assert found.line.bend.at == pytest.approx(8.0, rel=0.05)


def test_stated_take_up_drops_what_is_below_and_nothing_else() -> None:
    points = noisy(7, count=16, cycles=1, noise=0.005, toe=2.0)
    found = find(points, take_up=3.0)
    assert found is not None and not found.found
    assert (found.kept == (points.x >= 3.0)).all()
    with_all = find(points, take_up=0.0)
    assert with_all is not None and with_all.kept.all()


def test_early_knee_is_found_where_take_up_is_stated_as_none() -> None:
    """A joint that opens below a quarter of the pressures is not taken for take-up then."""
    found = find(noisy(8, count=30, cycles=2, noise=0.003, knee=2.5), take_up=0.0)
    assert found is not None and found.line.bend is not None
    assert found.line.bend.at == pytest.approx(2.5, rel=0.1)


def test_stiffening_is_no_knee() -> None:
    found = find(noisy(9, count=20, cycles=2, noise=0.003, knee=7.0, beyond=0.6))
    assert found is not None and found.line.bend is None


def test_a_bend_too_small_to_matter_is_no_knee_even_without_noise() -> None:
    def exact(beyond: float) -> Points:
        return noisy(0, count=20, cycles=1, noise=0.0, knee=7.0, beyond=beyond)

    small, large = find(exact(1 + 0.5 * LEAST_BEND)), find(exact(1 + 4 * LEAST_BEND))
    assert small is not None and small.line.bend is None
    assert large is not None and large.line.bend is not None
    assert large.line.bend.at == pytest.approx(7.0, rel=1e-4)


def test_exact_straight_readings_have_no_knee_and_no_take_up() -> None:
    found = find(noisy(0, count=20, cycles=2, noise=0.0))
    assert found is not None and found.line.bend is None and found.take_up == 0.0
    assert found.line.slope == pytest.approx(SLOPE, rel=1e-9)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_sign_and_unit_of_the_readings_change_nothing(sign: float) -> None:
    p = noisy(11, count=20, cycles=2, noise=0.004, knee=8.0)
    a, b = find(p), find(Points(p.x, 1e3 * sign * p.y, None, p.branch))
    assert a is not None and b is not None and a.line.bend is not None and b.line.bend is not None
    assert b.line.bend.at == pytest.approx(a.line.bend.at, rel=1e-4)
    assert b.line.slope == pytest.approx(1e3 * sign * a.line.slope, rel=1e-6)


def test_zeros_of_cycles_do_no_harm() -> None:
    p = noisy(12, count=16, cycles=3, noise=0.004)
    shifted = Points(p.x, p.y + 5.0 * p.branch, None, p.branch)
    a, b = find(p), find(shifted)
    assert a is not None and b is not None
    assert b.line.slope == pytest.approx(a.line.slope, rel=1e-6)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_too_few_readings_are_not_fitted(count: int) -> None:
    assert find(noisy(0, count=count, cycles=1)) is None


def test_all_readings_in_the_take_up() -> None:
    assert find(noisy(0, count=10, cycles=1), take_up=TOP + 1) is None


def test_levels_join_what_is_meant_as_one_pressure() -> None:
    low, high = levels(np.array([0.0, 0.02, 1.0, 1.05, 2.0, 10.0]))
    assert low.tolist() == [0.0, 1.0, 2.0, 10.0]
    assert high.tolist() == [0.02, 1.05, 2.0, 10.0]
