"""Slopes of the spread by milled depth, through halves and joint, beside finite steps of whole solutions."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("gmsh", reason="the front view meshes with gmsh")

from stiffcalc.caliper import idealise, response
from stiffcalc.caliper.build import build
from stiffcalc.caliper.wall_depth import with_depth
from stiffcalc.condensed import add
from stiffcalc.mechanics.spread_work import spread_work
from stiffcalc.plane.depths import areas, milled, slopes
from stiffcalc.plane.front_view import solved
from stiffcalc.plane.model import model_of
from stiffcalc.study import load

DEMO = load(Path(__file__).parents[2] / "studies" / "hillclimb_front.toml")
PRELOAD = (
    27e3  # so little that the faces are partly open at the higher pressure, and no cell is about to part
)
PRESSURE = np.array([4.0, 14.0])


@cache
def half(index):
    """Body and meshed outboard half of one layout; both halves are alike."""
    body = build(DEMO.designs[index])
    return body, model_of(replace(idealise.plate_plan(body, "outboard"), mesh_size=14.0))


def at(index, depth, preload=PRELOAD):
    body, model = half(index)
    cut = milled(model, depth)
    view, U = solved(cut)
    own = with_depth(view.flexibility, body, "outboard")
    pair = response.joined(body, add(own, own))
    return cut, U, spread_work(pair, preload=np.full(len(body.bolts), preload), pressure=PRESSURE)


def drawn(index):
    """A depth over every triangle, and a direction to step in."""
    draw = np.random.default_rng(5)
    count = len(half(index)[1].mesh.triangles)
    return draw.uniform(0.0, 2.0, count), draw.uniform(0.0, 1.0, count)


@pytest.mark.parametrize("index", range(3), ids=[d.name for d in DEMO.designs])
def test_slopes_are_those_of_finite_steps(index):
    depth, way = drawn(index)
    cut, U, found = at(index, depth)
    step = 0.02
    up, down = (at(index, depth + by * way)[2].spread for by in (step, -step))
    for i in range(len(PRESSURE)):
        slope = 2.0 * slopes(cut, U, found.work[i]) @ way
        assert slope == pytest.approx((up[i] - down[i]) / (2.0 * step), rel=1e-4)
        assert slope > 0.0


def test_a_closed_joint_does_not_know_its_preload():
    depth, _ = drawn(0)
    (cut, U, one), (_, _, other) = (at(0, depth, preload) for preload in (90e3, 120e3))
    a, b = (slopes(cut, U, found.work[0]) for found in (one, other))
    assert b == pytest.approx(a, rel=1e-6, abs=1e-9 * np.abs(a).max())


def test_an_opened_joint_does():
    """Left out, the tightened state's part would show: the slopes of a partly open joint depend on the preload."""
    depth, way = drawn(0)
    totals = []
    for preload in (PRELOAD, 90e3):
        cut, U, found = at(0, depth, preload)
        totals.append(slopes(cut, U, found.work[1]) @ way)
    assert totals[0] > 1.02 * totals[1]


def test_a_skin_milled_off_makes_softer_everywhere_it_carries():
    """The work of a load on itself only grows: own energy of any skin is positive."""
    _, model = half(2)
    U = solved(model)[1]
    work = np.eye(U.shape[1] - 1, U.shape[1])
    assert np.all(slopes(model, U, work) > 0.0)
    assert areas(model).sum() == pytest.approx(190.0 * 79.0, rel=1e-3)
