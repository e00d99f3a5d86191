"""What the plane cuts of a body: outline, thickness, zones and edges; all derived from the body's own numbers."""

from dataclasses import replace

import numpy as np
import pytest
from section_sample import loose_centre, raw, two_piece

from stiffcalc.caliper.body import PocketShape
from stiffcalc.caliper.build import build
from stiffcalc.caliper.section_cells import Box, Grid, Levels, metal_left
from stiffcalc.caliper.section_corners import sharp
from stiffcalc.caliper.section_model import section_model
from stiffcalc.errors import InputError
from stiffcalc.plane.section.grid import mesh_section
from stiffcalc.study import parse


def body(data):
    return build(parse(data).designs[0])


def model(shape, bridge=0, *, side="inboard", loose=False):
    return section_model(shape, bridge, side=side, loose=loose)


def grid(found):
    return mesh_section(found.parts, sizing=found.sizing())


def volume(found, *names):
    """Of some zones, or of all, mm3."""
    mesh = grid(found)
    a, b, c = (mesh.nodes[mesh.triangles[:, i]] for i in range(3))
    area = ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2
    zone = np.array([z.name for z in mesh.zones])[mesh.zone]
    chosen = np.isin(zone, names) if names else np.ones(len(zone), dtype=bool)
    return float((area * mesh.thickness)[chosen].sum())


def pocketed(shape, x, y, depth):
    box = np.array([(x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])], dtype=float)
    half = replace(shape.inboard, pockets=(PocketShape(box, depth),))
    return replace(shape, inboard=half, outboard=half)


ONE, TWO = body(raw()), body(two_piece())
GAP, WALL, WIDE = 14.0 + 16.0 + 0.5, 34.0, 30.0
PLAIN = WIDE * (GAP * 40.0 + WALL * 85.0) + WIDE * (1 - np.pi / 4) * 5.0**2  # bridge, wall, fillet
HOLE = np.pi / 4 * 11.0**2 * (GAP + WALL)


def test_strip_holds_the_metal_of_bridge_wall_and_fillet():
    assert volume(model(ONE)) == pytest.approx(PLAIN, rel=1e-4)


def test_bolt_holes_take_their_own_volume():
    assert volume(model(TWO)) == pytest.approx(PLAIN - 2 * HOLE, rel=1e-4)


@pytest.mark.parametrize(
    ("x", "share"), [((-120.0, -95.0), 15.0), ((-105.0, -100.0), 5.0), ((-60.0, -40.0), 0.0)]
)
def test_a_pocket_takes_what_overlaps_the_strip(x, share):
    found = model(pocketed(ONE, x, (110.0, 130.0), 8.0))
    assert volume(found) == pytest.approx(PLAIN - share * 20.0 * 8.0, rel=1e-4)
    assert any("pocket" in said for said in found.cuts) == (share > 0)


def test_a_pocket_over_the_whole_strip_is_cut_out():
    found = model(pocketed(ONE, (-120.0, -70.0), (105.0, 130.0), 8.0))
    assert volume(found) == pytest.approx(PLAIN - WIDE * 25.0 * 8.0, rel=1e-4)
    assert grid(found).nodes[:, 0].max() == pytest.approx(GAP + WALL)
    lower = grid(found).nodes[grid(found).nodes[:, 1] < 129.0]
    assert lower[:, 0].max() == pytest.approx(GAP + WALL - 8.0)


def test_pocket_and_hole_share_what_they_both_take():
    """The pocket lies over the whole hole: metal is missed once there."""
    found = model(pocketed(TWO, (-110.0, -85.0), (150.0, 170.0), 8.0))
    hole_behind = np.pi / 4 * 11.0 * 11.0 * 8.0  # of bolt 1 inside the pocket's depth
    assert volume(found) == pytest.approx(PLAIN - 2 * HOLE - 25.0 * 20.0 * 8.0 + hole_behind, rel=1e-4)


def test_a_bore_through_the_plane_is_a_gap_in_the_inner_face():
    data = raw(caliper__bore=[{"x_mm": 0.0, "y_mm": 135.0, "diameter_mm": 44.0}])
    found = model(body(data), 2)
    assert "the plane cuts bore 1 over 44 mm of its 44 mm" in found.cuts
    bare = 24.0 * (GAP * 19.0 + WALL * 85.0 + (1 - np.pi / 4) * 4.0**2)
    y = np.linspace(-22.0, 22.0, 200_001)
    chord = np.minimum(2 * np.sqrt(22.0**2 - y**2), 24.0).mean() * 44.0
    assert volume(found) == pytest.approx(bare - chord * (WALL - 9.0), rel=3e-3)  # in bands
    assert "bore" in grid(found).edges


def test_a_bore_beside_the_plane_thins_the_strip():
    data = raw(caliper__bore=[{"x_mm": x, "y_mm": 135.0, "diameter_mm": 44.0} for x in (-28.0, 28.0)])
    found = model(body(data), 2)
    assert "bore 1 reaches into the strip beside the plane" in found.cuts
    assert min(r.thickness for r in found.parts[0].regions) < 24.0 - 2 * 5.0


@pytest.mark.parametrize(
    ("kind", "data", "edges"),
    [
        ("integral", raw(), {"mid-plane", "fillet 1"}),
        ("joint face at the mid-plane", two_piece(), {"joint face", "fillet 1", "head 1", "head 2"}),
    ],
)
def test_kinds_and_their_edges(kind, data, edges):
    found = model(body(data))
    assert found.kind == kind
    assert edges <= set(grid(found).edges)
    assert found.mid_plane in edges


def test_a_separate_bridge_is_a_part_of_its_own():
    found = model(body(loose_centre()), 2, loose=True)
    assert [p.name for p in found.parts] == ["bridge", "wall"]
    assert not found.fillets
    assert {"seat", "wall's seat"} <= set(grid(found).edges)
    assert volume(found) == pytest.approx(24.0 * (GAP * 19.0 + WALL * 85.0) - HOLE, rel=1e-4)


def test_unequal_halves_have_sections_of_their_own():
    data = raw()
    data["caliper"]["outboard"] = {"thickness_mm": 28.0}
    shape = body(data)
    assert [model(shape, side=s).wall[2] for s in ("inboard", "outboard")] == [34.0, 28.0]


def test_bolts_near_one_height_press_as_one_and_others_share_the_face():
    near = two_piece()
    near["caliper"]["bolt"][1].update(x_mm=-102.0, y_mm=162.0)
    near["caliper"]["bolt"][0].update(x_mm=-85.9)
    (one,) = model(body(near)).clamps
    assert one.bolts == (0, 1)
    assert one.y == pytest.approx(161.0)
    low, high = model(TWO).clamps
    assert (low.y, high.y) == (160.0, 180.0)
    assert low.half_width <= 10.0
    assert one.flexibility == pytest.approx(low.flexibility / 2)


def shaped(**changes):
    """The one-piece body with another first bridge."""
    return replace(ONE, bridges=(replace(ONE.bridges[0], **changes), *ONE.bridges[1:]))


def test_a_fillet_longer_than_its_edge_is_said_so():
    found = model(shaped(y0=108.0))
    assert found.fillet == pytest.approx(3.0)
    assert any("drawn as 3 mm" in said for said in found.cuts)


def test_a_wall_thinner_than_its_fillet_is_meshed():
    thin = replace(ONE.inboard, thickness=12.0, floor=5.0)
    shape = replace(shaped(fillet=16.0), inboard=thin, outboard=thin)
    whole = WIDE * (GAP * 40.0 + 12.0 * 85.0) + WIDE * (1 - np.pi / 4) * 16.0**2
    assert volume(model(shape)) == pytest.approx(whole, rel=5e-4)  # chords of the arc


def test_a_sharp_corner_has_no_fillet_but_a_place():
    found = model(shaped(fillet=0.0))
    assert not found.fillets
    assert found.corner == (GAP, 150.0)


def test_a_bridge_down_to_the_walls_bottom_has_no_corner():
    found = model(shaped(y0=105.0))
    assert found.corner is None
    assert volume(found) == pytest.approx(WIDE * (GAP + WALL) * 85.0, rel=1e-6)


def test_a_bridge_below_the_walls_top():
    found = model(shaped(y1=180.0))
    assert any("drawn sharp" in said for said in found.cuts)
    assert volume(found) == pytest.approx(PLAIN - WIDE * GAP * 10.0, rel=1e-4)


def test_a_bar_on_pads_is_refused():
    shape = replace(ONE, bridges=(replace(ONE.bridges[0], pads=object()),))
    with pytest.raises(InputError, match="bar bolted down on the walls"):
        model(shape)


def test_metal_left_counts_overlaps_once():
    levels = Levels(gap=10.0, outer=30.0, bottom=0.0, top=50.0, under=30.0, crown=50.0, fillet=2.0)
    boxes = Box("a", (0.0, 6.0), (0.0, 10.0), (10.0, 20.0)), Box("b", (4.0, 30.0), (5.0, 10.0), (10.0, 20.0))
    strip = Grid(levels, (0.0, 12.0), boxes)
    assert metal_left(strip, y=2.0, z=15.0) == pytest.approx(6.0)
    assert metal_left(strip, y=7.0, z=15.0) == pytest.approx(0.0)
    assert metal_left(strip, y=7.0, z=25.0) == pytest.approx(12.0)


POCKET = GAP + WALL - 8.0  # its floor


@pytest.mark.parametrize(
    ("x", "y", "found"),
    [
        ((-120.0, -82.0), (105.0, 130.0), [(POCKET, 130.0)]),  # 2 mm of the strip left: a step in thickness
        ((-120.0, -70.0), (105.0, 130.0), [(POCKET, 130.0)]),  # none left: a corner of the outline
        ((-120.0, -82.0), (110.0, 130.0), [(POCKET, 110.0), (POCKET, 130.0)]),
        ((-120.0, -82.0), (105.0, 147.0), [(POCKET, 147.0)]),  # past the border of wall and root
        ((-120.0, -100.0), (110.0, 130.0), []),  # two thirds of the strip left
        ((-60.0, -40.0), (110.0, 130.0), []),  # beside the strip
    ],
)
def test_sharp_corners_of_a_pocket(x, y, found):
    places = sharp(model(pocketed(ONE, x, y, 8.0)).parts, but=[])
    assert np.array(places) == pytest.approx(np.array(found))


def test_a_corner_named_elsewhere_is_left_out():
    shape = model(body(raw(caliper__bridge__2__fillet_mm=0.0)), 2)
    assert shape.corner in sharp(shape.parts, but=[])
    assert sharp(shape.parts, but=[shape.corner]) == ()
