"""A pocket across the wall's whole height: a layer of the section has no metal, and the wall is a thinner one there."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.caliper import response
from stiffcalc.caliper.build import build
from stiffcalc.study import load
from stiffcalc.study.schema import Pocket

DEMO = load(Path(__file__).parents[2] / "studies" / "hillclimb_front.toml").designs[2]


def spread(depth, y):
    wall = replace(DEMO.caliper.outboard, pockets=(Pocket((50.0, 60.0), y, depth),))
    caliper = replace(DEMO.caliper, inboard=wall, outboard=wall)
    body = build(replace(DEMO, caliper=caliper))
    pair = response.frame_pair(body)
    found = response.answer(pair, body, preload=np.zeros((1, 1, 0)), pressure=np.array([10.0]))
    return float(found.openings.spread[0, 0, 0])


def test_the_frame_knows_a_pocket_across():
    across, nearly = (spread(8.0, (low, 178.0)) for low in (99.0, 99.001))
    assert across == pytest.approx(nearly, rel=1e-4)
    assert across > spread(4.0, (99.0, 178.0)) > spread(1e-6, (99.0, 178.0))
