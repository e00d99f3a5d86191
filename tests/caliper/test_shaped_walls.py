"""Walls of real shape: the same wall drawn as a box and as outlines, masses against the CAD kernel, batches, pieces."""

import math
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stiffcalc.caliper import idealise, measures, response
from stiffcalc.caliper.build import build
from stiffcalc.caliper.section_cells import Levels
from stiffcalc.caliper.section_shapes import shape_boxes
from stiffcalc.caliper.shape_validity import pieces
from stiffcalc.contours import straight
from stiffcalc.explore import batches
from stiffcalc.handover.model import assembly
from stiffcalc.milling import Milled, WallShape
from stiffcalc.solid.build import build as build_solid
from stiffcalc.solid.build import volumes
from stiffcalc.solid.session import solid_session
from stiffcalc.study import load, parse

STUDIES = Path(__file__).parents[2] / "studies"
BOXES = [
    {"x_mm": [-92.0, -60.0], "y_mm": [99.0, 127.0], "depth_mm": 12.0},
    {"x_mm": [-40.0, 40.0], "y_mm": [148.0, 170.0], "depth_mm": 10.0},
]


def as_outline(pocket: dict[str, Any]) -> dict[str, Any]:
    (a, b), (c, d) = pocket["x_mm"], pocket["y_mm"]
    return {"outline_mm": [[a, c], [b, c], [b, d], [a, d]], "depth_mm": pocket["depth_mm"]}


def two_walls() -> list[Any]:
    """The demo's base with rectangular pockets, and the same wall as outlines."""
    raw = tomllib.loads((STUDIES / "hillclimb_front.toml").read_text(encoding="utf-8"))
    raw.pop("variant")
    found = []
    for pockets in (BOXES, [as_outline(p) for p in BOXES]):
        raw["caliper"]["wall"]["pockets"] = pockets
        found.append(parse(raw).designs[0])
    return found


def test_a_box_drawn_as_an_outline_is_the_same_wall_to_both_models_and_the_scales():
    plain, drawn = two_walls()
    assert plain.caliper.inboard.shape is None
    assert drawn.caliper.inboard.shape is not None
    bodies = build(plain), build(drawn)
    frames = [response.frame_pair(b).flexibility for b in bodies]
    np.testing.assert_allclose(frames[1].F, frames[0].F, rtol=1e-9, atol=1e-15)
    np.testing.assert_allclose(frames[1].outputs.O, frames[0].outputs.O, rtol=1e-9, atol=1e-12)
    views = [response.front_view_pair(b)[0].flexibility for b in bodies]
    np.testing.assert_allclose(views[1].F, views[0].F, rtol=1e-9, atol=1e-15)
    masses = [measures.weigh(d, b) for d, b in zip((plain, drawn), bodies, strict=True)]
    assert masses[1].total == pytest.approx(masses[0].total, rel=1e-12)
    np.testing.assert_allclose(masses[1].centre_of_mass, masses[0].centre_of_mass, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("variant", [1, 2])
def test_masses_of_the_demo_s_shaped_bodies_are_the_cad_kernel_s(variant):
    design = load(STUDIES / "shaped_body.toml").designs[variant]
    body = build(design)
    assert body.inboard.shape is not None
    with solid_session() as gmsh:
        made = build_solid(gmsh, assembly(design), imprints=False, fillets=False)
        screws = {name for name in made if name.startswith("bolt_")}
        parts = [tag for name, tags in made.items() if name not in screws for tag in tags]
        cad = sum(v for name, v in volumes(gmsh, made).items() if name not in screws)
        moments = sum(
            gmsh.model.occ.getMass(*t) * np.array(gmsh.model.occ.getCenterOfMass(*t)) for t in parts
        )
    ours = measures.masses(body, density_kg_m3=1e9)  # kg are then mm3
    assert ours.volume_mm3 == pytest.approx(cad, rel=1e-6)
    np.testing.assert_allclose(ours.centre_of_mass, moments / cad, atol=1e-4)


def test_a_rib_and_a_boss_give_back_what_the_pocket_took():
    """By hand: a pocket 40 x 22, 10 deep; a rib 6 wide across it up to the face, a boss of 12 left 4 high beside it."""
    raw = tomllib.loads((STUDIES / "hillclimb_front.toml").read_text(encoding="utf-8"))
    raw.pop("variant")
    raw["caliper"]["wall"] |= {
        "pockets": [{"x_mm": [-20.0, 20.0], "y_mm": [148.0, 170.0], "depth_mm": 10.0}],
        "ribs": [
            {"x_mm": [-3.0, 3.0], "y_mm": [140.0, 175.0]},
            {"centre_mm": [12.0, 159.0], "diameter_mm": 12.0, "height_mm": 4.0},
        ],
    }
    milled = build(parse(raw).designs[0])
    raw["caliper"]["wall"].pop("ribs")
    raw["caliper"]["wall"]["pockets"] = []
    whole = build(parse(raw).designs[0])
    lost = 2 * (10.0 * 40 * 22 - 10.0 * 6 * 22 - 4.0 * math.pi * 36)
    found = measures.body_solids(whole)[:, 0].sum() - measures.body_solids(milled)[:, 0].sum()
    assert found == pytest.approx(lost, rel=1e-9)


def test_a_rib_stiffens_and_a_deeper_pocket_softens_by_both_models():
    design = load(STUDIES / "shaped_body.toml").designs[1]
    shape = design.caliper.inboard.shape
    assert shape is not None
    deeper = replace(shape, pockets=tuple(p._replace(depth=p.depth + 2.0) for p in shape.pockets))
    bare = replace(shape, ribs=shape.ribs[:2])
    for solve in (frame_spread, front_spread):
        as_drawn, deep, ribless = (solve(shaped_body(design, s)) for s in (shape, deeper, bare))
        assert as_drawn < deep
        assert as_drawn < ribless


def shaped_body(design, shape):
    body = build(design)
    half = replace(body.inboard, shape=shape)
    return replace(body, inboard=half, outboard=half)


def frame_spread(body):
    return spread(response.frame_pair(body, give=False), body)


def front_spread(body):
    return spread(response.front_view_pair(body, give=False)[0], body)


def spread(pair, body):
    found = response.answer(pair, body, preload=np.zeros((1, 1, len(body.bolts))), pressure=np.array([10.0]))
    return float(found.openings.spread[0, 0, 0])


def test_designs_of_one_shape_are_one_batch_and_answer_as_alone():
    base = load(STUDIES / "shaped_body.toml").designs[1]
    halves = [
        {side: replace(getattr(base.caliper, side), thickness=t) for side in ("inboard", "outboard")}
        for t in (39.0, 41.0)
    ]
    designs = [replace(base, caliper=replace(base.caliper, **h)) for h in halves]
    assert batches.key(designs[0]) == batches.key(designs[1])
    together, alone = batches.solve(designs), [batches.solve([d])[0] for d in designs]
    for a, b in zip(together, alone, strict=True):
        assert a.mass.total == pytest.approx(b.mass.total, rel=1e-12)
        assert a.load_cases[0].spread == pytest.approx(b.load_cases[0].spread, rel=1e-9)
    box = load(STUDIES / "shaped_body.toml").designs[0]
    assert batches.key(box) != batches.key(designs[0])


def test_an_outline_that_stands_in_pieces_is_told():
    design = load(STUDIES / "shaped_body.toml").designs[0]
    body = build(design)
    low, high = body.inboard.outline.min(axis=0), body.inboard.outline.max(axis=0)
    # a slot 10 mm high from the right end to x = high - 30
    corners = [
        low,
        (high[0], low[1]),
        (high[0], 135),
        (high[0] - 30, 135),
        (high[0] - 30, 145),
        (high[0], 145),
        high,
        (low[0], high[1]),
    ]
    slotted = WallShape(straight(np.array(corners, dtype=float)), ())
    half = replace(body.inboard, outline=slotted.outline.polyline(), shape=slotted)
    walls = idealise.walls(replace(body, inboard=half, outboard=half), "inboard")
    (said,) = pieces("inboard", walls)
    assert f"over {100 * 30 / (high[0] - low[0]):.0f}\u00a0% of" in said
    whole = replace(
        half, shape=WallShape(straight(body.inboard.outline), (Milled(straight(body.inboard.outline), 3.0),))
    )
    assert not pieces("inboard", idealise.walls(replace(body, inboard=whole, outboard=whole), "inboard"))


def test_a_section_takes_from_its_strip_what_the_wall_lacks_there():
    """A pocket over half of the strip and half of the height takes a quarter of it, up to the bands' ends."""
    body = build(load(STUDIES / "shaped_body.toml").designs[0])
    (x0, y0), y1 = body.inboard.outline.min(axis=0), body.inboard.outline[:, 1].max()
    pocket = straight(np.array([(x0, y0), (x0 + 16, y0), (x0 + 16, (y0 + y1) / 2), (x0, (y0 + y1) / 2)]))
    half = replace(body.inboard, shape=WallShape(straight(body.inboard.outline), (Milled(pocket, 9.0),)))
    levels = Levels(
        gap=28.0, outer=28.0 + half.thickness, bottom=y0, top=y1, under=140.0, crown=y1, fillet=0.0
    )
    boxes, said = shape_boxes(half, levels, (x0, x0 + 32))
    area = sum((b.x[1] - b.x[0]) * (b.y[1] - b.y[0]) for b in boxes)
    assert area == pytest.approx(16 * (y1 - y0) / 2, rel=0.02)
    assert all(b.z == pytest.approx((levels.outer - 9.0, levels.outer)) for b in boxes)
    assert "16" in said[0]
