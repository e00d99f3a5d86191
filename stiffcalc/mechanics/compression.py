"""Equilibrium of a linear body on faces that carry compression only: Newton on a convex energy, in batches.

W(v) = v.A.v / 2 + b.v + sum over faces of s.K(s).s / 2, the first 3 n entries of v being the faces' s. A is
symmetric and positive semi-definite and the faces' energy is convex, so a damped Newton method reaches the
minimum from anywhere; a body without one (nothing holds it) shows itself by a singular tangent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.faces import Faces, Index, closed_stiffness, face_stiffness, take
from stiffcalc.mechanics.stacked import apply, diagonal, solve

TOLERANCE = 1e-11  # relative force residual aimed at
MAX_STEPS = 60
MAX_HALVINGS = 60
SUFFICIENT = 1e-4  # Armijo share of the predicted decrease
NOISE = 1e-14  # of the energy's terms: a decrease below it cannot be seen
LOOSE = 1e-12  # of the closed body's stiffness, given to what nothing holds so that a step exists
SINGULAR = 1e-8  # least eigenvalue of the scaled tangent, below which nothing resists some movement


@dataclass(frozen=True)
class Problem:
    """One equilibrium a row. v = (s of n faces, further unknowns)."""

    A: Array  # (Q, nv, nv)
    b: Array  # (Q, nv)
    faces: Faces  # (Q, n)
    scale: Array  # (Q, nv) forces the residual is measured against


@dataclass(frozen=True)
class Equilibrium:
    """Where each row ended. `residual` is relative; nothing is raised, so look at it."""

    v: Array  # (Q, nv)
    residual: Array  # (Q,)
    steps: Index  # (Q,) Newton steps taken
    unheld: NDArray[np.bool_]  # (Q,) not in equilibrium, and nothing resists some movement


@dataclass(frozen=True)
class _Point:
    """W and its derivatives at v."""

    v: Array
    energy: Array
    size: Array  # sum of the magnitudes of the energy's terms
    gradient: Array
    tangent: Array


def equilibrium(problem: Problem) -> Equilibrium:
    """Minimise W for every row, starting from the body with all faces closed."""
    closed = _tangent(problem, closed_stiffness(problem.faces))
    v = solve(closed, -problem.b)
    steps = np.zeros(len(v), dtype=np.intp)
    residual: Array = np.full(len(v), np.inf)
    rows = np.arange(len(v))
    for _ in range(MAX_STEPS + 1):
        point = _evaluate(_select(problem, rows), v[rows])
        residual[rows] = np.abs(point.gradient / problem.scale[rows]).max(axis=-1, initial=0.0)
        open_rows = ~(residual[rows] <= TOLERANCE)
        rows, point = rows[open_rows], _pick(point, open_rows)
        if not len(rows):
            break
        part = _select(problem, rows)
        v[rows] = _descend(part, point, floor=LOOSE * diagonal(closed[rows]))
        steps[rows] += 1
    return Equilibrium(v=v, residual=residual, steps=steps, unheld=_unheld(problem, rows, closed, v))


def _descend(problem: Problem, point: _Point, *, floor: Array) -> Array:
    """One damped Newton step: the full one, halved until the energy has fallen enough. Returns the new v."""
    tangent = point.tangent + floor[..., None] * np.eye(floor.shape[-1])
    step = solve(tangent, -point.gradient)
    slope = (point.gradient * step).sum(axis=-1)
    share = np.ones(len(step))
    for _ in range(MAX_HALVINGS):
        trial = _evaluate(problem, point.v + share[:, None] * step)
        fallen = trial.energy <= point.energy + SUFFICIENT * share * slope + NOISE * point.size
        if fallen.all():
            break
        share[~fallen] *= 0.5
    return point.v + share[:, None] * step


def _evaluate(problem: Problem, v: Array) -> _Point:
    s = _separations(problem, v)
    K = face_stiffness(problem.faces, s)
    pull = apply(K, s)
    Av = apply(problem.A, v)
    gradient = Av + problem.b
    gradient[:, : 3 * problem.faces.count] += pull.reshape(len(v), 3 * problem.faces.count)
    bent, loaded = 0.5 * (v * Av).sum(axis=-1), (v * problem.b).sum(axis=-1)
    pressed = 0.5 * (s * pull).sum(axis=(-2, -1))
    return _Point(
        v=v,
        energy=bent + loaded + pressed,
        size=np.abs(bent) + np.abs(loaded) + np.abs(pressed),
        gradient=gradient,
        tangent=_tangent(problem, K),
    )


def _tangent(problem: Problem, K: Array) -> Array:
    """A with each face's K (Q, n, 3, 3) added on the diagonal."""
    tangent = problem.A.copy()
    for i in range(problem.faces.count):
        tangent[:, 3 * i : 3 * i + 3, 3 * i : 3 * i + 3] += K[:, i]
    return tangent


def _separations(problem: Problem, v: Array) -> Array:
    n = problem.faces.count
    return v[:, : 3 * n].reshape(len(v), n, 3)


def _unheld(problem: Problem, rows: Index, closed: Array, v: Array) -> NDArray[np.bool_]:
    """Of the rows that failed, those whose tangent has lost rank against the closed body's."""
    flag = np.zeros(len(v), dtype=bool)
    root = 1.0 / np.sqrt(diagonal(closed[rows]))
    tangent = _evaluate(_select(problem, rows), v[rows]).tangent
    least = np.linalg.eigvalsh(root[..., None] * tangent * root[..., None, :])[:, 0]
    flag[rows] = ~(least > SINGULAR)
    return flag


def _select(problem: Problem, rows: Index) -> Problem:
    return Problem(
        A=problem.A[rows],
        b=problem.b[rows],
        faces=take(problem.faces, rows, range(problem.faces.count)),
        scale=problem.scale[rows],
    )


def _pick(point: _Point, mask: NDArray[np.bool_]) -> _Point:
    return _Point(
        v=point.v[mask],
        energy=point.energy[mask],
        size=point.size[mask],
        gradient=point.gradient[mask],
        tangent=point.tangent[mask],
    )
