"""A batch of designs answered as arrays gives what each gives alone."""

import numpy as np
import pytest
import sweep_sample as sample

from stiffcalc.explore import sampling, sweep_read
from stiffcalc.explore.answers import Solved
from stiffcalc.explore.batches import WHOLE, answer, key, solve
from stiffcalc.explore.bolt_solve import figures
from stiffcalc.mechanics import trees
from stiffcalc.study.schema import Design

JOB = sample.job(samples=24)


def drawn() -> list[Design]:
    found, _ = sweep_read.read(JOB, sampling.drawn(JOB.plan, 0))
    return [one for batch in found for one in (trees.single(batch.design, d) for d in range(len(batch.rows)))]


def test_answers_are_those_of_each_design() -> None:
    alike: dict[object, list[Design]] = {}
    for design in drawn():
        alike.setdefault(key(design), []).append(design)
    assert max(len(group) for group in alike.values()) > 1
    for group in alike.values():
        found = answer(trees.stack(group, whole=WHOLE), len(group))
        for d, one in enumerate(solve(group)):
            assert isinstance(one, Solved)
            own = figures(one)
            assert found.mass_kg[d] == pytest.approx(one.mass.total, rel=1e-9)
            assert found.spread_mm[d] == pytest.approx(own.spread, rel=1e-9)
            assert found.onset_MPa[d] == pytest.approx(one.onset_MPa, rel=1e-9)
            assert found.worst_margin[d] == pytest.approx(own.worst_margin, rel=1e-9, abs=1e-9)
            assert (found.unmet[d], found.checks[d]) == (own.unmet, own.checks)
            assert found.governing(d) == own.governs
            assert found.validity(d) == own.validity
        assert not found.errors and not np.isnan(found.mass_kg).any()
