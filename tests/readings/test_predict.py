"""Predictions for readings are the assessment's own figures."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.caliper.assess import variant_result
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.readings.beside import raw_figure
from stiffcalc.readings.kinds import points_of
from stiffcalc.readings.predict import predict
from stiffcalc.study import load

DEMO = Path(__file__).parents[2] / "studies" / "hillclimb_front.toml"
VIEWS = [
    False,
    pytest.param(True, marks=pytest.mark.skipif(bool(unavailable()), reason="gmsh does not load")),
]


@pytest.mark.parametrize("index", [0, 2])
@pytest.mark.parametrize("front_view", VIEWS)
def test_prediction_is_the_assessments_figure(index: int, front_view: bool) -> None:
    """Every quantity and point, at minimum preload, at 20 °C and warm, between the pressures that are solved too."""
    design = load(DEMO).designs[index]
    cold, *_ = design.load_cases
    warm = replace(cold, name="warm", pressure=9.1, body_temperature_C=60.0, bolt_temperature_C=60.0)
    cases = (replace(cold, pressure=7.3), warm)
    assessed = variant_result(replace(design, load_cases=cases), with_front_view=front_view).load_cases
    model, curves = predict(design, temperatures=[20.0, 60.0], top=12.0, front_view=front_view)
    assert model == ("front view" if front_view else "frame")
    count = 0
    for case, found in zip(assessed, curves, strict=True):
        for name, points in points_of(design.caliper).items():
            for point in points:
                at = found.at((name, point), np.array([case.pressure]))
                raw = raw_figure(case, name, point)
                if raw is None:
                    assert at is None and name == "tilt" and not front_view
                    continue
                assert at is not None
                assert at[0, 0] == pytest.approx(raw, rel=1e-3, abs=1e-6), (name, point)
                count += 1
    assert count >= 10


def test_more_preload_opens_no_more_and_later() -> None:
    _, (found,) = predict(load(DEMO).designs[0], temperatures=[20.0], top=16.0, front_view=False)
    spread = found.values["spread", "caliper"]
    assert spread.shape[0] == 3
    assert (np.diff(spread, axis=0) <= 1e-9).all()
    assert (np.diff(found.onset) > 0).all()


def test_one_piece_has_one_state_and_no_onset() -> None:
    _, (found,) = predict(load(DEMO).designs[2], temperatures=[20.0], top=10.0, front_view=False)
    assert found.values["spread", "caliper"].shape[0] == 1
    assert np.isinf(found.onset).all()
    assert ("bolt force", "bolt 1") not in found.values
