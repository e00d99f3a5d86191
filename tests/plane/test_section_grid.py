"""Meshes of sections: areas, names, sizes, determinism, refusals."""

import sys

import numpy as np
import pytest
from section_cases import block, bracket, coarse, ring

from stiffcalc.errors import InputError, MissingToolError, StiffcalcError
from stiffcalc.plane.elements import sample, sample_sides
from stiffcalc.plane.section.grid import Grid, check_elements, mesh_section
from stiffcalc.plane.section.order import elimination_order
from stiffcalc.plane.section.outline import Region, polygon, signed_area
from stiffcalc.plane.section.sizing import Sizing

BRACKET = bracket()
GRID = mesh_section([BRACKET], sizing=Sizing(6.0))


def area(grid, inside=slice(None)):
    return sample(grid.nodes, grid.triangles[inside], points=6).weight.sum()


def length(grid, name):
    return sample_sides(grid.nodes, grid.edge(name).nodes).length.sum()


def test_areas_of_part_hole_and_region():
    metal = signed_area(BRACKET.outline) - np.pi * 16
    assert area(GRID) == pytest.approx(metal, rel=1e-5)
    assert area(GRID, GRID.zone == 1) == pytest.approx(8 * 14, rel=1e-9)
    assert [z.name for z in GRID.zones] == ["bracket", "pocket"]
    assert GRID.thickness[GRID.zone == 1] == pytest.approx(10.0)


def test_named_edges_have_their_length_and_metal_on_the_left():
    for name, expected in (("under", 36.0), ("fillet 1", 2 * np.pi), ("hole", 8 * np.pi), ("left", 20.0)):
        assert length(GRID, name) == pytest.approx(expected, rel=1e-4)
    for sides in GRID.edges.values():
        own = GRID.nodes[GRID.triangles[sides.owner][:, :3]].mean(axis=1)
        outward = sample_sides(GRID.nodes, sides.nodes).normal[:, 1]
        assert np.all(np.sum((own - GRID.nodes[sides.nodes[:, 2]]) * outward, axis=1) < 0)


def test_middle_nodes_lie_on_the_arcs():
    sides = GRID.edge("hole").nodes
    assert np.hypot(*(GRID.nodes[sides] - (50, 5)).T) == pytest.approx(4.0, abs=1e-8)


def test_sizes_asked_for_are_kept():
    grid = mesh_section(
        [BRACKET], sizing=Sizing(6.0, edges={"top": 1.0}, regions={"pocket": 1.5}, points=((0, 0, 0.3),))
    )
    sides = grid.edge("top").nodes
    assert np.linalg.norm(np.diff(grid.nodes[sides[:, :2]], axis=1), axis=-1).max() < 1.2
    assert grid.sizes()[grid.zone == 1].max() < 2.0
    at_corner = (grid.triangles == grid.node_at((0.0, 0.0))).any(axis=1)
    assert grid.sizes()[at_corner].max() < 0.6


def test_arcs_get_their_number_of_sides():
    grid = mesh_section([BRACKET], sizing=Sizing(6.0, per_circle=32))
    assert len(grid.edge("hole").nodes) >= 32
    assert len(grid.edge("fillet 1").nodes) >= 8


def test_the_mesh_of_a_background_follows_it():
    wanted = np.where(GRID.nodes[GRID.triangles[:, 0], 0] < 20, 0.8, 6.0)
    fine = mesh_section([BRACKET], sizing=Sizing(6.0, background=GRID.background(wanted)))
    left = fine.nodes[fine.triangles[:, 0], 0] < 15
    assert fine.sizes()[left].mean() == pytest.approx(0.8, rel=0.2)
    assert fine.sizes()[~left].max() > 3.0


def test_same_input_same_mesh_to_the_bit():
    again = mesh_section([BRACKET], sizing=Sizing(6.0))
    assert np.array_equal(again.nodes, GRID.nodes)
    assert np.array_equal(again.triangles, GRID.triangles)


def test_parts_share_no_nodes_even_where_they_touch():
    parts = [block(name="lower part"), block(name="upper part", origin=(0.0, 10.0))]
    grid = mesh_section(parts, sizing=Sizing(5.0))
    low, high = (np.unique(grid.triangles[grid.zone == i]) for i in (0, 1))
    assert np.intersect1d(low, high).size == 0
    assert "lower part upper" in grid.edges
    assert "upper part lower" in grid.edges


def test_a_region_off_the_part_is_cut_away():
    region = Region("rib", polygon([(5, 5), (25, 5), (25, 8), (5, 8)]), 9.0)
    grid = mesh_section([block(regions=(region,))], sizing=Sizing(3.0, regions={"rib": 1.0}))
    assert area(grid, grid.zone == 1) == pytest.approx(15.0)
    assert area(grid) == pytest.approx(100.0)


def test_later_regions_count_where_two_overlap():
    first = Region("first", polygon([(1, 1), (6, 1), (6, 6), (1, 6)]), 2.0)
    second = Region("second", polygon([(4, 4), (9, 4), (9, 9), (4, 9)]), 3.0)
    grid = mesh_section([block(regions=(first, second))], sizing=Sizing(3.0))
    assert [area(grid, grid.zone == i) for i in range(3)] == pytest.approx([54.0, 21.0, 25.0])


def test_unknown_and_repeated_names_are_refused():
    with pytest.raises(InputError, match=r"size of edge 'bottom'.*under"):
        mesh_section([BRACKET], sizing=Sizing(6.0, edges={"bottom": 1.0}))
    with pytest.raises(InputError, match="'block' twice"):
        mesh_section([block(), block()], sizing=Sizing(6.0))
    with pytest.raises(InputError, match=r"no such edge.*under"):
        GRID.edge("bottom")
    with pytest.raises(InputError, match="nearest is"):
        GRID.node_at((1.234, 5.678))


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan, np.inf])
def test_sizes_are_positive(bad):
    with pytest.raises(InputError, match=r"size.*growth|growth"):
        Sizing(bad, growth=bad)


def test_a_folded_mesh_is_refused():
    nodes = GRID.nodes.copy()
    nodes[GRID.triangles[0, 3]] = nodes[GRID.triangles[0, 2]]
    with pytest.raises(StiffcalcError, match="folds over near"):
        check_elements(Grid(nodes, GRID.triangles, GRID.zone, GRID.zones))


def test_missing_gmsh_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "gmsh", None)
    with pytest.raises(MissingToolError, match=r"pip install gmsh.*libglu1-mesa"):
        coarse(ring())


def test_the_mesher_s_refusal_is_one_clear_line(monkeypatch):
    from stiffcalc.plane import mesh

    def fail(*_):
        raise RuntimeError("no elements")

    monkeypatch.setattr(mesh, "set_sizes", fail)
    with pytest.raises(InputError, match=r"bracket: found an outline the mesher refuses \(no elements\)"):
        mesh_section([BRACKET], sizing=Sizing(6.0))


def test_every_node_is_eliminated_once():
    order = elimination_order(GRID.nodes, GRID.triangles, coupled=[np.array([0, 5, 9])])
    assert np.array_equal(np.sort(order), np.arange(len(GRID.nodes)))
