"""From solved forces and unknowns to movements, and the checks every solve of the joint must pass."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.elastic_faces import ElasticFaces, closed_forces, heads_give, take
from stiffcalc.mechanics.faces import Index
from stiffcalc.mechanics.joint_state import LIMIT, Checks, JointError, Pair, Response, State, UnheldError
from stiffcalc.mechanics.stacked import apply_to_rows, greatest


class Found(Protocol):
    """What is asked of an iteration's end: relative residual, steps and whether nothing held, each (Q,)."""

    @property
    def residual(self) -> Array:
        """Relative."""

    @property
    def steps(self) -> Index:
        """Taken."""

    @property
    def unheld(self) -> NDArray[np.bool_]:
        """Nothing resists some movement."""


@dataclass(frozen=True)
class Solution:
    """Forces and unknowns of each row, before they are turned into movements and checked."""

    f: Array  # (Q, m)
    v: Array  # (Q, nv) separations of the jointed faces, then the rigid motion
    pressure: Array  # (Q,) on the floors
    wall: Array  # (Q,) on the bores' cylinder walls and in ports
    offset: (
        Array | None
    )  # (Q, J) bolts follow e = offset + flexibility * B - give; None while their forces are given
    cells: Array | None = None  # (Q, M) forces on the cells; None: as on closed faces
    grown: Array | None = None  # (Q, N) of the bridges, see `joint_state.Pair.grown`


def audited(pair: Pair, rows: Index, solution: Solution, found: Found | None) -> State:
    """Movements of each row, and every check of them. Raises `UnheldError`, `JointError`."""
    response, rigid, resultant = _response(pair, rows, solution)
    checks = _checks(pair, rows, solution, response, rigid=rigid, resultant=resultant)
    if found is not None:
        _refuse_unheld(found, rows)
        residual = np.maximum(checks.residual, found.residual)
        checks = replace(checks, residual=residual, steps=found.steps)
    worst = np.maximum(np.maximum(checks.residual, checks.equilibrium), checks.energy)
    bad = ~(worst <= LIMIT)
    if bad.any():
        raise JointError(
            "equilibrium of the joint",
            residual=float(worst[bad].max()),
            iterations=int(checks.steps.max()),
            designs=tuple(np.unique(rows[bad]).tolist()),
        )
    return State(response=response, checks=checks)


def _refuse_unheld(found: Found, rows: Index) -> None:
    if found.unheld.any():
        raise UnheldError(
            "nothing holds the halves together: equilibrium of the joint",
            residual=float(found.residual[found.unheld].max()),
            iterations=int(found.steps[found.unheld].max()),
            designs=tuple(np.unique(rows[found.unheld]).tolist()),
        )


def _response(pair: Pair, rows: Index, solution: Solution) -> tuple[Response, Array, Array]:
    """The response, the part of the points' movements that is rigid, and the resultants of the forces (Q, 3)."""
    half, f, r = pair.flexibility, solution.f, solution.v[:, -3:]
    separation = np.zeros((len(f), half.points.bridges, 3))
    separation[:, pair.jointed] = solution.v[:, :-3].reshape(len(f), -1, 3)
    m, known = half.points.count, len(pair.turning[0])
    answer, rigid = apply_to_rows(pair.answering, f), apply_to_rows(pair.turning, r)
    moved = answer[:, :known] + solution.wall[:, None] * pair.swept[rows]
    moved += rigid
    response = Response(
        pressure=solution.pressure,
        tension=-f[:, half.points.bridge].reshape(len(f), -1, 3),
        bolt=-f[:, half.points.bolt],
        separation=separation,
        rigid=r,
        points=moved[:, :m],
        outputs=moved[:, m:],
        cells=_cells(pair, rows, solution),
    )
    return response, rigid[:, :m], answer[:, known:]


def _cells(pair: Pair, rows: Index, solution: Solution) -> Array:
    """Forces on the cells (Q, M); M = 0 where faces move as planes."""
    if solution.cells is not None:
        return solution.cells
    if pair.clamp is None or pair.clamp.give is None:
        return np.zeros((len(rows), 0))
    points = pair.flexibility.points
    tension = -solution.f[:, points.bridge].reshape(len(rows), -1, 3)[:, pair.jointed]
    clamp = take(pair.clamp, rows)
    return closed_forces(clamp, tension=tension, bolt=-solution.f[:, points.bolt], pressure=solution.wall)


def _checks(
    pair: Pair, rows: Index, solution: Solution, response: Response, *, rigid: Array, resultant: Array
) -> Checks:
    """Compatibility, equilibrium and energy of each row, relative to the magnitudes that are summed up."""
    f, e, force = solution.f, response.points, np.abs(solution.f)
    taken, most = _taken(pair, rows, solution, response), apply_to_rows(pair.magnitudes, force)
    bent, took = e - rigid, np.abs(taken)
    size = most[:, :-3] + np.abs(rigid) + took
    lever = pair.point_levers[rows]
    return Checks(
        residual=_relative(np.abs(e - taken) * lever, size * lever),
        equilibrium=_relative(np.abs(resultant) / lever[:, :3], most[:, -3:] / lever[:, :3]),
        energy=_share(np.abs(_work(f, taken - bent)), _work(force, took) + _work(force, np.abs(bent))),
        steps=np.zeros(len(f), dtype=np.intp),
    )


def _work(force: Array, moved: Array) -> Array:
    """Of forces (Q, m) on movements, (Q,)."""
    return np.asarray(np.einsum("qm,qm->q", force, moved))


def _taken(pair: Pair, rows: Index, solution: Solution, response: Response) -> Array:
    """What bridges, faces and bolts took up at the points; where a force is given, the movement itself."""
    half, e = pair.flexibility, response.points
    own = apply_to_rows(pair.stretch, response.tension.reshape(len(e), -1))
    moved = own.reshape(response.tension.shape) + response.separation
    if solution.grown is not None:
        moved[..., 0] += solution.grown
    if pair.sunk is not None:
        moved -= solution.wall[:, None, None] * pair.sunk[rows]
    bridges = moved.reshape(len(e), -1)
    bolts = e[:, half.points.bolt]
    if solution.offset is not None:
        bolts = solution.offset + pair.bolt_flexibility[rows] * response.bolt
        if pair.clamp is not None and pair.clamp.give is not None:
            bolts = bolts - _sunk_heads(pair.clamp, rows, solution, response)
    return np.concatenate([bridges, bolts, e[:, half.points.bore]], axis=-1)


def _sunk_heads(clamp: ElasticFaces, rows: Index, solution: Solution, response: Response) -> Array:
    """What the faces' give lets heads part, (Q, J)."""
    cells, wall, bolt = response.cells, solution.wall, response.bolt
    if len(clamp.pressing) == 1:  # all rows are states of one design: its faces are not copied for each
        pressed = clamp.pressed(cells[None], wall[None])
        return np.asarray(heads_give(clamp, cells=pressed, bolt=bolt[None])[0])
    own = take(clamp, rows)
    return heads_give(own, cells=own.pressed(cells, wall), bolt=bolt)


def _relative(error: Array, size: Array) -> Array:
    """Greatest error over greatest size of each row, and 0 where there is nothing to compare with."""
    return _share(greatest(error), greatest(size))


def _share(error: Array, size: Array) -> Array:
    share: Array = error / np.where(size > 0.0, size, 1.0)
    return share
