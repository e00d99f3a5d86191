"""The benchmark of a sweep runs, and leaves what it clocks as it was."""

import runpy
from pathlib import Path

import stiffcalc
from stiffcalc.explore import batches, sweep_chunk

SCRIPT = Path(stiffcalc.__file__).parents[1] / "studies" / "benchmarks" / "sweep_rate.py"
PARTS = ["drawing", "reading", "physics", "checks", "onset, words", "columns", "all", "reading one by one"]


def test_every_part_has_a_rate(capsys):
    before = sweep_chunk.read, batches.layout, batches.answer
    assert runpy.run_path(str(SCRIPT))["main"](["--designs", "6", "--repeats", "1"]) == 0
    lines = capsys.readouterr().out.splitlines()[1:]
    assert [line[:34].strip() for line in lines] == PARTS
    each = {part: float(line[34:].split()[0]) for part, line in zip(PARTS, lines, strict=True)}
    assert all(value > 0 for value in each.values())
    assert abs(sum(each[part] for part in PARTS[:6]) / each["all"] - 1) < 1e-3, "the parts are the whole"
    assert (sweep_chunk.read, batches.layout, batches.answer) == before
