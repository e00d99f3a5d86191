"""The mesher wrapper: borders respected, same input same mesh, nothing left behind in gmsh."""

from __future__ import annotations

import sys

import gmsh
import numpy as np
import pytest

from stiffcalc.errors import MissingToolError
from stiffcalc.plane.elements import border, sample
from stiffcalc.plane.mesh import Disc, available, mesh_domain

WALL = np.array([[-60.0, 100.0], [60.0, 100.0], [60.0, 150.0], [-60.0, 150.0]])
FOOT = np.array([[-60.0, 130.0], [-40.0, 140.0], [-40.0, 150.0], [-60.0, 150.0]])
REGIONS = {"bore": Disc(0.0, 125.0, 30.0), "foot": FOOT, "outside": Disc(0.0, 0.0, 10.0)}
HOLE = Disc(-50.0, 145.0, 5.0)


def wall(scale=1.0):
    def sized(shape):
        if isinstance(shape, Disc):
            return Disc(scale * shape.x, scale * shape.y, scale * shape.diameter)
        return scale * shape

    regions = {name: sized(shape) for name, shape in REGIONS.items()}
    return mesh_domain(sized(WALL), size=8.0 * scale, regions=regions, holes=[sized(HOLE)])


def area(mesh, elements=slice(None)):
    return sample(mesh.nodes, mesh.triangles[elements], points=6).weight.sum()


def parabolic(disc, sides):
    """Area within a circle's meshed border: `sides` chords, each with a parabola through the arc's middle."""
    r, half = disc.diameter / 2, np.pi / sides
    return sides * r**2 * (np.sin(2 * half) / 2 + 4 / 3 * np.sin(half) * (1 - np.cos(half)))


def test_areas_follow_region_borders():
    """Straight borders exactly, circles as parabolas (within 0.1 % of the circle), 8 round the hole."""
    mesh = wall()
    hole, bore = parabolic(HOLE, 8), mesh.groups["bore"]
    assert hole == pytest.approx(HOLE.area, rel=1e-3)
    assert area(mesh) == pytest.approx(120 * 50 - hole, rel=1e-9)
    assert area(mesh, mesh.groups["foot"]) == pytest.approx(20 * (20 + 10) / 2 - hole, rel=1e-9)
    sides = len(border(mesh.triangles[bore]))
    assert area(mesh, bore) == pytest.approx(parabolic(REGIONS["bore"], sides), rel=1e-9)


def test_region_off_the_domain_is_empty():
    assert len(wall().groups["outside"]) == 0


def test_triangles_are_counter_clockwise():
    assert sample(wall().nodes, wall().triangles, points=6).weight.min() > 0


def test_size_is_respected():
    mesh = wall()
    corners = mesh.nodes[mesh.triangles[:, :3]]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=-1)
    assert sides.max() < 1.5 * mesh.size


def test_same_input_same_mesh_to_the_bit():
    a, b = wall(), wall()
    assert np.array_equal(a.nodes, b.nodes)
    assert np.array_equal(a.triangles, b.triangles)


@pytest.mark.parametrize("scale", [0.37, 1.7, 1000.0])
def test_similar_domains_get_similar_meshes(scale):
    a, b = wall(), wall(scale)
    assert np.array_equal(a.triangles, b.triangles)
    assert b.nodes == pytest.approx(scale * a.nodes, rel=1e-12, abs=1e-9 * scale)


def test_gmsh_is_left_closed():
    wall()
    assert not gmsh.isInitialized()


def test_an_open_gmsh_is_left_as_it_was():
    gmsh.initialize(interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("Mesh.MeshSizeMax", 3.0)
        gmsh.model.add("mine")
        gmsh.model.add("also mine")
        gmsh.model.setCurrent("mine")
        wall()
        assert gmsh.model.getCurrent() == "mine"
        assert gmsh.option.getNumber("Mesh.MeshSizeMax") == 3.0
        assert "stiffcalc.plane" not in gmsh.model.list()
    finally:
        gmsh.finalize()


def test_gmsh_is_left_closed_after_a_failure():
    with pytest.raises(Exception, match=r".+"):
        mesh_domain(WALL, size=8.0, regions={"flat": np.zeros((3, 2))})
    assert not gmsh.isInitialized()


def test_missing_gmsh_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "gmsh", None)
    with pytest.raises(MissingToolError, match=r"pip install gmsh.*apt-get install.*libglu1-mesa"):
        wall()
    assert "apt-get install" in available()


def test_available_when_gmsh_loads():
    assert available() is None
