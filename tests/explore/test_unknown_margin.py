"""A margin that is no number: last in every order, never met, neither worst nor best, always missed."""

import math
from dataclasses import replace

import pytest
from compare_sample import study

from stiffcalc.caliper import verdict
from stiffcalc.caliper.checked import Checked, Checks, Subject, Words, at_most
from stiffcalc.caliper.results import worst_first
from stiffcalc.explore.compare_front import Asked, ask
from stiffcalc.explore.compare_limits import limits, missed


@pytest.fixture(scope="module")
def known() -> Asked:
    found = ask(study().designs[1], front_view=False)
    assert isinstance(found, Asked)
    return found


@pytest.fixture(scope="module")
def unknown(known: Asked) -> Asked:
    """The same answer, the best of its checks of no known margin."""
    first, *others = known.load_cases
    best = max(first.checks, key=lambda k: k.order)
    odd = tuple(replace(k, margin=math.nan, met=False) if k is best else k for k in first.checks)
    return replace(known, load_cases=(replace(first, checks=odd), *others))


def test_order() -> None:
    assert sorted([0.3, math.nan, -0.2, math.inf], key=worst_first)[:2] == [-0.2, 0.3]
    assert math.isnan(sorted([math.nan, -0.2, 0.3], key=worst_first)[-1])
    assert worst_first(0.1 + 1e-12) == worst_first(0.1)


def test_a_load_that_is_no_number_is_last_and_not_met() -> None:
    def row(name: str, load: float) -> Checked:
        subject = Subject(name, "MPa", (name,), lambda _: Words("", ""))
        return at_most(subject, load, 10.0)

    found = Checks((row("unknown", math.nan), row("met", 5.0), row("missed", 20.0))).one(0)
    assert [(c.id, c.met) for c in found] == [("missed", False), ("met", True), ("unknown", False)]


def test_it_counts_as_unmet_and_does_not_govern(known: Asked, unknown: Asked) -> None:
    assert verdict.unmet(unknown) == verdict.unmet(known) + 1
    assert verdict.worst(unknown)[1].what == verdict.worst(known)[1].what


def test_a_comparison_misses_it(known: Asked, unknown: Asked) -> None:
    assert known.missed() < math.inf == unknown.missed()
    said = [missed(limits(a, (), choice=(), mass=3.0, budget=4.0, room=())) for a in (known, unknown)]
    assert len(said[1]) == len(said[0]) + 1
    assert math.isnan(said[1][-1].margin)
