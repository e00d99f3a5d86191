"""A screw's hole that all but touches the rotor's arch: elements of the web between them are flatter than its arcs."""

from dataclasses import replace

import numpy as np
import pytest

pytest.importorskip("gmsh", reason="solids are meshed with gmsh")

from solid_sample import ENDS, PIECE, bolted

from stiffcalc.caliper.body import BoltShape
from stiffcalc.solid.elements import EDGES, folded, jacobians, least_jacobians, tet_volumes
from stiffcalc.solid.model import bore_error, solid_model

WEB = 0.002  # mm: as a search over designs leaves it, whose hole may touch the arch


def test_a_web_thinner_than_its_arcs_are_high_is_meshed_without_folds():
    y = float(np.sqrt((93.0 + 4.5 + WEB) ** 2 - 51.0**2))
    bolts = tuple(BoltShape(x, y, 8.0, 9.0, 13.0, 205000.0, k) for k, x in enumerate((-51.0, 51.0)))
    body = replace(PIECE, bridges=tuple(replace(b, jointed=True) for b in ENDS), bolts=bolts)
    model = solid_model(bolted(body), size=16.0)
    nodes, tets = model.mesh.nodes, model.mesh.tets
    assert folded(nodes, tets) == 0
    assert model.mesh.quality.unbent > 0
    assert float(tet_volumes(nodes, tets).sum()) == pytest.approx(
        sum(model.mesh.cad_volume.values()), rel=1e-3
    )
    assert bore_error(model) < 0.02


def test_least_jacobian_is_a_lower_bound():
    """Of the Jacobian at many places; exact where the element is straight (six times its volume)."""
    rng = np.random.default_rng(5)
    corners = np.array([(0.0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)])
    straight = np.vstack([corners, *((corners[[i]] + corners[[j]]) / 2 for i, j in EDGES)])
    one, places = np.arange(10)[None], rng.dirichlet(np.ones(4), 400)[:, 1:]
    assert least_jacobians(straight, one) == pytest.approx(1.0)
    for _ in range(20):
        bent = straight + 0.1 * rng.standard_normal((10, 3))
        assert least_jacobians(bent, one)[0] <= jacobians(bent, one, places).min()
