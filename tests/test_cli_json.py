"""Where `--json` cannot be written is said before anything is computed or written."""

from pathlib import Path

import pytest

from stiffcalc.cli import main

SMALL = str(Path(__file__).parents[1] / "studies/handover_check/small.toml")


@pytest.mark.parametrize("command", ["assess", "bolts", "compare", "sensitivity", "uncertainty", "section"])
def test_a_place_that_takes_no_file_is_refused_first(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, target = tmp_path / "out", tmp_path / "none" / "answer.json"
    assert main([command, SMALL, "--out", str(out), "--json", str(target)]) == 2
    assert not out.exists()
    said = capsys.readouterr().err
    assert (
        said
        == f"{target}: found no folder {target.parent}; allowed: a folder that exists; mend: make it first\n"
    )
