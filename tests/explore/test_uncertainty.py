"""Drawn bodies: Monte Carlo beside first-order propagation, seeds, intervals, what is drawn and what is not."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.caliper.preloads import preloads
from stiffcalc.errors import InputError
from stiffcalc.explore.batches import alike
from stiffcalc.explore.dimensions import dimensions
from stiffcalc.explore.sensitivity import at, evaluate, slope
from stiffcalc.explore.uncertainty import uncertainty
from stiffcalc.explore.uncertainty_draw import draw, tolerances
from stiffcalc.study import load, parse
from stiffcalc.study.lookup import design_named
from stiffcalc.study.uncertainty import tolerance_mm

STUDIES = Path(__file__).parents[2] / "studies"
DEMO = load(STUDIES / "hillclimb_front.toml")
ONE, TWO = design_named(DEMO, "one piece"), DEMO.designs[0]
WHAT = DEMO.uncertainty


def asked(**changes):
    return replace(DEMO, uncertainty=replace(WHAT, **changes))


def test_monte_carlo_is_first_order_propagation_where_scatter_is_small() -> None:
    """Source: JCGM 100:2008, 5.1.2, u2(y) = sum (df/dx)2 u2(x); rectangular u = a / sqrt 3 (4.3.7)."""
    study = asked(samples=1000)
    found = uncertainty(study, variant=ONE.name, front_view=False)
    every = dimensions(ONE)
    frame, around = evaluate(ONE, every)
    here = at(ONE, frame, front_view=False)
    by_path = {d.path: slope(d, here, f) for d, f in zip(every, around, strict=True)}
    half = {d.path: a for d, a in tolerances(ONE, study.uncertainty).items()}
    lengths = sum((by_path[p].spread * a) ** 2 / 3.0 for p, a in half.items())
    moduli = [d for d in every if d.kind == "modulus"]
    metal = sum((by_path[d.path].spread * d.value / 1e3 * study.uncertainty.modulus) ** 2 for d in moduli)
    model = (0.026 * frame.spread) ** 2
    expected = lengths + metal + model
    # The standard deviation of 1000 draws is itself known within 2.2 % (1 s); three of these.
    assert found.spread.deviation == pytest.approx(np.sqrt(expected), rel=0.07)
    assert found.spread.mean == pytest.approx(frame.spread, rel=0.005)
    shares = {c.cause: c.variance_share for c in found.causes}
    for name, part in (("tolerances", lengths), ("modulus", metal), ("model", model)):
        assert shares[name] == pytest.approx(part / expected, abs=0.05), name
    assert sum(shares.values()) + found.unexplained == pytest.approx(1.0)
    assert found.unexplained < 0.01


def test_the_same_seed_gives_the_same_answer_and_another_one_another() -> None:
    study = asked(samples=40)
    a, b = (uncertainty(study, variant=ONE.name, front_view=False) for _ in range(2))
    assert a.to_dict() == b.to_dict() and a.seed == WHAT.seed
    c = uncertainty(study, variant=ONE.name, front_view=False, seed=5)
    assert c.seed == 5 and c.spread.median != a.spread.median


def test_each_body_is_another_one() -> None:
    few = draw(TWO, replace(WHAT, samples=3), model="frame")
    assert len(few.designs) == 3 and few.designs[0] != few.designs[1]
    assert len(alike(few.designs)) == 1, "and all are answered as one batch"


def test_nothing_scatters_where_nothing_may() -> None:
    still = {"tolerances": "none", "modulus": 0.0, "bolt_friction": 0.0, "joint_friction": 0.0}
    study = asked(samples=12, opening_model=0.0, onset_model=0.0, **still)
    found = uncertainty(study, variant=ONE.name, front_view=False)
    assert found.spread.deviation < 1e-12 and found.causes == ()
    np.testing.assert_allclose(found.curve_band, np.tile(found.curve, (3, 1)), rtol=1e-9, atol=1e-12)
    assert all(c.probability == (1.0 if c.margin >= 0 else 0.0) for c in found.chances)


def test_preload_stays_in_its_interval_and_fills_it() -> None:
    drawn = draw(TWO, replace(WHAT, samples=400), model="frame")
    found = np.array([[b.preload_N for b in d.caliper.bolts] for d in drawn.designs])
    interval = preloads(TWO)
    assert (found >= interval.min - 1e-6).all() and (found <= interval.max + 1e-6).all()
    assert found.max() - found.min() > 0.97 * (interval.max[0, 0] - interval.min[0, 0])
    assert abs(np.corrcoef(found.T)[0, 1]) < 0.15
    assert {b.scatter for d in drawn.designs for b in d.caliper.bolts} == {1.0}


def test_friction_stays_in_the_studys_ranges() -> None:
    drawn = draw(TWO, replace(WHAT, samples=200), model="frame")
    low, high = TWO.pad.friction_range
    pads = np.array([d.pad.friction for d in drawn.designs])
    assert low <= pads.min() < low + 0.02 and high - 0.02 < pads.max() <= high
    joint = np.array([d.caliper.joint_friction for d in drawn.designs])
    own = TWO.caliper.joint_friction
    assert (np.abs(joint / own - 1.0) <= WHAT.joint_friction + 1e-12).all() and np.ptp(joint) > 0.3 * own
    threads = np.array([[b.friction_thread for b in d.caliper.bolts] for d in drawn.designs])
    assert (
        (threads == threads[:, :1]).all() and 0.079 < threads.min() < 0.085 and 0.155 < threads.max() < 0.161
    )


def test_more_scatter_makes_wider_bands_and_surer_failures() -> None:
    narrow, wide = (
        uncertainty(asked(samples=150, modulus=m), variant=ONE.name, front_view=False) for m in (0.01, 0.05)
    )
    assert wide.spread.high - wide.spread.low > 1.5 * (narrow.spread.high - narrow.spread.low)


def test_loose_preload_shows_in_probabilities() -> None:
    found = uncertainty(asked(samples=120), variant=TWO.name, front_view=False)
    assert found.loose == 0 and found.every.bodies == 120
    assert found.every.probability <= found.chances[0].probability
    for c in (found.every, *found.chances):
        assert c.low <= c.probability <= c.high
        assert c.met == round(c.probability * c.bodies)
    onset = next(c for c in found.chances if c.id.startswith("onset"))
    assert 0.0 <= onset.probability < 1.0
    assert found.pressure[0] == 0.0 and found.curve_band.shape == (3, len(found.pressure))
    assert (np.diff(found.curve_band, axis=0)[:, 1:] > 0.0).all()


@pytest.mark.parametrize(
    ("size", "expected"), [(2.0, 0.1), (3.0, 0.1), (8.5, 0.2), (32.0, 0.3), (124.0, 0.5), (-190.0, 0.5)]
)
def test_general_tolerances(size: float, expected: float) -> None:
    """ISO 2768-1, table 1, class m (from memory)."""
    assert tolerance_mm(size, "medium") == expected
    assert tolerance_mm(size, "none") == 0.0


def test_what_the_table_may_say() -> None:
    text = (STUDIES / "hillclimb_front.toml").read_text(encoding="utf-8")
    table = '[uncertainty]\nsamples = 50\nseed = 3\ntolerances = "fine"\nopening_model_percent = 5\n'
    found = parse(f"{text}\n{table}").uncertainty
    assert (found.samples, found.seed, found.tolerances, found.opening_model) == (50, 3, "fine", 0.05)
    assert not any("samples" in line for line in found.defaults_used)
    assert any(line.startswith("uncertainty.modulus_percent = 2") for line in found.defaults_used)
    assert not any(line.startswith("uncertainty") for line in parse(text).defaults_used)


@pytest.mark.parametrize(
    ("line", "where"),
    [
        ("samples = 5", "uncertainty.samples"),
        ("samples = 10.5", "uncertainty.samples"),
        ("seed = -1", "uncertainty.seed"),
        ("modulus_percent = nan", "uncertainty.modulus_percent"),
        ("modulus_percent = 100", "uncertainty.modulus_percent"),
        ('tolerances = "exact"', "uncertainty.tolerances"),
        ("modulus = 2", "uncertainty.modulus"),
    ],
)
def test_what_it_may_not(line: str, where: str) -> None:
    text = (STUDIES / "hillclimb_front.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError) as caught:
        parse(f"{text}\n[uncertainty]\n{line}\n")
    assert [f.where for f in caught.value.faults] == [where]
