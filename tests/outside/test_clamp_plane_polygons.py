"""Outlines of reliefs and what they leave of a joint face, against shapely (a general library of plane geometry)."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
import shapely

from stiffcalc.caliper.build import build
from stiffcalc.caliper.idealise import circle, clamp_faces, face_voids
from stiffcalc.study import parse
from stiffcalc.study.geometry import crossing_sides, footprint

DEMO = Path(__file__).parents[2] / "studies/hillclimb_front.toml"


@pytest.mark.parametrize("corners", [3, 4, 5, 8])
def test_outlines_that_cross_themselves_are_those_shapely_calls_invalid(corners: int) -> None:
    rng = np.random.default_rng(corners)
    crossed = 0
    for _ in range(200):
        points = tuple((float(x), float(y)) for x, y in rng.uniform(-10, 10, (corners, 2)))
        valid = shapely.Polygon(points).is_valid
        assert (crossing_sides(points) is None) == valid, points
        crossed += not valid
    assert crossed == 0 if corners == 3 else 20 < crossed < 200


@pytest.mark.parametrize(
    "points",
    [
        ((0, 0), (4, 0), (2, 0)),  # flat
        ((0, 0), (4, 0), (4, 3), (4, 1), (0, 3)),  # a side back over another
        ((0, 0), (4, 0), (2, 2), (4, 4), (0, 4), (2, 2)),  # touches itself in a corner
        ((0, 0), (4, 0), (4, 4), (2, 0), (0, 4)),  # a corner on a side
    ],
)
def test_outlines_that_touch_themselves(points: tuple[tuple[float, float], ...]) -> None:
    assert not shapely.Polygon(points).is_valid
    assert crossing_sides(points) is not None


def test_an_outline_closed_twice_is_refused_though_shapely_takes_it() -> None:
    assert crossing_sides(((0, 0), (4, 0), (4, 4), (0, 0))) is not None


def test_a_seal_s_polygon_has_the_circle_s_area_and_place() -> None:
    found = shapely.Polygon(circle(3.0, -2.0, 12.0))
    assert found.area == pytest.approx(np.pi * 36.0, rel=1e-12)
    assert (found.centroid.x, found.centroid.y) == pytest.approx((3.0, -2.0))
    assert found.hausdorff_distance(shapely.Point(3, -2).buffer(6.0, quad_segs=64)) < 0.03


@pytest.mark.parametrize("land", [None, [[-95, 178], [-95, 130], [-70, 130], [-63, 150], [-63, 178]]])
def test_what_touches_is_the_face_less_holes_reliefs_and_seals(land: list[list[float]] | None) -> None:
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    if land is not None:
        data["caliper"]["bridge"][0]["land"] = {"outline_mm": land}
    design = parse(data).designs[0]
    body = build(design)
    cells = clamp_faces(body, give=False).cells
    for i, bridge in enumerate(design.caliper.bridges):
        face = shapely.Polygon(footprint(bridge, design.caliper, design.rotor))
        for x, y, d in [(b.x, b.y, b.hole) for b in design.caliper.bolts]:
            face -= shapely.Point(x, y).buffer(d / 2, quad_segs=64)
        section = face.area
        for p in design.caliper.ports:
            face -= shapely.Point(p.x, p.y).buffer(p.seal_diameter / 2, quad_segs=64)
        for relief in bridge.reliefs:
            face -= shapely.Polygon(relief)
        if bridge.land is not None:
            face &= shapely.Polygon(bridge.land)
        # Cells are sampled at 36 points and the smallest scraps dropped: within 2 %.
        assert cells.section[0, i].sum() == pytest.approx(section, rel=0.01)
        assert cells.area[0, i].sum() == pytest.approx(face.area, rel=0.02)
        assert face.area < 0.99 * section
        lever = (cells.area[0, i] @ cells.x[0, i], cells.area[0, i] @ cells.y[0, i]) / cells.area[0, i].sum()
        assert lever == pytest.approx([face.centroid.x, face.centroid.y], abs=0.2)
    assert sum(v.outside for v in face_voids(body)) == (land is not None)
