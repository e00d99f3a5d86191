"""When the model that counts has said enough about a mass."""

from types import SimpleNamespace

from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.compare_points import Chosen, settled


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
