"""Stiffness of a half on its grid: rigid motions, even strain, symmetry, and the grid that it is on."""

import numpy as np
import pytest
from grid_bodies import NU, E, box, grid_of, half, places, recessed

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.grid import STANDARD, Fineness, grids
from stiffcalc.grid_solid.plan import HalfSolid, Section
from stiffcalc.grid_solid.stiffness import stiffness

STRAIN = 1e-3 * np.array([[1.0, 0.4, -0.3], [0.4, -0.7, 0.6], [-0.3, 0.6, 0.5]])
LAME, SHEAR = E * NU / ((1 + NU) * (1 - 2 * NU)), E / (2 * (1 + NU))
DENSITY = 0.5 * LAME * np.trace(STRAIN) ** 2 + SHEAR * np.sum(STRAIN**2)  # N/mm2
FINE = Fineness(across=4.0, between=4.0, up=4.0, through=5.0, edge=4.0)

DISC, HOLES = np.pi * 13.0**2, 2 * np.pi * 4.0**2
BRIDGES = (16.0 + 14.0) * 40.0
PLAIN = 20.0 * (80.0 * 40.0 - HOLES) - 12.0 * DISC + 15.0 * (BRIDGES - HOLES)
POCKET = 5.0 * 24.0 * 36.0 - 3.0 * 4.0 * 36.0  # less its rib


def field(half: HalfSolid, gradient: Array) -> tuple[Array, object]:
    grid = grid_of(half, FINE)
    return (places(grid) @ gradient.T).ravel(), stiffness(half, grid)


def pocketed() -> HalfSolid:
    return half(pockets=recessed().pockets, ribs=recessed().ribs)


@pytest.mark.parametrize(
    ("body", "volume"),
    [(half(), PLAIN), (pocketed(), PLAIN - POCKET), (half(bores=(), heads=()), 64000.0 + 15.0 * BRIDGES)],
)
def test_even_strain_stores_the_energy_of_the_cut_body(body: HalfSolid, volume: float) -> None:
    moved, matrix = field(body, STRAIN)
    assert 0.5 * moved @ (matrix @ moved) == pytest.approx(DENSITY * volume, rel=2e-3)


def test_a_bridge_of_steel_stores_by_its_own_modulus() -> None:
    soft, hard = (
        half(heads=(), sections=(half().sections[0], Section(half().sections[1].outline, e, True)))
        for e in (E, 205000.0)
    )
    energy = [0.5 * u @ (K @ u) for u, K in (field(b, STRAIN) for b in (soft, hard))]
    assert energy[1] - energy[0] == pytest.approx(
        DENSITY * (205000.0 / E - 1.0) * 15.0 * 14.0 * 40.0, rel=2e-3
    )


def test_rigid_motions_cost_nothing_and_the_matrix_is_symmetric() -> None:
    body = recessed()
    grid = grid_of(body)
    matrix = stiffness(body, grid)
    assert abs(matrix - matrix.T).max() < 1e-9 * abs(matrix).max()
    where = places(grid)
    for axis in range(3):
        moved = np.zeros((grid.functions, 3))
        moved[:, axis] = 1.0
        assert np.abs(matrix @ moved.ravel()).max() < 1e-9 * abs(matrix).max()
        turned = np.cross(np.eye(3)[axis], where).ravel()
        assert np.abs(matrix @ turned).max() < 1e-8 * abs(matrix).max()
        bent = (where[:, [axis]] ** 2 * np.eye(3)[axis]).ravel()  # and what is no rigid motion costs
        assert np.abs(matrix @ bent).max() > 1e-4 * abs(matrix).max()


def test_rows_without_metal_are_empty() -> None:
    body = half()
    grid = grid_of(body)
    diagonal = stiffness(body, grid).diagonal()
    which, value = grid.at(np.array([[5.0, 100.0, 0.5]]))  # over the rotor
    assert not diagonal[3 * which[value > 0.3]].any()
    which, _ = grid.at(np.array([[-30.0, 100.0, 0.5]]))
    assert (diagonal[3 * which] > 0.0).all()


def test_lines_of_the_grid_run_through_edges_and_floors() -> None:
    grid = grid_of(recessed())
    for line, marks in (
        (grid.x, (-40.0, -38.0, -26.0, 26.0, 30.0, 36.0, 40.0)),
        (grid.y, (80.0, 90.0, 95.0, 108.0, 118.0, 120.0)),
        (grid.z, (0.0, 15.0, 27.0, 30.0, 33.0, 35.0)),  # pocket's floor and top of its rib as well
    ):
        assert np.abs(line.breaks[:, None] - marks).min(axis=0) == pytest.approx(
            np.zeros(len(marks)), abs=1e-9
        )
    assert grid.z.creases == (15.0,)
    assert set(grid.x.creases) >= {-24.0, 26.0}


def test_unequal_halves_share_their_lines_along_x_and_y() -> None:
    wide = half(outline=box(-44.0, 40.0, 78.0, 120.0), thickness=30.0)
    one, other = grids([half(), wide], STANDARD)
    assert np.array_equal(one.x.breaks, other.x.breaks)
    assert np.array_equal(one.y.breaks, other.y.breaks)
    assert (one.x.breaks[0], one.y.breaks[0]) == (-44.0, 78.0)
    assert (one.z.breaks[-1], other.z.breaks[-1]) == (35.0, 45.0)
