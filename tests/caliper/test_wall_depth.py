"""What is added to a plate's half for the wall's depth: where it stands, its size, and what it does to a joint."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("gmsh", reason="the front view meshes with gmsh")

from stiffcalc.caliper import idealise
from stiffcalc.caliper.build import build
from stiffcalc.caliper.wall_depth import with_depth
from stiffcalc.mechanics.head_path import COLUMN
from stiffcalc.mechanics.plates import floor_edge_flexibility, floor_path_flexibility
from stiffcalc.plane.front_view import front_view
from stiffcalc.study import load

DEMO = load(Path(__file__).parents[2] / "studies" / "hillclimb_front.toml")


@cache
def halves(index):
    body = build(DEMO.designs[index])
    plate = front_view(idealise.plate_plan(body, "outboard")).flexibility
    return body, plate, with_depth(plate, body, "outboard")


@pytest.mark.parametrize("index", range(3), ids=[d.name for d in DEMO.designs])
def test_parts_still_sum_to_the_whole_and_works_are_mutual(index):
    _, plate, whole = halves(index)
    np.testing.assert_allclose(sum(whole.parts.values()), whole.F, atol=1e-6 * np.abs(plate.F).max())
    added = whole.F - plate.F
    np.testing.assert_allclose(added, added.swapaxes(1, 2), atol=1e-12 * np.abs(plate.F).max())


def test_a_floor_gives_at_its_edge_and_by_its_way_through_the_wall():
    body, plate, whole = halves(0)
    half, points = body.outboard, whole.points
    added = (whole.F - plate.F)[0, points.bore, points.bore]
    radius = np.array([0.5 * b.diameter for b in half.bores])
    edge = floor_edge_flexibility(radius, thickness=half.floor, E=body.E, nu=body.nu)
    way = floor_path_flexibility(radius, thickness=half.floor, wall=half.thickness, E=body.E)
    np.testing.assert_allclose(added, np.diag((edge + way) / (np.pi * radius**2)), rtol=1e-12)
    assert np.all((0.05 * edge < way) & (way < 5.0 * edge))


def test_a_head_presses_its_own_bridge_s_root_down():
    """N on a head moves the root below it by -t / (6 E A) and no other bridge's; the mean over its bolts' arms."""
    index = next(i for i in range(3) if build(DEMO.designs[i]).bolts)
    body, plate, whole = halves(index)
    points = whole.points
    added = (whole.F - plate.F)[0, points.bridge, points.bolt].reshape(-1, 3, points.bolts)
    for j, bolt in enumerate(body.bolts):
        assert np.all(np.delete(added[:, :, j], bolt.bridge, axis=0) == 0.0)
    down = [added[b.bridge, 0, j] for j, b in enumerate(body.bolts)]
    assert np.all(np.array(down) < 0.0)
    first = body.bridges[body.bolts[0].bridge]
    area = (first.x1 - first.x0) * (first.y1 - first.y0)
    assert min(down) < COLUMN * body.outboard.thickness / body.E / area
