"""Where layouts begin: closed-form bodies of two dimensions, a second model that asks for a tenth more of a margin."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from stiffcalc.condensed import Array
from stiffcalc.explore import compare_lightest, compare_polish, compare_search
from stiffcalc.explore.compare_front import Asked
from stiffcalc.explore.compare_lightest import Begun, begins
from stiffcalc.explore.compare_points import Confirmed
from stiffcalc.explore.compare_search import EFFORTS, Searched
from stiffcalc.explore.search import SAME_MASS, Evaluation

ASKED = (1.8, 2.2)
NEEDS = {"light": 0.5, "heavy": 0.7}  # x1 + x2 by the search; by the second model a tenth more of 1 + margin


def search(need: float, x: Array) -> Evaluation:
    """The second dimension weighs twice what the first does, and takes twice as much off the spread."""
    margins = {"stress": x.sum(axis=1) - need}
    return Evaluation(x, 2.0 - 0.4 * x[:, 0] - 0.8 * x[:, 1], 1.0 + x[:, 0] + 2.0 * x[:, 1], margins)


def answer(need: float, x: Array) -> Asked:
    found = search(need, x[None])
    figures = SimpleNamespace(spread=1.02 * float(found.cost[0]))
    made: Any = Asked(SimpleNamespace(), (), figures, None)  # type: ignore[arg-type]
    margins = {"stress": (1.0 + float(found.margins["stress"][0])) / 1.1 - 1.0}
    object.__setattr__(made, "worst", lambda: margins)
    return made


def least(name: str) -> float:
    """Lightest mass: all of it in the first dimension, 1 + x1 - need = 1.1."""
    return 1.0 + 0.1 + NEEDS[name]


@pytest.fixture
def layouts(monkeypatch: pytest.MonkeyPatch) -> list[Confirmed]:
    """As they stand after the masses asked for: one heavy design asked about."""
    for module in (compare_polish, compare_lightest):
        monkeypatch.setattr(module, "design_of", lambda s, row: (s.candidate.need, s.known.x[row]))
        monkeypatch.setattr(module, "ask", lambda design, front_view: answer(*design))
    monkeypatch.setattr(compare_search, "columns", lambda candidate, source, x: x)
    monkeypatch.setattr(compare_search, "read", lambda candidate, found, x: search(candidate.need, x))
    made = []
    for name, need in NEEDS.items():
        keys = (SimpleNamespace(levels=()),) * 2
        candidate: Any = SimpleNamespace(name=name, need=need, keys=keys)
        known = search(need, np.random.default_rng(2).random((30, 2)))
        s = Searched(candidate, {}, known, np.random.default_rng(1))
        heavy = int(np.argmax(known.mass))
        made.append(Confirmed(s, {heavy: answer(need, known.x[heavy])}, []))
    return made


def found(layouts: list[Confirmed], asked: tuple[float, ...] = ASKED, *, stated: bool = False) -> list[Begun]:
    quick = EFFORTS["quick"]
    return begins(layouts, asked, quick, stated=stated, front_view=True, done=lambda word: None)


def test_each_begins_at_its_lightest_by_the_model_that_counts(layouts: list[Confirmed]) -> None:
    """Not at the search's own, 0.1 lighter; compared at whole grams, never below."""
    for begun in found(layouts):
        name = begun.whole.searched.candidate.name
        assert begun.lightest == pytest.approx(least(name), abs=3e-3)
        assert begun.lightest is not None and begun.mass is not None
        assert begun.lightest >= least(name) - 1e-9
        assert 0.0 <= begun.mass - begun.lightest < 1e-3 + 1e-12
        assert begun.mass == round(begun.mass, 3)


def test_all_that_can_be_had_there_are_asked_about_at_every_lightest(layouts: list[Confirmed]) -> None:
    """At the heavier's lightest the lighter one has its own least spread: 2 - 0.4 (mass - 1), however it is split."""
    light, heavy = found(layouts)
    assert heavy.mass is not None and light.mass is not None
    own, other = heavy.whole.chosen(heavy.mass), light.whole.chosen(heavy.mass)
    assert own is not None and other is not None
    assert other.asked.figures.spread == pytest.approx(1.02 * (2.0 - 0.4 * (heavy.mass - 1.0)), rel=3e-3)
    assert light.whole.searched.known.mass[other.row] <= heavy.mass * (1.0 + SAME_MASS)
    assert own.asked.missed() == other.asked.missed() == 0.0
    below = heavy.whole.chosen(light.mass)
    assert below is not None and not heavy.whole.has(light.mass) and heavy.whole.has(heavy.mass)


def test_no_random_design_that_meets_its_checks_is_lighter(layouts: list[Confirmed]) -> None:
    for begun in found(layouts):
        need = begun.whole.searched.candidate.need  # type: ignore[attr-defined]
        x = np.random.default_rng(3).random((20000, 2))
        drawn = search(need, x)
        met = (1.0 + drawn.margins["stress"]) / 1.1 - 1.0 >= 0.0
        assert begun.lightest is not None and drawn.mass[met].min() > 0.998 * begun.lightest


def test_masses_that_the_study_states_are_not_left(layouts: list[Confirmed]) -> None:
    """One that meets its checks at the first is not asked further; one that begins beyond the last is said to."""
    light, heavy = found(layouts, (1.5, 1.75), stated=True)
    assert light.mass is not None and 1.5 < light.mass < 1.75
    assert heavy.mass is None and heavy.lightest == pytest.approx(least("heavy"), abs=3e-3)
    again, _ = found([light.whole, heavy.whole], (1.7, 1.75), stated=True)
    assert (again.lightest, again.mass) == (None, None)


def test_a_layout_that_never_meets_its_checks_begins_nowhere(
    layouts: list[Confirmed], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(NEEDS, "heavy", 2.5)
    layouts[1].searched.candidate.need = 2.5  # type: ignore[attr-defined]
    s = layouts[1].searched
    known = search(2.5, s.known.x)
    row = next(iter(layouts[1].known))
    never = Confirmed(Searched(s.candidate, {}, known, s.random), {row: answer(2.5, known.x[row])}, [])
    begun = found([layouts[0], never])[1]
    assert (begun.lightest, begun.mass) == (None, None)
