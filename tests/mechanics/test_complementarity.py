"""Linear systems some of whose unknowns only press: against every active set, and general-purpose least squares."""

from itertools import product

import numpy as np
import pytest
from scipy.optimize import minimize, nnls

from stiffcalc.mechanics import complementarity
from stiffcalc.mechanics.complementarity import System, press


def system(rng, *, pressing, free=0, bound=0):
    """K of a convex energy, positive definite, with `bound` equations of balance that mix all unknowns; b."""
    n = pressing + free
    root = rng.normal(size=(n + 2, n))
    A = np.vstack([np.abs(rng.normal(size=(bound, n)))]) if bound else np.zeros((0, n))
    K = np.block([[root.T @ root, A.T], [A, np.zeros((bound, bound))]])
    b = np.concatenate([3 * rng.normal(size=n), np.abs(rng.normal(size=bound))])
    return K, b


def inverted(K):
    return System(K, np.linalg.inv(K))


def by_every_set(K, b, count):
    """The one set of pressing unknowns under which nothing pulls and nothing overlaps."""
    found = []
    for active in product((False, True), repeat=count):
        keep = np.flatnonzero(np.concatenate([active, np.ones(len(b) - count, dtype=bool)]))
        x = np.zeros(len(b))
        x[keep] = np.linalg.lstsq(K[np.ix_(keep, keep)], b[keep], rcond=None)[0]
        gap = K @ x - b
        if (
            np.abs(gap[keep]).max(initial=0.0) < 1e-9
            and x[:count].min() > -1e-10
            and gap[:count].min() > -1e-10
        ):
            found.append(x)
    assert found and all(np.allclose(x, found[0], atol=1e-7) for x in found)
    return found[0]


@pytest.mark.parametrize("seed", range(12))
def test_small_systems_against_every_active_set(seed):
    K, b = system(np.random.default_rng(seed), pressing=7, free=2, bound=seed % 3)
    at = press(inverted(K), b, count=7)
    np.testing.assert_allclose(at.x, by_every_set(K, b, 7), atol=1e-9)
    assert at.settled and at.residual < 1e-12
    np.testing.assert_array_equal(at.active, at.x[:7] > 0)


@pytest.mark.parametrize("seed", range(6))
def test_the_minimum_of_scipy_s_non_negative_least_squares(seed):
    # min |root x - y| with x >= 0 (scipy.optimize.nnls, Lawson and Hanson) is K = root.T root, b = root.T y.
    rng = np.random.default_rng(seed)
    root, y = rng.normal(size=(90, 60)), rng.normal(size=90)
    K, b = root.T @ root, root.T @ y
    at = press(inverted(K), b, count=60)
    np.testing.assert_allclose(at.x, nnls(root, y)[0], atol=1e-10)
    assert 5 < at.active.sum() < 55


def test_the_minimum_of_a_bounded_general_purpose_minimiser():
    # scipy.optimize.minimize (L-BFGS-B) on the energy itself, the last four unknowns without bounds.
    K, b = system(np.random.default_rng(2), pressing=10, free=4)
    best = minimize(
        lambda x: 0.5 * x @ K @ x - b @ x,
        np.ones(14),
        jac=lambda x: K @ x - b,
        bounds=[(0, None)] * 10 + [(None, None)] * 4,
        options={"ftol": 1e-15, "gtol": 1e-10, "maxiter": 5000, "maxfun": 50000},
    )
    np.testing.assert_allclose(press(inverted(K), b, count=10).x, best.x, atol=1e-5)


def test_any_first_guess_ends_at_the_same_place():
    rng = np.random.default_rng(5)
    K, b = system(rng, pressing=20, free=2, bound=2)
    both = inverted(K)
    wanted = press(both, b, count=20)
    for _ in range(20):
        guess = rng.random(20) < 0.5
        kept = guess.copy()
        at = press(both, b, count=20, start=guess)
        np.testing.assert_allclose(at.x, wanted.x, atol=1e-10)
        np.testing.assert_array_equal(guess, kept)  # the caller's guess is its own
    assert press(both, b, count=20, start=wanted.active).steps == 1


def test_one_at_a_time_comes_to_the_same_end(monkeypatch):
    K, b = system(np.random.default_rng(8), pressing=20, free=2)
    wanted = press(inverted(K), b, count=20)
    monkeypatch.setattr(complementarity, "SETS", 0)
    slow = press(inverted(K), b, count=20)
    np.testing.assert_allclose(slow.x, wanted.x, atol=1e-10)
    assert slow.settled and slow.steps > wanted.steps


def test_a_poor_inverse_is_made_good():
    # Stiff and soft parts apart by ten orders: rounding of the inverse alone leaves 1e-8.
    rng = np.random.default_rng(1)
    K, b = system(rng, pressing=30)
    scale = 10.0 ** rng.uniform(-5, 5, 30)
    K, b = K * scale * scale[:, None], b * scale
    at = press(inverted(K), b, count=30)
    assert at.settled and 0 < at.active.sum() < 30
    assert at.residual < 1e-14


def test_what_is_not_settled_shows_in_the_residual(monkeypatch):
    monkeypatch.setattr(complementarity, "STEPS", 1)
    K, b = system(np.random.default_rng(3), pressing=12)
    at = press(inverted(K), b, count=12)
    assert at.steps == 1 and not at.settled
    assert at.residual > 1e-3
    pulls = -at.x[:12].min() / np.abs(at.x[:12]).max()
    assert at.residual == pytest.approx(pulls)  # all were active, so only pulls can be wrong


@pytest.mark.parametrize("seed", range(5))
def test_a_load_that_nothing_can_balance_is_not_passed(seed):
    # Two pressing unknowns on one side of a pivot cannot balance a moment to the other side.
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(4, 4))
    arms = np.array([[1.0, 1.0, 1.0, 1.0], [0.3, 0.5, 0.7, 0.9]])
    K = np.block([[root.T @ root + 0.1 * np.eye(4), arms.T], [arms, np.zeros((2, 2))]])
    b = np.concatenate([rng.normal(size=4), [1.0, 1.4]])
    with np.errstate(all="ignore"):
        at = press(inverted(K), b, count=4)
    assert not at.residual <= 1e-8
    held = press(inverted(K), np.concatenate([b[:4], [1.0, 0.8]]), count=4)
    assert held.residual < 1e-12


def test_nan_neither_hangs_nor_passes():
    K, b = system(np.random.default_rng(0), pressing=6)
    b[2] = np.nan
    at = press(inverted(K), b, count=6)
    assert at.steps == 1 and np.isnan(at.residual)


def test_no_load_no_force():
    K, _ = system(np.random.default_rng(0), pressing=6, free=1)
    at = press(inverted(K), np.zeros(7), count=6)
    assert not at.x.any() and at.residual == 0.0 and at.settled
