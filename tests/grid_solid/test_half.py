"""Condensed halves: against the whole grid solved by scipy, against statics, and two of them joined."""

import numpy as np
import pytest
import scipy.sparse as sp
import scipy.sparse.linalg as spla
from grid_bodies import COARSE, grid_of, half, places, recessed

from stiffcalc.grid_solid import loads
from stiffcalc.grid_solid.grid import Grid, grids
from stiffcalc.grid_solid.half import HELD, Condensed, Trace, condense, joined, trace
from stiffcalc.grid_solid.plan import HalfSolid
from stiffcalc.grid_solid.stiffness import stiffness

AREA = np.pi * 13.0**2


@pytest.fixture(scope="module", params=[half(), recessed()], ids=["plain", "recessed"])
def solved(request: pytest.FixtureRequest) -> tuple[HalfSolid, Grid, Trace, Condensed]:
    grid = grid_of(request.param)
    faces = trace(request.param, grid)
    return request.param, grid, faces, condense(request.param, grid, faces)


def test_condensed_half_is_the_whole_grid_s_answer(
    solved: tuple[HalfSolid, Grid, Trace, Condensed],
) -> None:
    """Movements of the faces given, forces on floor, walls and heads: all unknowns by scipy's sparse LU."""
    half, grid, faces, found = solved
    matrix = stiffness(half, grid)
    bore, heads = half.bores[0], half.heads
    columns = np.column_stack(
        [
            loads.floor(half, grid, bore),
            loads.bore_wall(half, grid, bore),
            *(loads.head(half, grid, h) for h in heads),
        ]
    )
    used = np.flatnonzero(matrix.diagonal() > 0.0)
    given = 3 * faces.functions + 2
    first = (
        used[used % 3 == 0] // 3
    )  # held against sliding and turning in the plane, as no load drives either
    along = first // (grid.y.count * grid.z.count)
    a, b = first[along.argmin()], first[along.argmax()]
    held = np.array([3 * a, 3 * a + 1, 3 * b + 1])
    matrix = matrix + sp.csr_matrix((HELD * matrix.diagonal()[held], (held, held)), shape=matrix.shape)
    rest = np.setdiff1d(used, given)
    rng = np.random.default_rng(1)
    u, f = 1e-3 * rng.normal(size=len(given)), rng.normal(size=columns.shape[1])
    moved = np.zeros(matrix.shape[0])
    moved[given] = u
    moved[rest] = spla.spsolve(matrix[rest][:, rest].tocsc(), (columns @ f - matrix[:, given] @ u)[rest])
    outputs = found.C @ f + found.B.T @ u
    assert outputs == pytest.approx(columns.T @ moved, rel=1e-5, abs=1e-5 * np.abs(outputs).max())
    reaction = (matrix @ moved - columns @ f)[given]
    scale = np.abs(reaction).max()
    assert found.S @ u - found.B @ f == pytest.approx(reaction, abs=1e-5 * scale)


def test_faces_carry_the_loads_whatever_the_faces_do(
    solved: tuple[HalfSolid, Grid, Trace, Condensed],
) -> None:
    """Statics: force and moments about x and y of floor, bore walls and heads against those of the faces."""
    half, grid, faces, found = solved
    where = places(grid)[faces.functions]
    rigid = np.column_stack([np.ones(len(where)), where[:, :2]])
    bore, heads = half.bores[0], half.heads
    wanted = np.array(
        [AREA * np.array([1.0, bore.x, bore.y]), np.zeros(3), *([1.0, h.x, h.y] for h in heads)]
    )
    assert pytest.approx(wanted.T, rel=1e-4, abs=1e-3 * AREA) == rigid.T @ found.B
    free = np.abs(found.S @ rigid).max(axis=0) / np.abs(found.S).max()
    assert (free < 1e-7 * np.abs(rigid).max(axis=0)).all()


def test_condensed_halves_are_symmetric_and_stiff(
    solved: tuple[HalfSolid, Grid, Trace, Condensed],
) -> None:
    *_, found = solved
    assert pytest.approx(found.S.T, abs=1e-8 * np.abs(found.S).max()) == found.S
    assert pytest.approx(found.C.T, rel=1e-6, abs=1e-9 * np.abs(found.C).max()) == found.C
    assert np.linalg.eigvalsh(found.S).min() > -1e-8 * np.abs(found.S).max()
    assert np.linalg.eigvalsh(found.C).min() > 0.0


def test_trace_measures_the_faces(solved: tuple[HalfSolid, Grid, Trace, Condensed]) -> None:
    half, _, faces, _ = solved
    hole = np.pi * 4.0**2
    for i, x in enumerate(((-40.0, -24.0), (26.0, 40.0))):
        mine = faces.face == i
        area = faces.weight[mine].sum()
        if i == 1 or len(half.sections[0].outline) == 4:
            assert area == pytest.approx((x[1] - x[0]) * 40.0 - hole, rel=0.01)
        else:  # less what the arch takes; cells of 6 mm
            mean = np.mean(120.0 - np.sqrt(92.0**2 - np.linspace(*x, 400) ** 2))
            assert area == pytest.approx(mean * 16.0 - hole, rel=0.02)
    assert np.asarray(faces.value.sum(axis=1)).ravel() == pytest.approx(np.ones(len(faces.points)))


def random_half(seed: int, kept: int = 6, outputs: int = 4) -> Condensed:
    rng = np.random.default_rng(seed)
    root, other = rng.normal(size=(kept, kept)), rng.normal(size=(outputs, outputs))
    return Condensed(
        1e5 * (root @ root.T + np.eye(kept)),
        rng.normal(size=(kept, outputs)),
        1e-5 * (other @ other.T + np.eye(outputs)),
        100,
    )


@pytest.mark.parametrize("equal", [True, False])
def test_joined_halves_share_the_opening_by_least_energy(equal: bool) -> None:
    """Against both halves kept, their movements tied to the opening by Lagrange's multipliers."""
    one = random_half(1)
    other = one if equal else random_half(2)
    pair = joined(one, other)
    rng = np.random.default_rng(3)
    u, f = 1e-3 * rng.normal(size=6), 10.0 * rng.normal(size=4)
    none, tie = np.zeros((6, 6)), np.eye(6)
    system = np.block([[one.S, none, tie], [none, other.S, tie], [tie, tie, none]])
    found = np.linalg.solve(system, np.concatenate([one.B @ f, other.B @ f, u]))
    a, b, multiplier = found[:6], found[6:12], found[12:]
    outputs = one.C @ f + one.B.T @ a + other.C @ f + other.B.T @ b
    assert pair.C @ f + pair.B.T @ u == pytest.approx(outputs, rel=1e-6)
    assert pair.S @ u - pair.B @ f == pytest.approx(-multiplier, rel=1e-6)
    assert pair.unknowns == 200


def test_equal_halves_open_twice_as_far_as_one() -> None:
    one = random_half(1)
    pair = joined(one, one)
    assert pytest.approx(one.S, rel=1e-6) == 2.0 * pair.S
    assert pytest.approx(one.B, rel=1e-6) == pair.B
    assert pytest.approx(2.0 * one.C, rel=1e-6) == pair.C


def opening(pair: Condensed) -> float:
    """Mean opening of the bore per MPa on its floor, faces tied."""
    tied = np.linalg.solve(pair.S + 1e7 * np.eye(len(pair.S)), pair.B[:, 0])
    return float(pair.C[0, 0] + pair.B[:, 0] @ tied) / AREA


def test_an_unequal_pair_opens_between_both_equal_ones() -> None:
    bodies = [half(), half(thickness=26.0, floor=14.0)]
    own = [condense(b, g, trace(b, g)) for b, g in zip(bodies, grids(bodies, COARSE), strict=True)]
    thin, thick, mixed, turned = (
        opening(joined(own[i], own[j])) for i, j in ((0, 0), (1, 1), (0, 1), (1, 0))
    )
    assert thick < 0.8 * mixed < 0.8 * thin
    assert turned == pytest.approx(mixed, rel=1e-4)
    assert mixed == pytest.approx(0.5 * (thick + thin), rel=0.02)


def test_fluid_on_bore_walls_works_on_the_bore_s_growth_alone() -> None:
    """Over walls of radius R and depth t, u = x along x: integral R cos^2 dA = pi R^2 t; likewise along y."""
    body = half()
    grid = grid_of(body)
    force = loads.bore_wall(body, grid, body.bores[0]).reshape(-1, 3)
    where = places(grid)
    grown = force.T @ where[:, :2]
    assert grown[:2] == pytest.approx(AREA * 12.0 * np.eye(2), rel=1e-6, abs=1e-3)
    assert force.sum(axis=0) == pytest.approx(np.zeros(3), abs=1e-6)
    assert not force[:, 2].any()
