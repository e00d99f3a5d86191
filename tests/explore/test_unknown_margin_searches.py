"""Every search counts a margin that is no number as never met: last of all, whatever else is good about the design."""

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from compare_sample import study
from size_sample import TWO_PIECE

from stiffcalc.caliper.checked import Checks, Subject, Words, at_most
from stiffcalc.caliper.results import Check
from stiffcalc.explore.answers import Solved
from stiffcalc.explore.batches import solve
from stiffcalc.explore.bolt_matrix import in_order
from stiffcalc.explore.bolt_results import Figures
from stiffcalc.explore.bolt_solve import FATIGUE, figures
from stiffcalc.explore.compare_layouts import field
from stiffcalc.explore.compare_search import columns, read
from stiffcalc.explore.nearby import NO_ANCHOR, Nearby, anchor, margin_at
from stiffcalc.explore.search import Budget, Evaluation, order, violation
from stiffcalc.explore.size_checks import asked_of, use, worst_margins
from stiffcalc.explore.size_job import job_of
from stiffcalc.explore.size_look import look
from stiffcalc.explore.size_round import Meshes, NoAnswerError, Round, opened
from stiffcalc.study import parse

NAN = math.nan


def test_a_sizing_uses_all_of_a_check_that_is_no_number_and_nothing_of_one_that_is_not_made() -> None:
    def row(name: str, loads: list[float], applies: list[bool]) -> Any:
        subject = Subject(name, "MPa", (name,), lambda _: Words("", ""))
        return at_most(subject, loads, 10.0, applies=applies)

    rows = (row("floor", [5.0, NAN, NAN], [True, True, False]), row("wall", [NAN] * 3, [False] * 3))
    found = worst_margins([SimpleNamespace(case=SimpleNamespace(name="stop"), checks=Checks(rows))])  # type: ignore[list-item]
    assert use(found["stop", "floor"]).tolist() == [0.5, math.inf, 0.0]
    assert use(found["stop", "wall"]).tolist() == [0.0, 0.0, 0.0]
    assert asked_of(found) == {("stop", "floor")}
    assert asked_of({("stop", "floor"): np.array([-math.inf])}) == set()


def test_a_sizing_takes_a_design_with_such_a_check_for_one_that_cannot_be(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    own = job_of(parse(TWO_PIECE), bridge=None, variant=None, front_view=False, accuracy=0.5)
    found = look(own, own.start, [])
    checks = tuple(k for k in found.uses if k.check)
    round_ = replace(Round(own, {}, Meshes()), checks=checks, raised=np.zeros(len(checks)))
    assert round_.sample(own.start) is not None
    unknown = dict(found.uses) | {checks[0]: math.inf}
    with pytest.raises(NoAnswerError, match="no number"):
        opened(own, own.start, found.layout, unknown)
    uses = np.array([[math.inf, *[0.5] * (len(checks) - 1)]])
    monkeypatch.setattr("stiffcalc.explore.size_round.check_uses", lambda layout, limits: uses)
    assert round_.sample(own.start) is None


def test_a_comparison_takes_it_for_one_that_cannot_be_had() -> None:
    s = study()
    assert s.explore is not None
    candidate = field(s, s.explore).layouts[0]
    x = np.array([[0.4, 0.5, 0.5], [0.6, 0.5, 0.5]])
    found = dict(columns(candidate, s.source, x))
    sound = read(candidate, found, x)
    assert np.isfinite(sound.cost).all()
    found["margin_onset 1"] = np.array([found["margin_onset 1"][0], -math.inf])
    odd = read(candidate, found, x)
    assert np.isfinite(odd.cost).tolist() == [True, False]
    assert violation(odd, Budget(9.0))[1] == math.inf


def test_a_search_puts_it_behind_every_design_that_can_be_had() -> None:
    one, none = np.ones(3), np.array([0.1, 0.2, 0.3])
    known = Evaluation(none[:, None], none, one, {"stress": np.array([NAN, -3.0, 0.0])})
    assert order(known, Budget(1.0)).tolist() == [2, 1, 0]
    assert violation(known, Budget(1.0)).tolist() == pytest.approx([math.inf, 3.0, 0.0])


@pytest.fixture(scope="module")
def solved() -> Solved:
    (found,) = solve([study().designs[0]])
    assert isinstance(found, Solved)
    return found


def with_unknown(solved: Solved, id_: str) -> Solved:
    first, *others = solved.load_cases
    odd = tuple(replace(k, margin=NAN, met=False) if k.id == id_ else k for k in first.checks)
    return replace(solved, load_cases=(replace(first, checks=odd), *others))


def test_bolts_and_sweeps_rank_it_last(solved: Solved) -> None:
    fine, odd = figures(solved), figures(with_unknown(solved, "onset 1"))
    assert odd.worst_margin == -math.inf and odd.governs.startswith("onset pressure")
    assert odd.unmet == fine.unmet + 1
    missed = replace(fine, worst_margin=-0.4, unmet=3)
    ranked: list[Any] = [SimpleNamespace(figures=f, mass=None) for f in (odd, missed)]
    assert [r.figures.worst_margin for r in in_order(ranked, "best worst margin")] == [-0.4, -math.inf]


def test_the_least_fatigue_margin_of_bolts_is_the_unknown_one(solved: Solved) -> None:
    first = solved.load_cases[0]
    tired = [replace(first.checks[0], id=FATIGUE, margin=m, met=m >= 0) for m in (0.2, NAN, 0.1)]
    both: list[Figures] = [
        figures(replace(solved, load_cases=(replace(first, checks=tuple(own)),)))
        for own in (tired, tired[::-1])
    ]
    assert [f.fatigue_margin for f in both] == [-math.inf, -math.inf]


def check(margin: float, what: str) -> Check:
    return Check("onset 1", what, 1.0, 1.0, "MPa", margin, margin >= 0, "", "", "")


def near(*checks: Check) -> Nearby:
    none = np.zeros(1)
    return Nearby(0.2, 0.1, 3.0, {("stop", k.id, k.what): k for k in checks}, (), none, none)


@pytest.mark.parametrize("margins", [(NAN, 0.3), (0.3, NAN)])
def test_bodies_drawn_by_chance_never_meet_it(margins: tuple[float, float]) -> None:
    """The worst of its kind is the one that is no number, in whatever order; so is what the front view cannot say."""
    here = near(check(0.5, "bolt 9"))
    body = near(*(check(m, f"bolt {i}") for i, m in enumerate(margins)))
    key = ("stop", "onset 1", "bolt 9")
    assert not margin_at(body, key, here=here, shown=here, rho=NO_ANCHOR) >= 0.0
    rho = anchor(here, near(check(NAN, "bolt 9")))
    assert not margin_at(near(check(0.4, "bolt 9")), key, here=here, shown=here, rho=rho) >= 0.0
    assert anchor(here, near(check(0.2, "bolt 9"))).margin(key, 0.5) == pytest.approx(0.2)
