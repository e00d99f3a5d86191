"""Stress of sections: recovery and its order, zones apart, invariants, paths, error estimate, peaks, corners."""

import math
from dataclasses import replace

import numpy as np
import pytest
from section_cases import ALLOY, HELD, block, elbow, lame_stress, ring, strip

from stiffcalc.errors import InputError
from stiffcalc.plane.elements import sample
from stiffcalc.plane.section.error import estimate_error
from stiffcalc.plane.section.grid import mesh_section
from stiffcalc.plane.section.outline import Part, Region, polygon
from stiffcalc.plane.section.peak import Where, largest, observed_order, trace_peak
from stiffcalc.plane.section.problem import Moved, Resultant, Support, Traction, single
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.solve import prepare, solve
from stiffcalc.plane.section.stress import (
    AVERAGING,
    along_edge,
    element_stress,
    path,
    principal,
    recover,
    sample_at,
    turned,
    von_mises,
)

RING = ring()


def recovered(problem, size, **more):
    grid = mesh_section(problem.parts, sizing=Sizing(size, **more))
    solution = solve(problem, grid)
    return solution, recover(grid, solution.U)


def norm(grid, difference):
    at = sample(grid.nodes, grid.triangles, points=6)
    return math.sqrt(np.sum(at.weight[..., None] * difference**2))


def test_recovered_stress_is_an_order_better_than_the_elements():
    """Third order against second (Zienkiewicz & Zhu 1992, from memory), exact field: Lame."""
    own, better = [], []
    for size in (2.5, 1.25, 0.625):
        solution, stress = recovered(RING, size)
        at = sample(stress.grid.nodes, stress.grid.triangles, points=6)
        exact = lame_stress(at.xy)
        own.append(norm(stress.grid, element_stress(stress.grid, solution.U, points=6)[0] - exact))
        nodal = np.einsum("gn,ens->egs", at.N, stress.values[0][stress.triangles])
        better.append(norm(stress.grid, nodal - exact))
    rates = [np.log2(e[1] / e[2]) for e in (own, better)]
    assert rates[0] > 1.9, f"measured rate {rates[0]:.2f}"
    assert rates[1] > 2.7, f"measured rate {rates[1]:.2f}"


def test_the_estimate_is_the_error():
    """Effectivity in the energy norm within 5 %: estimated error over true error of the elements' stress."""
    solution, stress = recovered(RING, 1.5)
    grid = stress.grid
    at = sample(grid.nodes, grid.triangles, points=6)
    off = element_stress(grid, solution.U, points=6)[0] - lame_stress(at.xy)
    E, nu = ALLOY.E, ALLOY.nu
    give = np.array([[1, -nu, 0], [-nu, 1, 0], [0, 0, 2 * (1 + nu)]]) / E
    true = math.sqrt(np.einsum("eg,egs,st,egt->", at.weight * 8.0, off, give, off))
    found = estimate_error(stress, solution.U)
    assert math.sqrt(found.energy[0].sum()) == pytest.approx(true, rel=0.05)
    work = float(np.sum(prepare(RING, grid).force[:, 0] * solution.U[0].ravel()))  # twice the stored energy
    assert found.relative[0] == pytest.approx(true / math.sqrt(work), rel=0.05)


def test_a_quadratic_stress_field_is_recovered_at_every_node():
    """The fit is exact for what it is made of: here constant stress, edges and corners included."""
    part = block()
    strain = Moved("left", gradient=((1e-3, 2e-4), (2e-4, -5e-4)))
    edges = ("left", "right", "upper", "lower")
    supports = tuple(Support(e, x=True, y=True) for e in edges)
    problem = single((part,), *(replace(strain, at=e) for e in edges), supports=supports)
    _, stress = recovered(problem, 3.0)
    E, nu = ALLOY.E, ALLOY.nu
    expected = E / (1 - nu**2) * np.array([1e-3 - nu * 5e-4, nu * 1e-3 - 5e-4, (1 - nu) / 2 * 4e-4])
    assert stress.values[0] == pytest.approx(np.broadcast_to(expected, stress.values[0].shape), rel=1e-9)


def test_stress_jumps_where_thickness_does():
    """A pull of constant force through 4 and 8 mm: 20 and 10 MPa far from the step, two values on the seam."""
    thick = Region("thick", polygon([(20, 0), (40, 0), (40, 10), (20, 10)], names=["", "", "", "seam"]), 8.0)
    outline = polygon([(0, 0), (40, 0), (40, 10), (0, 10)], names=["", "right", "", "left"])
    part = Part("bar", outline, 4.0, ALLOY, regions=(thick,))
    _, stress = recovered(single((part,), Resultant("right", x=800.0), supports=HELD), 2.0)
    grid = stress.grid
    thin_end, thick_end = sample_at(stress, np.array([[10.0, 5.0], [34.0, 5.0]]))[0]
    assert (thin_end[0], thick_end[0]) == pytest.approx((20.0, 10.0), rel=0.01)
    on_seam = np.isin(stress.node, np.unique(grid.edge("seam").nodes))
    assert on_seam.sum() == 2 * len(np.unique(grid.edge("seam").nodes))
    middle = on_seam & (np.abs(grid.nodes[stress.node][:, 1] - 5) < 1.6)
    assert np.ptp(stress.values[0, middle, 0]) > 3.0


def test_invariants():
    stress = np.array([[30.0, -10.0, 15.0], [5.0, 5.0, 0.0], [0.0, 0.0, 7.0]])
    first, second = principal(stress).T
    assert first + second == pytest.approx(stress[:, 0] + stress[:, 1])
    assert first * second == pytest.approx(stress[:, 0] * stress[:, 1] - stress[:, 2] ** 2)
    assert von_mises(stress) == pytest.approx(np.sqrt(first**2 - first * second + second**2))
    assert von_mises(stress[2]) == pytest.approx(7 * math.sqrt(3))
    angle = 0.7
    along = np.array([math.cos(angle), math.sin(angle)])
    assert von_mises(turned(stress, along)) == pytest.approx(von_mises(stress))
    assert turned(np.array([1.0, 0.0, 0.0]), along)[0] == pytest.approx(math.cos(angle) ** 2)


def test_a_path_follows_lame():
    _, stress = recovered(RING, 1.25)
    (x, y) = math.cos(0.6), math.sin(0.6)
    line = path(stress, (20.001 * x, 20.001 * y), (29.999 * x, 29.999 * y), count=21)
    assert line.along[-1] == pytest.approx(9.998)
    assert line.stress[0] == pytest.approx(lame_stress(line.xy), abs=0.05)
    with pytest.raises(InputError, match="off the section"):
        path(stress, (0.0, 0.0), (30.0, 0.0))


def test_stress_along_an_edge_is_in_its_order():
    _, stress = recovered(RING, 2.5)
    bore = along_edge(stress, "bore")  # metal on the left: from the upright axis down
    assert bore.xy[0] == pytest.approx([0.0, 20.0])
    assert bore.along[-1] == pytest.approx(10 * math.pi, rel=1e-5)
    assert np.all(np.diff(np.arctan2(bore.xy[:, 1], bore.xy[:, 0])) < 0)
    assert bore.stress[0] == pytest.approx(lame_stress(bore.xy), abs=0.3)


def test_edges_see_their_own_side():
    _, stress = recovered(RING, 2.5)
    places = stress.at_edge("bore")
    assert np.hypot(*stress.grid.nodes[stress.node[places]].T) == pytest.approx(20.0)
    assert len(places) == len(np.unique(stress.grid.edge("bore").nodes))


@pytest.fixture(scope="module")
def hole():
    return trace_peak(strip(0.3), sizing=Sizing(12.0))


def test_a_peak_says_how_far_it_can_be_trusted(hole):
    peak = hole.peak
    assert peak.exists
    assert peak.met
    assert peak.estimate <= 0.02
    assert (peak.x, peak.y) == pytest.approx((0.0, 15.0), abs=0.2)
    assert len(peak.study) == 3
    assert peak.averaging == AVERAGING
    for words in ("MPa at", "estimated error", "within the asked 2 %", "unknowns"):
        assert words in peak.sentence()
    finest = max(m.unknowns for m in (*peak.passes, *peak.study))
    assert peak.study[-1].unknowns == finest == hole.stress.grid.unknowns


def test_a_tighter_wish_refines_further(hole):
    loose = trace_peak(strip(0.3), sizing=Sizing(12.0), accuracy=0.1).peak
    tight = trace_peak(strip(0.3), sizing=Sizing(12.0), accuracy=0.008).peak
    assert loose.passes[-1].unknowns < hole.peak.passes[-1].unknowns < tight.passes[-1].unknowns
    assert tight.met
    assert tight.passes[-1].estimate <= 0.008 < hole.peak.passes[-1].estimate
    assert tight.value == pytest.approx(hole.peak.value, rel=0.01)


def test_a_fillet_converges_with_its_order():
    peak = trace_peak(elbow(5.0), sizing=Sizing(8.0), where=Where(edges=("fillet 3",))).peak
    assert peak.met
    assert peak.order is not None, [m.value for m in peak.study]
    assert 1.5 < peak.order < 5, f"measured order {peak.order:.2f}"
    assert peak.extrapolated == pytest.approx(peak.value, rel=0.01)


def test_a_sharp_corner_has_no_peak():
    """Grows as side^-0.4555 (Williams 1952); named, with the stress at the stated distance instead."""
    corner = Where(skip=((0.0, 60.0, 15.0), (20.0, 60.0, 15.0)))
    peak = trace_peak(elbow(0.0), sizing=Sizing(8.0), where=corner, distance=2.0).peak
    assert not peak.exists
    assert not peak.met
    assert peak.corner is not None
    assert (peak.corner.x, peak.corner.y) == (20.0, 20.0)
    assert peak.growth == pytest.approx(peak.corner.exponent, abs=0.1)
    assert peak.order is None
    assert peak.extrapolated is None
    assert peak.at_distance < peak.value
    assert "no peak stress exists here: give a fillet" in peak.sentence()
    assert "at 2 mm" in peak.sentence()


def test_the_stress_at_a_distance_does_not_depend_on_the_mesh():
    where = Where(skip=((0.0, 60.0, 15.0), (20.0, 60.0, 15.0)))
    values = [
        trace_peak(elbow(0.0), sizing=Sizing(s), where=where, distance=2.0).peak.at_distance
        for s in (8.0, 3.0)
    ]
    assert values[1] == pytest.approx(values[0], rel=0.02)


def test_the_end_of_a_clamped_edge_has_no_peak_either():
    part = block()
    problem = single((part,), Traction("right", x=50.0), supports=HELD)
    peak = trace_peak(problem, sizing=Sizing(3.0)).peak
    assert not peak.exists
    assert peak.corner is None
    assert "spread the support or load that ends there" in peak.sentence()


def test_where_can_be_skipped_or_named():
    _, stress = recovered(strip(0.3), 6.0)
    everywhere = largest(stress, measure="von Mises", where=Where())
    on_hole = largest(stress, measure="von Mises", where=Where(edges=("hole",)))
    beyond = largest(stress, measure="von Mises", where=Where(skip=((0.0, 15.0, 20.0),)))
    assert on_hole[2] == everywhere[2] > beyond[2]
    with pytest.raises(InputError, match="no node left"):
        largest(stress, measure="von Mises", where=Where(skip=((0.0, 0.0, 1e4),)))


def test_compression_is_measured_as_positive():
    squeezed = single((block(),), Traction("right", x=-30.0), supports=HELD)
    peak = largest(
        recovered(squeezed, 3.0)[1], measure="smallest principal", where=Where(skip=((0, 0, 4), (0, 10, 4)))
    )
    assert peak[2] == pytest.approx(30.0, rel=0.1)


@pytest.mark.parametrize(
    ("more", "found"),
    [
        ({"measure": "shear"}, "von Mises"),
        ({"accuracy": math.nan}, "accuracy"),
        ({"distance": 0.0}, "distance"),
    ],
)
def test_bad_wishes_are_refused(more, found):
    with pytest.raises(InputError, match=found):
        trace_peak(strip(0.3), sizing=Sizing(12.0), **more)


def test_observed_order_of_known_series():
    values = [5.0 + 0.3 * h**2 for h in (1.0, 0.5, 0.25)]
    assert observed_order(values) == (pytest.approx(2.0), pytest.approx(5.0))
    assert observed_order([1.0, 1.1, 1.05]) == (None, None)  # swings
    assert observed_order([1.0, 1.1, 1.25]) == (None, None)  # runs away
