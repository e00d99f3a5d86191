"""Elements that fold over beside round faces: edges within the metal bend with them, arcs stay as long as that does."""

from dataclasses import replace

import numpy as np
import pytest

pytest.importorskip("gmsh", reason="solids are meshed with gmsh")

from solid_sample import ENDS, PIECE, bolted, one_piece

from stiffcalc.caliper.body import BoltShape
from stiffcalc.solid import tets as mesher
from stiffcalc.solid.elements import EDGES, bounds, folded, jacobians, straight_jacobians, tet_volumes
from stiffcalc.solid.model import bore_error, solid_model
from stiffcalc.solid.unfolded import LEAST, unfolded

ONE = np.arange(10)[None]
CORNERS = np.array([(0.0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)])
NONE = np.zeros(10, dtype=bool)


def straight(corners):
    """The nodes of one element with straight edges."""
    return np.vstack([corners, *((corners[[i]] + corners[[j]]) / 2 for i, j in EDGES)])


def test_the_jacobian_lies_within_its_bounds():
    """At many places of elements bent at random. 1 where an element is straight."""
    rng = np.random.default_rng(5)
    places = rng.dirichlet(np.full(4, 0.7), 2000)[:, 1:]
    assert bounds(straight(CORNERS), ONE) == pytest.approx(1.0)
    for _ in range(20):
        nodes = straight(CORNERS) + 0.1 * rng.standard_normal((10, 3))
        found = jacobians(nodes, ONE, places) / straight_jacobians(nodes, ONE)
        low, high = bounds(nodes, ONE).min(), bounds(nodes, ONE).max()
        assert low <= found.min() and found.max() <= high
        assert found.min() - low < 0.5 * (high - low)


def test_an_inverted_element_is_folded():
    assert folded(straight(CORNERS[[1, 0, 2, 3]]), ONE) == 1


def over_a_bore():
    """A flat element on a bore's round: the three edges of its face are arcs, higher than it is at places."""
    corners = np.array([(-1.0, 0, 0), (1.0, 0, 0), (0.0, 1.6, 0), (0.0, 0.5, 0.3)])
    nodes, ways = straight(corners), np.zeros((10, 3))
    ways[[0, 1, 2, 3, 4, 5, 6]] = np.nan
    nodes[[4, 5, 6], 2] = 0.12, 0.16, 0.16
    return nodes, ways


def test_edges_within_the_metal_bend_with_the_arcs():
    nodes, ways = over_a_bore()
    assert bounds(nodes, ONE).min() < 0.0
    found = unfolded(nodes, ONE, ways=ways, kept=NONE)
    assert bounds(found, ONE).min() >= LEAST
    assert np.array_equal(found[:7], nodes[:7])


def test_edges_within_a_plane_face_stay_in_it():
    nodes, ways = over_a_bore()
    ways[[7, 8]] = (0.6, 0.8, 0.0)
    found = unfolded(nodes, ONE, ways=ways, kept=NONE)
    moved = found - nodes
    assert bounds(found, ONE).min() >= LEAST
    assert np.abs(moved[[7, 8]]).max() > 1e-3
    assert np.abs(moved[[7, 8]] @ (0.6, 0.8, 0.0)).max() < 1e-10


def test_arcs_get_flatter_where_nothing_else_helps_those_kept_last():
    """No edge is free: the arcs have to give, as far as needed; kept ones only if the others do not suffice."""
    nodes, ways = over_a_bore()
    ways[:] = np.nan
    found = unfolded(nodes, ONE, ways=ways, kept=NONE)
    assert bounds(found, ONE).min() >= LEAST
    assert 0.0 < found[4, 2] < nodes[4, 2]
    kept = np.isin(np.arange(10), [4])
    found = unfolded(nodes, ONE, ways=ways, kept=kept)
    assert bounds(found, ONE).min() >= LEAST
    assert np.array_equal(found[4], nodes[4]) and found[5, 2] < nodes[5, 2]
    every = np.ones(10, dtype=bool)
    assert bounds(unfolded(nodes, ONE, ways=ways, kept=every), ONE).min() >= LEAST


def test_nodes_of_a_sound_mesh_stay():
    nodes, ways = over_a_bore()
    nodes[[4, 5, 6], 2] = 0.01
    assert unfolded(nodes, ONE, ways=ways, kept=NONE) is nodes


def test_a_coarse_mesh_keeps_its_bores(monkeypatch):
    """At 25 mm elements on the bores' rounds fold over; they are mended without a bore's arc moved."""
    seen = []

    def noted(nodes, tets, *, ways, kept):
        found = unfolded(nodes, tets, ways=ways, kept=kept)
        seen.append((folded(nodes, tets), folded(found, tets), np.abs(found - nodes)[kept].max()))
        return found

    monkeypatch.setattr(mesher, "unfolded", noted)
    model = solid_model(one_piece(), size=25.0)
    assert seen[0][0] > 0 == seen[0][1] and seen[0][2] == 0.0
    assert bore_error(model) < 0.02


WEB = 0.0002  # mm: as a search over designs leaves it, whose hole may touch the arch


def test_a_web_thinner_than_its_arcs_are_high_is_meshed():
    """A screw's hole that all but touches the rotor's arch: the mesher's own optimiser can end the process there."""
    y = float(np.sqrt((93.0 + 4.5 + WEB) ** 2 - 51.0**2))
    bolts = tuple(BoltShape(x, y, 8.0, 9.0, 13.0, 205000.0, k) for k, x in enumerate((-51.0, 51.0)))
    body = replace(PIECE, bridges=tuple(replace(b, jointed=True) for b in ENDS), bolts=bolts)
    model = solid_model(bolted(body), size=16.0)
    nodes, tets = model.mesh.nodes, model.mesh.tets
    assert folded(nodes, tets) == 0
    assert model.mesh.quality.unbent > 0
    volume = sum(model.mesh.cad_volume.values())
    assert float(tet_volumes(nodes, tets).sum()) == pytest.approx(volume, rel=1e-3)
    assert bore_error(model) < 0.02
