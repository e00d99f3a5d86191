"""Batches of every kind of body answer as each alone: one and two pieces, bars, ports, pockets, unequal halves."""

import copy
import tomllib
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.explore.batches import answer, key, stacked_designs
from stiffcalc.study import parse
from stiffcalc.study.schema import Design

STUDIES = Path(__file__).parents[2] / "studies"
KINDS = {
    "two pieces, ports and reliefs": ("hillclimb_front.toml", 0, {}),
    "one piece, pockets": ("hillclimb_front.toml", 2, {}),
    "bar on pads": ("centre_bridge.toml", 3, {}),
    "two pieces, unequal halves": ("sweep_two_piece.toml", 0, {"thickness_mm": 33.0}),
}


def designs(name: str) -> list[Design]:
    file, layout, outboard = KINDS[name]
    raw = tomllib.loads((STUDIES / file).read_text(encoding="utf-8"))
    found = []
    for k in (0.97, 1.0, 1.02):
        one = copy.deepcopy(raw)
        one["caliper"]["wall"]["thickness_mm"] *= k
        one["rotor"]["thickness_mm"] *= k
        if outboard:
            one["caliper"]["outboard"] = outboard
        found.append(parse(one).designs[layout])
    return found


@pytest.mark.parametrize("name", KINDS)
def test_a_batch_is_its_designs(name: str) -> None:
    tried = designs(name)
    assert len({key(d) for d in tried}) == 1
    whole = answer(stacked_designs(tried), len(tried))
    for d, design in enumerate(tried):
        one = answer(design, 1)
        assert whole.rows == one.rows and whole.governing(d) == one.governing(0)
        assert whole.validity(d) == one.validity(0)
        for figure in ("mass_kg", "spread_mm", "onset_MPa", "worst_margin"):
            assert getattr(whole, figure)[d] == pytest.approx(getattr(one, figure)[0], rel=1e-9), figure
        np.testing.assert_allclose(1.0 + whole.margin[:, d], 1.0 + one.margin[:, 0], rtol=1e-9)
    assert len(set(whole.mass_kg)) == 3
