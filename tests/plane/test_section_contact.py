"""Contact of sections: equilibrium, no tension, load level, preload; and the active set on small systems."""

from dataclasses import replace

import numpy as np
import pytest
from section_cases import ALLOY, block

from stiffcalc.errors import ConvergenceError, InputError
from stiffcalc.plane.section import settle as settle_module
from stiffcalc.plane.section.grid import mesh_section
from stiffcalc.plane.section.outline import Part, polygon
from stiffcalc.plane.section.problem import (
    Bar,
    Case,
    Contact,
    Pressure,
    Problem,
    Resultant,
    RigidLine,
    Support,
    Traction,
)
from stiffcalc.plane.section.settle import Condensed, LiftedError, settle
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.solve import prepare, solve, solve_cases, touching_length

FLOOR = RigidLine((0.0, 0.0), (0.0, 1.0))


def layer_problem(levels=(1.0, 10.0)):
    """A long layer pressed on a rigid floor by a short push: it lifts off beyond, its contact recedes."""
    corners = [(0, 0), (60, 0), (60, 6), (4, 6), (0, 6)]
    layer = Part("layer", polygon(corners, names=["under", "", "", "push", "middle"]), 5.0, ALLOY)
    return Problem(
        (layer,),
        {"push": (Pressure("push", 10.0),)},
        tuple(Case(str(level), {"push": level}) for level in levels),
        (Support("middle", x=True),),
        contacts=(Contact("floor", "under", FLOOR),),
    )


LAYER = solve(layer_problem(), mesh_section(layer_problem().parts, sizing=Sizing(2.0, edges={"under": 0.75})))


def test_receding_contact_does_not_depend_on_the_load_level():
    """P05: same length, stresses in proportion."""
    floor = LAYER.contacts["floor"]
    assert floor.length[1] == pytest.approx(floor.length[0], rel=1e-8)
    assert floor.pressure[1] == pytest.approx(10 * floor.pressure[0], rel=1e-8, abs=1e-8)
    assert 4 < floor.length[0] < 20
    assert LAYER.U[1] == pytest.approx(10 * LAYER.U[0], rel=1e-8, abs=1e-12)


def test_contact_never_pulls_and_never_overlaps_and_balances_the_load():
    """P05: sum to 1e-8."""
    floor = LAYER.contacts["floor"]
    assert floor.pressure.min() >= -1e-9 * floor.pressure.max()
    assert floor.opening.min() >= -1e-9 * floor.opening.max()
    assert np.all((floor.pressure > 0) != (floor.opening > 0))
    assert floor.force == pytest.approx([10.0 * 4 * 5, 100.0 * 4 * 5], rel=1e-8)
    assert LAYER.audit.equilibrium.max() < 1e-8


def test_even_pressure_stays_even_on_a_rigid_floor():
    """To rounding, end nodes included: quadratic sides would pull at their corners under even pressure."""
    part = block()
    problem = Problem(
        (part,),
        {"push": (Pressure("upper", 20.0),)},
        (Case("push", {"push": 1.0}),),
        (Support("left", x=True),),
        contacts=(Contact("floor", "lower", FLOOR),),
    )
    floor = solve(problem, mesh_section([part], sizing=Sizing(3.0, points=((2.0, 0.0, 0.5),)))).contacts[
        "floor"
    ]
    assert floor.pressure[0] == pytest.approx(20.0, rel=1e-9)
    assert floor.length[0] == pytest.approx(10.0, rel=1e-12)


def test_even_pressure_passes_between_meshes_that_do_not_match():
    """A pressed stack of two blocks meshed differently: constant pressure to 0.3 %, what the
    integration over the other mesh's borders leaves; nodes of quadratic sides notwithstanding."""
    parts = block(name="low"), block(name="high", origin=(0.0, 10.0))
    problem = Problem(
        parts,
        {"push": (Pressure("high upper", 20.0),)},
        (Case("push", {"push": 1.0}),),
        (Support("low lower", y=True), Support("low left", x=True), Support("high left", x=True)),
        contacts=(Contact("seam", "high lower", "low upper"),),
    )
    grid = mesh_section(parts, sizing=Sizing(4.0, edges={"high lower": 1.3}))
    found = solve(problem, grid)
    assert found.contacts["seam"].pressure[0] == pytest.approx(20.0, rel=3e-3)
    assert found.contacts["seam"].force == pytest.approx([20.0 * 10 * 4], rel=1e-9)
    y = grid.nodes[:, 1]
    assert found.U[0, :, 1] == pytest.approx(-20.0 / ALLOY.E * y, abs=1e-3 * 20.0 / ALLOY.E * 20)


def joint(*, preload, pressures, contact=True):
    """Half of a bolted corner on its mirror plane; the bolt is 12 above the face's lower edge."""
    corners = [(0, 0), (36, 0), (36, -40), (66, -40), (66, 8), (66, 18), (66, 26), (0, 26)]
    names = ["", "inner", "", "", "head", "", "", "face"]
    part = Part("corner", polygon(corners, names=names, radii=[0, 4, 0, 0, 0, 0, 0, 0]), 30.0, ALLOY)
    held = (Support((0.0, 26.0), y=True),)
    return Problem(
        (part,),
        {"p": (Pressure("inner", 1.0),)},
        tuple(Case(f"{p}", {"p": p}) for p in pressures),
        held if contact else (*held, Support("face", x=True)),
        bars=(Bar("bolt", "head", None, (-1.0, 0.0), stiffness=4e5, preload=preload),) if contact else (),
        contacts=(Contact("face", "face", RigidLine((0, 0), (1, 0))),) if contact else (),
    )


def test_a_closed_joint_is_as_stiff_as_solid_metal():
    """P01: below first decompression, whatever the preload; the bolt's own stiffness taken away (a soft bar)."""
    problem = joint(preload=60000.0, pressures=(1.0, 2.0))
    soft = replace(problem, bars=(replace(problem.bars[0], stiffness=1e-3),))
    grid = mesh_section(problem.parts, sizing=Sizing(5.0))
    solid = solve(joint(preload=0.0, pressures=(1.0, 2.0), contact=False), grid)
    found = solve(soft, grid)
    assert np.all(found.contacts["face"].open_share == pytest.approx(0.0, abs=1e-12))
    further = found.U - found.tightened
    # Linear pressure cannot follow every quadratic: the face stays plane on average over each hat only.
    assert further == pytest.approx(solid.U, abs=5e-3 * np.abs(solid.U).max())
    assert further[1] == pytest.approx(2 * further[0], abs=1e-9 * np.abs(further).max())


def test_a_joint_opens_later_with_more_preload_in_proportion():
    """P04, and the state depends on pressure over preload only."""
    grid = mesh_section(joint(preload=1.0, pressures=(1.0,)).parts, sizing=Sizing(5.0))
    low = solve(joint(preload=20000.0, pressures=(2.0, 4.0, 6.0)), grid)
    high = solve(joint(preload=40000.0, pressures=(4.0, 8.0, 12.0)), grid)
    assert pytest.approx(2 * low.U, abs=1e-8 * np.abs(high.U).max()) == high.U
    share = low.contacts["face"].open_share
    assert np.all(np.diff(share) > 0)
    assert np.all(np.diff(low.bars[:, 0]) > 0)


def test_preload_can_be_scaled_case_by_case():
    grid = mesh_section(joint(preload=1.0, pressures=(1.0,)).parts, sizing=Sizing(6.0))
    system = prepare(joint(preload=20000.0, pressures=(2.0,)), grid)
    cases = (Case("low", {"p": 2.0}), Case("high", {"p": 2.0}, preload=2.0), Case("bare", {}, preload=2.0))
    found = solve_cases(system, cases)
    direct = solve(joint(preload=40000.0, pressures=(2.0,)), grid)
    assert found.U[1] == pytest.approx(direct.U[0], abs=1e-9 * np.abs(direct.U).max())
    assert found.bars[2, 0] == pytest.approx(40000.0, rel=1e-9)
    assert found.U[2] == pytest.approx(found.tightened[2], abs=1e-9 * np.abs(direct.U).max())


def test_a_gap_must_close_before_it_carries():
    part = block()
    supports = (Support("left", x=True), Support("upper", y=True))
    problem = Problem(
        (part,),
        {"pull": (Traction("lower", y=-1.0),)},
        (Case("little", {"pull": 1.0}), Case("much", {"pull": 40.0})),
        supports,
        contacts=(Contact("floor", "lower", FLOOR, gap=0.002),),
    )
    found = solve(problem, mesh_section([part], sizing=Sizing(4.0)))
    floor = found.contacts["floor"]
    assert floor.force[0] == 0
    assert floor.opening[0].min() == pytest.approx(0.002 - 10 / ALLOY.E, rel=0.2)
    assert floor.force[1] == pytest.approx((40 - 0.002 * ALLOY.E / 10) * 40, rel=1e-3)


def test_a_compressible_layer_gives_way_by_pressure_over_bed():
    """6 MPa on 300 MPa/mm: 0.02 mm more than without the layer."""
    parts = block(name="low"), block(name="high", origin=(0.0, 10.0))
    held = Support("low lower", y=True), Support("low left", x=True), Support("high left", x=True)
    grid = mesh_section(parts, sizing=Sizing(3.0))
    for bed, more in ((None, 0.0), (300.0, 0.02)):
        problem = Problem(
            parts,
            {"push": (Pressure("high upper", 6.0),)},
            (Case("push", {"push": 1.0}),),
            held,
            contacts=(Contact("seam", "high lower", "low upper", bed=bed),),
        )
        top = solve(problem, grid).U[0, np.unique(grid.edge("high upper").nodes), 1]
        assert top == pytest.approx(-6.0 / ALLOY.E * 20 - more, rel=1e-4)


def test_a_body_pulled_off_is_said_to_lift():
    part = block()
    problem = Problem(
        (part,),
        {"pull": (Pressure("upper", -1.0),)},
        (Case("pull", {"pull": 1.0}),),
        (Support("left", x=True),),
        contacts=(Contact("floor", "lower", FLOOR),),
    )
    with pytest.raises(LiftedError, match="nothing else holds"):
        solve(problem, mesh_section([part], sizing=Sizing(5.0)))


def test_edges_that_never_face_are_refused():
    parts = block(name="low"), block(name="high", origin=(30.0, 40.0))
    problem = Problem(
        parts,
        {"push": (Resultant("high upper", y=-1.0),)},
        (Case("push", {"push": 1.0}),),
        (Support("low left", x=True, y=True), Support("high left", x=True)),
        contacts=(Contact("seam", "high lower", "low upper"),),
    )
    with pytest.raises(InputError, match="never face each other"):
        solve(problem, mesh_section(parts, sizing=Sizing(5.0)))


def small(count, seed):
    """A random positive definite system of rows, some loads on it."""
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(count, count))
    F = root @ root.T + 0.1 * np.eye(count)
    k0 = np.full(count, 0.3)
    W = np.linalg.solve(np.eye(count) + F * k0, F)
    return F, Condensed(W, k0, np.zeros((count, count)), np.ones(count, dtype=bool)), rng.normal(size=count)


@pytest.mark.parametrize("seed", range(20))
def test_active_set_meets_complementarity(seed):
    """q >= 0, r >= d, one of them tight; r = F q + F-independent part, k0 taken off again."""
    F, body, free = small(7, seed)
    b = np.linalg.solve(np.eye(7) + F * body.k0, free)  # what k0 leaves of the free movement
    found = settle(body, b=b, d=np.zeros(7), given=np.zeros(7), closed=np.ones(7, dtype=bool))
    assert found.r == pytest.approx(F @ found.q + free, abs=1e-9)
    assert found.q.min() > -1e-9
    assert found.r.min() > -1e-9
    assert found.q * found.r == pytest.approx(0, abs=1e-8)


def test_contact_that_does_not_settle_is_an_error(monkeypatch):
    """A judge that always finds the first row wrong."""
    _, body, free = small(4, 1)
    monkeypatch.setattr(settle_module, "_wrong", lambda *_: np.arange(4) == 0)
    with pytest.raises(ConvergenceError, match="contact did not converge"):
        settle(body, b=free, d=np.zeros(4), given=np.zeros(4), closed=np.ones(4, dtype=bool))


def test_touching_length():
    along = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    assert touching_length(np.ones(5), along) == pytest.approx(4.0)
    assert touching_length(np.array([3.0, 2.0, 0.5, 0.0, 0.0]), along) == pytest.approx(2 + 0.5 / 1.5)
    assert touching_length(np.array([0.0, 0.0, 0.5, 2.0, 3.0]), along) == pytest.approx(2 + 0.5 / 1.5)
    assert touching_length(np.zeros(5), along) == 0.0
    assert touching_length(np.array([0.0, 1.0, 0.0, 0.0, 0.0]), along) == pytest.approx(1.0)
