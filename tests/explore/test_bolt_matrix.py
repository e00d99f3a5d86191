"""The matrix: the same figures as an assessment gives, ranking, trends, what happens to what cannot hold."""

import dataclasses
import itertools
import json
import math
import re
import tomllib
from dataclasses import replace
from typing import Any

import bolt_sample as sample
import pytest

from stiffcalc.caliper.assess import variant_result
from stiffcalc.caliper.cases import case_result
from stiffcalc.caliper.measures import Masses
from stiffcalc.errors import ConvergenceError, InputError
from stiffcalc.explore import bolt_matrix as matrix_module
from stiffcalc.explore.answers import Solved
from stiffcalc.explore.batches import layout, solve
from stiffcalc.explore.bolt_matrix import AIMS, bolt_matrix, in_order
from stiffcalc.explore.bolt_results import BoltMatrix, Figures, Row
from stiffcalc.explore.bolt_solve import figures
from stiffcalc.report import bolt_tables
from stiffcalc.study import bolts as study_bolts
from stiffcalc.study import parse


@pytest.fixture(scope="module")
def found() -> BoltMatrix:
    return bolt_matrix(sample.study(), front_view=False)


# The same figures as an assessment


def test_own_bolts_stand_in_the_matrix_with_the_figures_of_an_assessment(found: BoltMatrix) -> None:
    own = next(r for r in found.rows if r.own)
    assert own == found.own
    assessed = variant_result(sample.BASE, with_front_view=False)
    onset = min(j.onset_MPa for c in assessed.load_cases for j in c.joints)
    expected = figures(Solved(assessed.mass, assessed.load_cases, onset))
    assert own.frame is not None and own.mass == assessed.mass
    assert own.frame.onset_MPa == pytest.approx(expected.onset_MPa, rel=1e-6)
    assert own.frame.spread == pytest.approx(expected.spread, rel=1e-6)
    assert (own.frame.checks, own.frame.unmet) == (expected.checks, expected.unmet)
    # opened at proof: there the matrix's faces stay plane
    assert own.frame.worst_margin == pytest.approx(expected.worst_margin, abs=0.02)


def test_figures_are_the_least_of_all_faces_and_load_cases() -> None:
    """Ends unlike, three load cases at two temperatures."""
    answer = solve([sample.POCKETED])[0]
    assert isinstance(answer, Solved)
    solved = layout(sample.POCKETED, 1).one(0)
    onsets = [j.onset_MPa for c in sample.POCKETED.load_cases for j in case_result(solved, c).joints]
    assert len(onsets) == 6 and max(onsets) > 1.01 * min(onsets)
    found = figures(answer)
    assert found.onset_MPa == pytest.approx(min(onsets), rel=1e-12), "a batch sums in another order"
    assert found.worst_margin == min(k.margin for c in answer.load_cases for k in c.checks)
    assert found.spread == answer.load_cases[1].spread, "the service case of highest pressure"
    tired = [k.margin for c in answer.load_cases for k in c.checks if k.id == "bolt fatigue"]
    assert len(tired) == 2 and found.fatigue_margin == min(tired)


def test_every_margin_of_a_closed_joint_is_an_assessments() -> None:
    """At 5 MPa every face is closed; then nothing tells the two apart."""
    case = replace(sample.BASE.load_cases[0], pressure=5.0)
    design = replace(sample.BASE, load_cases=(case,))
    fast, slow = solve([design])[0], variant_result(design, with_front_view=False)
    assert isinstance(fast, Solved)
    for a, b in zip(fast.load_cases[0].checks, slow.load_cases[0].checks, strict=True):
        if "face pressure" not in a.id:  # a mean over cells there, the peak here
            margins = {k.id: k.margin for k in slow.load_cases[0].checks}
            assert a.margin == pytest.approx(margins[a.id], rel=1e-6), (a.id, b.id)


def test_faces_as_planes_are_named_where_they_tell(found: BoltMatrix) -> None:
    """A relief at the edge that opens changes the closed face's pressure, which planes know only roughly."""
    assert not any("move as planes" in n for n in found.notices)
    low = sample.BASE.caliper.bridges[0]
    corner = ((-70.0, 134.0), (-60.0, 134.0), (-60.0, 150.0), (-70.0, 150.0))
    relieved = replace(low, reliefs=(corner,))
    changed = replace(sample.BASE.caliper, bridges=(relieved, *sample.BASE.caliper.bridges[1:]))
    tried = sample.study(
        replace(sample.BASE, caliper=changed), threads=("M10x1.5",), grades=("12.9",), row_shift=(0.0,)
    )
    notice = next(n for n in bolt_matrix(tried, front_view=False).notices if "move as planes" in n)
    numbers = [float(x) for x in re.findall(r"(\d+\.\d) MPa", notice)]
    assert len(numbers) == 2 and numbers[0] != numbers[1]


def test_a_batch_gives_what_each_design_gives_alone() -> None:
    rows = [r for r in bolt_matrix(sample.study(counts=(2, 4)), front_view=False).rows if r.frame]
    assert len({len(r.bolts) for r in rows}) == 2
    for r in rows[::5]:
        design = replace(sample.BASE, caliper=replace(sample.BASE.caliper, bolts=r.bolts))
        alone = solve([design])[0]
        assert isinstance(alone, Solved) and r.frame is not None
        again = figures(alone)
        assert again.onset_MPa == pytest.approx(r.frame.onset_MPa, rel=1e-6)
        assert again.worst_margin == pytest.approx(r.frame.worst_margin, rel=1e-5)


def test_the_best_can_be_taken_over_into_the_study(found: BoltMatrix) -> None:
    best = found.rows[0]
    text = (sample.STUDIES / "four_or_six_bolts.toml").read_text() + bolt_tables.variant(best, name="found")
    design = parse(tomllib.loads(text)).designs[-1]
    answer = solve([design])[0]
    assert isinstance(answer, Solved) and best.frame is not None and best.mass is not None
    assert figures(answer).onset_MPa == pytest.approx(best.frame.onset_MPa, rel=1e-4)
    assert answer.mass.total == pytest.approx(best.mass.total, rel=1e-9)


def test_bolts_without_washers_can_be_taken_over() -> None:
    design = sample.with_bolts(washer_diameter=None, washer_thickness=0.0)
    row = bolt_matrix(sample.study(design, grades=("12.9",)), front_view=False).rows[0]
    text = (sample.STUDIES / "four_or_six_bolts.toml").read_text() + bolt_tables.variant(row, name="found")
    assert {b.washer_diameter for b in parse(tomllib.loads(text)).designs[-1].caliper.bolts} == {None}


# Trends


def test_a_stronger_grade_of_the_same_size_opens_no_earlier(found: BoltMatrix) -> None:
    of = {(r.drawn, r.thread, r.row_shift, r.grade): r.frame for r in found.rows if r.frame}
    pairs = [(of[k], of[(*k[:3], "12.9")]) for k in of if k[3] == "10.9"]
    assert len(pairs) >= 6
    assert all(b.onset_MPa >= a.onset_MPa for a, b in pairs)
    assert any(b.onset_MPa > 1.1 * a.onset_MPa for a, b in pairs)


def test_larger_bolts_weigh_more(found: BoltMatrix) -> None:
    mass = {r.thread: r.mass.bolts for r in found.rows if r.mass}
    assert mass["M10x1.5"] > 1.2 * mass["M8x1.25"]


def test_placed_bolts_open_no_earlier_than_bolts_as_drawn(found: BoltMatrix) -> None:
    of = {(r.thread, r.grade, r.row_shift, r.drawn): r.frame for r in found.rows if r.frame}
    both = [
        (of[(*k, True)], of[(*k, False)])
        for k in {k[:3] for k in of}
        if {(*k, True), (*k, False)} <= of.keys()
    ]
    assert both
    assert all(placed.onset_MPa > drawn.onset_MPa for drawn, placed in both)


# Ranking


def row(place: int, *, mass: float, spread: float, onset: float, margin: float, unmet: int = 0) -> Row:
    frame = Figures(spread, onset, margin, "a check", None, unmet, 10, ())
    masses = Masses(0.0, 0.0, 0.0, 0.0, mass, (0.0, 0.0, 0.0), 0.0)
    return Row(
        None,
        None,
        place,
        (1, 1),
        False,
        "M8x1.25",
        "12.9",
        0.0,
        (),
        (),
        1.0,
        1.0,
        masses,
        frame,
        None,
        False,
        None,
        (),
    )


ROWS = [
    row(0, mass=3.0, spread=0.2, onset=9.0, margin=-0.5, unmet=3),
    row(1, mass=3.2, spread=0.3, onset=15.0, margin=0.02),
    row(2, mass=3.1, spread=0.4, onset=14.0, margin=0.10),
    row(3, mass=3.10001, spread=0.2, onset=13.0, margin=0.20),
    row(4, mass=2.9, spread=0.1, onset=20.0, margin=-0.1, unmet=1),
]


@pytest.mark.parametrize(
    ("aim", "order"),
    [  # by hand; what fails a check comes last, least failing first; masses within 0.1 g go by the worst margin
        ("least mass", [3, 2, 1, 4, 0]),
        ("least spread", [3, 1, 2, 4, 0]),
        ("highest onset", [1, 2, 3, 4, 0]),
        ("best worst margin", [3, 2, 1, 4, 0]),
    ],
)
def test_order_of_each_aim(aim: str, order: list[int]) -> None:
    for mixed in itertools.islice(itertools.permutations(ROWS), 0, 120, 17):
        assert [r.count for r in in_order(mixed, aim)] == order


def test_aims_of_the_study_and_of_the_matrix_are_the_same() -> None:
    assert set(AIMS) == set(study_bolts.AIMS)


def test_the_aim_of_the_call_comes_before_the_studys() -> None:
    tried = sample.study(aim="least spread", threads=("M8x1.25",), grades=("12.9",), row_shift=(0.0,))
    assert bolt_matrix(tried, front_view=False).aim == "least spread"
    assert bolt_matrix(tried, front_view=False, aim="highest onset").aim == "highest onset"


def test_ranks_count_up_and_refused_rows_stand_last(found: BoltMatrix) -> None:
    ranked = [r for r in found.rows if r.rank is not None]
    assert [r.rank for r in ranked] == list(range(1, len(ranked) + 1))
    rest = found.rows[len(ranked) :]
    assert all(r.refused and r.frame is None for r in rest)


# The front view


def test_the_best_ten_are_confirmed_and_ordered_by_the_front_view(monkeypatch: pytest.MonkeyPatch) -> None:
    """The front view is played: it finds the frame's second best to be the best, and one without equilibrium."""
    asked: list[tuple[Any, ...]] = []

    def played(design: Any, *, front_view: bool = True) -> Solved | ConvergenceError:
        if not front_view:
            return solve([design])[0]
        asked.append(design.caliper.bolts)
        if len(asked) == 3:
            return ConvergenceError("joint", residual=1.0, iterations=3)
        answer = solve([design])[0]
        assert isinstance(answer, Solved)
        if len(asked) != 2:
            return answer
        cases = tuple(
            replace(c, checks=tuple(replace(k, margin=9.0, met=True) for k in c.checks))
            for c in answer.load_cases
        )
        return replace(answer, load_cases=cases)

    monkeypatch.setattr(matrix_module, "solve_one", played)
    monkeypatch.setattr(matrix_module, "unavailable", lambda: None)
    monkeypatch.setattr(matrix_module, "CONFIRMED", 4)
    found = bolt_matrix(sample.study())
    assert found.rows[0].rank_frame == 2 and found.rows[0].front_view is not None
    assert "the frame alone ranks it 2" in found.verdict
    assert sum(r.front_view is not None for r in found.rows[:4]) >= 3
    assert all(r.front_view is None for r in found.rows[4:] if not r.own)
    assert any("joint did not converge" in n for r in found.rows for n in r.notes)
    assert found.own.front_view is not None, "the study's own bolts are always asked about"


def test_without_the_front_view_it_says_so(found: BoltMatrix) -> None:
    assert all(r.front_view is None for r in found.rows)
    assert any("front view left out" in n for n in found.notices)


# What cannot hold


def test_a_joint_that_cannot_hold_is_a_row_with_the_governing_reason() -> None:
    weak = sample.with_bolts(preload_N=6000.0)
    found = bolt_matrix(sample.study(weak, counts=(2, 4)), front_view=False)
    for r in found.rows:
        assert (r.frame is None) != (r.refused is None)
        if r.frame:
            assert r.frame.unmet > 0 and r.frame.worst_margin < 0 and r.frame.governs
            assert not math.isnan(r.frame.worst_margin)
    assert found.verdict.startswith("None of")


def test_nothing_that_fits_is_said_so() -> None:
    found = bolt_matrix(sample.study(threads=("M14x2",), counts=(6,)), front_view=False)
    assert found.verdict.startswith("No combination can be had:")
    assert all(r.refused for r in found.rows)
    assert found.own.frame is not None


def test_a_mixed_layout_is_its_own_row_outside_the_matrix() -> None:
    bolts = sample.BASE.caliper.bolts
    mixed = (replace(bolts[0], grade="10.9"), *bolts[1:])
    design = replace(sample.BASE, caliper=replace(sample.BASE.caliper, bolts=mixed))
    found = bolt_matrix(sample.study(design), front_view=False)
    assert not any(r.own for r in found.rows)
    assert (
        found.own.pattern == (2, 2)
        and found.own.grade == "10.9 and 12.9"
        and found.own.rank is None
        and found.own.frame is not None
    )


# Bad input


def test_unknown_layout_with_the_nearest_name() -> None:
    with pytest.raises(InputError, match=r'unknown layout "four M10 12.8".*write "four M10 12.9"'):
        bolt_matrix(sample.STUDY, variant="four M10 12.8", front_view=False)


def test_the_first_layout_with_bolts_is_taken() -> None:
    plain = replace(
        sample.BASE, name="one piece", caliper=replace(sample.BASE.caliper, layout="monoblock", bolts=())
    )
    tried = replace(
        sample.study(threads=("M8x1.25",), grades=("12.9",), row_shift=(0.0,)), designs=(plain, sample.BASE)
    )
    assert bolt_matrix(tried, front_view=False).layout == sample.BASE.name
    with pytest.raises(InputError, match="which has no bolts"):
        bolt_matrix(tried, variant="one piece", front_view=False)


# Contract


def test_contract_is_plain_and_complete(found: BoltMatrix) -> None:
    answer = found.to_dict()
    text = json.dumps(answer, allow_nan=False)
    assert json.loads(text) == answer
    assert {
        "format",
        "tool",
        "study",
        "units",
        "cautions",
        "aim",
        "verdict",
        "rules",
        "rows",
    } <= answer.keys()
    rows = answer["rows"]
    assert isinstance(rows, list) and len(rows) == len(found.rows)
    assert any("Screening estimate only" in c for c in found.cautions)
    for r in rows:
        assert (r["refused"] is None) == (r["frame"] is not None)
        assert r["torque_Nm"] is None if r["refused"] else r["torque_Nm"] > 0


def test_same_inputs_same_bytes(found: BoltMatrix) -> None:
    again = bolt_matrix(sample.study(), front_view=False)
    assert json.dumps(again.to_dict()) == json.dumps(found.to_dict())
    assert dataclasses.replace(again) == again
