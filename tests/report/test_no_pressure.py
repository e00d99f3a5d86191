"""Pictures of a body that nothing presses, and of one whose highest load case does not hold."""

import tomllib
import warnings
from dataclasses import replace
from pathlib import Path

import pytest

from stiffcalc.caliper.assess import assess
from stiffcalc.caliper.results import Results
from stiffcalc.report import page
from stiffcalc.report.deformed import deformed
from stiffcalc.study import parse

STUDIES = Path(__file__).parents[2] / "studies"


@pytest.mark.parametrize("name", ["handover_check/small.toml", "sweep_two_piece.toml"])
def test_a_study_of_tightening_alone_is_drawn(name: str) -> None:
    source = tomllib.loads((STUDIES / name).read_text())
    source["load_case"] = [{"name": "tightened", "kind": "assembly"}]
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = assess(parse(source), front_view=False)
        text = page.render(found, "accuracy")
    assert found.variants[0].load_cases[0].spread == pytest.approx(0.0, abs=1e-12)
    assert "movements drawn 1 times too large" in text


def test_the_tilt_beside_the_drawing_is_of_the_load_case_drawn(good: Results) -> None:
    """A burst case above it that does not hold has no tilt; the frame is not to blame."""
    first = good.variants[0]
    drawn = next(c for c in first.load_cases if c.pressure == first.shape.pressure)
    lost = replace(drawn, name="burst", pressure=2 * drawn.pressure, spread=None, tilt_middle=None)
    more = replace(good, variants=(replace(first, load_cases=(*first.load_cases, lost)), *good.variants[1:]))
    picture = deformed(more, 0)
    assert picture is not None
    assert "not published" not in picture.svg
    assert picture.svg == getattr(deformed(good, 0), "svg", None)
