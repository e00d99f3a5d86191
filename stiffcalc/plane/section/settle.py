"""Which rows touch and with what force: active set on the condensed system.

The section, condensed with stiffness k0 put on every row, answers r = W (q + k0 r) + b; W (m, m), b (m,). Closed
rows obey r + C q = d, open ones have a given q. All contacts are judged at once (Hintermueller, Ito & Kunisch, The
primal-dual active set strategy as a semismooth Newton method, SIAM J. Optim. 13 (2002), from memory); where that
cycles or leaves the body free, one row at a time is changed, the first that is wrong, which ends for convex
problems (Murty, Linear Complementarity, 1988, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg
from scipy.linalg import lapack

from stiffcalc.condensed import Array
from stiffcalc.errors import ConvergenceError, StiffcalcError
from stiffcalc.plane.section.outline_checks import Flags

TOLERANCE = 1e-10  # of the largest force, and of the largest movement: what counts as zero
MOST = 40  # steps with all rows at once, and as many more as there are rows
SINGULAR = 1e-13  # reciprocal condition
LIFTED = "contact opens and nothing else holds the section against its load"


@dataclass(frozen=True)
class Condensed:
    """The section as its rows see it."""

    W: Array  # (m, m) mm/N
    k0: Array  # (m,) N/mm
    C: Array  # (m, m) mm/N
    unilateral: Flags  # (m,)


@dataclass(frozen=True)
class Settled:
    """Row movements r and forces q of one state."""

    r: Array  # (m,) mm
    q: Array  # (m,) N
    closed: Flags  # (m,)
    d: Array  # (m,) mm, what closed rows obey
    iterations: int


class LiftedError(StiffcalcError, ValueError):
    """Contact opens everywhere and nothing else holds the body against its load."""


def settle(body: Condensed, *, b: Array, d: Array, given: Array, closed: Flags) -> Settled:
    """Find the closed rows. `closed`: where to start; `given`: q of open rows.

    Raises ConvergenceError when no set of closed rows is found, LiftedError when contact cannot hold the body.
    """
    seen: set[bytes] = set()
    single, holding = False, closed
    for count in range(1, MOST + 40 * len(d) + 2):
        state = _respond(body, b, d, given, closed, count)
        if state is None:
            if single or closed is holding:
                raise LiftedError(LIFTED)
            closed, single = holding, True
            continue
        wrong = _wrong(state, body, d)
        if not wrong.any():
            return state
        single = single or closed.tobytes() in seen or count > MOST + len(d)
        seen.add(closed.tobytes())
        if single:
            wrong &= np.arange(len(d)) == np.argmax(wrong)
        holding, closed = closed, closed ^ wrong
    raise ConvergenceError("contact", residual=float(np.sum(wrong)), iterations=count)


def correct(body: Condensed, *, state: Settled, b: Array, r: Array) -> tuple[Array, Array]:
    """Changes (dr, dq) of rows that move by b more, closed rows brought from r back to what they obey."""
    miss = state.d - r - body.C @ state.q
    found = _respond(body, b, np.where(state.closed, miss, 0.0), np.zeros(len(r)), state.closed, 1)
    if found is None:
        raise LiftedError(LIFTED)
    return found.r, found.q


def _wrong(state: Settled, body: Condensed, d: Array) -> Flags:
    """Closed rows that pull and open rows that overlap."""
    slack = state.r + body.C @ state.q - d
    small_q = TOLERANCE * np.abs(state.q).max(initial=0.0)
    small_r = TOLERANCE * (np.abs(state.r).max(initial=0.0) + np.abs(d).max(initial=0.0))
    return np.asarray(body.unilateral & np.where(state.closed, state.q < -small_q, slack < -small_r))


def _respond(body: Condensed, b: Array, d: Array, given: Array, closed: Flags, count: int) -> Settled | None:
    """Movements and forces with these rows closed; None where that leaves the body free."""
    if len(d) == 0:
        return Settled(d, d, closed, d, count)
    own = np.eye(len(d)) - body.W * body.k0  # own r - W q = b
    on = closed.astype(float)
    A = own * (1 - on) - (own @ body.C + body.W) * on
    q_open = np.where(closed, 0.0, given)
    right = b + body.W @ q_open - own @ np.where(closed, d - body.C @ q_open, 0.0)
    scale = np.where(closed, np.diag(body.W), 1.0)  # forces and movements in like numbers
    factor, pivots = scipy.linalg.lu_factor(A / scale, check_finite=False)
    condition, _ = lapack.dgecon(factor, np.abs(A / scale).sum(axis=0).max())
    if condition < SINGULAR:
        return None
    x = scipy.linalg.lu_solve((factor, pivots), right, check_finite=False) / scale
    q = np.where(closed, x, given)
    return Settled(np.where(closed, d - body.C @ q, x), q, closed, d, count)
