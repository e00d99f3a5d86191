"""Sections solved: statics, energy, reciprocity, scaling, thickness, beds, bars, means; all derived checks."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.sparse.linalg import splu
from section_cases import ALLOY, HELD, block, bracket, bracket_problem, coarse

from stiffcalc.errors import ConvergenceError, InputError
from stiffcalc.plane.section import audit as audit_module
from stiffcalc.plane.section.assembly import assemble_blocks, element_blocks
from stiffcalc.plane.section.grid import Grid, all_sides, mesh_section
from stiffcalc.plane.section.motion import edge_motion
from stiffcalc.plane.section.outline import Material, Part, Region, polygon
from stiffcalc.plane.section.problem import (
    Bar,
    Bed,
    BodyForce,
    Case,
    Contact,
    Mean,
    Moved,
    PointForce,
    Pressure,
    Problem,
    Resultant,
    RigidLine,
    Support,
    Traction,
    single,
)
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.solve import prepare, solve, solve_cases
from stiffcalc.plane.section.stress import element_stress, recover, von_mises

PROBLEM = bracket_problem()
GRID = coarse(PROBLEM)
SOLVED = solve(PROBLEM, GRID)
ROLLERS = (Support("left", x=True), Support("lower", y=True))


def test_reactions_balance_the_loads():
    """P14: forces and moments; pressure times thickness times the edge's length on each side of the pocket."""
    inner, thickness = 30.0 - 4.0, 20.0
    total = SOLVED.reactions[0].sum(axis=0)
    assert total == pytest.approx([-10.0 * inner * thickness, 0.0], rel=1e-9, abs=1e-6)
    assert SOLVED.audit.residual.max() < 1e-9
    assert SOLVED.audit.equilibrium.max() < 1e-9


def test_half_of_load_times_displacement_is_the_stored_energy():
    """P06, stored energy from the elements' own strains."""
    system = prepare(PROBLEM, GRID)
    work = 0.5 * system.force[:, 0] @ SOLVED.U[0].ravel()
    assert audit_module.strain_energy(GRID, SOLVED.U.reshape(1, -1).T)[0] == pytest.approx(work, rel=1e-9)
    assert SOLVED.audit.energy.max() < 1e-9


def test_reciprocity_and_symmetry():
    """P07: displacement at a under a force at b, and the other way round; symmetric and positive definite."""
    a, b = (40.0, -30.0), (60.0, -30.0)
    loads = {"a": (PointForce(a, x=1.0),), "b": (PointForce(b, y=1.0),)}
    cases = (Case("a", {"a": 1.0}), Case("b", {"b": 1.0}))
    both = solve(replace(PROBLEM, loads=loads, cases=cases), GRID)
    at_a, at_b = GRID.node_at(a), GRID.node_at(b)
    assert both.U[0, at_b, 1] == pytest.approx(both.U[1, at_a, 0], rel=1e-10)


def test_stiffness_is_symmetric_and_positive_but_for_rigid_motions():
    """P07."""
    grid = mesh_section([block()], sizing=Sizing(4.0))
    K = assemble_blocks(element_blocks(grid), grid.triangles, nodes=len(grid.nodes)).toarray()
    assert np.abs(K - K.T).max() < 1e-12 * np.abs(K).max()
    value = np.linalg.eigvalsh(K)
    assert np.sum(value < 1e-9 * value[-1]) == 3


def test_modulus_scales_displacement_and_leaves_stress():
    """P11."""
    soft = solve(bracket_problem(material=Material(ALLOY.E / 3, ALLOY.nu)), _with(GRID, E=ALLOY.E / 3))
    assert pytest.approx(3 * SOLVED.U, rel=1e-9, abs=1e-9 * np.abs(SOLVED.U).max()) == soft.U
    own, other = element_stress(GRID, SOLVED.U), element_stress(soft.grid, soft.U)
    assert other == pytest.approx(own, abs=1e-9 * np.abs(own).max())


def _with(grid, *, E=ALLOY.E, nu=ALLOY.nu):
    return replace(grid, zones=tuple(replace(z, material=Material(E, nu)) for z in grid.zones))


def test_stress_does_not_depend_on_poisson():
    """P11: force loads, statically determinate, no net force on the hole; to the mesh's own error."""
    pins = (Support((0.0, 20.0), x=True, y=True), Support((0.0, 0.0), x=True))
    loads = (Traction("left", gradient=((0.0, 1.0), (0.0, 0.0))), Resultant("foot", x=100.0, y=50.0))
    stress = []
    for nu in (0.0, 0.45):
        problem = single((bracket(material=Material(ALLOY.E, nu)),), *loads, supports=pins)
        grid = mesh_section(problem.parts, sizing=Sizing(3.0))
        at = recover(grid, solve(problem, grid).U)
        stress.append(at.values[0][at.at_edge("fillet 1")])
    assert stress[1] == pytest.approx(stress[0], abs=0.01 * np.abs(stress[0]).max())


def test_loads_scale_and_add():
    """P02 without contact: linear in the load, superposition of cases."""
    loads = {"p": (Pressure("inner", 10.0),), "t": (Resultant("foot", x=500.0, moment=-900.0),)}
    factors = ({"p": 1.0}, {"t": 1.0}, {"p": 2.0, "t": -3.0})
    three = solve(
        replace(PROBLEM, loads=loads, cases=tuple(Case(str(i), f) for i, f in enumerate(factors))), GRID
    )
    assert three.U[2] == pytest.approx(2 * three.U[0] - 3 * three.U[1], abs=1e-11 * np.abs(three.U).max())
    assert three.U[0] == pytest.approx(SOLVED.U[0], abs=1e-11 * np.abs(SOLVED.U).max())


def test_a_rigid_motion_strains_nothing():
    """P12, imposed through supports on one edge."""
    spin = 1e-3
    moved = Moved("left", x=0.2, y=-0.1, gradient=((0.0, -spin), (spin, 0.0)))
    found = solve(replace(PROBLEM, loads={"load": (moved,)}), GRID)
    expected = np.array([0.2, -0.1]) + GRID.nodes @ np.array([[0.0, -spin], [spin, 0.0]]).T
    assert found.U[0] == pytest.approx(expected, rel=1e-9, abs=1e-10)
    assert np.abs(element_stress(GRID, found.U)).max() < 1e-9 * ALLOY.E * spin


def test_a_turned_section_gives_turned_results():
    """P12: the same mesh turned by 31 degrees."""
    c, s = np.cos(np.radians(31)), np.sin(np.radians(31))
    turn = np.array([[c, -s], [s, c]])
    turned = solve(replace(PROBLEM, parts=()), replace(GRID, nodes=GRID.nodes @ turn.T))
    assert turned.U[0] == pytest.approx(SOLVED.U[0] @ turn.T, abs=1e-9 * np.abs(SOLVED.U).max())
    own, other = (von_mises(element_stress(s_.grid, s_.U)) for s_ in (SOLVED, turned))
    assert other == pytest.approx(own, abs=1e-9 * own.max())


def parallelogram(count):
    """Nested straight-sided meshes of a leaning plate."""
    a, b = np.meshgrid(np.linspace(0, 1, 2 * count + 1), np.linspace(0, 1, 2 * count + 1))
    nodes = np.stack([10 * a.ravel() + 3 * b.ravel(), 6 * b.ravel()], axis=1)
    i, j = (k.ravel() for k in np.meshgrid(2 * np.arange(count), 2 * np.arange(count)))

    def at(di, dj):
        return (j + dj) * (2 * count + 1) + i + di

    low = np.stack([at(0, 0), at(2, 0), at(2, 2), at(1, 0), at(2, 1), at(1, 1)], axis=1)
    high = np.stack([at(0, 0), at(2, 2), at(0, 2), at(1, 1), at(1, 2), at(0, 1)], axis=1)
    triangles = np.concatenate([low, high])
    sides = all_sides(triangles)
    edges = {
        n: sides.pick(np.all(np.isclose(a.ravel()[sides.nodes], v), axis=1))
        for n, v in (("left", 0), ("end", 1))
    }
    return Grid(nodes, triangles, np.zeros(len(triangles), dtype=int), GRID.zones[:1], edges)


def test_nested_refinement_only_raises_the_compliance():
    """P13, and the observed rise dies out."""
    problem = single((), Resultant("end", y=100.0), supports=HELD)
    work = []
    for count in (1, 2, 4, 8, 16):
        grid = parallelogram(count)
        work.append(float(np.sum(prepare(problem, grid).force[:, 0] * solve(problem, grid).U[0].ravel())))
    assert np.all(np.diff(work) > 0), work
    assert work[-1] - work[-2] < 0.01 * work[-1]


def test_pressure_acts_on_the_thickness_behind_it():
    thick = Region("thick", polygon([(0, 7), (10, 7), (10, 10), (0, 10)]), 12.0)
    part = block(thickness=4.0, regions=(thick,))
    found = solve(
        single((part,), Pressure("right", 3.0), supports=HELD), mesh_section([part], sizing=Sizing(2.0))
    )
    assert found.reactions[0].sum(axis=0) == pytest.approx([3.0 * (7 * 4 + 3 * 12), 0.0], rel=1e-9, abs=1e-9)


def test_a_uniform_pull_of_a_block_is_exact():
    part, grid = block(), mesh_section([block()], sizing=Sizing(3.0))
    found = solve(single((part,), Traction("right", x=50.0), supports=ROLLERS), grid)
    x, y = grid.nodes.T
    expected = np.stack([50 * x / ALLOY.E, -ALLOY.nu * 50 * y / ALLOY.E], axis=1)
    assert found.U[0] == pytest.approx(expected, abs=1e-12)


EDGES = [("foot", 50.0, -30.0), ("inner", 40.0, -17.0), ("hole", 50.0, 5.0)]  # and their centroids


@pytest.mark.parametrize(("edge", "x", "y"), EDGES)
def test_a_resultant_has_its_force_and_moment(edge, x, y):
    part, grid = bracket(), GRID
    loads = (Resultant(edge, x=300.0, y=-200.0, moment=5000.0),)
    found = solve(single((part,), *loads, supports=HELD), grid)
    force, at = found.reactions[0], grid.nodes
    assert force.sum(axis=0) == pytest.approx([-300.0, 200.0], rel=1e-9)
    moment = float(at[:, 0] @ force[:, 1] - at[:, 1] @ force[:, 0])
    assert moment == pytest.approx(-(5000.0 + x * -200.0 - y * 300.0), rel=1e-9)


def test_weight_hangs_on_the_support():
    part, grid = bracket(), GRID
    found = solve(single((part,), BodyForce(y=-1e-4), supports=HELD), grid)
    only = solve(single((part,), BodyForce(y=-1e-4, zone="pocket"), supports=HELD), grid)
    pocket = 8 * 14 * 10.0
    metal = (20 * 60 + 30 * 20 + (1 - np.pi / 4) * (16 - 9) - np.pi * 16 - 8 * 14) * 20.0 + pocket
    assert found.reactions[0, :, 1].sum() == pytest.approx(1e-4 * metal, rel=1e-5)
    assert only.reactions[0, :, 1].sum() == pytest.approx(1e-4 * pocket, rel=1e-9)


def test_a_block_on_a_bed_sinks_evenly():
    part, grid = block(), mesh_section([block()], sizing=Sizing(4.0))
    problem = single(
        (part,), Pressure("upper", 8.0), supports=(Support((0.0, 0.0), x=True),), beds=(Bed("lower", 200.0),)
    )
    found = solve(problem, grid)
    low = np.unique(grid.edge("lower").nodes)
    assert found.U[0, low, 1] == pytest.approx(-8.0 / 200.0, rel=1e-9)


def test_a_bed_along_the_edge_holds_sideways():
    part, grid = block(), mesh_section([block()], sizing=Sizing(4.0))
    bed = (Bed("lower", 2e6, tangential=100.0),)
    found = solve(single((part,), Resultant("lower", x=400.0), beds=bed), grid)
    low = np.unique(grid.edge("lower").nodes)
    assert found.U[0, low, 0].mean() == pytest.approx(400.0 / (100.0 * 10 * 4), rel=1e-3)


def pulled(bars=(), means=()):
    part = block()
    problem = Problem(
        (part,),
        {"pull": (Resultant("right", x=4000.0),)},
        (Case("pull", {"pull": 1.0}),),
        HELD,
        bars=bars,
        means=means,
    )
    return solve(problem, mesh_section([part], sizing=Sizing(3.0)))


def mean_of(found, name, axis):
    grid = found.grid
    from stiffcalc.plane.section.rows import mean_row

    return float(mean_row(grid, name) @ found.U[0][:, axis])


def test_a_bar_shares_the_load_by_stiffness():
    """Block and bar as springs side by side: the block's from the case without a bar."""
    alone = mean_of(pulled(), "right", 0)
    k = 2e5
    both = pulled(bars=(Bar("bolt", "right", None, (-1.0, 0.0), stiffness=k),))
    own = 4000.0 / alone
    assert both.bars[0, 0] == pytest.approx(4000.0 * k / (k + own), rel=1e-9)
    assert mean_of(both, "right", 0) == pytest.approx(both.bars[0, 0] / k, rel=1e-9)


def test_a_preloaded_bar_starts_from_its_preload():
    """Tightened: preload alone. Loaded: preload plus the share of the plain bar (P17), whatever the preload."""
    plain = pulled(bars=(Bar("bolt", "right", None, (-1.0, 0.0), stiffness=2e5),))
    tight = pulled(bars=(Bar("bolt", "right", None, (-1.0, 0.0), stiffness=2e5, preload=9000.0),))
    assert tight.bars[0, 0] - 9000.0 == pytest.approx(plain.bars[0, 0], rel=1e-9)
    further = tight.U - tight.tightened
    assert further == pytest.approx(plain.U, abs=1e-9 * np.abs(plain.U).max())
    assert float(np.sum(tight.tightened[0] * 0 + 1)) > 0 > tight.tightened[0, :, 0].min()


def test_a_bar_between_two_parts_carries_what_passes():
    parts = block(), block(name="far", origin=(15.0, 0.0))
    problem = Problem(
        parts,
        {"pull": (Resultant("far right", x=1000.0),)},
        (Case("pull", {"pull": 1.0}),),
        (*HELD, Support("far lower", y=True)),
        bars=(Bar("link", "right", "far left", (1.0, 0.0), stiffness=1e4),),
    )
    found = solve(problem, mesh_section(parts, sizing=Sizing(3.0)))
    assert found.bars[0, 0] == pytest.approx(1000.0, rel=1e-9)
    gap = mean_of(found, "far left", 0) - mean_of(found, "right", 0)
    assert gap == pytest.approx(0.1, rel=1e-9)


@pytest.mark.parametrize(("edge", "x", "y"), EDGES)
def test_an_edge_moves_as_told_and_is_conjugate_to_its_resultant(edge, x, y):
    """A rigid motion is read exactly; work of a resultant = force times mean movement + moment times turn."""
    spin = 1e-3
    rigid = np.array([0.2, -0.1]) + GRID.nodes @ np.array([[0.0, -spin], [spin, 0.0]]).T
    motion = edge_motion(GRID, rigid[None], edge)
    assert (motion.x[0], motion.y[0], motion.turn[0]) == pytest.approx(
        (0.2 - y * spin, -0.1 + x * spin, spin)
    )
    loaded = replace(PROBLEM, loads={"load": (Resultant(edge, x=300.0, y=-200.0, moment=5000.0),)})
    read = edge_motion(GRID, SOLVED.U, edge)
    work = float(prepare(loaded, GRID).force[:, 0] @ SOLVED.U[0].ravel())
    assert work == pytest.approx(300 * read.x[0] - 200 * read.y[0] + 5000 * read.turn[0], rel=1e-9)


def test_a_mean_is_kept():
    found = pulled(means=(Mean("end", "right", (1.0, 0.0), value=0.005),))
    assert mean_of(found, "right", 0) == pytest.approx(0.005, rel=1e-9)
    assert np.ptp(found.U[0][np.unique(found.grid.edge("right").nodes), 0]) > 1e-5  # not each node


@pytest.mark.parametrize(
    ("supports", "way"),
    [
        ((), "in a turn|along"),
        ((Support("left", x=True),), "along y"),
        ((Support((0.0, 0.0), x=True, y=True),), "in a turn"),
    ],
)
def test_loose_parts_are_named(supports, way):
    part = block()
    with pytest.raises(InputError, match=rf"part 'block': found nothing that holds it .*({way})"):
        solve(
            single((part,), Pressure("right", 1.0), supports=supports),
            mesh_section([part], sizing=Sizing(5.0)),
        )


def test_the_loose_one_of_two_parts_is_named():
    parts = block(), block(name="far", origin=(15.0, 0.0))
    with pytest.raises(InputError, match="part 'far'"):
        solve(single(parts, Pressure("right", 1.0), supports=HELD), mesh_section(parts, sizing=Sizing(5.0)))


def test_places_and_loads_that_do_not_exist_are_refused():
    part = block()
    grid = mesh_section([part], sizing=Sizing(5.0))
    for load, found in (
        (Pressure("front", 1.0), "no such edge"),
        (BodyForce(zone="rib"), "no such zone"),
        (PointForce((3.3, 0.1)), "no node there"),
        (Moved("right", x=1.0), "where nothing holds"),
    ):
        with pytest.raises(InputError, match=found):
            solve(single((part,), load, supports=HELD), grid)
    with pytest.raises(InputError, match="the load 'q'"):
        Problem((part,), {}, (Case("one", {"q": 1.0}),))
    for bad in (np.nan, np.inf):
        with pytest.raises(InputError, match="load 'load': found a number that is not finite"):
            solve(single((part,), Pressure("right", bad), supports=HELD), grid)
    with pytest.raises(InputError, match="loads: found none"):
        Problem((part,), {}, (Case("one", {}),))
    with pytest.raises(InputError, match="normal"):
        contact = Contact("floor", "lower", RigidLine((0, 0), (0, 0)))
        Problem((part,), {"p": ()}, (Case("one", {}),), contacts=(contact,))
    with pytest.raises(InputError, match="no part"):
        mesh_section([], sizing=Sizing(1.0))
    with pytest.raises(InputError, match="no such case"):
        SOLVED.case("two")
    with pytest.raises(InputError, match="stiffness of bar 'b'"):
        Problem((part,), {}, (Case("one", {}),), bars=(Bar("b", "left", None, (1, 0), stiffness=0.0),))


def test_an_inner_edge_carries_no_pressure():
    region = Region("thin", polygon([(2, 2), (8, 2), (8, 8), (2, 8)], names=["seam"] * 4), 2.0)
    part = block(regions=(region,))
    with pytest.raises(InputError, match="metal on both sides"):
        solve(single((part,), Pressure("seam", 1.0), supports=HELD), mesh_section([part], sizing=Sizing(3.0)))


def test_a_wrong_answer_is_not_handed_out(monkeypatch):
    """The audit refuses stiffness that does not belong to the stresses."""
    monkeypatch.setattr(audit_module, "strain_energy", lambda grid, U: np.full(U.shape[1], 1e-3))
    with pytest.raises(ConvergenceError, match="energy of the section"):
        solve(PROBLEM, GRID)


def test_cases_can_be_asked_of_a_factorised_section():
    system = prepare(PROBLEM, GRID)
    found = solve_cases(system, (Case("half", {"load": 0.5}), Case("double", {"load": 2.0})))
    assert found.U[1] == pytest.approx(4 * found.U[0], rel=1e-12)
    assert [case.name for case in found.problem.cases] == ["half", "double"]


def test_a_part_of_its_own_solves_as_one_of_two():
    far = Part("far", polygon([(100, 0), (110, 0), (110, 10)], names=["far left", "", ""]), 1.0, ALLOY)
    parts = (bracket(), far)
    both = single(parts, Pressure("inner", 10.0), supports=(*HELD, Support("far left", x=True, y=True)))
    found = solve(both, mesh_section(parts, sizing=Sizing(6.0)))
    assert found.U[0, : len(GRID.nodes)] == pytest.approx(SOLVED.U[0], abs=1e-9 * np.abs(SOLVED.U).max())


def test_the_order_of_elimination_fills_in_little():
    """Less than the default column ordering of the same direct solver."""
    grid = mesh_section([bracket()], sizing=Sizing(1.2))
    matrices = prepare(PROBLEM, grid).matrices
    free = np.setdiff1d(np.arange(grid.unknowns), matrices.position[matrices.pinned])
    other = splu(matrices.K[free][:, free].tocsc())
    assert matrices.factor.nnz < other.nnz
