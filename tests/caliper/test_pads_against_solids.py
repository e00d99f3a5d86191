"""Bars on pads against the stored 3-D solids of studies/solid_check/pad_solid.py (10-node tetrahedra, bonded seats)."""

import numpy as np
import pytest

pytest.importorskip("gmsh", reason="the bodies are drawn by the module that meshes them")
pytest.importorskip("skfem", reason="the solid check needs scikit-fem (extra dev or test)")
pytest.importorskip("pypardiso", reason="the solid check needs the direct solver pypardiso (extra dev)")

from fit_pads import BLIND, Case, cases, rows, softening, spread

from stiffcalc.caliper import response
from stiffcalc.mechanics.pads import FITTED


@pytest.fixture(scope="module")
def blind() -> list[Case]:
    return cases(rows("pad_bodies.csv"), lambda b: response.frame_pair(b))[BLIND]


def test_opening_of_bodies_with_bars(blind: list[Case]) -> None:
    error = np.array([spread(c, FITTED) / c.pads - 1 for c in blind])
    assert abs(error.mean()) < 0.015
    assert np.abs(error).max() < 0.06


def test_what_pads_add_to_the_opening(blind: list[Case]) -> None:
    model, solid = softening(blind, FITTED)
    assert np.all(solid > 0)
    assert abs((model / solid - 1).mean()) < 0.10  # a figure of 4 to 10 % of the opening
    whole = np.array([c.pads for c in blind])
    assert np.abs((model - solid) / whole).max() < 0.03
