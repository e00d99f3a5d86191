"""How cells of a joint face move and how bolts press them: potential, give, closed faces, reliefs, heads."""

import dataclasses

import numpy as np
import pytest
from beam_halves import elastic_clamp, make_bridges
from scipy.integrate import dblquad

from stiffcalc.mechanics.elastic_faces import (
    FITTED,
    _potential,
    closed_forces,
    heads_give,
    land_flexibility,
    pressing_only,
    seat_flexibility,
    stiffened,
    take,
    with_give,
)
from stiffcalc.mechanics.face_cells import cut_faces
from stiffcalc.mechanics.voids import Void

RELIEF = Void(np.array([(-112.0, 160.0), (-100.0, 150.0), (-92.0, 172.0), (-104.0, 180.0)]), face=0)
FORCES = np.array([[[-30e3, 2e5, -1e5], [-20e3, -3e5, 5e4]]])
BOLTS = np.array([[18e3, 22e3, 25e3, 9e3]])


def shapes(count=1, *, scale=1.0, E=71000.0):
    """Two arched bridges with two holes each."""
    x, y = [[-110.0, -78.0], [78.0, 110.0]], [[105.0, 190.0]] * 2
    holes = [[(-94.0, 156.0, 11.0), (-94.0, 178.0, 11.0)], [(94.0, 156.0, 11.0), (90.0, 178.0, 13.0)]]
    return make_bridges(
        *(scale * np.array([v] * count) for v in (x, y, [168.0] * 2)),
        holes=scale * np.array([holes] * count),
        length=61.0 * scale,
        E=E,
    )


def clamp(voids=(), **options):
    return elastic_clamp(shapes(), jointed=(0, 1), voids=voids, **options)


@pytest.mark.parametrize("at", [(9.0, 5.0), (3.5, -7.0), (-2.5, 0.4), (40.0, 3.0)])
def test_potential_is_the_mean_of_one_over_distance(at):
    # General-purpose quadrature (scipy.integrate.dblquad) of 1/r over the rectangle, seen from beside it.
    mean, _ = dblquad(lambda y, x: 1 / np.hypot(x - at[0], y - at[1]), -2, 2, -1.5, 1.5, epsabs=1e-10)
    found = _potential(np.array(at[0]), np.array(at[1]), width=np.array(4.0), height=np.array(3.0))
    assert found == pytest.approx(mean / 12.0, rel=1e-8)


def test_potential_inside_and_on_the_edge():
    # Middle of a square of side b: 4 ln(1 + sqrt 2) / b; seen from a corner half of that (Johnson, Contact
    # Mechanics, chapter 3: Love's uniform pressure on a rectangle, from memory).
    b = np.array(3.0)
    middle = _potential(np.array(0.0), np.array(0.0), width=b, height=b)
    corner = _potential(0.5 * b, -0.5 * b, width=b, height=b)
    assert middle == pytest.approx(4 * np.log(1 + np.sqrt(2)) / 3, rel=1e-12)
    assert corner == pytest.approx(0.5 * middle, rel=1e-9)


@pytest.mark.parametrize("voids", [(), (RELIEF,)])
def test_give_is_symmetric_and_takes_energy_from_what_is_uneven_only(voids):
    faces = clamp(voids)
    C = faces.give
    size = np.abs(C).max()
    np.testing.assert_allclose(C, C.swapaxes(-1, -2), atol=1e-12 * size)
    for face, relieved in enumerate(faces.cells.relieved_faces[0]):
        values = np.linalg.eigvalsh(C[0, face])
        assert values.min() > -1e-9 * values.max()
        linear = C[0, face] @ faces.plane[0, face]
        if not relieved:
            assert (values > 1e-6 * values.max()).sum() == len(values) - 3  # N, Mx, My cost nothing
            assert np.abs(linear).max() < 1e-10 * size * np.abs(faces.plane).max()
        # Cells that touch in part cannot press as evenly as the section: that is a give of the plane alone.
        arm = faces.cells.arm[0, face]
        of_plane = linear - arm @ np.linalg.lstsq(arm, linear, rcond=None)[0]
        assert np.abs(of_plane).max() < 1e-10 * size * np.abs(faces.plane).max()


def test_give_goes_with_modulus_size_and_constant():
    C = clamp().give
    twice = elastic_clamp(shapes(scale=2.0), jointed=(0, 1)).give
    np.testing.assert_allclose(twice, C / 2.0, rtol=1e-9, atol=1e-12 * C.max())
    np.testing.assert_allclose(elastic_clamp(shapes(E=2 * 71000.0), jointed=(0, 1)).give, C / 2.0, rtol=1e-12)
    np.testing.assert_allclose(stiffened(clamp(), np.full((1, 2), 2.0)).give, C / 2.0, rtol=1e-12)
    more = dataclasses.replace(FITTED, give=2 * FITTED.give)
    np.testing.assert_allclose(clamp(constants=more).give, 2.0 * C, rtol=1e-12)
    np.testing.assert_allclose(clamp(nu=0.0).give * (1 - 0.33**2), C, rtol=1e-12)


def test_faces_mirror_each_other():
    # A face and its mirror image in x = 0 give alike: cells in reverse order of columns.
    x = np.array([[[-110.0, -78.0], [78.0, 110.0]]])
    bridges = make_bridges(
        x, [[[105.0, 190.0]] * 2], [[168.0] * 2], holes=[[[(-94, 160, 9)], [(94, 160, 9)]]]
    )
    C = elastic_clamp(bridges, jointed=(0, 1)).give[0].reshape(2, 8, 10, 8, 10)
    np.testing.assert_allclose(C[1], C[0][::-1, :, ::-1], rtol=1e-8, atol=1e-12 * C.max())


def test_bolts_press_without_force_or_moment_and_only_their_own_face():
    faces = clamp()
    pressing = faces.pressing.reshape(2, 80, 4)
    for j, (own, other) in enumerate([(0, 1), (0, 1), (1, 0), (1, 0)]):
        arm = faces.cells.arm[0, own]
        np.testing.assert_allclose(arm.T @ pressing[own, :, j], 0.0, atol=1e-12 * np.abs(arm).max())
        assert not pressing[other, :, j].any()
        place = [(-94, 156), (-94, 178), (94, 156), (90, 178)][j]
        far = np.hypot(faces.cells.x[0, own] - place[0], faces.cells.y[0, own] - place[1])
        far[faces.cells.section[0, own] == 0] = np.nan
        near_first = pressing[own, np.argsort(far), j]
        assert near_first[:8].sum() > 0 > near_first[60:68].sum()


def test_high_heads_press_evenly_and_bolts_of_no_face_not_at_all():
    cells = clamp().cells
    bolts = np.array([[(-94.0, 156.0), (0.0, 180.0)]])
    low, high = (
        pressing_only(cells, bolts=bolts, heights=np.full((1, 2), h), owner=[0, -1]).pressing
        for h in (40.0, 4e3)
    )
    assert np.abs(high).max() < 0.02 * np.abs(low).max()
    assert not low[..., 1].any()


@pytest.mark.parametrize("voids", [(), (RELIEF,)])
@pytest.mark.parametrize("give", [True, False])
def test_closed_forces_carry_the_bridges_tension(voids, give):
    faces = clamp(voids, give=give)
    states = np.stack([FORCES, 0.5 * FORCES], axis=1)  # two load states
    found = closed_forces(faces, tension=states, bolt=np.stack([BOLTS, 0 * BOLTS], axis=1))
    on_face = found.reshape(1, 2, 2, -1)
    resultant = np.einsum("dnca,dsnc->dsna", faces.cells.arm, on_face)
    np.testing.assert_allclose(resultant, -states, rtol=1e-9, atol=1e-6)
    assert not on_face[..., ~(faces.cells.area[0] > 0.0)].any()


def test_closed_pressure_without_bolts_is_linear():
    # Navier's stress: -N/A - Mx (y - y_c)/Ix ... is the only linear pressure with that resultant.
    faces = clamp()
    force = closed_forces(faces, tension=FORCES, bolt=0 * BOLTS).reshape(2, 80)
    for face in range(2):
        alive = faces.cells.area[0, face] > 0
        pressure = (force[face] / np.where(alive, faces.cells.area[0, face], 1.0))[alive]
        arm = faces.cells.arm[0, face][alive]
        fit, *_ = np.linalg.lstsq(arm, pressure, rcond=None)
        np.testing.assert_allclose(arm @ fit, pressure, rtol=1e-9)


def test_a_relieved_closed_face_takes_least_energy():
    # No self-balanced change on what touches lowers (P - P_whole).C.(P - P_whole).
    faces = clamp((RELIEF,))
    P = closed_forces(faces, tension=FORCES, bolt=BOLTS).reshape(2, -1)[0]
    plain = dataclasses.replace(faces, cells=dataclasses.replace(faces.cells, area=faces.cells.section))
    whole = closed_forces(plain, tension=FORCES, bolt=BOLTS).reshape(2, -1)[0]
    gradient = faces.give[0, 0] @ (P - whole)
    alive = np.flatnonzero(faces.cells.area[0, 0] > 0)
    arm = faces.cells.arm[0, 0][alive]
    plane, *_ = np.linalg.lstsq(arm, gradient[alive], rcond=None)
    np.testing.assert_allclose(arm @ plane, gradient[alive], atol=1e-9 * np.abs(gradient).max())


def test_reliefs_only_add_flexibility():
    assert not land_flexibility(clamp()).any()
    added = land_flexibility(clamp((RELIEF,)))[0]
    np.testing.assert_allclose(added, added.T, atol=1e-12 * np.abs(added).max())
    root = np.sqrt(np.abs(np.diag(added)))
    assert root[:3].min() > 0
    assert np.abs(added[3:6]).max() < 1e-12 * np.abs(added[:3]).max()  # the other face touches all over
    values = np.linalg.eigvalsh(added[:3, :3] / np.outer(root[:3], root[:3]))
    assert values.min() > 0
    larger = Void(RELIEF.outline + 1.2 * (RELIEF.outline - RELIEF.outline.mean(axis=0)), face=0)
    assert np.all(np.diag(land_flexibility(clamp((larger,)))[0])[:3] > np.diag(added)[:3])


def test_heads_do_not_move_while_every_cell_presses():
    faces = clamp()
    P = closed_forces(faces, tension=FORCES, bolt=BOLTS)
    sunk = heads_give(faces, cells=P, bolt=BOLTS)
    scale = np.abs(faces.give).max() * BOLTS.max()
    assert np.abs(sunk).max() < 1e-10 * scale
    # Derived: forces that leave the bolts' own pattern for a linear one: the heads come together.
    flat = closed_forces(faces, tension=FORCES, bolt=0 * BOLTS)
    assert (heads_give(faces, cells=flat, bolt=BOLTS) * BOLTS).sum() < -1e-6 * scale
    np.testing.assert_array_equal(heads_give(clamp(give=False), cells=P, bolt=BOLTS), 0.0)


def test_a_batch_is_its_designs_one_by_one():
    rng = np.random.default_rng(3)
    same = shapes(4)
    bridges = dataclasses.replace(
        same,
        E=rng.uniform(6e4, 2e5, (4, 2)),
        x=same.x + rng.uniform(-1, 1, (4, 2, 2)),
        hole_d=rng.uniform(5, 12, (4, 2, 2)),
    )
    cells = cut_faces(bridges, jointed=[0, 1], voids=[RELIEF])
    bolts = np.stack([bridges.hole_x.reshape(4, 4), bridges.hole_y.reshape(4, 4)], -1)
    heights = rng.uniform(30, 80, (4, 4))
    flat = pressing_only(cells, bolts=bolts, heights=heights, owner=[0, 0, 1, 1])
    faces = with_give(flat, E=bridges.E, nu=rng.uniform(0.2, 0.4, (4, 2)))
    together = closed_forces(faces, tension=np.repeat(FORCES, 4, 0), bolt=np.repeat(BOLTS, 4, 0))
    for d in range(4):
        one = take(faces, np.array([d]))
        np.testing.assert_allclose(
            closed_forces(one, tension=FORCES, bolt=BOLTS)[0], together[d], rtol=1e-9, atol=1e-6
        )
        np.testing.assert_allclose(
            land_flexibility(one)[0], land_flexibility(faces)[d], rtol=1e-9, atol=1e-18
        )


def test_a_head_s_seat_goes_with_modulus_and_bearing():
    a, b = (
        seat_flexibility(E=np.array(E), bearing=np.array(d)) for E, d in ((71000.0, 16.0), (142000.0, 32.0))
    )
    assert a == pytest.approx(4.0 * b)
    assert a == pytest.approx(2 * FITTED.seat / (71000.0 * 8.0))
