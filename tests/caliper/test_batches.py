"""Several layouts at once give what each gives by itself."""

import copy
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.caliper import idealise, response
from stiffcalc.caliper.body import WHOLE
from stiffcalc.caliper.build import build
from stiffcalc.caliper.life import Life, Stage, life
from stiffcalc.caliper.metal import metals
from stiffcalc.caliper.stages import Stages, solve
from stiffcalc.explore.batches import stacked_designs
from stiffcalc.mechanics import stacked, strength, trees
from stiffcalc.mechanics.joint_state import JointError
from stiffcalc.study import parse
from stiffcalc.study.schema import Design

DEMO = tomllib.loads((Path(__file__).parents[2] / "studies/hillclimb_front.toml").read_text())


def designs(*preloads: float) -> list[Design]:
    """Hot and cold layouts that differ in preload and in the place of one bolt."""
    found = []
    for i, preload in enumerate(preloads):
        raw = copy.deepcopy(DEMO)
        raw["caliper"]["bolt"][0]["y_mm"] += 0.5 * i
        for bolt in raw["caliper"]["bolt"]:
            bolt["preload_N"] = preload
        found.append(parse(raw).designs[0])
    return found


def alone(design: Design) -> tuple[Life, Stages]:
    body = build(design)
    pair = response.frame_pair(body, give=False)
    known = life(design, body, pair)
    return known, solve(design, body, {"frame": pair}, known)


def together(tried: list[Design]) -> tuple[list[Life], list[Stages]]:
    design, count = stacked_designs(tried), len(tried)
    body = build(design, count)
    pair = response.frame_pair(body, give=False)
    known = life(design, body, pair)
    solved = solve(design, body, {"frame": pair}, known)
    return [known.one(d) for d in range(count)], [solved.one(d) for d in range(count)]


def ends(stage: Stage) -> np.ndarray:
    return np.stack([stage.preload.min, stage.preload.nominal, stage.preload.max])


def test_a_batch_gives_what_each_layout_gives_alone() -> None:
    tried = designs(30e3, 40e3, 44e3)
    known, solved = together(tried)
    for design, many, stages in zip(tried, known, solved, strict=True):
        one, own = alone(design)
        assert [s.name for s in many.stages] == [s.name for s in one.stages]
        assert len(one.stages) == 5, "tightened, settled, hot, cold, cold after hot soak"
        for a, b in zip(many.stages, one.stages, strict=True):
            np.testing.assert_allclose(ends(a), ends(b), rtol=1e-7)
            assert a.losses.keys() == b.losses.keys()
        assert stages.others.keys() == own.others.keys()
        for warmth, found in own.own.items():
            a, b = stages.own[warmth].answers["frame"], found.answers["frame"]
            np.testing.assert_allclose(a.openings.spread, b.openings.spread, rtol=1e-7)
            np.testing.assert_allclose(a.loaded.bolt, b.loaded.bolt, rtol=1e-7)


def test_a_sweep_can_be_left_out() -> None:
    (design,) = designs(44e3)
    body = build(design)
    pair = response.frame_pair(body, give=False)
    found = solve(design, body, {"frame": pair}, life(design, body, pair), steps=0)
    assert list(found.room.pressure) == [10.0, 12.0, 16.0]


def test_a_layout_that_comes_loose_in_a_batch_has_no_preload_left() -> None:
    """One weak bolt a bridge: once cold the halves can turn about the line through both."""
    tried = [replace(d, caliper=replace(d.caliper, bolts=d.caliper.bolts[::2])) for d in designs(44e3, 3e3)]
    strong, weak = together(tried)[0]
    assert [s.name for s in weak.stages if not ends(s).any()] == ["cold", "cold after hot soak"]
    assert all(ends(s).all() for s in strong.stages)


def test_no_equilibrium_in_a_batch_names_the_layout(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise JointError("equilibrium of the joint", residual=1.0, iterations=60, designs=(1,))

    monkeypatch.setattr(response.joint, "load", fails)
    with pytest.raises(JointError) as caught:
        together(designs(44e3, 40e3))
    assert caught.value.designs == (1,)


def test_one_design_of_a_batch() -> None:
    bodies = [build(d) for d in designs(30e3, 44e3)]
    pair = stacked.one(response.frame_pair(trees.stack(bodies, whole=WHOLE)), 1)
    own = response.frame_pair(bodies[1])
    np.testing.assert_allclose(pair.flexibility.F, own.flexibility.F, rtol=1e-9)
    np.testing.assert_allclose(pair.faces.corner_x, own.faces.corner_x)
    assert pair.clamp is not None and own.clamp is not None
    np.testing.assert_allclose(pair.clamp.cells.area, own.clamp.cells.area)
    assert pair.jointed == own.jointed


def test_metal_of_a_batch_is_stress_under_unit_loads() -> None:
    bodies = [build(d) for d in designs(30e3, 44e3)]
    force = np.array([[[-4e4, 2e5, -3e5], [-5e4, 1e5, 2e5]]])
    every = metals(trees.stack(bodies, whole=WHOLE))
    for d, body in enumerate(bodies):
        metal = stacked.one(every, d)
        batch = idealise.bridges(body)
        np.testing.assert_allclose(
            (metal.bridge_stress @ force[..., None])[..., 0], strength.bridge_stress(batch, force), rtol=1e-9
        )
        side = metal.sides["outboard"]
        walls = idealise.walls(body, "outboard")
        moment = np.full_like(side.line.x, 3e5)
        np.testing.assert_allclose(
            side.line.stress * 3e5, strength.wall_stress(walls, side.line.x, moment=moment), rtol=1e-9
        )
        height = strength.corner_height(batch)
        expected = strength.corner_factor(np.array([[[5.0], [5.0]]]), height=height, wall=32.0)
        np.testing.assert_allclose(metal.corner.value, expected.value)
