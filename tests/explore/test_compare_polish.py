"""Last steps judged by a second model with a cliff that the search does not know; closed form, two dimensions."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from stiffcalc.condensed import Array
from stiffcalc.explore import compare_polish
from stiffcalc.explore.compare_chosen import Chosen, anchor, pick
from stiffcalc.explore.compare_front import Asked
from stiffcalc.explore.compare_polish import Plane, _cut, _full, _led, polished
from stiffcalc.explore.compare_rho import corrected
from stiffcalc.explore.compare_search import Searched
from stiffcalc.explore.search import Budget, Evaluation, joined

MASS = 1.0


def search(x: Array) -> Evaluation:
    """Cost falls along both dimensions; an onset that falls gently; mass is never full."""
    return Evaluation(x, 2.0 - x.sum(axis=1), np.full(len(x), 0.5), {"onset": 0.9 - 0.5 * x.sum(axis=1)})


def answered(x: Array) -> float:
    """The onset as the second model has it: 0.9 of the search's, and a cliff at x1 + 3 x2 = 2, down to -1."""
    gentle = 0.9 * (1.9 - 0.5 * x.sum()) - 1.0
    return float(max(-1.0, min(gentle, 5.0 * (2.0 - x[0] - 3.0 * x[1]))))


def answer(x: Array) -> Asked:
    margins = {"onset": answered(x)}
    figures = SimpleNamespace(spread=2.0 - float(x.sum()))
    found: Any = Asked(SimpleNamespace(), (), figures, None)  # type: ignore[arg-type]
    object.__setattr__(found, "worst", lambda: margins)
    return found


@pytest.fixture
def start(monkeypatch: pytest.MonkeyPatch) -> Searched:
    monkeypatch.setattr(compare_polish, "design_of", lambda s, row: s.known.x[row])
    monkeypatch.setattr(compare_polish, "ask", lambda x, front_view: answer(x))
    monkeypatch.setattr(Searched, "evaluate", evaluate)
    candidate: Any = SimpleNamespace(name="body", keys=(SimpleNamespace(levels=()),) * 2)
    return Searched(candidate, {}, search(np.array([[0.65, 0.35]])), np.random.default_rng(1))


def evaluate(s: Searched, x: Array) -> Evaluation:
    return corrected(search(x), s.anchors)


def least(s: Searched) -> Chosen:
    known: Any = {0: answer(s.known.x[0])}
    found = pick(polished(s, known, [MASS], planes=[], front_view=True, done=lambda word: None), MASS, known)
    assert found is not None
    return found


def test_steps_end_on_the_cliff_and_the_gentle_slope_at_once(start: Searched) -> None:
    """Gentle: x1 + x2 <= 2 (1.9 - 1 / 0.9) = 1.578; cliff: x1 + 3 x2 <= 2, so x = (1, 1/3) is the best: cost 2/3."""
    found = least(start)
    assert found.asked.worst()["onset"] >= 0.0
    assert found.asked.figures.spread == pytest.approx(2.0 / 3.0, rel=0.01)


def test_without_planes_the_steps_stop_short(start: Searched, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compare_polish, "CUTS", 0)
    spread = least(start).asked.figures.spread
    assert spread is not None and spread > 0.75


def test_a_design_is_never_left_for_one_that_misses_a_check(start: Searched) -> None:
    known: Any = {0: answer(start.known.x[0])}
    polished(start, known, [MASS], planes=[], front_view=True, done=lambda word: None)
    assert min(a.worst()["onset"] for a in known.values()) < 0.0  # asked about
    assert least(start).asked.worst()["onset"] >= 0.0


def test_a_margin_that_is_no_number_gives_no_endless_slope(
    start: Searched, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A step along the first dimension loses the joint for good: its margin counts as -1 there."""
    known_of = answered
    monkeypatch.setitem(globals(), "answered", lambda x: m if (m := known_of(x)) > -0.25 else -np.inf)
    at = np.array([0.6, 0.48])  # margin 5 (2 - 0.6 - 1.44) = -0.2; -0.3 with 0.02 more of the first
    s = replace(start, known=joined([start.known, search(at[None])]))
    known: Any = {0: answer(start.known.x[0]), 1: answer(at)}
    place: Any = SimpleNamespace(chosen=Chosen(0, known[0]))
    planes: list[Plane] = []
    _cut(s, known, place, Chosen(1, known[1]), ["onset"], planes, True)
    assert planes[0].slopes == pytest.approx([(-1.0 + 0.2) / 0.02, -15.0])


def test_a_lead_that_leaves_mass_unused_is_not_the_only_start(start: Searched) -> None:
    """Of the designs asked about that use it, the one of least spread with what it misses at its price."""
    x = np.array([[0.65, 0.35], [0.6, 0.48], [0.9, 0.5], [0.5, 0.4]])  # onset: met, -0.2, -1, met
    found = replace(search(x), mass=np.array([0.6, 1.0, 1.0, 0.7]) * MASS)
    s, known = replace(start, known=found), {row: answer(own) for row, own in enumerate(x)}
    used: Any = dict(known)
    led = _led(s, used, Budget(MASS))
    full = _full(s, used, Budget(MASS))
    assert led is not None and led.row == 0 and full is not None and full.row == 1
    assert _full(s, used, Budget(0.6 * MASS)) is None  # all of it is used
    assert _full(s, {0: used[0]}, Budget(MASS)) is None  # nothing that uses it was asked about


def test_a_margin_that_is_lost_in_the_answer_says_so_to_the_search(start: Searched) -> None:
    """The search has it at 0 there, the answer at -1: a tenth of it is left, far beyond what any slope brings back."""
    x = np.array([0.9, 0.9])
    s = replace(start, known=search(x[None]))
    assert answered(x) == -1.0
    assert anchor(s, 0, answer(x), 0.0).rho["onset"] == pytest.approx(0.1)
