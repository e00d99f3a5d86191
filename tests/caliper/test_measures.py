"""Masses and centre of mass: what follows from symmetry, similarity and densities, and a design weighed by hand."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stiffcalc import catalogue
from stiffcalc.caliper.body import Body, BoltShape, BoreShape, BridgeShape, HalfShape, PocketShape
from stiffcalc.caliper.build import build
from stiffcalc.caliper.measures import BoltMetal, PistonMetal, body_solids, bolt_metal, masses, weigh
from stiffcalc.study import load

DEMO = load(Path(__file__).parents[2] / "studies/hillclimb_front.toml").designs
ALLOY = 2800.0


def rectangle(x0, x1, y0, y1):
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], dtype=float)


def body(scale=1.0):
    """Unequal in x, equal halves; every length times `scale`."""
    s = scale
    half = HalfShape(
        outline=s * rectangle(-95, 95, 99, 178),
        thickness=32 * s,
        floor=8.5 * s,
        bores=(BoreShape(-29 * s, 124 * s, 38 * s), BoreShape(29 * s, 124 * s, 42 * s)),
        pockets=(PocketShape(s * rectangle(60, 92, 99, 127), 12 * s),),
    )
    arch = {
        "y0": 99 * s,
        "y1": 178 * s,
        "arch": 153 * s,
        "fillet": 5 * s,
        "E": 73e3,
        "nu": 0.33,
        "jointed": True,
    }
    bridges = (
        BridgeShape(name="leading", x0=-95 * s, x1=-63 * s, **arch),
        BridgeShape(name="trailing", x0=63 * s, x1=95 * s, **arch),
    )
    bolts = tuple(
        BoltShape(x * s, 150 * s, 10 * s, 11 * s, 20 * s, 205e3, b) for b, x in enumerate((-78, 78))
    )
    return Body(half, half, 28 * s, bridges, bolts, 73e3, 0.33)


def screw(scale=1.0):
    s = scale
    return BoltMetal(10 * s, 9 * s, 16 * s, 10 * s, 8 * s, 20 * s, 2 * s, 24 * s, 7850.0)


PISTON = PistonMetal(wall=3.0, crown=5.0, fluid_depth=2.0, density_kg_m3=4430.0)


def test_mass_is_density_times_volume():
    found = masses(body(), density_kg_m3=ALLOY)
    assert found.body == pytest.approx(ALLOY * 1e-9 * found.volume_mm3, rel=1e-14)
    assert 1.5 < found.body < 4.0  # kg: the order of magnitude of such a caliper body
    assert found.total == found.body
    assert (found.bolts, found.pistons) == (0.0, 0.0)


def test_parts_add_up():
    found = masses(body(), density_kg_m3=ALLOY, bolts=[screw(), screw()], piston=PISTON)
    assert found.bolts > 0 and found.pistons > 0
    assert found.total == pytest.approx(found.body + found.bolts + found.pistons, rel=1e-14)


def test_similar_bodies_weigh_as_the_cube():
    """All lengths times s: mass times s^3, centre of mass times s. The screws here are threaded all along."""
    s = 1.7
    small, large = (
        masses(
            body(k),
            density_kg_m3=ALLOY,
            bolts=[screw(k)] * 2,
            piston=replace(PISTON, wall=3 * k, crown=5 * k, fluid_depth=2 * k),
        )
        for k in (1.0, s)
    )
    for part in ("body", "bolts", "pistons", "total"):
        assert getattr(large, part) == pytest.approx(s**3 * getattr(small, part), rel=1e-12)
    assert large.centre_of_mass == pytest.approx(tuple(s * v for v in small.centre_of_mass), rel=1e-12)


def test_equal_halves_balance_about_the_rotor():
    found = masses(body(), density_kg_m3=ALLOY, piston=PISTON)
    assert found.centre_of_mass[2] == pytest.approx(0.0, abs=1e-12)


def test_a_heavier_half_draws_the_centre():
    thick = replace(body(), outboard=replace(body().outboard, thickness=40.0))
    assert masses(thick, density_kg_m3=ALLOY).centre_of_mass[2] > 1.0


def test_heads_lie_inboard():
    with_bolts = masses(body(), density_kg_m3=ALLOY, bolts=[screw(), screw()])
    assert with_bolts.centre_of_mass[2] < -0.5


def test_bridges_of_their_own_metal():
    metal = body_solids(body())[:, 0]
    found = masses(body(), density_kg_m3=ALLOY, bridge_densities_kg_m3=[7100.0, ALLOY])
    assert found.body == pytest.approx(
        1e-9 * (ALLOY * (metal.sum() - metal[2]) + 7100.0 * metal[2]), rel=1e-14
    )


def test_the_wrong_number_of_bolts_is_refused():
    with pytest.raises(ValueError, match="zip"):
        masses(body(), density_kg_m3=ALLOY, bolts=[screw()])


@pytest.mark.parametrize("design", DEMO, ids=lambda d: d.name)
def test_demo_designs_are_weighed(design):
    built = build(design)
    found = weigh(design, built)
    metal = body_solids(built)[:, 0]
    rho = [b.material.density_kg_m3 for b in design.caliper.bridges]
    own = design.caliper.material.density_kg_m3
    assert found.body == pytest.approx(1e-9 * (own * metal[:2].sum() + rho @ metal[2:]), rel=1e-12)
    cups = 0.0
    for wall, b in (
        (w, b) for w in (design.caliper.inboard, design.caliper.outboard) for b in design.caliper.bores
    ):
        piston, depth = design.caliper.piston, wall.thickness - wall.floor
        hollow = (b.diameter - 2 * piston.wall) ** 2 * (depth - piston.crown)
        cups += 0.25 * np.pi * (b.diameter**2 * depth - hollow)
    expected = 1e-9 * design.caliper.piston.material.density_kg_m3 * cups
    assert found.pistons == pytest.approx(expected, rel=1e-12)
    assert (found.bolts > 0) == bool(design.caliper.bolts)


def test_the_screw_of_a_demo_bolt():
    """From the washer on the inboard outer face to the outboard outer face: 2 + 32 + 2 x 28 + 32 mm."""
    design = DEMO[0]
    found = bolt_metal(design.caliper.bolts[0], build(design))
    assert found.length == pytest.approx(122.0)
    assert (found.washer_diameter, found.washer_thickness) == (20.0, 2.0)
    assert (found.head_diameter, found.head_height, found.socket) == (16.0, 10.0, 8.0)
    assert found.threaded == 32.0
    assert found.density_kg_m3 == catalogue.grade("12.9").density_kg_m3


def test_no_washer_no_metal_of_it():
    design = DEMO[0]
    bare = replace(design.caliper.bolts[0], washer_diameter=None)
    found = bolt_metal(bare, build(design))
    assert (found.washer_diameter, found.washer_thickness, found.length) == (0.0, 0.0, 120.0)


def test_fittings_are_in_the_total_and_move_nothing():
    design = DEMO[0]
    fitted = replace(design, caliper=replace(design.caliper, fittings=0.046))
    bare, found = (weigh(d, build(d)) for d in (design, fitted))
    assert found.total == pytest.approx(bare.total + 0.046, rel=1e-14)
    assert found.fittings == 0.046 and bare.fittings == 0.0
    assert replace(found, total=bare.total, fittings=0.0) == bare
