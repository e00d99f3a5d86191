"""Grids moved with the lengths of their section: exact outlines, exact patch, refusal of anything else."""

from dataclasses import replace

import numpy as np
import pytest

from stiffcalc.plane.section.grid import mesh_section
from stiffcalc.plane.section.loads import volumes
from stiffcalc.plane.section.moving import moved, quality
from stiffcalc.plane.section.outline import Material, Part, Region, polygon, signed_area
from stiffcalc.plane.section.problem import Support, Traction, single
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.solve import solve
from stiffcalc.plane.section.stress import recover

METAL = Material(70000.0, 0.33)


def angle(*, arm=30.0, depth=10.0, wall=20.0, fillet=4.0, pocket=5.0, rise=24.0):
    """An L: an arm of `depth` on a wall, rounded between, with a thinner pocket in the wall's outer side."""
    corners = [(0.0, 40.0), (arm, 40.0), (arm, 0.0), (arm + wall, 0.0), (arm + wall, 40.0 + depth)]
    outline = polygon(
        [*corners, (0.0, 40.0 + depth)],
        names=["under", "inner", "lower", "outer", "top", "end"],
        radii=[0.0, fillet, 0.0, 0.0, 0.0, 0.0],
        fillet="fillet ",
    )
    box = polygon(
        [(arm + wall - pocket, 8.0), (arm + wall, 8.0), (arm + wall, rise), (arm + wall - pocket, rise)]
    )
    return Part("angle", outline, 12.0, METAL, regions=(Region("pocket", box, 3.0),))


def volume(grid):
    return float(volumes(grid, np.ones(len(grid.triangles), dtype=bool))[1].sum())


START = angle()
GRID = mesh_section([START], sizing=Sizing(4.0, per_circle=32))


@pytest.mark.parametrize(
    "lengths",
    [
        {"wall": 26.0},
        {"depth": 7.0},
        {"fillet": 5.5},
        {"pocket": 8.0},
        {"arm": 24.0, "wall": 15.0, "fillet": 3.0},
    ],
    ids=str,
)
def test_a_moved_grid_is_the_new_section(lengths):
    after = angle(**lengths)
    found = moved(GRID, [START], [after])
    exact = 12.0 * signed_area(after.outline) - 9.0 * signed_area(after.regions[0].outline)
    assert volume(found) == pytest.approx(exact, rel=1e-6)  # arcs by quadratic sides
    assert found.triangles is GRID.triangles
    assert {n: len(s.nodes) for n, s in found.edges.items()} == {
        n: len(s.nodes) for n, s in GRID.edges.items()
    }
    arc = next(e for e in after.outline if e.centre is not None)
    nodes = found.nodes[np.unique(found.edge("fillet 1").nodes)]
    assert np.abs(np.hypot(*(nodes - arc.centre).T) - arc.radius).max() < 1e-9


def test_an_arc_stays_round_where_a_level_crosses_it():
    """A pocket that ends beside the fillet: between its level and the arc's ends coordinates stretch unlike."""
    before, after = angle(rise=38.0), angle(rise=38.0, fillet=5.5)
    found = moved(mesh_section([before], sizing=Sizing(4.0, per_circle=32)), [before], [after])
    arc = next(e for e in after.outline if e.centre is not None)
    nodes = found.nodes[np.unique(found.edge("fillet 1").nodes)]
    assert np.abs(np.hypot(*(nodes - arc.centre).T) - arc.radius).max() < 1e-9


def test_small_moves_move_nodes_in_proportion():
    """So that differences over a step are slopes."""
    one, two = (moved(GRID, [START], [angle(fillet=4.0 + h)]).nodes - GRID.nodes for h in (1e-4, 2e-4))
    assert np.abs(two - 2 * one).max() < 1e-8
    assert np.abs(one).max() == pytest.approx(1e-4, rel=1e-6)


def test_constant_stress_survives_the_move():
    """Patch test on a grid that was moved."""
    before, after = (
        Part(
            "strip",
            polygon([(0.0, 0.0), (40.0, 0.0), (40.0, h), (0.0, h)], names=["", "pull", "", "held"]),
            5.0,
            METAL,
        )
        for h in (12.0, 17.0)
    )
    grid = moved(mesh_section([before], sizing=Sizing(5.0)), [before], [after])
    pull = Traction("pull", x=30.0)
    solution = solve(
        single((after,), pull, supports=(Support("held", x=True), Support((0.0, 0.0), y=True))), grid
    )
    assert np.abs(recover(grid, solution.U).values - [30.0, 0.0, 0.0]).max() < 1e-8


def test_slanting_edges_are_followed():
    before, after = (
        Part("wedge", polygon([(0.0, 0.0), (30.0, 0.0), (30.0, low), (10.0, 14.0), (0.0, 20.0)]), 1.0, METAL)
        for low in (6.0, 9.0)
    )
    found = moved(mesh_section([before], sizing=Sizing(4.0)), [before], [after])
    assert volume(found) == pytest.approx(
        signed_area(after.outline), rel=1e-9
    )  # coordinates are rounded when meshed


@pytest.mark.parametrize(
    "after",
    [
        angle(pocket=25.0),  # the pocket now reaches beyond the wall's inner face
        Part("angle", START.outline, 12.0, METAL),  # no pocket
        Part(
            "angle", START.outline[1:] + START.outline[:1], 12.0, METAL, regions=START.regions
        ),  # other edges
    ],
    ids=["levels change places", "a region less", "other names"],
)
def test_other_sections_are_not_reached(after):
    assert moved(GRID, [START], [after]) is None


def test_levels_that_part_are_another_section():
    """Two corners on one level before and on two after: elements between them are missing."""
    after = angle(depth=10.0)
    box = polygon([(45.0, 8.0), (50.0, 8.0), (50.0, 24.0), (45.0, 24.5)])
    assert (
        moved(
            GRID, [START], [Part("angle", after.outline, 12.0, METAL, regions=(Region("pocket", box, 3.0),))]
        )
        is None
    )


def test_quality_of_triangles():
    """1 where equilateral; a right-angled one with equal legs has sqrt(3) / 2."""
    for tip, expected in (((0.5, np.sqrt(3) / 2), 1.0), ((0.0, 1.0), np.sqrt(3) / 2)):
        corners = np.array([(0.0, 0.0), (1.0, 0.0), tip])
        nodes = np.concatenate([corners, (corners + np.roll(corners, -1, axis=0)) / 2])
        assert quality(replace(GRID, nodes=nodes, triangles=np.arange(6)[None])) == pytest.approx(expected)
    flat = moved(GRID, [START], [angle(depth=1.0)])
    assert quality(flat) < 0.5 * quality(GRID)
