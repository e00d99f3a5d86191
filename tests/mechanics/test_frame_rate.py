"""The benchmark of the frame runs, and counts answers that are right."""

import runpy
from dataclasses import fields, replace
from pathlib import Path

import numpy as np

import stiffcalc

SCRIPT = Path(stiffcalc.__file__).parents[1] / "studies" / "benchmarks" / "frame_rate.py"


def first(batch):
    return replace(batch, **{f.name: getattr(batch, f.name)[:1] for f in fields(batch) if f.name != "slabs"})


def test_rate_is_printed(capsys):
    main = runpy.run_path(str(SCRIPT))["main"]
    assert main(["--designs", "20", "--repeats", "1"]) == 0
    assert "designs a second: " in capsys.readouterr().out


def test_the_batch_answers_as_a_single_design_does():
    script = runpy.run_path(str(SCRIPT))
    walls, between = script["designs"](300, bridges=3)
    many, one = script["openings"](walls, between), script["openings"](first(walls), first(between))
    np.testing.assert_allclose(many[:1], one, rtol=1e-9)
    assert np.ptp(many[:, 0]) > 0.02 * many.mean()
