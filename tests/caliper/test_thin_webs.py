"""Bolt holes that all but touch an edge or a bore: said, since nothing refuses them as long as metal is left."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.caliper.build import build
from stiffcalc.caliper.shape_validity import WEB, thin_webs
from stiffcalc.study import load

DEMOS = sorted((Path(__file__).parents[2] / "studies").glob("*.toml"))


def said(body):
    return [f.text if isinstance(f.text, str) else f.text(0) for f in thin_webs(body) if f.applies.any()]


def moved(body, **changes):
    """The body with its first bolt elsewhere."""
    return replace(body, bolts=(replace(body.bolts[0], **changes), *body.bolts[1:]))


@pytest.fixture(scope="module")
def body():
    return build(load(next(d for d in DEMOS if d.stem == "hillclimb_front")).designs[0])


def test_holes_of_the_demos_are_clear_of_edges():
    bodies = [build(d) for demo in DEMOS for d in load(demo).designs]
    assert any(b.bolts for b in bodies)
    assert not [s for b in bodies for s in said(b)]


def test_a_web_at_the_arch_is_said(body):
    bolt, arch = body.bolts[0], body.bridges[body.bolts[0].bridge].arch
    for web, words in (
        (0.002, "bolt 1: its hole leaves less than 0.1 mm of metal to the edge"),
        (1.001 * WEB, ""),
    ):
        y = float(np.sqrt((arch + bolt.hole / 2 + web) ** 2 - bolt.x**2))
        found = said(moved(body, y=y))
        assert len(found) == bool(words) and all(s.startswith(words) for s in found)


def test_webs_at_sides_top_and_bores_are_said(body):
    bolt, bridge, bore = body.bolts[0], body.bridges[body.bolts[0].bridge], body.inboard.bores[0]
    out = bolt.hole / 2 + 0.25
    for place, words in (
        ({"x": bridge.x0 + out, "y": 160.0}, "less than 0.3 mm of metal to the edge"),
        ({"x": bridge.x1 - out, "y": 160.0}, "less than 0.3 mm of metal to the edge"),
        ({"y": bridge.y1 - out}, "less than 0.3 mm of metal to the edge"),
        ({"x": bore.x, "y": bore.y + bore.diameter / 2 + out}, "less than 0.3 mm of metal to bore 1;"),
    ):
        assert any(words in s for s in said(moved(body, **place)))


def test_each_design_of_a_batch_has_its_own_sentence(body):
    bolt, arch = body.bolts[0], body.bridges[body.bolts[0].bridge].arch
    y = np.sqrt((arch + bolt.hole / 2 + np.array([0.25, 3.0, 0.45])) ** 2 - bolt.x**2)
    (flag,) = (f for f in thin_webs(moved(body, y=y)) if f.applies.any())
    assert flag.applies.tolist() == [True, False, True]
    assert "less than 0.3 mm" in flag.text(0) and "less than 0.5 mm" in flag.text(2)
