"""A chunk's designs are answered as each alone would be, refused ones keep their reason."""

from dataclasses import replace

import numpy as np
import pytest
import sweep_sample as sample

from stiffcalc.caliper.assess import variant_result
from stiffcalc.caliper.cases import Layout
from stiffcalc.errors import InputError
from stiffcalc.explore import batches, sampling, sweep_chunk
from stiffcalc.explore.answers import Answers, Solved
from stiffcalc.explore.batches import solve
from stiffcalc.explore.bolt_solve import figures
from stiffcalc.explore.sweep_chunk import EVALUATED, FIGURES, NO_EQUILIBRIUM, REFUSED
from stiffcalc.mechanics.joint_state import JointError
from stiffcalc.study import parse
from stiffcalc.study.schema import Design, Level, SweepKey

ODD, LOST = 4.25, 4.75  # mm of fluid behind the pistons, by which two designs are told apart
JOB = sample.job(samples=24)


@pytest.fixture(scope="module")
def found() -> sweep_chunk.Columns:
    return sweep_chunk.evaluate(JOB, 0)


def choice(columns: sweep_chunk.Columns, row: int) -> tuple[float, ...]:
    return tuple(float(columns[f"key_{k + 1}"][row]) for k in range(len(JOB.plan.keys)))


def test_designs_are_those_of_a_study_with_the_keys_set(found: sweep_chunk.Columns) -> None:
    """Each design as a variant of the file: what the reader refuses is refused here, in the same words."""
    source = {k: v for k, v in sample.STUDY.source.items() if k != "sweep"}
    assert {REFUSED, EVALUATED} == set(found["status"].tolist())
    for row in range(24):
        variant = {"name": "x", "set": JOB.changes(choice(found, row))}
        try:
            design = parse({**source, "variant": [variant]}).designs[1]
        except InputError as error:
            assert found["status"][row] == REFUSED
            said = sweep_chunk.decoded(found["reason_texts"][found["reason"][row]]).split(" (and ")[0]
            assert said in str(error)
        else:
            assert found["status"][row] == EVALUATED
            answer = solve([design])[0]
            assert isinstance(answer, Solved)
            alone = figures(answer)
            expected = (answer.mass.total, alone.spread, alone.onset_MPa, alone.worst_margin)
            assert [float(found[n][row]) for n in FIGURES] == pytest.approx(expected, rel=1e-9)
            assert (found["unmet"][row], found["checks"][row]) == (alone.unmet, alone.checks)


def test_batch_size_plays_no_part(found: sweep_chunk.Columns) -> None:
    other = sweep_chunk.evaluate(JOB, 0, batch=5)
    assert found.keys() == other.keys()
    for name in found:
        if found[name].dtype.kind == "f":
            assert np.allclose(found[name], other[name], rtol=1e-9, atol=0, equal_nan=True), name
        else:
            assert np.array_equal(found[name], other[name]), name


def test_a_design_is_answered_as_in_an_assessment_while_its_faces_are_closed() -> None:
    """Spread at a pressure at which both ways of looking at faces agree: those that give way and those that do not."""
    case = replace(sample.STUDY.designs[0].load_cases[0], pressure=3.0)
    design = replace(sample.STUDY.designs[0], load_cases=(case,))
    fast = solve([design])[0]
    slow = variant_result(design, with_front_view=False)
    assert isinstance(fast, Solved)
    assert fast.load_cases[0].spread == pytest.approx(slow.load_cases[0].spread, rel=0.02)
    assert fast.mass == slow.mass


def test_layouts_and_numbers_of_bolts_are_grouped_apart() -> None:
    """One piece and two pieces, two and four bolts, load cases apart in one chunk."""
    two = [dict(b) for b in sample.STUDY.source["caliper"]["bolt"][::2]]  # type: ignore[index]
    levels = (
        {"caliper.layout": "monoblock"},
        {"caliper.bolt": two},
        {"caliper.layout": "two-piece"},
        {"load_case[1].pressure_MPa": 9.0},
        {"caliper.bridge[1].x_mm": [-50.0, -66.0]},
    )
    key = SweepKey(
        "what", (), (), np.nan, np.nan, tuple(Level(str(i), np.nan, c) for i, c in enumerate(levels))
    )
    job = sample.job(sampling="grid", samples=len(levels), keys=(key,))
    mixed = sweep_chunk.evaluate(job, 0)
    assert mixed["status"].tolist() == [EVALUATED] * 4 + [REFUSED]
    assert np.isinf(mixed["onset_MPa"][0]) and mixed["mass_kg"][1] < mixed["mass_kg"][2]
    assert mixed["spread_mm"][3] > 1.2 * mixed["spread_mm"][2], "9 MPa, not 7"
    alone = solve([sample.STUDY.designs[0]])[0]
    assert isinstance(alone, Solved)
    assert float(mixed["spread_mm"][2]) == pytest.approx(figures(alone).spread, rel=1e-9)


def test_what_finds_no_equilibrium_is_asked_alone_and_leaves_its_neighbours(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A design that fails beside others but not alone keeps its answer; one that fails alone has none."""
    base = sample.STUDY.designs[0]
    odd, lost = (replace(base, caliper=replace(base.caliper, fluid_depth=d)) for d in (ODD, LOST))
    sound = batches.layout

    def played(design: Design, count: int, **how: int) -> Layout:
        depth = np.broadcast_to(design.caliper.fluid_depth, (count,))
        bad = np.flatnonzero((depth == LOST) | ((depth == ODD) & (count > 1)))
        if len(bad):
            raise JointError("played", residual=1.0, iterations=1, designs=tuple(bad.tolist()))
        return sound(design, count, **how)

    monkeypatch.setattr(batches, "layout", played)
    found = solve([odd, base, lost, base])
    assert isinstance(found[2], JointError)
    assert all(isinstance(found[i], Solved) for i in (0, 1, 3))


def test_torque_against_preload_is_refused_too() -> None:
    level = Level("x", np.nan, {"caliper.bolt[1].torque_Nm": 1.0, "caliper.bolt[1].preload_N": 4e4})
    job = sample.job(sampling="grid", samples=1, keys=(SweepKey("t", (), (), np.nan, np.nan, (level,)),))
    found = sweep_chunk.evaluate(job, 0)
    assert found["status"].tolist() == [REFUSED]
    assert "torque_Nm = 1 and preload_N = 40000" in sweep_chunk.decoded(
        found["reason_texts"][found["reason"][0]]
    )


def test_numbers_of_designs_go_on_from_chunk_to_chunk() -> None:
    plan = sample.plan(samples=300)
    assert sampling.chunks(plan) == 3
    assert sampling.designs_of(plan, 2).tolist() == list(range(257, 301))


def test_designs_of_any_origin_have_the_margin_of_every_check() -> None:
    """The least of the margins is the worst margin; a layout without bolts has no margin of theirs."""
    levels = [Level(x, np.nan, {"caliper.layout": x}) for x in ("two-piece", "monoblock", "brass")]
    job = sample.job(keys=(SweepKey("layout", (), (), np.nan, np.nan, tuple(levels)),))
    found = sweep_chunk.evaluated(job, np.array([[0.0], [1.0], [0.0], [2.0]]))
    margins = {n: found[n] for n in found if n.startswith(sweep_chunk.MARGIN)}
    assert found["status"].tolist() == [EVALUATED] * 3 + [REFUSED]
    assert np.allclose(
        np.nanmin([m[:3] for m in margins.values()], axis=0), found["worst_margin"][:3], rtol=1e-12
    )
    assert np.isnan(margins["margin_bolt service"]).tolist() == [False, True, False, True]
    assert np.isnan(margins["margin_wall inboard"]).tolist() == [False, False, False, True]


def test_designs_without_equilibrium_have_no_figures(monkeypatch: pytest.MonkeyPatch) -> None:
    """Those beside them keep their own, in their own places."""
    choices, sound = sampling.drawn(JOB.plan, 0)[:8], batches.answer
    whole = sweep_chunk.evaluated(JOB, choices)
    lost = int(np.flatnonzero(whole["status"] == EVALUATED)[0])

    def played(design: Design, count: int, *, batch: int) -> Answers:
        found = sound(design, count, batch=batch)
        first = np.arange(count) == 0
        blank = {
            n: np.where(first, np.nan, getattr(found, n))
            for n in ("mass_kg", "spread_mm", "onset_MPa", "margin")
        }
        return replace(
            found, **blank, errors={0: JointError("played", residual=1.0, iterations=1, designs=(0,))}
        )

    monkeypatch.setattr(batches, "answer", played)
    found = sweep_chunk.evaluated(JOB, choices, batch=8)
    said = [sweep_chunk.decoded(found["reason_texts"][code]) for code in found["reason"]]
    gone = found["status"] == NO_EQUILIBRIUM
    assert gone[lost] and np.isnan(found["worst_margin"][gone]).all() and not found["checks"][gone].any()
    assert all(text.startswith("no equilibrium: played") == g for text, g in zip(said, gone, strict=True))
    assert np.array_equal(found["mass_kg"][~gone], whole["mass_kg"][~gone], equal_nan=True)
