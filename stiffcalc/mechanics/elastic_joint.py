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
from stiffcalc.mechanics.complementarity import Mask, Pressed, System, press
from stiffcalc.mechanics.elastic_faces import ElasticFaces
from stiffcalc.mechanics.face_inverse import anchors
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
    equations: System  # (z + 3, z + 3)
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


@dataclass(frozen=True)
class _Known:
    """What is known of rows of one design."""

    b: Array  # (rows, z + 3) right-hand sides
    c: Array  # (rows, q)
    pushed: Array  # (rows, q) forces of the fluid of ports at the points


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
        own = np.flatnonzero(rows == design)
        system = _assemble(pair, faces, compliance[design], design)
        known = _known(pair, faces, system, design, c=c[own], given=given[own], pressure=pressure[own])
        start = None
        for k in range(len(own)):
            found.append(_solve(system, known, k, start))
            start = found[-1].at.active if found[-1].at.settled else None
    order = np.argsort(np.concatenate([np.flatnonzero(rows == d) for d in np.unique(rows)]))
    return _gather(pair, faces, [found[i] for i in order])


def _assemble(pair: Pair, faces: ElasticFaces, compliance: Array, design: int) -> _System:
    assert faces.give is not None
    q, points = len(compliance), pair.flexibility.points
    alive = np.flatnonzero(faces.cells.alive[design])
    own = [k for k in range(points.bridge.stop) if k // 3 not in pair.jointed]
    bolts = q - points.bridge.stop
    count, others = len(alive), len(own) + bolts
    T = np.zeros((q, count + others))
    jointed = [3 * i + k for i in pair.jointed for k in range(3)]
    T[jointed, :count] = block_diag(*faces.cells.arm[design])[alive].T
    T[own + list(range(points.bridge.stop, q)), count + np.arange(others)] = 1.0
    R = pair.flexibility.R[design, :q]
    TR, size = T.T @ R, count + others
    K = np.zeros((size + 3, size + 3))
    K[:size, :size] = T.T @ compliance @ T
    K[:size, size:], K[size:, :size] = TR, TR.T
    K[:count, :count] += _of_living(faces, faces.give, design)
    if bolts:
        pressing = faces.pressing[design]
        moved = _give_way(faces, design, pressing)
        K[:count, size - bolts : size] += moved[alive]
        K[size - bolts : size, :count] += moved[alive].T
        K[size - bolts : size, size - bolts : size] += pressing.T @ moved
    levers = np.abs(TR).max(axis=0)
    slack = null_space(TR[count:] / levers) if others else np.eye(3)
    at = compliance[np.ix_(jointed, jointed)]
    inverse = _inverse(K, faces, design, planes=T[jointed, :count].T, at_planes=at)
    return _System(alive, compliance, R, T, System(K, inverse), levers, slack)


def _of_living(faces: ElasticFaces, blocks: Array, design: int) -> Array:
    """Blocks (D, n, C, C) of the faces along the diagonal, dead cells left out."""
    living = faces.cells.area[design] > 0.0
    return np.asarray(block_diag(*(own[at][:, at] for own, at in zip(blocks[design], living, strict=True))))


def _give_way(faces: ElasticFaces, design: int, forces: Array) -> Array:
    """Movements of the cells (M, k) under forces on them (M, k)."""
    assert faces.give is not None
    give = faces.give[design]
    return np.asarray((give @ forces.reshape(*give.shape[:2], -1)).reshape(forces.shape))


def _inverse(K: Array, faces: ElasticFaces, design: int, *, planes: Array, at_planes: Array) -> Array:
    """Inverse of K from that of the anchored faces, which all states share, by two corrections of low rank.

    The cells' part of K is the faces' give + planes.at_planes.planes^T, the give alone anchored.
    """
    assert faces.give is not None and faces.anchored is not None
    count, held = len(planes), _of_living(faces, faces.anchored, design)
    free = at_planes - np.diag(anchors(faces.cells, faces.give)[design].ravel())
    reached, beside = held @ planes, K[:count, count:]
    core = np.linalg.solve(np.eye(len(free)) + free @ (planes.T @ reached), free)
    moved = held @ beside - reached @ (core @ (reached.T @ beside))
    rest = np.linalg.inv(K[count:, count:] - beside.T @ moved)
    inverse = np.empty_like(K)
    inverse[:count, :count] = (
        held + np.hstack([-reached @ core, moved @ rest]) @ np.hstack([reached, moved]).T
    )
    inverse[:count, count:] = -moved @ rest
    inverse[count:, :count] = inverse[:count, count:].T
    inverse[count:, count:] = rest
    return inverse


def _known(
    pair: Pair,
    faces: ElasticFaces,
    system: _System,
    design: int,
    *,
    c: Array,
    given: Array,
    pressure: Array,
) -> _Known:
    half, q = pair.flexibility, len(system.compliance)
    pressed = np.zeros(
        (len(c), faces.cells.count)
    )  # what is known to press the cells, beyond what P and bolts do
    pushed = np.zeros_like(c)  # and what of it the points feel
    if q == half.points.bridge.stop:  # the bolts' forces are given: their pressing is known
        pressed += given[:, : half.points.bolts] @ faces.pressing[design].T
    if faces.fluid is not None and pair.prying is not None:
        pressed += pressure[:, None] * faces.fluid[design]
        pushed[:, half.points.bridge] = pressure[:, None] * pair.prying[design].ravel()
    b = (c - pushed @ system.compliance) @ system.T
    if pressed.any():
        moved, bolts = _give_way(faces, design, pressed.T).T, q - half.points.bridge.stop
        b[:, : len(system.alive)] -= moved[:, system.alive]
        if bolts:
            b[:, -bolts:] -= moved @ faces.pressing[design]
    balance = -given @ half.R[design, q:] - pushed @ system.R
    return _Known(np.hstack([b, balance]), c, pushed)


def _solve(system: _System, known: _Known, k: int, start: Mask | None) -> _Row:
    """Row `k` of those known."""
    b, count = known.b[k], len(system.alive)
    at = press(system.equations, b, count=count, start=start)
    balance, found = b[-3:], at.residual <= LIMIT
    held = found or _can_balance(system, balance)
    pressing = at.x[:count].sum() > ROUNDING * np.abs(balance).max()
    if system.slack.size and not (found and pressing):
        held &= not _dangles(system, balance)
    return _Row(system, at, known.c[k], known.pushed[k], held=held)


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
