"""Own sections: a strip with a hole against the handbooks' factor, scaling to load cases, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from section_sample import raw

from stiffcalc.caliper.section_own import own_section
from stiffcalc.errors import InputError
from stiffcalc.plane.section.curves import Outline
from stiffcalc.plane.section.outline import Edge, polygon
from stiffcalc.study import parse
from stiffcalc.study.schema import EdgeLoad, EdgeSupport, OwnSection

DESIGN = parse(raw()).designs[0]
METAL = DESIGN.caliper.material
QUARTER = Outline(
    (
        Edge((15.0, 0.0), (150.0, 0.0)),
        Edge((150.0, 0.0), (150.0, 50.0)),
        Edge((150.0, 50.0), (0.0, 50.0)),
        Edge((0.0, 50.0), (0.0, 15.0)),
        Edge((0.0, 15.0), (15.0, 0.0), "", (0.0, 0.0), clockwise=True),
    ),
    (),
)
SYMMETRY = (EdgeSupport(((80.0, 0.0),), x=False, y=True), EdgeSupport(((0.0, 30.0),), x=True, y=False))
PULL = EdgeLoad(((150.0, 20.0),), None, (5000.0, 0.0), 0.0)  # 10 MPa on 50 x 10 mm
STRIP = OwnSection("strip", "strip.csv", 10.0, METAL, SYMMETRY, (PULL,), None)


def test_strip_with_a_hole():
    """d/W = 0.3, net factor 2.34 to 2.36 within 1.5 %: Peterson after Howland, Heywood, Roark (fits from memory)."""
    found = own_section(STRIP, QUARTER, DESIGN, accuracy=0.02)
    (case,) = found.load_cases
    assert case.worst.stress / (10.0 / 0.7) == pytest.approx(2.35, rel=0.015)
    assert (case.worst.z, case.worst.y) == pytest.approx((0.0, 15.0), abs=0.5)
    assert found.trust.met
    assert found.notes == ()
    assert case.worst.yield_margin == pytest.approx(METAL.yield_MPa / case.worst.stress - 1)


def test_loads_at_a_pressure_are_scaled_to_every_load_case():
    as_given = own_section(STRIP, QUARTER, DESIGN, accuracy=0.1)
    double = replace(STRIP, at_pressure=5.0)  # the load cases have 10 MPa
    found = own_section(double, QUARTER, DESIGN, accuracy=0.1)
    assert [c.name for c in found.load_cases] == ["stop", "hot stop"]
    for case in found.load_cases:
        assert case.worst.stress == pytest.approx(2 * as_given.load_cases[0].worst.stress, rel=0.01)
    assert found.load_cases[1].worst.yield_MPa < found.load_cases[0].worst.yield_MPa
    assert found.idle.volume_share <= as_given.idle.volume_share


def test_a_load_across_a_roller_is_felt():
    """The edge that does not move along x may be pushed along y."""
    across = replace(PULL, at=((0.0, 30.0),), force=(0.0, 100.0))
    found = own_section(replace(STRIP, loads=(PULL, across)), QUARTER, DESIGN, accuracy=0.1)
    assert found.load_cases[0].worst.stress > 0.0


def test_ends_of_a_clamped_edge_are_left_out_and_said_so():
    block = Outline(polygon([(0, 0), (60, 0), (60, 20), (0, 20)]), ())
    clamped = replace(
        STRIP,
        supports=(EdgeSupport(((0.0, 10.0),), x=True, y=True),),
        loads=(EdgeLoad(((60.0, 10.0),), None, (0.0, -300.0), 0.0),),
    )
    found = own_section(clamped, block, DESIGN, accuracy=0.05)
    assert found.trust.exists
    assert "within 3 mm of the ends of edges that are held both ways" in found.notes[0]
    worst = found.load_cases[0].worst
    assert min(np.hypot(worst.z, worst.y - y) for y in (0.0, 20.0)) > 3.0
    # Beam theory 3 mm from the clamp, M c / I; the clamp's own disturbance is some percent there.
    assert worst.stress == pytest.approx(300.0 * 57.0 * 10.0 / (10.0 * 20.0**3 / 12), rel=0.08)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"loads": (replace(PULL, at=((150.0, 50.0),)),)}, "load\\[1\\].at_mm: found .*, where 2 edges meet"),
        ({"loads": (replace(PULL, at=((90.0, 30.0),)),)}, "20 mm from the nearest edge"),
        ({"loads": (replace(PULL, at=((150.0, 20.0), (80.0, 50.0))),)}, "a force on 2 edges"),
        ({"supports": SYMMETRY[:1]}, "nothing that holds it along x"),
        (
            {
                "loads": (replace(PULL, at=((0.0, 30.0),)),)
            },  # the pull acts where the edge does not move along x
            "load\\[1\\].at_mm: found an edge that support\\[2\\] holds against it",
        ),
        (
            {
                "supports": (EdgeSupport(((150.0, 20.0),), x=True, y=True),),
                "loads": (replace(PULL, force=(0.0, 0.0), pressure=3.0),),
            },
            "support\\[1\\] holds against it",
        ),
    ],
)
def test_what_is_refused(changes, said):
    with pytest.raises(InputError, match=said):
        own_section(replace(STRIP, **changes), QUARTER, DESIGN, accuracy=0.1)


@pytest.mark.parametrize(
    ("outline", "said"),
    [
        (Outline(polygon([(0, 0), (40, 20), (40, 0), (0, 20)]), ()), "meets itself"),
        (
            Outline(polygon([(0, 0), (40, 0), (40, 20), (0, 20)]), (polygon([(50, 0), (60, 0), (60, 9)]),)),
            "a hole not inside",
        ),
    ],
)
def test_outlines_that_are_no_body(outline, said):
    with pytest.raises(InputError, match=said):
        own_section(STRIP, outline, DESIGN, accuracy=0.1)
