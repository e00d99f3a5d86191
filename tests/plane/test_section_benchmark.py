"""The benchmark of the section engine runs on a small mesh, and both sides compute the same displacements."""

import runpy
from pathlib import Path

import pytest

import stiffcalc

pytest.importorskip("gmsh")
pytest.importorskip("skfem", reason="the benchmark compares with scikit-fem (extra test)")

SCRIPT = Path(stiffcalc.__file__).parents[1] / "studies" / "benchmarks" / "plane_against_reference.py"


def test_ratios_are_printed(capsys):
    assert runpy.run_path(str(SCRIPT))["main"](["--unknowns", "3000", "--repeats", "1"]) == 0
    printed = capsys.readouterr().out
    assert "(aim 0.6)" in printed
    assert "(aim 3)" in printed


def test_both_sides_solve_the_same_problem():
    found = runpy.run_path(str(SCRIPT))["measure"](3000, repeats=1)
    assert found.difference < 1e-9
    assert found.unknowns > 2000
