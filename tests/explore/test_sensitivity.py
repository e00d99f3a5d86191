"""Slopes of a layout against closed forms, similarity, the front view and what they are made of."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.explore.batches import together
from stiffcalc.explore.dimensions import changed, dimensions, with_modulus
from stiffcalc.explore.nearby import LooseError, anchor, by_front_view, governing, read
from stiffcalc.explore.sensitivity import at, evaluate, sensitivities, slope
from stiffcalc.plane.mesh import available
from stiffcalc.study import load, parse
from stiffcalc.study.lookup import design_named

STUDIES = Path(__file__).parents[2] / "studies"
DEMO = load(STUDIES / "hillclimb_front.toml")
ONE = design_named(DEMO, "one piece")
SIMPLE = """
format = 1
[study]
title = "a simple body, invented"
[rotor]
outer_radius_mm = 165.0
thickness_mm = 28.0
[pad]
thickness_mm = 16.0
height_mm = 50.0
length_mm = 110.0
[caliper]
layout = "monoblock"
material = "2014-T6"
[caliper.wall]
length_mm = 220.0
bottom_y_mm = 105.0
top_y_mm = 192.0
thickness_mm = 34.0
floor_mm = 9.0
[[caliper.bore]]
x_mm = -30.0
y_mm = 135.0
diameter_mm = 40.0
[[caliper.bore]]
x_mm = 30.0
y_mm = 135.0
diameter_mm = 40.0
[[caliper.bridge]]
name = "leading end"
x_mm = [-110.0, -78.0]
[[caliper.bridge]]
name = "trailing end"
x_mm = [78.0, 110.0]
[[load_case]]
name = "stop"
pressure_MPa = 10.0
"""
needs_gmsh = pytest.mark.skipif(bool(available()), reason="no gmsh")


@pytest.fixture(scope="module")
def found():
    return sensitivities(parse(SIMPLE), front_view=False)


@pytest.fixture(scope="module")
def bolted():
    return sensitivities(DEMO, front_view=False)


def by_path(found, path):
    return next(s for s in found.slopes if s.path == path)


def test_spread_goes_as_one_over_the_modulus(found) -> None:
    """One-piece body of one material at given pressure: ds/dE = -s/E. Source: dimensional analysis."""
    s = by_path(found, 'material."2014-T6".E_MPa')
    assert s.spread == pytest.approx(-found.spread / s.value * 1000.0, rel=1e-4)
    assert s.mass == 0.0 and s.grams_per_um == 0.0


def test_lengths_together_keep_the_spread_in_proportion(found) -> None:
    """All lengths times k at one pressure: spread times k, so sum of length x slope = spread (Euler; similarity)."""
    lengths = [s for s in found.slopes if s.unit == "mm"]
    assert sum(s.value * s.spread for s in lengths) == pytest.approx(found.spread, rel=1e-3)
    body = [s for s in lengths if not s.path.startswith("pad.pis")]
    assert sum(s.value * s.mass for s in body) > 0.0


def test_mass_of_floor_is_the_bores_area(found) -> None:
    """Two walls, two bores of 40 mm each: density x 4 x pi d2/4 per mm of floor."""
    study = parse(SIMPLE)
    density = study.designs[0].caliper.material.density_kg_m3 * 1e-9
    grams = by_path(found, "caliper.wall.floor_mm").mass
    bore, piston = 4 * math.pi * 400.0 * density, study.designs[0].caliper.piston
    # The piston is as deep as its bore: its wall shortens with a thicker floor.
    wall = 4 * math.pi / 4 * (40.0**2 - (40.0 - 2 * piston.wall) ** 2) * piston.material.density_kg_m3 * 1e-9
    assert grams == pytest.approx(bore - wall, rel=1e-6)


def test_half_the_step_gives_the_same_slope(found) -> None:
    assert all(s.step_change < 0.02 for s in found.slopes)
    assert max(s.step_change for s in found.slopes if abs(s.spread) > 1e-5) < 2e-4


def test_slopes_are_those_of_the_closed_form(found) -> None:
    """The portal's own slope by the bore's place, its moved values against the batched frame's: within 4 %."""
    from stiffcalc.caliper import idealise
    from stiffcalc.caliper.build import build
    from stiffcalc.mechanics import portal, portal_body

    design = parse(SIMPLE).designs[0]
    d = next(d for d in dimensions(design) if d.path == "caliper.wall.thickness_mm")

    def spread(by: float) -> float:
        body = build(changed(design, {d: by}))
        walls, bridges = idealise.walls(body, "inboard"), idealise.bridges(body)
        values = portal_body.values(walls, bridges) | portal_body.distortion(walls, bridges)
        return float(portal.at(portal_body.portal_of(walls, bridges), values)[0])

    closed = 10.0 * (spread(0.1) - spread(-0.1)) / 0.2
    assert by_path(found, d.path).spread == pytest.approx(closed, rel=0.04)


def test_what_is_flush_moves_with_the_walls_edge() -> None:
    design = DEMO.designs[0]
    every = {d.path: d for d in dimensions(design)}
    assert "caliper.bridge[1].x_mm[1]" not in every and "caliper.wall.pockets[1].y_mm[1]" not in every
    longer = changed(design, {every["caliper.wall.length_mm"]: 2.0}).caliper
    assert (longer.inboard.length, longer.outboard.length) == (192.0, 192.0)
    assert longer.bridges[0].x == (-96.0, -63.0) and longer.bridges[1].x == (63.0, 96.0)
    lower = changed(design, {every["caliper.wall.bottom_y_mm"]: -1.0}).caliper
    assert lower.inboard.pockets[0].y[0] == lower.outboard.pockets[0].y[0] == 98.0
    assert design.caliper.inboard.length == 190.0


def test_a_stiffer_material_is_stiffer_when_warm_too() -> None:
    metal = DEMO.designs[0].caliper.material
    stiffer = with_modulus(metal, 1.1 * metal.E)
    assert pytest.approx(1.1 * metal.at(120.0).E) == stiffer.at(120.0).E


def test_preload_moves_margins_but_not_a_closed_joints_opening(bolted) -> None:
    """Below onset opening and preload have nothing to do with each other (as one piece)."""
    preload = by_path(bolted, "caliper.bolt[1].preload_N")
    assert preload.per == "1 kN" and abs(preload.spread) < 1e-6
    assert preload.worst_margin is not None and preload.worst_margin > 0.0
    assert preload.grams_per_um is None


def test_governing_check_is_named(found) -> None:
    case, margin = found.governs, found.worst_margin
    answer = together([parse(SIMPLE).designs[0]], read)[0]
    key = governing(answer)
    assert case == f"{key[2]} ({key[0]})" and margin == pytest.approx(answer.checks[key].margin)
    assert found.tilt is None and all(s.tilt is None for s in found.slopes)


def test_one_sided_slopes_that_differ_are_marked(found) -> None:
    plain = by_path(found, "caliper.wall.floor_mm")
    assert not plain.kinked
    assert replace(plain, margin_up=1.0, margin_down=0.5).kinked
    assert not replace(plain, margin_up=None, margin_down=None, margin_half_step=None).kinked


def test_a_body_that_is_not_simple_says_why(found, bolted) -> None:
    assert found.formula is not None and found.formula.portal == pytest.approx(found.formula.frame, rel=0.02)
    assert found.formula.frame == pytest.approx(found.spread / found.pressure, rel=1e-9)
    assert "bolted" in bolted.no_formula


@needs_gmsh
def test_front_view_anchors_and_confirms() -> None:
    found = sensitivities(DEMO, variant="one piece")
    front = by_front_view(ONE)
    assert found.spread == pytest.approx(front.spread) and found.tilt == pytest.approx(front.tilt)
    assert len(found.confirmed) == 5 and 0.0 < found.remeshing < 0.002
    for c in found.confirmed:
        assert c.frame == pytest.approx(
            c.front_view, rel=0.25
        )  # a bore's y is 17 % low here, the others within 7 %
        assert c.noise < 0.05 * abs(c.front_view)
    again = by_front_view(ONE)
    assert (again.spread, again.tilt, again.load_cases) == (front.spread, front.tilt, front.load_cases)


@needs_gmsh
def test_anchored_margins_are_the_front_views_at_the_layout_itself() -> None:
    frame, front = together([ONE], read)[0], by_front_view(ONE)
    rho = anchor(frame, front)
    for key, check in frame.checks.items():
        assert rho.margin(key, check.margin) == pytest.approx(front.checks[key].margin, abs=1e-12), key


def test_a_layout_that_does_not_hold_is_refused() -> None:
    loose = replace(together([ONE], read)[0], spread=math.nan)
    with pytest.raises(LooseError, match="does not hold"):
        at(ONE, loose, front_view=False)


def test_halves_of_different_thickness_have_a_dimension_each() -> None:
    c = ONE.caliper
    uneven = replace(ONE, caliper=replace(c, outboard=replace(c.outboard, thickness=30.0)))
    paths = [d.path for d in dimensions(uneven)]
    assert "caliper.inboard.thickness_mm" in paths and "caliper.outboard.thickness_mm" in paths
    both = [d for d in dimensions(uneven) if d.path.endswith("board.thickness_mm")]
    frame, around = evaluate(uneven, both)
    here = at(uneven, frame, front_view=False)
    slopes = [slope(d, here, f).spread for d, f in zip(both, around, strict=True)]
    assert np.all(np.array(slopes) < 0.0) and slopes[1] < slopes[0]  # the thinner half gains more
