"""The depth search on a beam whose best shape is known: a cantilever of rectangular section under a load at its tip.

Least work of the load at a given volume, height free: h goes as the root of the moment, h = 3/2 h_mean (x/L)^1/2 from
the tip, and the deflection is 16/27 of the even beam's (minimum-weight beams for a given deflection: Barnett, J. Eng.
Mech. Div. ASCE 87, 1961; Haftka & Gürdal, Elements of Structural Optimization, 1992; from memory, and derived here:
integral M^2/h^3 with integral h held is stationary where M^2/h^4 is constant).
"""

import numpy as np
import pytest

from stiffcalc.explore.pocket_field import Place, blending, optimum
from stiffcalc.plane.elements import assemble, node_freedoms, solve_pinned
from stiffcalc.plane.plate import PER_NODE, laminate, plate_samples, skin_energy

L, B, T, E = 400.0, 10.0, 10.0, 70e3
CELLS = 40
MEAN = 0.6 * T


def strip():
    """Two six-node triangles a cell: nodes on half cells along x, and 0, B/2, B along y."""
    x, y = np.linspace(0, L, 2 * CELLS + 1), np.linspace(0, B, 3)
    nodes = np.array([(a, b) for a in x for b in y])
    rows = []
    for c in range(CELLS):
        n = {(i, k): 3 * (2 * c + i) + k for i in range(3) for k in range(3)}
        rows.append([n[0, 0], n[2, 0], n[2, 2], n[1, 0], n[2, 1], n[1, 1]])
        rows.append([n[0, 0], n[2, 2], n[0, 2], n[1, 1], n[1, 2], n[0, 1]])
    return nodes, np.array(rows)


NODES, TRIANGLES = strip()
SAMPLES = plate_samples(NODES, TRIANGLES)
FREEDOMS = node_freedoms(TRIANGLES, per_node=PER_NODE)
AREA = SAMPLES.full.weight.sum(axis=1)
CENTRE = np.einsum("eg,egi->ei", SAMPLES.full.weight, SAMPLES.full.xy) / AREA[:, None]
PLACE = Place(CENTRE, AREA, np.full(len(AREA), 0.97 * T), np.full(len(AREA), T))


def work(depth):
    """Work of 1 N at the tip (x = 0; clamped at x = L), and its slopes by depth."""
    law = laminate(np.full(len(AREA), -T / 2), T / 2 - depth, E=E, nu=0.0)
    K = assemble([(SAMPLES.stiffness(law), FREEDOMS)], size=PER_NODE * len(NODES))
    load = np.zeros((PER_NODE * len(NODES), 1))
    for node, share in ((0, 1 / 6), (1, 2 / 3), (2, 1 / 6)):
        load[PER_NODE * node + 2] = share
    clamped = np.flatnonzero(NODES[:, 0] == L)
    U = solve_pinned(K, load, pinned=(PER_NODE * clamped[:, None] + np.arange(PER_NODE)).ravel())
    skin = skin_energy(SAMPLES, T / 2 - depth, U[FREEDOMS], E=E, nu=0.0)
    return float(load[:, 0] @ U[:, 0]), skin[:, 0, 0]


BLEND = blending(CENTRE, AREA, 1e-3)
VOLUME = (T - MEAN) * L * B
EVEN = work(np.full(len(AREA), T - MEAN))[0]


def test_the_even_beam_is_the_textbook_s():
    assert pytest.approx(L**3 / (3 * E * B * MEAN**3 / 12), rel=2e-3) == EVEN


def test_least_deflection_at_a_volume():
    found = optimum(work, PLACE, BLEND, volume=VOLUME, steps=60)
    assert found.settled
    assert found.depth @ AREA == pytest.approx(VOLUME, rel=1e-6)
    assert found.steps[-1].value / EVEN == pytest.approx(16 / 27, rel=0.01)
    away = CENTRE[:, 0] > L / 8  # nearer the tip a cell is no longer short beside its place
    wanted = 1.5 * MEAN * np.sqrt(CENTRE[away, 0] / L)
    assert T - found.depth[away] == pytest.approx(wanted, rel=0.04)


def test_least_volume_for_a_deflection():
    """The same curve from the other side: the even beam's deflection with (16/27)^1/3 of its metal."""
    found = optimum(work, PLACE, BLEND, volume=0.5 * VOLUME, value=EVEN, steps=80)
    assert found.settled and found.steps[-1].value == pytest.approx(EVEN, rel=2e-3)
    left = T * L * B - found.steps[-1].volume
    assert left / (MEAN * L * B) == pytest.approx((16 / 27) ** (1 / 3), rel=0.01)
