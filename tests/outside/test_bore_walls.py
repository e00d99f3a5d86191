"""Stress round bores under pressure beside an edge or each other: closed forms against the section engine."""

from __future__ import annotations

import numpy as np
import pytest

from stiffcalc.mechanics import plates
from stiffcalc.plane.section.outline import Edge, Material, Part
from stiffcalc.plane.section.peak import trace_peak
from stiffcalc.plane.section.problem import Support, Traction, single
from stiffcalc.plane.section.sizing import Sizing

ALLOY = Material(71000.0, 0.33)


def pressed(edges, centre, radius, supports):
    """Peak stress, in multiples of the pressure on the edges named "bore ..."; the traction is the radius vector's."""
    (x, y), lean = centre, ((1 / radius, 0.0), (0.0, 1 / radius))
    loads = [Traction(e.name, -x / radius, -y / radius, lean) for e in edges if e.name.startswith("bore")]
    problem = single((Part("plate", tuple(edges), 10.0, ALLOY),), *loads, supports=supports)
    return trace_peak(problem, sizing=Sizing(radius / 2), accuracy=0.01).peak


def mises(outer, inner):
    """Of the cylinder's hoop stress and the pressure itself."""
    hoop = float(plates.cylinder_hoop_stress(1.0, inner=inner, outer=outer, radius=inner))
    return np.sqrt(hoop**2 + hoop + 1.0)


def beside_edge(radius, distance, size=240.0):
    """Half of a large plate, cut at x = 0, its upper edge `distance` above the bore's centre."""
    a, d = radius, distance
    edges = (
        Edge((0.0, -size), (size, -size), "low"),
        Edge((size, -size), (size, d), "end"),
        Edge((size, d), (0.0, d), "side"),
        Edge((0.0, d), (0.0, a), "above"),
        Edge((0.0, a), (a, 0.0), "bore 1", (0.0, 0.0), clockwise=True),
        Edge((a, 0.0), (0.0, -a), "bore 2", (0.0, 0.0), clockwise=True),
        Edge((0.0, -a), (0.0, -size), "below"),
    )
    held = (Support("above", x=True), Support("below", x=True), Support("low", y=True))
    return pressed(edges, (0.0, 0.0), a, held)


@pytest.mark.parametrize("distance", [26.0, 50.0])
def test_bore_beside_a_straight_edge(distance):
    """Jeffery (Timoshenko & Goodier, Theory of Elasticity, from memory): along the edge 4 p a^2 / (d^2 - a^2), on the
    bore at most the hoop stress of a cylinder of outer radius d. 3 %: the plate is 12 bores wide, not infinite."""
    peak = beside_edge(20.0, distance)
    along = float(plates.edge_stress_beside_bore(1.0, radius=20.0, distance=distance))
    assert peak.met
    assert peak.value == pytest.approx(max(along, mises(distance, 20.0)), rel=0.03)


@pytest.mark.parametrize(("between", "edge"), [(5.0, 8.0), (8.0, 40.0), (40.0, 40.0)])
def test_bores_that_share_a_thin_ligament(between, edge):
    """A cylinder as thin all round as half of what stands between the bores: FE 0.7 to 1.05 times of it."""
    a, half, far = 20.0, between / 2, 120.0
    x, high = a + half, a + edge
    edges = (
        Edge((x + a, 0.0), (far, 0.0), "low"),
        Edge((far, 0.0), (far, high), "end"),
        Edge((far, high), (0.0, high), "side"),
        Edge((0.0, high), (0.0, 0.0), "middle"),
        Edge((0.0, 0.0), (half, 0.0), "ligament"),
        Edge((half, 0.0), (x, a), "bore 1", (x, 0.0), clockwise=True),
        Edge((x, a), (x + a, 0.0), "bore 2", (x, 0.0), clockwise=True),
    )
    held = (Support("low", y=True), Support("ligament", y=True), Support("middle", x=True))
    peak = pressed(edges, (x, 0.0), a, held)
    assert peak.met
    assert 0.7 <= peak.value / mises(a + half, a) <= 1.05
