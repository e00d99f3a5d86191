"""The check of the optimum against random designs, on a small comparison."""

import sys
from pathlib import Path

import numpy as np
from compare_sample import study

sys.path.append(str(Path(__file__).parents[2] / "studies" / "compare_check"))
import random_designs


def test_no_random_design_beats_the_optimum_by_a_hundredth() -> None:
    rows = list(random_designs.check(study(), 128, 32, layout="one piece"))
    assert [r.mass for r in rows] == [2.9, 3.1, np.inf]
    assert rows[-1].optimum < 2.9 < rows[-1].drawn * 1.1  # kg, the lightest
    assert all(r.feasible > 0 for r in rows)
    assert max(r.by for r in rows) < random_designs.ALLOWED


def test_a_better_design_would_be_seen() -> None:
    better = random_designs.Beaten("one", 2.0, optimum=0.2, drawn=0.19, feasible=1)
    assert better.by > random_designs.ALLOWED
    assert random_designs.Beaten("one", 2.0, optimum=np.nan, drawn=0.19, feasible=1).by == np.inf
    assert random_designs.Beaten("one", 2.0, optimum=0.2, drawn=np.nan, feasible=0).by == -np.inf
