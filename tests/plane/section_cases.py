"""Sections that several tests solve."""

from __future__ import annotations

import numpy as np

from stiffcalc.plane.section.grid import mesh_section
from stiffcalc.plane.section.outline import Edge, Material, Part, Region, circle, polygon
from stiffcalc.plane.section.problem import Pressure, Problem, Resultant, Support, Traction, single
from stiffcalc.plane.section.sizing import Sizing

ALLOY = Material(71000.0, 0.33)
HELD = (Support("left", x=True, y=True),)


def block(*, size=10.0, thickness=4.0, material=ALLOY, regions=(), name="block", origin=(0.0, 0.0)):
    """A square part with edges lower, right, upper, left."""
    x, y = origin
    corners = [(x, y), (x + size, y), (x + size, y + size), (x, y + size)]
    names = [f"{name} {e}" if name != "block" else e for e in ("lower", "right", "upper", "left")]
    return Part(name, polygon(corners, names=names), thickness, material, regions=regions)


def bracket(*, material=ALLOY, turn=0.0):
    """A wall, a bridge, a fillet, a hole and a pocket; turned by an angle about the origin."""
    c, s = np.cos(turn), np.sin(turn)

    def at(x, y):
        return float(c * x - s * y), float(s * x + c * y)

    def shape(points, **more):
        return polygon([at(*p) for p in points], **more)

    outline = shape(
        [(0, 0), (40, 0), (40, -30), (60, -30), (60, 20), (0, 20)],
        names=["under", "inner", "foot", "outer", "top", "left"],
        radii=[0, 4, 0, 0, 3, 0],
        fillet="fillet ",
    )
    pocket = Region("pocket", shape([(52, -20), (70, -20), (70, -6), (52, -6)]), 10.0)
    hole = circle(*at(50, 5), 8.0, name="hole")
    return Part("bracket", outline, 20.0, material, holes=(hole,), regions=(pocket,))


def bracket_problem(*, material=ALLOY, scale=1.0) -> Problem:
    return single((bracket(material=material),), Pressure("inner", 10.0 * scale), supports=HELD)


def coarse(problem, size=6.0, **more):
    return mesh_section(problem.parts, sizing=Sizing(size, **more))


def ring(thickness=8.0, material=ALLOY):
    """Quarter of a thick cylinder, 20 to 30 mm."""
    outline = (
        Edge((20.0, 0.0), (30.0, 0.0), "low"),
        Edge((30.0, 0.0), (0.0, 30.0), "outside", (0.0, 0.0)),
        Edge((0.0, 30.0), (0.0, 20.0), "upright"),
        Edge((0.0, 20.0), (20.0, 0.0), "bore", (0.0, 0.0), clockwise=True),
    )
    part = Part("ring", outline, thickness, material)
    axes = (Support("low", y=True), Support("upright", x=True))
    return single((part,), Pressure("bore", 10.0), supports=axes)


def lame_stress(xy):
    """Lame's thick cylinder of `ring`: stress (x, y, xy)."""
    r = np.hypot(*np.moveaxis(xy, -1, 0))
    a = 10 * 20**2 / (30**2 - 20**2)
    radial, hoop = a * (1 - 900 / r**2), a * (1 + 900 / r**2)
    c, s = np.moveaxis(xy, -1, 0) / r
    return np.stack(
        [radial * c * c + hoop * s * s, radial * s * s + hoop * c * c, (radial - hoop) * c * s], -1
    )


def lame_displacement(xy):
    r = np.hypot(*np.moveaxis(xy, -1, 0))
    p, ri, ro, E, nu = 10.0, 20.0, 30.0, ALLOY.E, ALLOY.nu
    return (p * ri**2 / (E * (ro**2 - ri**2)) * ((1 - nu) * r + (1 + nu) * ro**2 / r) / r)[..., None] * xy


def strip(ratio, *, width=100.0):
    """Quarter of a strip with a central hole under unit tension along x."""
    r, half, long = ratio * width / 2, width / 2, 1.5 * width
    outline = (
        Edge((r, 0.0), (long, 0.0), "low"),
        Edge((long, 0.0), (long, half), "end"),
        Edge((long, half), (0.0, half), "side"),
        Edge((0.0, half), (0.0, r), "upright"),
        Edge((0.0, r), (r, 0.0), "hole", (0.0, 0.0), clockwise=True),
    )
    axes = (Support("low", y=True), Support("upright", x=True))
    return single((Part("strip", outline, 5.0, ALLOY),), Traction("end", x=1.0), supports=axes)


def elbow(radius):
    """A right-angled arm bent by a force, its inner corner rounded or sharp."""
    outline = polygon(
        [(0, 0), (60, 0), (60, 20), (20, 20), (20, 60), (0, 60)],
        names=["a", "end", "c", "d", "left", "f"],
        radii=[0, 0, 0, radius, 0, 0],
        fillet="fillet ",
    )
    # Held along the lower leg's outside far from the corner: "left" names the top end's edge.
    return single((Part("elbow", outline, 10.0, ALLOY),), Resultant("end", y=-1000.0), supports=HELD)
