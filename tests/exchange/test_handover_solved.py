"""A package solved with scikit-fem from its own files alone finds what it expects, within its bands."""

import sys
from pathlib import Path

import pytest

from stiffcalc.cli import main

HERE = Path(__file__).parents[2] / "studies" / "handover_check"
sys.path.insert(0, str(HERE))


@pytest.fixture(scope="module")
def solver():
    import solve_package

    return solve_package


ABUTMENT = """
[[caliper.abutment]]
bridge = "trailing end"
y_mm = [96.0, 110.0]
z_mm = [7.0, 17.0]
"""


@pytest.fixture(scope="module")
def sharp(tmp_path_factory):
    """Without fillets: the body the screening is about."""
    folder = tmp_path_factory.mktemp("sharp")
    text = (HERE / "small.toml").read_text().replace("fillet_mm = 4.0", "fillet_mm = 0.0")
    (folder / "small.toml").write_text(text + ABUTMENT)
    words = ["handover", folder / "small.toml", "--out", folder / "package", "--size", "14", "--quiet"]
    assert main([str(w) for w in words]) == 0
    return folder / "package"


def test_solved_figures_lie_in_their_bands(solver, sharp):
    lines = solver.solve(sharp)
    assert {e.quantity.split(",")[0] for e in lines} >= {"opening", "tilt", "force of the pressure along z"}
    assert sum(e.quantity.startswith("reaction") for e in lines) == 12  # six to the pressure, six to drag
    dragged = [e for e in lines if e.quantity.endswith("to drag")]
    assert max(abs(e.expected) for e in dragged) > 100 * max(e.high - e.expected for e in dragged)
    assert all(e.inside for e in lines), [e for e in lines if not e.inside]
    opening = next(e for e in lines if e.quantity.startswith("opening"))
    assert abs(opening.solved / opening.expected - 1) < 0.027


def test_a_wrong_load_falls_out_of_the_bands(solver, sharp, tmp_path):
    for path in sharp.iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    loads = (tmp_path / "loads.csv").read_text()
    (tmp_path / "loads.csv").write_text(loads.replace(",10,MPa", ",11,MPa"))
    outside = {e.quantity.split(",")[0] for e in solver.solve(tmp_path) if not e.inside}
    assert {"opening", "tilt", "force of the pressure along z"} <= outside


def test_no_such_load_case(solver, sharp):
    with pytest.raises(SystemExit, match="no load case 'burst'"):
        solver.solve(sharp, "burst")
