"""What a second model makes of a search's margins, between the designs that both have answered."""

import numpy as np
import pytest

from stiffcalc.explore.compare_rho import Anchor, corrected, recorrected, rho
from stiffcalc.explore.search import Evaluation

RANDOM = np.random.default_rng(3)
A = Anchor(np.array([0.2, 0.2]), {"onset": 0.8, "bolt": 1.1})
B = Anchor(np.array([0.8, 0.6]), {"onset": 1.2})


def designs(x):
    margins = {"onset": RANDOM.uniform(-0.5, 2, len(x)), "bolt": np.full(len(x), np.inf)}
    return Evaluation(np.asarray(x), np.ones(len(x)), np.ones(len(x)), margins)


def test_rho_is_exact_where_both_models_answered():
    found = rho(np.stack([A.x, B.x]), [A, B], ("onset", "bolt", "slip"))
    assert found["onset"] == pytest.approx([0.8, 1.2], abs=1e-12)
    assert found["bolt"] == pytest.approx([1.1, 1.1])  # one anchor has it
    assert found["slip"].tolist() == [1.0, 1.0]  # none has


def test_rho_between_is_between_and_nearer_to_the_nearer():
    middle, near = rho(np.array([(A.x + B.x) / 2, 0.7 * A.x + 0.3 * B.x]), [A, B], ("onset",))["onset"]
    assert middle == pytest.approx(1.0)
    assert near == pytest.approx((0.8 * 0.7**4 + 1.2 * 0.3**4) / (0.7**4 + 0.3**4))


def test_margins_go_as_one_plus_margin_and_what_is_not_asked_stays_so():
    raw = designs([A.x, B.x])
    found = corrected(raw, [A, B])
    assert found.margins["onset"] == pytest.approx((1 + raw.margins["onset"]) * [0.8, 1.2] - 1)
    assert np.isposinf(found.margins["bolt"]).all()
    assert corrected(raw, []).margins["onset"].tolist() == pytest.approx(raw.margins["onset"].tolist())


def test_designs_corrected_again_are_as_if_corrected_once():
    raw = designs(RANDOM.random((50, 2)))
    twice = recorrected(corrected(raw, [A]), [A], [A, B])
    assert twice.margins["onset"] == pytest.approx(corrected(raw, [A, B]).margins["onset"], rel=1e-12)
