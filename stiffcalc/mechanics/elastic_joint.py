"""The joint with faces that give way out of their plane, one row (design and load state) at a time.

Unknowns are the forces P on the cells of all joint faces (they only press), those of bridges without a joint and of
the bolts, and the rigid motion r. With f = (Q P, f_other, -B) at the points, Q the cells' arms, equilibrium is the
stationary point of

    f.(F_qq + diag(G, bolt flexibility)).f / 2 + (P - rho B).C.(P - rho B) / 2 - f.c

in balance with the known forces; C is the faces' give, rho the bolts' pressing (see `elastic_faces`). While every cell
presses, the second term vanishes: a closed joint is the glued body exactly. The derivative by P is the gap. What the
fluid of ports presses on the cells is known: it stands beside P wherever P does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import block_diag, null_space
from scipy.optimize import nnls

from stiffcalc.condensed import Array
from stiffcalc.mechanics.complementarity import Mask, Pressed, invert, press
from stiffcalc.mechanics.elastic_faces import ElasticFaces
from stiffcalc.mechanics.faces import Index
from stiffcalc.mechanics.joint_state import LIMIT, Pair

ROUNDING = 1e-9  # of the known forces: what balancing them may leave over


@dataclass(frozen=True)
class Contact:
    """Where each row ended. `residual` is relative; nothing is raised, so look at it."""

    f: Array  # (Q, q) forces at the points before the known ones
    v: Array  # (Q, 3 n + 3) separations s of the faces' planes, then the rigid motion
    cells: Array  # (Q, M) forces P
    residual: Array  # (Q,)
    steps: Index  # (Q,)
    unheld: Mask  # (Q,) nothing resists some movement


@dataclass(frozen=True)
class _System:
    """One design: unknowns z = (P of living cells, f_other, f_bolt where bolts act), then r."""

    alive: Index  # the living cells' places among all M
    compliance: Array  # (q, q)
    R: Array  # (q, 3)
    T: Array  # (q, z) forces at the points
    depart: Array  # (M, z) P - rho B
    give: Array  # (M, M)
    K: Array  # (z + 3, z + 3)
    inverse: Array
    levers: Array  # (3,) of all forces
    slack: (
        Array  # (3, 0 to 3) resultants, over the levers, that cells alone can take: others lack a lever there
    )


@dataclass(frozen=True)
class _Row:
    system: _System
    at: Pressed
    c: Array
    pushed: Array  # (q,) forces of the fluid of ports at the points
    held: bool


def contact(
    pair: Pair,
    faces: ElasticFaces,
    compliance: Array,
    rows: Index,
    *,
    c: Array,
    given: Array,
    pressure: Array,
) -> Contact:
    """Equilibrium of each row. Loads of one design that follow each other give good first guesses.

    compliance (D, q, q): F_qq with what bridges and, where they act, bolts add. c (Q, q): movements that the points
    start with; given (Q, m - q): known forces at the points beyond q, the bolts' first where they do not act; pressure
    (Q,) of the fluid in ports.
    """
    found: list[_Row] = []
    for design in np.unique(rows):
        system = _assemble(pair, faces, compliance[design], design)
        start = None
        for row in np.flatnonzero(rows == design):
            found.append(
                _solve(
                    pair,
                    faces,
                    system,
                    design,
                    c=c[row],
                    given=given[row],
                    pressure=float(pressure[row]),
                    start=start,
                )
            )
            start = found[-1].at.active if found[-1].at.settled else None
    order = np.argsort(np.concatenate([np.flatnonzero(rows == d) for d in np.unique(rows)]))
    return _gather(pair, faces, [found[i] for i in order])


def _assemble(pair: Pair, faces: ElasticFaces, compliance: Array, design: int) -> _System:
    assert faces.give is not None
    q, points = len(compliance), pair.flexibility.points
    alive = np.flatnonzero(faces.cells.alive[design])
    own = [k for k in range(points.bridge.stop) if k // 3 not in pair.jointed]
    bolts = list(range(points.bridge.stop, q))
    arms = block_diag(*faces.cells.arm[design])[alive]
    T = np.zeros((q, len(alive) + len(own) + len(bolts)))
    T[np.ix_([3 * i + k for i in pair.jointed for k in range(3)], range(len(alive)))] = arms.T
    T[own + bolts, len(alive) + np.arange(len(own) + len(bolts))] = 1.0
    depart = np.zeros((faces.cells.count, T.shape[1]))
    depart[alive, np.arange(len(alive))] = 1.0
    if bolts:
        depart[:, -len(bolts) :] = faces.pressing[design]
    give = block_diag(*faces.give[design])
    R = pair.flexibility.R[design, :q]
    TR = T.T @ R
    inner = T.T @ compliance @ T  # and to it depart.T @ give @ depart, without its zeros
    inner[: len(alive), : len(alive)] += give[np.ix_(alive, alive)]
    if bolts:
        on_bolts = give @ faces.pressing[design]
        inner[: len(alive), -len(bolts) :] += on_bolts[alive]
        inner[-len(bolts) :, : len(alive)] += on_bolts[alive].T
        inner[-len(bolts) :, -len(bolts) :] += faces.pressing[design].T @ on_bolts
    K = np.block([[inner, TR], [TR.T, np.zeros((3, 3))]])
    arms = T.T @ R
    levers = np.abs(arms).max(axis=0)
    slack = null_space(arms[len(alive) :] / levers) if T.shape[1] > len(alive) else np.eye(3)
    return _System(alive, compliance, R, T, depart, give, K, invert(K), levers, slack)


def _solve(
    pair: Pair,
    faces: ElasticFaces,
    system: _System,
    design: int,
    *,
    c: Array,
    given: Array,
    pressure: float,
    start: Mask | None,
) -> _Row:
    half, q = pair.flexibility, len(system.compliance)
    b = system.T.T @ c
    pressed = np.zeros(faces.cells.count)  # what is known to press the cells, beyond what P and bolts do
    pushed = np.zeros(q)  # and what of it the points feel
    if q == half.points.bridge.stop:  # the bolts' forces are given: their pressing is known
        pressed += faces.pressing[design] @ given[: half.points.bolts]
    if faces.fluid is not None and pair.prying is not None:
        pressed += pressure * faces.fluid[design]
        pushed[half.points.bridge] = pressure * pair.prying[design].ravel()
        b -= system.T.T @ (system.compliance @ pushed)
    b -= system.depart.T @ (system.give @ pressed)
    balance = -half.R[design, q:].T @ given - system.R.T @ pushed
    at = press(system.K, system.inverse, np.concatenate([b, balance]), count=len(system.alive), start=start)
    found = at.residual <= LIMIT
    held = found or _can_balance(system, balance)
    pressing = at.x[: len(system.alive)].sum() > ROUNDING * np.abs(balance).max()
    if system.slack.size and not (found and pressing):
        held &= not _dangles(system, balance)
    return _Row(system, at, c, pushed, held=held)


def _can_balance(system: _System, known: Array) -> bool:
    """Whether any forces at all, those on cells pressing, are in balance with the known ones.

    If so there is an equilibrium (the energy is convex), else some movement meets no resistance.
    """
    if not np.isfinite(known).all():
        return True  # no question of statics
    cells, others = np.split((system.T.T @ system.R / system.levers).T, [len(system.alive)], axis=1)
    _, missing = nnls(np.hstack([cells, others, -others]), known / system.levers)
    return bool(missing <= ROUNDING * np.linalg.norm(known / system.levers))


def _dangles(system: _System, known: Array) -> bool:
    """Whether bolts and bridges carry the known forces without any cell, and yet leave some rotation free.

    A half on one bolt, loaded in its axis: in balance with its face wide open, at any tilt.
    """
    over = known / system.levers
    return bool(over.any() and np.linalg.norm(over @ system.slack) <= ROUNDING * np.linalg.norm(over))


def _gather(pair: Pair, faces: ElasticFaces, found: list[_Row]) -> Contact:
    forces, separations, cells = [], [], []
    for row in found:
        system, z, r = row.system, row.at.x[:-3], row.at.x[-3:]
        f = system.T @ z + row.pushed
        moved = system.compliance @ f + system.R @ r - row.c
        own = [3 * i + k for i in pair.jointed for k in range(3)]
        full = np.zeros(faces.cells.count)
        full[system.alive] = z[: len(system.alive)]
        forces.append(f)
        separations.append(np.concatenate([moved[own], r]))
        cells.append(full)
    return Contact(
        f=np.array(forces),
        v=np.array(separations),
        cells=np.array(cells),
        residual=np.array([row.at.residual for row in found]),
        steps=np.array([row.at.steps for row in found], dtype=np.intp),
        unheld=np.array([not row.held for row in found]),
    )
