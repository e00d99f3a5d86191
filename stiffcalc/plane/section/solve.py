"""A problem on a grid: assembled and factorised once, condensed to its rows, then every case from them.

Stiffness k0 is put on every row before factorising, so that a section held by contact alone can be factorised too; it
is taken off again exactly in the condensed system (`settle`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.elements import Index
from stiffcalc.plane.section.audit import Audit, audit
from stiffcalc.plane.section.grid import Grid
from stiffcalc.plane.section.loads import bed_blocks, held, patterns
from stiffcalc.plane.section.matrices import Matrices, factorise
from stiffcalc.plane.section.outline_checks import Flags
from stiffcalc.plane.section.problem import Case, Problem
from stiffcalc.plane.section.rows import ContactFace, Rows, build_rows
from stiffcalc.plane.section.settle import Condensed, Settled, correct, settle

COLUMNS = 64  # back-substituted at once
REFINEMENTS, REFINED = 3, 1e-11  # most steps; force left over, share of the largest


@dataclass(frozen=True)
class System:
    """A problem ready to answer any case; P named loads, m rows."""

    problem: Problem
    grid: Grid
    matrices: Matrices
    rows: Rows
    beds: list[tuple[Array, Index]]
    force: Array  # (2n, P) N
    moved: Array  # (2n, P) mm
    response: Array  # (m, P) rows' movements under each named load, k0 in place
    condensed: Condensed


@dataclass(frozen=True)
class ContactState:
    """Contact along one edge; l cases, m corner nodes in order along the edge."""

    nodes: Index  # (m,)
    along: Array  # (m,) mm from the edge's first node
    pressure: Array  # (l, m) MPa, linear between nodes
    opening: Array  # (l, m) mm, mean over the node's hat; what a bed gives way by is left out
    force: Array  # (l,) N
    length: Array  # (l,) mm that touch, good to half an element side at each end
    open_share: Array  # (l,) of the area


@dataclass(frozen=True)
class Solution:
    """All cases of a problem on one grid; l cases."""

    problem: Problem
    grid: Grid
    U: Array  # (l, n, 2) mm, from the drawn state
    tightened: Array  # (l, n, 2) mm in the tightened state with no load; zero without preload
    reactions: Array  # (l, n, 2) N of supports on the section
    bars: Array  # (l, bars) N, positive in tension
    contacts: dict[str, ContactState]
    audit: Audit
    iterations: Index  # (l,) sets of closed rows tried, tightening included

    def case(self, name: str) -> int:
        """Index of a case."""
        names = [case.name for case in self.problem.cases]
        if name not in names:
            raise InputError([Fault(f"case {name!r}", "no such case", ", ".join(names), "rename it")])
        return names.index(name)


def solve(problem: Problem, grid: Grid) -> Solution:
    """Every case of a problem on a grid of its parts.

    Raises InputError for unknown places and loose parts, ConvergenceError where contact does not settle or a check
    fails, LiftedError where contact opens and nothing else holds.
    """
    return solve_cases(prepare(problem, grid))


def prepare(problem: Problem, grid: Grid) -> System:
    """Assemble, factorise and condense; serves any list of cases of the same loads (`solve_cases`)."""
    pinned, rows = held(grid, problem.supports), build_rows(grid, problem)
    beds, k0 = bed_blocks(grid, problem.beds), _row_stiffness(grid, rows)
    named = patterns(grid, problem.loads, pinned=pinned)
    matrices = factorise(grid, beds=beds, rows=rows, k0=k0, pinned=pinned)
    force, moved = (
        np.stack([getattr(p, what).ravel() for p in named.values()], axis=1) for what in ("force", "moved")
    )
    W = _responses(matrices, rows, rows.R.T)
    condensed = Condensed(W, k0, rows.C, rows.unilateral)
    response = (
        np.asarray(rows.R @ matrices.answer(force, moved)) if len(k0) else np.zeros((0, force.shape[1]))
    )
    return System(problem, grid, matrices, rows, beds, force, moved, response, condensed)


def _responses(matrices: Matrices, rows: Rows, units: sp.csr_matrix) -> Array:
    """Movements (m, m) of all rows under a unit force on each, some columns at a time: they are as long as the grid."""
    found = np.zeros((len(rows.d), len(rows.d)))
    for first in range(0, len(rows.d), COLUMNS):
        some = slice(first, first + COLUMNS)
        found[:, some] = rows.R @ matrices.answer(units[:, some].toarray())
    return found


def _row_stiffness(grid: Grid, rows: Rows) -> Array:
    """k0 (m,), N/mm: that of the row's own bar or bed, at most that of the softest zone: it may not drown either."""
    most = min(z.material.E * z.thickness for z in grid.zones)
    give = rows.C.sum(axis=1)  # of all rows of a bed together: what one of them gives under even pressure
    return np.asarray(1 / np.maximum(give, 1 / most))


def solve_cases(system: System, cases: tuple[Case, ...] | None = None) -> Solution:
    """Answer cases (those of the problem by default) from the condensed rows, one back-substitution each."""
    cases = system.problem.cases if cases is None else cases
    problem = replace(system.problem, cases=cases)
    factors = np.array([[case.factors.get(name, 0.0) for name in problem.loads] for case in cases]).T
    preloads = [case.preload for case in cases]
    tight = {preload: _tighten(system, preload) for preload in dict.fromkeys(preloads)}
    loaded: list[Settled] = []
    for preload, b in zip(preloads, _columns(system, factors), strict=True):
        before = (
            loaded[-1].closed if loaded else None
        )  # a sweep of pressures changes little from case to case
        loaded.append(_load(system, tight[preload], b, before))
    force, moved = system.force @ factors, system.moved @ factors
    U, loaded = _refine(system, force, _displacements(system, force, moved, loaded), loaded)
    applied = force + system.rows.R.T @ np.stack([s.q for s in loaded], axis=1)
    bed_forces = _bed_forces(system, U)
    checked, reactions = audit(
        system.grid, matrices=system.matrices, U=U, applied=applied, bed_forces=bed_forces
    )
    return Solution(
        problem=problem,
        grid=system.grid,
        U=_by_node(U),
        tightened=_by_node(_tightened(system, tight))[[list(tight).index(p) for p in preloads]],
        reactions=_by_node(reactions),
        bars=-np.array([s.q[system.rows.bars] for s in loaded]),
        contacts=_contacts(system, loaded),
        audit=checked,
        iterations=np.array([s.iterations for s in loaded]),
    )


def _columns(system: System, factors: Array) -> Array:
    """Rows' movements (l, m) under the loads of each case."""
    if len(system.rows.d) == 0:
        return np.zeros((factors.shape[1], 0))
    return np.asarray((system.response @ factors).T)


def _tighten(system: System, preload: float) -> Settled | None:
    """The state under preload alone: bars pull with a given force. None where there is no preload."""
    pull = np.array([preload * bar.preload for bar in system.problem.bars])
    if not pull.any():
        return None
    rows = system.rows
    given, closed = np.zeros(len(rows.d)), np.ones(len(rows.d), dtype=bool)
    given[rows.bars], closed[rows.bars] = -pull, False
    return settle(system.condensed, b=np.zeros(len(rows.d)), d=rows.d, given=given, closed=closed)


def _load(system: System, tight: Settled | None, b: Array, before: Flags | None) -> Settled:
    rows, d = system.rows, system.rows.d.copy()
    if tight is not None:  # from here on a bar lengthens beyond its tightened state
        d[rows.bars] = (tight.r + np.diag(rows.C) * tight.q)[rows.bars]
        before = tight.closed | ~rows.unilateral if before is None else before
    closed = np.ones(len(d), dtype=bool) if before is None else before
    found = settle(system.condensed, b=b, d=d, given=np.zeros(len(d)), closed=closed)
    return replace(found, iterations=found.iterations + (tight.iterations if tight else 0))


def _displacements(system: System, force: Array, moved: Array, states: list[Settled]) -> Array:
    push = np.stack([s.q + system.condensed.k0 * s.r for s in states], axis=1)
    return system.matrices.answer(force + system.rows.R.T @ push, moved)


def _refine(system: System, force: Array, U: Array, states: list[Settled]) -> tuple[Array, list[Settled]]:
    """Take what rounding left over as a further load on the same closed rows, until it is as good as nothing.

    Needed where a stiff body sits on a soft bed: its forces are small differences.
    """
    rows, matrices, free = system.rows, system.matrices, np.ones(len(U), dtype=bool)
    free[matrices.pinned] = False
    for _ in range(REFINEMENTS):
        q = np.stack([s.q for s in states], axis=1)
        left = (force + rows.R.T @ q - matrices.forces(U)) * free[:, None]
        if np.all(np.abs(left).max(axis=0) <= REFINED * np.abs(force + rows.R.T @ q).max(axis=0)):
            break
        b, miss = rows.R @ matrices.answer(left), rows.R @ U
        steps = [
            correct(system.condensed, state=s, b=x, r=y) for s, x, y in zip(states, b.T, miss.T, strict=True)
        ]
        push = np.stack([dq + system.condensed.k0 * dr for dr, dq in steps], axis=1)
        U = U + matrices.answer(left + rows.R.T @ push)
        states = [
            replace(s, r=y + dr, q=s.q + dq) for s, y, (dr, dq) in zip(states, miss.T, steps, strict=True)
        ]
    return U, states


def _tightened(system: System, tight: dict[float, Settled | None]) -> Array:
    still = np.zeros((system.grid.unknowns, len(tight)))
    states = list(tight.values())
    wanted = [i for i, state in enumerate(states) if state is not None]
    if wanted:
        none = still[:, wanted]
        still[:, wanted] = _displacements(system, none, none, [s for s in states if s is not None])
    return still


def _bed_forces(system: System, U: Array) -> Array:
    """What beds push back with (2n, l), as forces the section exerts on them."""
    total = np.zeros_like(U)
    for block, freedoms in system.beds:
        np.add.at(total, freedoms, np.einsum("kij,kjl->kil", block, U[freedoms]))
    return total


def _by_node(U: Array) -> Array:
    return np.ascontiguousarray(U.T).reshape(U.shape[1], -1, 2)


def _contacts(system: System, states: list[Settled]) -> dict[str, ContactState]:
    names = [contact.name for contact in system.problem.contacts]
    return {n: _contact(system, face, states) for n, face in zip(names, system.rows.faces, strict=True)}


def _contact(system: System, face: ContactFace, states: list[Settled]) -> ContactState:
    q = np.stack([s.q[face.rows] for s in states])
    opening = np.stack([(s.r + system.rows.C @ s.q - system.rows.d)[face.rows] for s in states])
    closed = np.stack([s.closed[face.rows] for s in states])
    length = np.array([touching_length(p, face.along) for p in np.where(closed, q / face.area, 0.0)])
    return ContactState(
        nodes=face.nodes,
        along=face.along,
        pressure=q / face.area,
        opening=np.where(closed, 0.0, opening),
        force=q.sum(axis=1),
        length=length,
        open_share=1 - length / touching_length(np.ones(len(face.along)), face.along),
    )


def touching_length(pressure: Array, along: Array) -> float:
    """Length that touches, mm: pressure (m,) at places (m,), linear between; where the next place is open, up to
    where the last two pressures run out."""
    total = 0.0
    for p, x in ((pressure, along), (pressure[::-1], -along[::-1])):  # each gap seen from its closed end
        step = np.diff(x)
        both, leaving = (p[:-1] > 0) & (p[1:] > 0), (p[:-1] > 0) & (p[1:] <= 0)
        total += step[both].sum() / 2
        before = np.concatenate([[0], np.flatnonzero(both) + 1])
        for i in np.flatnonzero(leaving):
            fall = (p[i - 1] - p[i]) / step[i - 1] if i and i in before else 0.0
            total += min(step[i], p[i] / fall) if fall > 0 else step[i] / 2
    return float(total)
