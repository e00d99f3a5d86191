"""No triangle of the front view's meshes folds over: what is mended, and what stays as the mesher left it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import stiffcalc.plane.mesh as mesher
import stiffcalc.plane.model as front
from stiffcalc.caliper.build import build
from stiffcalc.caliper.idealise import plate_plan
from stiffcalc.plane.elements import border, sample, shape_slopes
from stiffcalc.plane.front_view import front_view
from stiffcalc.plane.mesh import Disc, mesh_domain
from stiffcalc.plane.plan import Footprint, Head, PlatePlan, polygon_area
from stiffcalc.plane.unfolded import AIM, LEAST, bounds, unfolded
from stiffcalc.study import load

STUDIES = Path(__file__).parents[2] / "studies"
WALL = np.array([[-60.0, 100.0], [60.0, 100.0], [60.0, 150.0], [-60.0, 150.0]])
FOOT = np.array([[-60.0, 120.0], [-30.0, 120.0], [-30.0, 150.0], [-60.0, 150.0]])
HEAD, HOLE = Disc(-39.3, 133.0, 18.0), Disc(-39.3, 133.0, 11.0)  # 0.3 mm inside the foot's edge


def beside():
    """A bolt head beside a bridge's edge."""
    return mesh_domain(WALL, size=6.0, regions={"foot": FOOT, "head": HEAD}, holes=[HOLE])


def left_alone(monkeypatch, make):
    """What the mesher makes of it."""
    with monkeypatch.context() as patch:
        patch.setattr(mesher, "unfolded", lambda nodes, *_: nodes)
        return make()


def lowest(mesh):
    return bounds(mesh.nodes, mesh.triangles).min()


def ratios(nodes, triangles, points):
    """Jacobians (e, g) over those of the corners alone, by the shape functions."""
    corners = nodes[triangles]
    edges = np.stack([corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]], axis=1)
    at = np.linalg.det(np.einsum("eni,gnj->egij", corners, shape_slopes(points)))
    return at / np.linalg.det(edges)[:, None]


def grid(count=41):
    points = np.stack(np.meshgrid(*2 * [np.linspace(0, 1, count)]), axis=-1).reshape(-1, 2)
    return points[points.sum(axis=1) <= 1 + 1e-12]


def curved(seed, count=200):
    """Triangles with middles thrown about: nodes, and triangles of their own nodes."""
    rng = np.random.default_rng(seed)
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]) + rng.uniform(-0.2, 0.2, (count, 3, 2))
    middles = (corners + np.roll(corners, -1, axis=1)) / 2 + rng.uniform(-0.25, 0.25, (count, 3, 2))
    return np.concatenate([corners, middles], axis=1).reshape(-1, 2), np.arange(6 * count).reshape(-1, 6)


def random_wall(seed):
    """A wall with bridges, and bolt heads close beside edges and each other; its outline, regions and holes."""
    rng = np.random.default_rng(seed)
    length, height, width = rng.uniform(100, 200), rng.uniform(50, 90), rng.uniform(24, 40)
    low = height - rng.uniform(20, 30)
    regions, holes = {"bore": Disc(length / 2, height * 0.35, rng.uniform(25, 0.6 * height))}, []
    for side, x in (("left", 0.0), ("right", length - width)):
        regions[f"bridge {side}"] = box(x, low, x + width, height)
    d, gap = rng.uniform(10, 18), rng.choice([0.02, 0.1, 0.3, 1.0])
    for x, y in (
        (width - d / 2 - gap, height - d / 2 - 2.0),
        (length - d / 2 - gap, low + d / 2 + gap),
        (length - 1.5 * d - 2.0 * gap, low + d / 2 + rng.uniform(0, 4)),
    ):
        regions[f"head {len(holes)}"] = Disc(x, y, d)
        holes.append(Disc(x, y, d * rng.uniform(0.55, 0.7)))
    return box(0.0, 0.0, length, height), regions, holes


def box(x0, y0, x1, y1):
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def area(mesh, elements=slice(None)):
    return sample(mesh.nodes, mesh.triangles[elements], points=6).weight.sum()


def test_bounds_hold_everywhere_and_touch_at_corners():
    """Derived: the shape functions' Jacobian on 861 points of each of 200 triangles lies between them."""
    nodes, triangles = curved(1)
    low, high = (f(bounds(nodes, triangles), axis=1)[:, None] for f in (np.min, np.max))
    found = ratios(nodes, triangles, grid())
    assert np.all(found >= low - 1e-12)
    assert np.all(found <= high + 1e-12)
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    assert bounds(nodes, triangles)[:, :3] == pytest.approx(ratios(nodes, triangles, corners), abs=1e-12)


def test_the_mesher_alone_folds_over(monkeypatch):
    assert lowest(left_alone(monkeypatch, beside)) < 0
    assert lowest(beside()) >= LEAST


def test_arcs_keep_their_nodes_where_straight_sides_can_bend(monkeypatch):
    """Only middles of sides within a region move; the circle's nodes all lie on the circle."""
    plain, mended = left_alone(monkeypatch, beside), beside()
    assert np.array_equal(plain.triangles, mended.triangles)
    moved = np.flatnonzero(np.any(plain.nodes != mended.nodes, axis=1))
    assert 0 < len(moved) < 20
    assert not set(moved) & set(mended.triangles[:, :3].ravel())
    ring = border(mended.triangles[mended.groups["head"]])
    reach = np.hypot(*(mended.nodes[np.unique(ring)] - (HEAD.x, HEAD.y)).T)
    for circle in (HEAD, HOLE):
        assert np.min(np.abs(reach - circle.diameter / 2)) < 1e-8
    assert np.all((np.abs(reach - HEAD.diameter / 2) < 1e-8) | (np.abs(reach - HOLE.diameter / 2) < 1e-8))
    for name in ("foot", "head"):
        assert area(mended, mended.groups[name]) == pytest.approx(area(plain, plain.groups[name]), rel=1e-9)


def test_same_input_same_mesh_to_the_bit():
    assert np.array_equal(beside().nodes, beside().nodes)


def test_what_does_not_fold_over_is_left_to_the_bit(monkeypatch):
    """Even where it is poorer than what is mended."""

    def clear():
        return mesh_domain(WALL, size=6.0, regions={"foot": FOOT, "head": Disc(-39.1, 135.0, 18.0)})

    assert LEAST < lowest(clear()) < AIM
    assert np.array_equal(clear().nodes, left_alone(monkeypatch, clear).nodes)


@pytest.mark.parametrize(
    "name", ["hillclimb_front", "compare_at_equal_mass", "four_or_six_bolts", "shaped_body", "size_sections"]
)
def test_no_triangle_of_the_demos_folds_over(name, monkeypatch):
    """Every layout; the mesher alone folds at least one triangle of each study."""
    plain = []

    def noted(nodes, triangles, pieces):
        plain.append(bounds(nodes, triangles).min())
        return unfolded(nodes, triangles, pieces)

    monkeypatch.setattr(mesher, "unfolded", noted)
    for design in load(STUDIES / f"{name}.toml").designs:
        assert lowest(front.model_of(plate_plan(build(design), "outboard")).mesh) >= LEAST
    assert min(plain) < 0


@pytest.mark.parametrize("seed", range(12))
def test_no_triangle_of_random_walls_folds_over(seed, monkeypatch):
    """Heads beside edges and each other; areas within 0.5 % of the drawn ones, corners where the mesher put them."""
    outline, regions, holes = random_wall(seed)

    def made():
        return mesh_domain(outline, size=7.0, regions=regions, holes=holes)

    mesh, plain = made(), left_alone(monkeypatch, made)
    assert ratios(mesh.nodes, mesh.triangles, grid(21)).min() >= LEAST
    assert lowest(mesh) >= LEAST
    assert area(mesh) == pytest.approx(polygon_area(outline) - sum(h.area for h in holes), rel=1e-3)
    assert area(mesh, mesh.groups["bore"]) == pytest.approx(regions["bore"].area, rel=5e-3)
    for i, hole in enumerate(holes):
        assert area(mesh, mesh.groups[f"head {i}"]) == pytest.approx(
            regions[f"head {i}"].area - hole.area, rel=2e-2
        )
    corners = np.unique(mesh.triangles[:, :3])
    assert np.array_equal(mesh.nodes[corners], plain.nodes[corners])


def test_an_arc_with_no_side_that_could_bend_gets_flatter():
    """One triangle alone: its arc rises to 0.6 of its height, so that it folds over at both of the arc's ends."""
    corners = np.array([[0.0, 0.0], [2.0, 0.0], [1.0, 1.0]])
    middles = np.array([[1.0, 0.6], [1.5, 0.5], [0.5, 0.5]])
    nodes, triangle = np.concatenate([corners, middles]), np.arange(6)[None]
    assert bounds(nodes, triangle).min() < 0
    found = unfolded(nodes, triangle, np.zeros(1, dtype=np.int64))
    assert bounds(found, triangle).min() >= LEAST
    assert 0 < found[3, 1] < 0.6
    assert found[3, 0] == pytest.approx(1.0)
    assert np.array_equal(found[[0, 1, 2, 4, 5]], nodes[[0, 1, 2, 4, 5]])


def test_what_nothing_else_mends_gets_straight_sides():
    nodes, triangles = curved(2, count=1)
    nodes[3] += 500.0
    found = unfolded(nodes, triangles, np.zeros(1, dtype=np.int64))
    assert bounds(found, triangles) == pytest.approx(1.0)


def test_slivers_of_no_area_are_left_alone():
    """Beside a triangle that folds over; no middle node gives a sliver an area, and looking for one must end."""
    corners = np.array([[0.0, 0.0], [2.0, 0.0], [1.0, 1.0], [1.0, 1e-12]])
    middles = np.array([[1.0, 0.6], [1.5, 0.5], [0.5, 0.5], [1.5, 5e-13], [0.5, 5e-13]])
    nodes, triangles = np.concatenate([corners, middles]), np.array([[0, 1, 2, 4, 5, 6], [0, 1, 3, 4, 7, 8]])
    found = unfolded(nodes, triangles, np.array([0, 1]))
    assert bounds(found, triangles[:1]).min() >= LEAST
    assert 0 < found[4, 1] < 0.6
    assert np.array_equal(found[[7, 8]], nodes[[7, 8]])


def test_opening_changes_smoothly_as_a_head_nears_a_bridge():
    """Trend: at a gap of 0.2 mm the floor moves as between gaps of 0.1 and 0.3 mm (by 0.1 % off it where folded)."""
    E, thickness = 71e3, 34.0
    plan = PlatePlan(
        outline=box(-110, 105, 110, 190),
        thickness=thickness,
        floor=9.0,
        bores=(Disc(-34.0, 135.0, 44.0), Disc(30.0, 135.0, 38.0)),
        footprints=tuple(
            Footprint(box(x, 146, x + 32, 190), x + 16, 168.0, E / (0.16 * thickness)) for x in (-110.0, 78.0)
        ),
        E=E,
        nu=0.33,
        heads=(Head(-94.0, 156.0, 11.0, 17.0),),
    )

    def give(gap):
        view = front_view(replace(plan, heads=(replace(plan.heads[0], x=-78.0 - 8.5 - gap),)))
        F, at = view.flexibility.F[0], view.flexibility.points
        force = np.zeros(at.count)
        force[[2, 5]] = 1.0, -1.0  # equal moments on both bridges
        force[[1, 4]] = 0.0
        floors = F[at.bore] @ force
        return floors[0] - floors[1]

    near, middle, far = (give(gap) for gap in (0.1, 0.2, 0.3))
    assert middle == pytest.approx((near + far) / 2, rel=2e-4)
