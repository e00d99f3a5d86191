"""A small comparison end to end, by the frame alone, and its parts on single designs."""

import functools

import numpy as np
import pytest
from compare_sample import WALL, study

from stiffcalc.caliper.assess import assess
from stiffcalc.caliper.verdict import governing
from stiffcalc.commands.compare import study_at
from stiffcalc.errors import InputError
from stiffcalc.explore.compare import compare
from stiffcalc.explore.compare_front import ask
from stiffcalc.explore.compare_layouts import field
from stiffcalc.explore.compare_limits import kind_of
from stiffcalc.explore.compare_masses import lightest, masses_for, spaced
from stiffcalc.explore.compare_results import CompareResult, Point
from stiffcalc.explore.compare_scatter import scatter
from stiffcalc.explore.compare_search import (
    EFFORTS,
    Searched,
    barred,
    begin,
    choice,
    columns,
    read,
)
from stiffcalc.explore.search import SAME_MASS, Budget, violation
from stiffcalc.study import parse

EXTRA = {"one piece": 40.0}
MASSES = [2.75, 3.1]  # the two-piece layout begins between them


TOLD: list[tuple[int, int]] = []  # steps done, of how many, while the result was made


@functools.cache
def result() -> CompareResult:
    return compare(
        study(extra_g=EXTRA, masses_kg=MASSES),
        front_view=False,
        tell=lambda done, total, _: TOLD.append((done, total)),
    )


def points() -> list[tuple[str, Point]]:
    return [(c.name, p) for c in result().curves for p in c.points if p is not None and p.meets]


@functools.cache
def begun(*names: str) -> Searched:
    """One layout's first designs."""
    s = study(key=[WALL] if names == ("wall",) else study().source["explore"]["key"])
    assert s.explore is not None
    candidate = field(s, s.explore).layouts[0]
    return begin(candidate, s.source, EFFORTS["quick"], seed=1, number=0, done=lambda word: None)


def test_every_layout_has_a_design_within_every_mass() -> None:
    assert [c.name for c in result().curves] == ["as drawn", "one piece"]
    assert len(points()) >= 3
    for _, p in points():
        assert p.mass <= p.budget * (1.0 + SAME_MASS)


def test_a_layout_that_begins_between_two_masses_is_compared_with_the_others_there() -> None:
    """The other meets its checks at the lightest mass stated, beyond which nothing is asked. Lightest by two models:
    the search's joint faces move as planes, those of the model that counts give way.
    """
    two, one = result().curves
    assert one.lightest is None and one.start == 0
    assert two.points[0] is not None and not two.points[0].meets
    assert two.lightest is not None and two.begin is not None and two.lightest_frame is not None
    assert result().targets == (2.75, 3.1) and result().masses == (2.75, two.begin.budget, 3.1)
    assert 0.0 <= two.begin.budget - two.lightest < 1e-3 + 1e-9
    assert two.lightest == pytest.approx(two.lightest_frame, rel=0.01)
    other = one.points[1]
    assert other is not None and other.meets and other.mass == pytest.approx(two.begin.budget, rel=2e-3)
    assert [g.budget for g in result().gaps] == [two.begin.budget, 3.1]
    begun = assess(parse(dict(study_at(result(), two.begin.budget))), front_view=False).variants[1]
    assert begun.name == f"as drawn, {two.begin.budget:.3f} kg"
    assert {k.id for c in begun.load_cases for k in c.checks if not k.met} <= {"spread", "mass"}


def test_more_mass_never_opens_more() -> None:
    """Trend: what is had within a mass is had within a larger one; so is what the larger one is compared with."""
    for c in result().curves:
        spreads = [p.spread for p in c.points if p is not None and p.meets]
        assert spreads == sorted(spreads, reverse=True)


def test_the_study_written_for_a_mass_answers_with_the_figures_shown() -> None:
    """The whole way round: file, reader, assessment; what the study adds is beside the assessed mass."""
    mass = result().masses[-1]
    answers = assess(parse(dict(study_at(result(), mass))), front_view=False).variants
    assert len(answers) == 1 + sum(p.budget == mass for _, p in points())
    for variant in answers[1:]:
        name = variant.name.rpartition(", ")[0]
        p = next(p for n, p in points() if n == name and p.budget == mass)
        assert governing(variant).spread == pytest.approx(p.spread, rel=1e-9)
        assert variant.mass.total + EXTRA.get(name, 0.0) / 1e3 == pytest.approx(p.mass, rel=1e-9)
        missed = {k.id for c in variant.load_cases for k in c.checks if not k.met}
        assert missed <= {"spread", "mass"}


def test_stiffness_per_mass_is_clamp_force_over_spread_and_mass() -> None:
    for _, p in points():
        assert p.stiffness_per_mass == pytest.approx(p.stiffness_kN_per_mm / p.mass)
        area = np.pi / 4.0 * (36.0**2 + 40.0**2)
        assert p.stiffness_kN_per_mm == pytest.approx(7.0 * area / p.spread / 1e3, rel=1e-6)


def test_limits_are_named() -> None:
    for name, p in points():
        assert p.limits, name
        assert {limit.kind for limit in p.limits} <= {
            "mass",
            "envelope",
            "room",
            "onset",
            "residual clamp",
            "bolt",
            "slip",
            "stress",
        }


def test_nothing_seen_on_the_way_is_better_by_a_hundredth() -> None:
    """Of the designs that the search itself has drawn evenly, none beats what it ends at."""
    s = begun()
    drawn = next(c for c in result().curves if c.name == "as drawn")
    for p in drawn.points:
        if p is None or not p.meets:
            continue
        met = violation(s.known, Budget(p.budget)) == 0.0
        assert not met.any() or s.known.cost[met].min() >= 0.99 * p.spread_searched


def test_the_same_seed_gives_the_same_designs() -> None:
    one = begun()
    again = begin(one.candidate, one.source, EFFORTS["quick"], seed=1, number=0, done=lambda word: None)
    assert np.array_equal(one.known.x, again.known.x)
    assert np.array_equal(one.known.cost, again.known.cost, equal_nan=True)


def test_no_random_design_that_meets_its_checks_is_lighter_than_the_lightest() -> None:
    s = begun()
    drawn = s.evaluate(np.random.default_rng(5).random((1024, s.space.size)))
    met, least = violation(drawn, Budget(np.inf)) == 0.0, lightest(s)
    assert met.any() and least is not None
    assert drawn.mass[met].min() > 0.999 * least


def test_masses_chosen_are_the_same_for_every_seed_and_apart() -> None:
    one = begun()
    other = begin(one.candidate, one.source, EFFORTS["quick"], seed=2, number=0, done=lambda word: None)
    assert not np.array_equal(one.known.x, other.known.x)
    masses = masses_for([one], 5, EFFORTS["quick"])
    assert masses == masses_for([other], 5, EFFORTS["quick"])
    assert len(masses) == 5 and min(np.diff(masses)) >= 0.05


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (2.131, 4.48, (2.15, 2.6, 3.05, 3.55, 4.0, 4.45)),
        (2.004, 2.2, (2.01, 2.05, 2.09, 2.12, 2.16, 2.2)),
        (2.0, 2.0, (2.0, 2.01, 2.02, 2.03, 2.04, 2.05)),
    ],
)
def test_masses_are_even_and_round(low: float, high: float, expected: tuple[float, ...]) -> None:
    assert spaced(low, high, 6) == pytest.approx(expected, abs=1e-12)


def test_mass_that_the_study_adds_counts() -> None:
    s = begun()
    x = s.known.x[:2]
    found = columns(s.candidate, s.source, x)
    plain = read(s.candidate, found, x).mass
    heavier = read(type(s.candidate)(s.candidate.design, {}, s.candidate.keys, 0.1), found, x).mass
    assert heavier - plain == pytest.approx(0.1)


def test_checks_of_spread_and_mass_are_the_curves_own() -> None:
    assert not {"spread", "mass"} & begun().known.margins.keys()
    assert {"onset 1", "bolt service"} <= begun().known.margins.keys()


def test_a_rule_of_the_file_that_is_about_to_be_broken_is_named() -> None:
    """The outer edge of the inner row's washers reaches the other row's at 136 + ... mm: one step is refused."""
    s = study(key=[{**WALL, "range": [8.0, 38.0]}])  # a wall thinner than its floor cannot be had
    assert s.explore is not None
    candidate = field(s, s.explore).layouts[0]
    searched = Searched(candidate, s.source, begun().known, np.random.default_rng(1))
    edge = (8.5 - 8.0) / 30.0
    assert any(
        "floor" in said or "thickness" in said for said in barred(searched, np.array([edge + 0.003]), 0.01)
    )
    assert barred(searched, np.array([0.9]), 0.01) == ()


def test_free_dimensions_without_any_body_are_refused() -> None:
    with pytest.raises(InputError, match="no design of 'as drawn' that can be had"):
        compare(study(key=[{**WALL, "range": [8.6, 9.0]}]), front_view=False)


def test_the_spread_of_one_piece_goes_with_one_over_the_modulus() -> None:
    """Derived: one metal, so spread ~ 1 / E, and a standard deviation of 2 % moves it by 2 %."""
    s = study()
    assert s.uncertainty is not None
    found = scatter(s.designs[1], s.uncertainty, spread=0.2, model="front view", seed=1)
    assert found.modulus == pytest.approx(0.02 * 0.2, rel=1e-3)  # first order: 1 / (1 - 0.02^2)
    assert found.model == pytest.approx(0.008 * 0.2)
    assert found.preload < 1e-9
    assert [b < 0.0 for b in found.shares.values()] == [True]


def test_asking_gives_what_an_assessment_gives() -> None:
    """Regression between two ways to the same answer: load cases alone, and with everything that is drawn."""
    s = study()
    answer = ask(s.designs[0], front_view=False)
    whole = assess(s, front_view=False).variants[0]
    assert not isinstance(answer, Exception)
    assert answer.figures.spread == pytest.approx(governing(whole).spread, rel=1e-12)
    assert answer.worst()["onset 1"] == pytest.approx(
        min(k.margin for c in whole.load_cases for k in c.checks if k.id == "onset 1"), rel=1e-9
    )


@pytest.mark.parametrize(
    ("check", "kind"),
    [
        ("onset 2", "onset"),
        ("bolt service", "bolt"),
        ("bar bolt fatigue 3", "bolt"),
        ("engagement", "thread"),
        ("floor outboard", "stress"),
        ("port contact 1", "port seal"),
        ("seat friction 3", "slip"),
        ("tilt", "tilt"),
    ],
)
def test_what_a_check_is_called_among_limits(check: str, kind: str) -> None:
    assert kind_of(check) == kind


def test_progress_comes_to_its_end() -> None:
    result()
    assert len(TOLD) > 20
    assert TOLD[-1][0] == TOLD[-1][1]
    assert all(a <= b for a, b in TOLD)


def test_a_choice_is_what_the_keys_say() -> None:
    taken = choice(begun().candidate, np.array([0.0, 1.0, 0.5]))
    assert taken == pytest.approx((26.0, 12.0, 139.0))
