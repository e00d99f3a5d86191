"""When the model that counts has said enough about a mass."""

from types import SimpleNamespace

import numpy as np

from stiffcalc.errors import ConvergenceError
from stiffcalc.explore import compare_points
from stiffcalc.explore.compare_chosen import Chosen
from stiffcalc.explore.compare_points import PATIENCE, RESERVE, confirmed, settled
from stiffcalc.explore.search import Evaluation


def answer(spread, missed=0.0):
    return SimpleNamespace(figures=SimpleNamespace(spread=spread), missed=lambda _: missed)


def test_a_mass_issettled_by_an_answer_that_meets_its_checks_and_gains_nothing():
    assert settled(Chosen(0, answer(0.1)), answer(0.0999))
    assert not settled(Chosen(0, answer(0.1)), answer(0.09))
    assert not settled(None, answer(0.1))


def test_a_lighter_design_that_meets_everything_settles_nothing_while_the_own_one_falls_short():
    assert not settled(Chosen(0, answer(0.23)), answer(0.142, missed=0.01))
    assert not settled(Chosen(0, answer(0.23, missed=0.1)), answer(0.23))
    assert not settled(
        Chosen(0, answer(0.23)), ConvergenceError("no equilibrium", iterations=9, residual=1.0)
    )


def test_a_mass_that_comes_back_to_a_design_asked_about_is_searched_again_with_more_reserve(monkeypatch):
    one = Evaluation(np.zeros((1, 1)), np.array([0.2]), np.array([1.0]), {})
    searched = SimpleNamespace(known=one, candidate=SimpleNamespace(name="body"))
    asked, reserves = [], []

    def again(s, known, budgets, effort, *, reserve):
        reserves.append(reserve)
        assert [b.mass for b in budgets] == [1.0, 2.0]
        return s

    monkeypatch.setattr(compare_points, "design_of", lambda s, row: row)
    monkeypatch.setattr(compare_points, "ask", lambda row, front_view: asked.append(row) or answer(0.2))
    monkeypatch.setattr(compare_points, "_searched_again", again)
    monkeypatch.setattr(compare_points, "polished", lambda s, *rest, **more: s)
    found = confirmed(searched, (1.0, 2.0), None, front_view=True, done=lambda word: None)
    assert asked == [0] and len(found.known) == 1
    assert reserves == [RESERVE * turn for turn in range(1, PATIENCE + 1)]
