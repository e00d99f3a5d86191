"""Equilibrium of a linear body on faces that carry compression only: Newton on a convex energy, in batches.

W(s) = s.A.s / 2 + b.s + sum over faces of s.K(s).s / 2, s the separations of all n faces. A is
symmetric and positive semi-definite and the faces' energy is convex, so a damped Newton method reaches the
minimum from anywhere; a body without one (nothing holds it) shows itself by a singular tangent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.mechanics.faces import Faces, Index, face_stiffness, take
from stiffcalc.mechanics.stacked import apply, diagonal, greatest, solve

TOLERANCE = 1e-11  # relative force residual aimed at
MAX_STEPS = 60
MAX_HALVINGS = 60
SUFFICIENT = 1e-4  # Armijo share of the predicted decrease
NOISE = 1e-11  # of the energy's terms: their own cancellation hides a smaller decrease
LOOSE = 1e-12  # of the closed body's stiffness, given to what nothing holds so that a step exists
BLOCK = 512  # rows at a time: a few hundred kB of columns stay in the processor's cache
SINGULAR = 1e-8  # least eigenvalue of the scaled tangent, below which nothing resists some movement


@dataclass(frozen=True)
class Problem:
    """One equilibrium a row, of n faces."""

    A: Array  # (Q, 3 n, 3 n)
    b: Array  # (Q, 3 n)
    faces: Faces  # (Q, n)
    scale: Array  # (Q, 3 n) forces the residual is measured against
    closed: Array  # (Q, 3 n, 3 n) A with the stiffness of fully closed faces
    start: Array  # (Q, 3 n) the equilibrium that fully closed faces would have


@dataclass(frozen=True)
class Equilibrium:
    """Where each row ended. `residual` is relative; nothing is raised, so look at it."""

    s: Array  # (Q, 3 n)
    residual: Array  # (Q,)
    steps: Index  # (Q,) Newton steps taken
    unheld: NDArray[np.bool_]  # (Q,) not in equilibrium, and nothing resists some movement


@dataclass(frozen=True)
class _Point:
    """W and its derivatives at s."""

    s: Array
    energy: Array
    size: Array  # sum of the magnitudes of the energy's terms
    gradient: Array
    K: Array  # (Q, n, 3, 3) of the faces


def equilibrium(problem: Problem) -> Equilibrium:
    """Minimise W for every row, starting from the body with all faces closed."""
    count = len(problem.b)
    if count <= BLOCK:
        return _equilibrium(problem)
    starts = range(0, count, BLOCK)
    found = [vars(_equilibrium(_select(problem, slice(i, i + BLOCK)))) for i in starts]
    return Equilibrium(**{name: np.concatenate([one[name] for one in found]) for name in found[0]})


def _equilibrium(problem: Problem) -> Equilibrium:
    point = _evaluate(problem, problem.start.copy())
    residual = _residual(problem, point)
    steps = np.zeros(len(residual), dtype=np.intp)
    floor = LOOSE * diagonal(problem.closed)
    for _ in range(MAX_STEPS):
        rows = np.flatnonzero(~(residual <= TOLERANCE))
        if not len(rows):
            break
        every = len(rows) == len(residual)
        part = problem if every else _select(problem, rows)
        moved = _descend(part, point if every else _pick(point, rows), floor=floor[rows])
        _put(point, rows, moved)
        residual[rows] = _residual(part, moved)
        steps[rows] += 1
    unheld = ~(residual <= TOLERANCE)
    left = np.flatnonzero(unheld)
    unheld[left] = _singular(_tangent(problem.A[left], point.K[left]), problem.closed[left])
    return Equilibrium(s=point.s, residual=residual, steps=steps, unheld=unheld)


def _descend(problem: Problem, point: _Point, *, floor: Array) -> _Point:
    """One damped Newton step: the full one, halved until the energy has fallen enough."""
    tangent, own = _tangent(problem.A, point.K), np.arange(floor.shape[-1])
    tangent[:, own, own] += floor
    step = solve(tangent, -point.gradient)
    slope = _dot(point.gradient, step)
    share = np.ones(len(step))
    for _ in range(MAX_HALVINGS):
        trial = _evaluate(problem, point.s + share[:, None] * step)
        fallen = trial.energy <= point.energy + SUFFICIENT * share * slope + NOISE * point.size
        if fallen.all():
            break
        share[~fallen] *= 0.5
    return trial


def _evaluate(problem: Problem, s: Array) -> _Point:
    apart = s.reshape(len(s), problem.faces.count, 3)
    K = face_stiffness(problem.faces, apart)
    pull = apply(K, apart).reshape(s.shape)
    As = apply(problem.A, s)
    bent, loaded, pressed = 0.5 * _dot(s, As), _dot(s, problem.b), 0.5 * _dot(s, pull)
    return _Point(
        s=s,
        energy=bent + loaded + pressed,
        size=np.abs(bent) + np.abs(loaded) + np.abs(pressed),
        gradient=As + problem.b + pull,
        K=K,
    )


def _dot(a: Array, b: Array) -> Array:
    """Of each row, (Q,)."""
    return np.asarray(np.einsum("qi,qi->q", a, b))


def _tangent(A: Array, K: Array) -> Array:
    """A with each face's K (Q, n, 3, 3) added on the diagonal."""
    tangent = A.copy()
    for i in range(K.shape[1]):
        tangent[:, 3 * i : 3 * i + 3, 3 * i : 3 * i + 3] += K[:, i]
    return tangent


def _singular(tangent: Array, closed: Array) -> NDArray[np.bool_]:
    """Whether the tangent has lost rank against the closed body's."""
    root = 1.0 / np.sqrt(diagonal(closed))
    least = np.linalg.eigvalsh(root[..., None] * tangent * root[..., None, :])[:, 0]
    return np.asarray(~(least > SINGULAR))


def _residual(problem: Problem, point: _Point) -> Array:
    return greatest(np.abs(point.gradient / problem.scale))


def _select(problem: Problem, rows: Index | slice) -> Problem:
    return Problem(
        A=problem.A[rows],
        b=problem.b[rows],
        faces=take(problem.faces, rows, range(problem.faces.count)),
        scale=problem.scale[rows],
        closed=problem.closed[rows],
        start=problem.start[rows],
    )


def _pick(point: _Point, rows: Index) -> _Point:
    return _Point(**{name: values[rows] for name, values in vars(point).items()})


def _put(point: _Point, rows: Index, moved: _Point) -> None:
    for name, values in vars(moved).items():
        getattr(point, name)[rows] = values
