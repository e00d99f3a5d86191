"""Contact of sections against Hertz and statics; sources beside each check."""

from __future__ import annotations

import math

import numpy as np
import pytest

from stiffcalc.plane.section.grid import mesh_section
from stiffcalc.plane.section.outline import Edge, Material, Part, polygon
from stiffcalc.plane.section.problem import Case, Contact, Problem, Resultant, RigidLine, Support
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.solve import solve

STEEL = Material(210000.0, 0.3)


def hertz(side):
    """Half of a steel cylinder, R = 20, on a steel block, 10 kN on 10 mm; plane strain by an equivalent material."""
    steel, R = STEEL.plane_strain, 20.0
    quarter = (
        Edge((0, 0), (R, R), "round", (0, R)),
        Edge((R, R), (0, R), "top"),
        Edge((0, R), (0, 0), "axis"),
    )
    names = ["foot", "", "", "face", "axis"]
    base = Part("base", polygon([(0, -R), (R, -R), (R, 0), (1.2, 0), (0, 0)], names=names), 10.0, steel)
    parts = Part("cylinder", quarter, 10.0, steel), base
    problem = Problem(
        parts,
        {"F": (Resultant("top", y=-5000.0),)},
        (Case("full", {"F": 1.0}), Case("quarter", {"F": 0.25})),
        (Support("axis", x=True), Support("foot", y=True)),
        contacts=(Contact("line", "face", "round"),),
    )
    fine = tuple((x, 0.0, side) for x in (0.0, 0.12, 0.24, 0.36, 0.48))
    return solve(problem, mesh_section(parts, sizing=Sizing(4.0, points=fine, growth=0.15)))


def test_line_contact():
    """Hertz (Johnson, Contact Mechanics; formulas evaluated): half-width 0.46978 mm, peak 1355.1 MPa, p0 = 4/pi of the
    mean. 3 %. A quarter of the load: half of both."""
    line = hertz(0.02).contacts["line"]
    assert line.pressure[0].max() == pytest.approx(1355.1, rel=0.01)
    assert line.length[0] == pytest.approx(0.46978, rel=0.03)
    assert line.pressure[1].max() == pytest.approx(1355.1 / 2, rel=0.03)
    assert line.length[1] == pytest.approx(0.46978 / 2, rel=0.05)  # to half a side of 0.02 mm
    assert line.force == pytest.approx([5000.0, 1250.0], rel=1e-8)
    assert line.pressure[0].max() == pytest.approx(4 / math.pi * 5000 / (10 * line.length[0]), rel=0.03)


def test_line_contact_follows_the_half_ellipse():
    line = hertz(0.02).contacts["line"]
    x = line.along[-1] - line.along  # the face runs toward the axis
    inside = x < 0.4
    expected = 1355.1 * np.sqrt(1 - (x[inside] / 0.46978) ** 2)
    assert line.pressure[0, inside] == pytest.approx(expected, rel=0.03)


def test_rigid_foot_without_tension():
    """Statics, linear pressure under a rigid foot 60 x 30 mm, N = 20 kN, e = 15 mm: contact length 3 (h/2 - e) = 45 mm,
    edge pressure 2 N / (3 b (h/2 - e)) = 29.63 MPa. A stiff foot on a soft bed that cannot pull."""
    corners = [(0, 0), (60, 0), (60, 20), (45, 20), (15, 20), (0, 20)]
    foot = Part("foot", polygon(corners, names=["sole", "", "", "top", "", ""]), 30.0, Material(1e8, 0.3))
    problem = Problem(
        (foot,),
        {"N": (Resultant("top", y=-20000.0, moment=-20000.0 * 15.0),)},
        (Case("N", {"N": 1.0}),),
        (Support((0.0, 20.0), x=True),),
        contacts=(Contact("sole", "sole", RigidLine((0, 0), (0, 1)), bed=100.0),),
    )
    sole = solve(problem, mesh_section((foot,), sizing=Sizing(5.0, edges={"sole": 2.5}))).contacts["sole"]
    assert sole.length[0] == pytest.approx(45.0, rel=1e-3)
    assert sole.pressure[0].max() == pytest.approx(29.63, rel=1e-3)
    assert sole.force[0] == pytest.approx(20000.0, rel=1e-8)
