"""Section constants of a bored wall against handbook values and a general-purpose section library.

Library: sectionproperties 3 (warping-function finite elements). Its torsion and shear constants are
Saint-Venant's for a bar of unchanging section; a bore is short, so the wall's J lies between the library's
and the solid's.
"""

import dataclasses
from functools import cache

import numpy as np
import pytest
from sectionproperties.analysis import Section
from sectionproperties.pre import CompoundGeometry, Geometry, Material
from shapely.geometry import box
from wall_cases import four_bore

from stiffcalc.mechanics.sections import rectangle_torsion, sections_at

H, T = 85.0, 34.0
CONNECTED = (
    *("solid", "middle of a bore", "off the middle", "near the bore's edge"),
    *("two bores one above the other", "pocket wider than the bore", "pocket across half the floor"),
)
CASES = {  # bores, pockets, holes, station
    "solid": ((), (), (), 0.0),
    "middle of a bore": (((0.0, 135.0, 42.0),), (), (), 0.0),
    "off the middle": (((0.0, 135.0, 42.0),), (), (), 18.0),
    "near the bore's edge": (((0.0, 135.0, 42.0),), (), (), 20.5),
    "two bores one above the other": (((0.0, 125.0, 24.0), (3.0, 160.0, 30.0)), (), (), 0.0),
    "pocket wider than the bore": (((0.0, 135.0, 42.0),), ((-9, 9, 108, 170, 5.0),), (), 0.0),
    "pocket across half the floor": (((0.0, 135.0, 42.0),), ((-9, 9, 130, 180, 5.0),), (), 0.0),
    "bolt hole in a pocket": ((), ((-9, 9, 140, 180, 6.0),), ((0.0, 165.0, 11.0, 17.0),), 2.0),
}


def cuts(bores, pockets, holes, x, floor):
    """The rectangles that a section at x has lost: y0, y1, z0, z1 from mid-height and mid-thickness."""
    out = []
    for bx, by, d, *_ in (*bores, *holes):
        c = np.sqrt(max(d * d / 4 - (x - bx) ** 2, 0.0))
        deep = T / 2 - floor if (bx, by, d) in bores else T / 2
        out.append((by - c, by + c, -T / 2, deep))
    out += [(p[2], p[3], T / 2 - p[4], T / 2) for p in pockets if p[0] <= x <= p[1]]
    return [(y0 - 147.5, y1 - 147.5, z0, z1) for y0, y1, z0, z1 in out]


@cache
def library(name, nu):
    """The library's section, its warping solved where it is one piece."""
    bores, pockets, holes, x = CASES[name]
    shape = box(-H / 2, -T / 2, H / 2, T / 2)
    for y0, y1, z0, z1 in cuts(bores, pockets, holes, x, 9.0):
        shape = shape.difference(box(y0, z0, y1, z1))
    metal = Material("metal", 1.0, nu, 1.0, 1.0, "w")
    pieces = [Geometry(g, metal) for g in getattr(shape, "geoms", [shape])]
    section = Section((pieces[0] if len(pieces) == 1 else CompoundGeometry(pieces)).create_mesh([5.0]))
    section.calculate_geometric_properties()
    if name in CONNECTED:
        section.calculate_warping_properties()
    return section


def both(name, *, nu=0.33):
    """Our constants and the library's section."""
    bores, pockets, holes, x = CASES[name]
    walls = four_bore(bores=bores, pockets=pockets, holes=holes, t=T)
    ours = sections_at(walls, np.array([[x]]))
    found = {f.name: getattr(ours, f.name).ravel()[0] for f in dataclasses.fields(ours)}
    return found | {"I_bending": ours.I_bending[0, 0]}, library(name, nu)


@pytest.mark.parametrize("name", CASES)
def test_area_centroid_and_second_moments(name):
    # Both are exact for a union of rectangles.
    ours, theirs = both(name)
    Iw, Iv, Iyz = theirs.get_eic()
    assert ours["area"] == pytest.approx(theirs.get_area(), rel=1e-9)
    assert (ours["y"], ours["z"]) == pytest.approx(theirs.get_c(), abs=1e-9)
    assert (ours["Iw"], ours["Iv"]) == pytest.approx((Iw, Iv), rel=1e-9)
    assert ours["Iyz"] == pytest.approx(Iyz, abs=1e-9 * Iw)
    # 1 / I_bending is the corner of the inverse of the matrix of second moments.
    assert ours["I_bending"] == pytest.approx(1.0 / np.linalg.inv([[Iw, Iyz], [Iyz, Iv]])[0, 0], rel=1e-9)


@pytest.mark.parametrize("name", CONNECTED)
def test_torsion_lies_between_open_and_solid(name):
    # P15: a hole can only lower J, parts side by side never exceed the whole. Where a pocket leaves steps,
    # `J_open` is an estimate (scaled by int h^3 dy), not a bound: it stays within 10 % of the library's.
    ours, theirs = both(name)
    J = theirs.get_ej()  # for E = 1
    assert ours["J_solid"] * (1 + 1e-3) >= J
    if "pocket" in name:
        assert ours["J_open"] == pytest.approx(J, rel=0.10)
    else:
        assert 0.88 * J <= ours["J_open"] <= J * (1 + 1e-3)


@pytest.mark.parametrize("name", CONNECTED)
def test_shear_area(name):
    # V08: Zhuravskii's stress gives 5/6 of a rectangle, as the library does for nu = 0. It leaves out the
    # flow across a bored section, so there it is an upper bound.
    ours, theirs = both(name, nu=0.0)
    library_area = theirs.get_eas()[1]
    if name == "solid":
        assert ours["shear_area"] == pytest.approx(library_area, rel=1e-4)
        assert ours["shear_area"] == pytest.approx(5.0 / 6.0 * H * T, rel=1e-12)
    else:
        assert library_area < ours["shear_area"] < ours["area"]


@pytest.mark.parametrize("name", CONNECTED)
def test_shear_centre(name):
    # A plate of strips against the warping solution: within 6 % of the wall's height.
    ours, theirs = both(name)
    assert ours["shear_y"] == pytest.approx(theirs.get_sc()[0], abs=0.06 * H)


def test_square_v01():
    # V01: Timoshenko & Goodier, rectangular bars: J = 0.140577 a^4.
    assert rectangle_torsion(np.array(1.0), np.array(1.0)) == pytest.approx(0.140577, abs=5e-7)


BETA = {1: 0.1406, 1.2: 0.1661, 1.5: 0.1958, 2: 0.2287, 2.5: 0.2494, 3: 0.2633}
BETA |= {4: 0.2808, 5: 0.2913, 6: 0.2983, 8: 0.3071, 10: 0.3123, 1e6: 0.3333}


@pytest.mark.parametrize("ratio", BETA)
def test_rectangles_v02(ratio):
    # V02: Timoshenko & Goodier, table of rectangular-bar factors, J = beta b t^3; either side may be the
    # longer.
    for a, b in ((ratio, 1.0), (1.0, ratio)):
        assert rectangle_torsion(np.array(a), np.array(b)) / ratio == pytest.approx(BETA[ratio], abs=5e-5)


def test_rectangle_of_no_width_has_no_torsion():
    assert rectangle_torsion(np.array(0.0), np.array(34.0)) == 0.0
