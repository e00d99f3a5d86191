"""Solids that were solved and stored are read by whoever has the tests' packages: no direct solver is asked for."""

import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("skfem", reason="the solid check builds on scikit-fem (extra test)")

FOLDER = Path(__file__).parents[1] / "studies" / "solid_check"
READ = "import sys; sys.modules['pypardiso'] = None; import run; print(run._parser().prog)"


def test_stored_solids_need_no_direct_solver() -> None:
    done = subprocess.run(
        [sys.executable, "-c", READ], cwd=FOLDER, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
